/**
 * A dose charted as given in error is taken back by a new entry. Not injected: it never counted. Another patient: it
 * counts in that patient, and both are checked. Another amount: the true units count.
 */
import type { Dose, DoseOutcome, OutsideDose, TakenBackWhy } from '../dose/dose.ts'
import { mayCheckInsulin } from '../dose/may-give.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { isDeliverable } from '../order/scale.ts'
import { INSULIN_CLASS } from '../order/order.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Stay } from '../stay/stay.ts'
import { entriesOf } from './entries.ts'
import type { Signer } from '../dose/second-check.ts'
import type { CareFacts } from './facts.ts'
import type { Task } from './task.ts'
import type { WatchTime } from './watch-time.ts'

/** Hours after the mistake was charted at which both patients are checked: 0 is now (the ward's own figures). */
const CHECKS_H = { short: [0, 1, 2, 4, 6], long: [0, 2, 4, 8, 12, 16, 20, 24] } as const
/** As for any dose from outside the service. */
const MOST_UNITS = 500

/** True when the slot or reading of a dose that was taken back is open for a dose again. */
export function isOpenedAgain(outcome: DoseOutcome | null): boolean {
  return outcome?.kind === 'taken-back' && outcome.secondId !== null
}

/** True when a dose of the reading was taken back without a second nurse: no other one is worked out from it. */
export function isClosedByTakingBack(doses: readonly Dose[], readingId: string): boolean {
  return doses.some(
    (dose) => dose.readingId === readingId && dose.outcome?.kind === 'taken-back' && dose.outcome.secondId === null,
  )
}

export type TakeBackRefusal =
  | 'take-back-not-given'
  | 'take-back-already'
  | 'take-back-note-missing'
  | 'take-back-units'
  | 'take-back-same-units'
  | 'take-back-other-missing'
  | 'take-back-second-is-you'
  | 'take-back-second-may-not'

/**
 * Takes a dose charted as given back. A note is always needed. Another amount: above 0 to 500 whole or half units, not
 * those charted. Another patient: one of the ward, not this one. `second` opens the slot or reading again, only where
 * nothing was injected: another nurse who may check insulin on the ward.
 */
export function takeBackDose(given: {
  readonly entryIds: readonly [string, string, string]
  readonly dose: Dose
  readonly stay: Stay
  readonly why: TakenBackWhy
  readonly units: number | null
  readonly other: Stay | null
  readonly note: string
  readonly second: Signer | null
  readonly policy: WardPolicy
  readonly giverName: string
  readonly byId: string
  readonly nowMs: number
}): Outcome<LedgerEvent[], TakeBackRefusal> {
  const { dose, stay, why, units, other, second, policy, byId, nowMs, entryIds } = given
  const note = given.note.trim()
  const { outcome } = dose
  if (outcome?.kind === 'taken-back') return refuse('take-back-already')
  if (outcome?.kind !== 'given') return refuse('take-back-not-given')
  if (note === '') return refuse('take-back-note-missing')
  if (why === 'another-amount') {
    if (units === null || units <= 0 || units > MOST_UNITS || !isDeliverable(units)) return refuse('take-back-units')
    if (units === dose.units) return refuse('take-back-same-units')
  }
  if (why === 'another-patient' && (other === null || other.stayId === stay.stayId))
    return refuse('take-back-other-missing')
  const opens = why === 'not-injected' ? second : null
  if (opens !== null) {
    if (opens.staffId === byId) return refuse('take-back-second-is-you')
    if (!mayCheckInsulin(opens.role, policy) || !opens.wardIds.includes(stay.wardId))
      return refuse('take-back-second-may-not')
  }
  const { insulin, doseId } = dose
  const into = why === 'another-patient' ? other : why === 'another-amount' ? stay : null
  const trueDose = (inStay: Stay): LedgerEvent => ({
    ...eventHead(inStay, byId, nowMs, outcome.atMs),
    type: 'outside-dose-recorded',
    body: {
      outsideDose: {
        outsideDoseId: entryIds[1],
        stayId: inStay.stayId,
        insulin,
        units: why === 'another-amount' && units !== null ? units : dose.units,
        givenAtMs: outcome.atMs,
        chartedAtMs: nowMs,
        source: 'corrected',
        givenBy: given.giverName,
        checkedBy: null,
        byId,
      },
    },
  })
  return accept([
    {
      ...eventHead(stay, byId, nowMs),
      type: 'entry-charted',
      body: {
        entryId: entryIds[0],
        kind: 'dose-taken-back',
        fact: {
          doseId,
          insulin,
          why,
          units: why === 'another-amount' ? units : null,
          otherStayId: why === 'another-patient' && other !== null ? other.stayId : null,
          note,
          secondId: opens?.staffId ?? null,
        },
      },
    },
    ...(into === null ? [] : [trueDose(into)]),
    ...(why === 'another-patient' && other !== null
      ? [
          {
            ...eventHead(other, byId, nowMs),
            type: 'entry-charted' as const,
            body: {
              entryId: entryIds[2],
              kind: 'dose-of-another' as const,
              fact: { doseId, insulin, givenAtMs: outcome.atMs },
            },
          },
        ]
      : []),
  ])
}

/** A dose from outside that was charted in error: an entry keeps all of it, and it counts no more. */
export function takeBackOutside(given: {
  readonly entryId: string
  readonly outsideDose: OutsideDose
  readonly stay: Stay
  readonly note: string
  readonly byId: string
  readonly nowMs: number
}): Outcome<LedgerEvent[], 'take-back-note-missing'> {
  const note = given.note.trim()
  if (note === '') return refuse('take-back-note-missing')
  return accept([
    {
      ...eventHead(given.stay, given.byId, given.nowMs),
      type: 'entry-charted',
      body: {
        entryId: given.entryId,
        kind: 'outside-dose-taken-back',
        fact: { outsideDose: given.outsideDose, note },
      },
    },
  ])
}

/**
 * The prescriber is told of every dose taken back, except one that nobody got and that is open for a dose again. At
 * once, and the charge nurse's after the ward's minutes for "no dose, call".
 */
export function takenBackTasks({ stay, entries, policy }: CareFacts): readonly Task[] {
  const owed = [
    ...entriesOf(entries, 'dose-taken-back').filter(({ fact }) => fact.secondId === null),
    ...entriesOf(entries, 'dose-of-another'),
  ]
  return owed.map(({ entryId, chartedAtMs, fact: { doseId } }) => ({
    kind: 'dose-taken-back',
    key: `dose-taken-back.${entryId}`,
    stayId: stay.stayId,
    subjectId: doseId,
    detail: null,
    sinceMs: chartedAtMs,
    dueMs: null,
    chargeFromMs: chartedAtMs + policy.dose.noDoseCallMin * MINUTE_MS,
  }))
}

/**
 * The checks of who got insulin by mistake, or another amount, and of who did not get it: now, then at the hours of the
 * insulin's class. A reading corrected after insulin was given since it was taken asks for a check now.
 */
export function takenBackWatches({ entries, readings, insulinGiven }: CareFacts): readonly WatchTime[] {
  const mistakes = [
    ...entriesOf(entries, 'dose-taken-back').filter(({ fact }) => fact.why !== 'not-injected'),
    ...entriesOf(entries, 'dose-of-another'),
  ]
  return [
    ...mistakes.flatMap(({ entryId, chartedAtMs, fact: { insulin } }) => {
      const isShort = INSULIN_CLASS[insulin] === 'rapid' || INSULIN_CLASS[insulin] === 'regular'
      return (isShort ? CHECKS_H.short : CHECKS_H.long).map((hours) => ({
        id: `${entryId}t${String(hours)}`,
        dueMs: chartedAtMs + hours * HOUR_MS,
        reason: 'dose-taken-back' as const,
      }))
    }),
    ...readings.flatMap(({ readingId, supersedes, takenAtMs, chartedAtMs }) =>
      supersedes !== null &&
      insulinGiven.some(
        (dose) => dose.source === 'here' && dose.givenAtMs >= takenAtMs && dose.givenAtMs <= chartedAtMs,
      )
        ? [{ id: `${readingId}c`, dueMs: chartedAtMs, reason: 'reading-corrected' as const }]
        : [],
    ),
  ]
}
