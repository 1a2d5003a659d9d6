/** The decision to chart a reading: who, where, when and with what, or the reason why not. */
import { meterFitness } from '../check/kit.ts'
import { isBelow, type Glucose } from '../glucose/value.ts'
import type { EventHead, LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { currentLow, lowAgain } from '../low/current.ts'
import { callsFor } from '../order/call.ts'
import { occasionOfReading } from '../order/occasion.ts'
import { accept, refuse, type Outcome, type Refused } from '../outcome.ts'
import { wardDate } from '../time/zone.ts'
import { findCheck, type ReadingFacts, type StayReadingFacts } from './facts.ts'
import type { ExtraReason, FingerSite, LateEntryReason, MeterDoubt, Reading, ReadingSource } from './reading.ts'
import { isRestricted } from './site.ts'
import { MINUTE_MS } from '../time/span.ts'
import type { RestrictedHand } from '../stay/stay.ts'

export type ReadingEntry = {
  /** Fresh ids: the reading's, and one for the low event that it may open. */
  readonly readingId: string
  readonly newLowId: string
  /** Null for a reading that answers no check (charted on paper). */
  readonly checkKey: string | null
  readonly wristband: string
  readonly glucose: Glucose
  readonly takenAtMs: number
  readonly meterId: string | null
  readonly stripLot: string | null
  readonly site: FingerSite | null
  readonly lateReason: LateEntryReason | null
  readonly extraReason: ExtraReason | null
  readonly source: ReadingSource
  /** Of a laboratory value: as it was reported. */
  readonly reported?: Glucose
  /** Who took it. */
  readonly byId: string
  /** Who charts it, when that is somebody else (from paper). */
  readonly chartedById?: string
}

export type ReadingRefusal =
  | 'wristband-wrong'
  | 'stay-discharged'
  | 'check-unknown'
  | 'check-already-done'
  | 'check-not-open'
  | 'time-in-future'
  | 'time-before-admission'
  | 'late-reason-missing'
  | 'reading-other-unit'
  | 'meter-missing'
  | 'meter-unknown'
  | 'meter-other-unit'
  | 'strip-lot-unknown'
  | 'finger-missing'
  | 'finger-restricted'
  | 'extra-reason-missing'

declare module '../outcome.ts' {
  interface RefusalDetails {
    /** `expected`: this patient's bed. `bed`, `ward`: where the wristband is worn, as far as this person may know. */
    'wristband-wrong': { expected: string; bed?: string; ward?: string }
    'reading-other-unit': { unit: string; found: string }
    'late-reason-missing': { minutes: number }
    'meter-other-unit': { unit: string; found: string }
    'finger-restricted': RestrictedHand
    'check-not-open': { opensMs: number; nowMs: number; zone: string }
  }
}

/**
 * Charts one reading, and opens a low event with it when it is below the ward's low limit (70 mg/dL, 3.9 mmol/L by
 * default) or LO and no low event of the stay is open, or the open one is over but for its paperwork (`lowAgain`).
 * - The wristband read at the bedside is the stay's own; the stay is not discharged.
 * - Taken not in the future, not before admission; later than the policy's minutes (15) needs a reason.
 * - A finger stick names its meter, in the ward's unit, and its finger: one on a restricted hand is refused while the
 *   other hand is free, and taken when both are restricted.
 * - A planned check takes a reading taken from its opening on. A reading taken after its closing is charted as an extra
 *   one (after-closing) and leaves the check to be accounted for. A check already done is a conflict; one excused
 *   before may still be done.
 * - What puts the meter or its strips in doubt is charted with the reading and never stops it.
 */
export function recordReading(
  entry: ReadingEntry,
  facts: ReadingFacts,
  nowMs: number,
): Outcome<LedgerEvent[], ReadingRefusal> {
  const refusal = refuseAtBedside(entry, facts) ?? refuseTime(entry, facts, nowMs) ?? refuseSupplies(entry, facts)
  if (refusal !== null) return refusal
  const check = checkFor(entry, facts, nowMs)
  if (!check.ok) return check
  const { policy } = facts.policy
  const reading: Reading = {
    readingId: entry.readingId,
    stayId: facts.stay.stayId,
    wardId: facts.ward.wardId,
    wardDate: wardDate(entry.takenAtMs, policy.zone),
    checkKey: check.value.checkKey,
    glucose: entry.glucose,
    ...(entry.reported === undefined ? {} : { reported: entry.reported }),
    source: entry.source,
    takenAtMs: entry.takenAtMs,
    chartedAtMs: nowMs,
    byId: entry.byId,
    ...(entry.chartedById === undefined || entry.chartedById === entry.byId ? {} : { chartedById: entry.chartedById }),
    site: entry.site,
    meterId: entry.meterId,
    stripLot: entry.stripLot,
    doubts: doubtsOf(entry, facts),
    lateReason: entry.lateReason,
    extraReason: check.value.extraReason,
    supersedes: null,
    supersededBy: null,
    voided: null,
  }
  return accept(eventsFor(reading, { newLowId: entry.newLowId, actorId: entry.chartedById ?? entry.byId }, facts))
}

/** The reading's own event, and the low event that it opens. Shared with corrections. */
export function eventsFor(
  reading: Reading,
  { newLowId, actorId }: { readonly newLowId: string; readonly actorId: string },
  facts: StayReadingFacts,
): LedgerEvent[] {
  const head = eventHead(reading, actorId, reading.chartedAtMs, reading.takenAtMs)
  const events: LedgerEvent[] = [
    { ...head, type: 'reading-recorded', body: { reading } },
    ...owedCalls(reading, head, facts),
  ]
  const { policy } = facts.policy
  if (!isBelow(reading.glucose, policy.limits.low)) return events
  const current = currentLow(facts.lows)
  const again = current === undefined ? 'new' : lowAgain(current, reading, facts.readings, policy)
  if (current !== undefined && again === 'relapse')
    events.push({ ...head, type: 'low-relapsed', body: { lowId: current.lowId, readingId: reading.readingId } })
  if (again === 'new') {
    const [previous] = [...facts.lows].sort((a, b) => b.openedAtMs - a.openedAtMs)
    events.push({
      ...head,
      type: 'low-event-opened',
      body: { lowId: newLowId, readingId: reading.readingId, previousLowId: previous?.lowId ?? null },
    })
  }
  return events
}

/** "No dose, call": the call is owed from the value on, whether anybody opens its dose or not. */
function owedCalls(
  reading: Reading,
  head: EventHead,
  { policy: { policy }, orders = [], trayDelays }: StayReadingFacts,
): readonly LedgerEvent[] {
  const { occasion } = occasionOfReading(reading, policy, trayDelays)
  return callsFor(orders, { glucose: reading.glucose, occasion, atMs: reading.takenAtMs })
    .slice(0, 1)
    .map(({ version: { orderId }, step }) => ({
      ...head,
      type: 'entry-charted' as const,
      body: {
        entryId: `${reading.readingId}c`,
        kind: 'no-dose-call' as const,
        fact: { readingId: reading.readingId, orderId, repeatInMin: step.repeatMin },
      },
    }))
}

/** The wristband, the stay and the unit: what a correction asks as well. */
export function refuseAtBedside(
  entry: Pick<ReadingEntry, 'wristband' | 'glucose'>,
  { stay, policy: { policy } }: StayReadingFacts,
): Refused<'wristband-wrong' | 'stay-discharged' | 'reading-other-unit'> | null {
  if (entry.wristband !== stay.wristband) return refuse('wristband-wrong', { expected: stay.bed })
  if (stay.dischargedAtMs !== null) return refuse('stay-discharged')
  return entry.glucose.unit === policy.unit
    ? null
    : refuse('reading-other-unit', { unit: policy.unit, found: entry.glucose.unit })
}

function refuseTime(
  entry: ReadingEntry,
  { stay, policy: { policy } }: ReadingFacts,
  nowMs: number,
): Refused<ReadingRefusal> | null {
  if (entry.takenAtMs > nowMs) return refuse('time-in-future')
  if (entry.takenAtMs < stay.admittedAtMs) return refuse('time-before-admission')
  const isLate = nowMs - entry.takenAtMs > policy.lateEntryReasonAfterMin * MINUTE_MS
  // a laboratory's value is late by nature
  return isLate && entry.lateReason === null && entry.source !== 'venous'
    ? refuse('late-reason-missing', { minutes: policy.lateEntryReasonAfterMin })
    : null
}

function refuseSupplies(entry: ReadingEntry, facts: ReadingFacts): Refused<ReadingRefusal> | null {
  const { policy } = facts.policy
  if (entry.meterId === null && entry.source === 'capillary') return refuse('meter-missing')
  if (entry.meterId !== null) {
    const meter = facts.meters.find((one) => one.meterId === entry.meterId)
    if (meter === undefined) return refuse('meter-unknown')
    if (meter.unit !== policy.unit) return refuse('meter-other-unit', { unit: policy.unit, found: meter.unit })
  }
  if (entry.stripLot !== null && !facts.stripLots.some((lot) => lot.lot === entry.stripLot))
    return refuse('strip-lot-unknown')
  return refuseFinger(entry, facts)
}

function refuseFinger({ site, source }: ReadingEntry, { stay }: ReadingFacts): Refused<ReadingRefusal> | null {
  if (site === null) return source === 'capillary' ? refuse('finger-missing') : null
  // what was charted on paper has been done: it is a fact, not a plan
  if (source === 'paper') return null
  const { restrictedHands } = stay.facts
  const bothRestricted =
    isRestricted({ hand: 'left', finger: 'ring' }, restrictedHands) &&
    isRestricted({ hand: 'right', finger: 'ring' }, restrictedHands)
  const restriction = restrictedHands.find((restricted) => restricted.hand === site.hand)
  return restriction === undefined || bothRestricted
    ? null
    : refuse('finger-restricted', { hand: site.hand, reason: restriction.reason })
}

function checkFor(
  entry: ReadingEntry,
  facts: ReadingFacts,
  nowMs: number,
): Outcome<Pick<Reading, 'checkKey' | 'extraReason'>, ReadingRefusal> {
  const { checkKey } = entry
  if (checkKey === null) return accept({ checkKey: null, extraReason: entry.extraReason })
  const outcome = facts.outcomes.get(checkKey)
  if (outcome?.kind === 'done') return refuse('check-already-done')
  const check = findCheck(checkKey, facts, nowMs)
  if (check === null) return refuse('check-unknown')
  if (check.kind === 'extra')
    return entry.extraReason === null
      ? refuse('extra-reason-missing')
      : accept({ checkKey, extraReason: entry.extraReason })
  if (entry.takenAtMs < check.opensMs)
    return refuse('check-not-open', { opensMs: check.opensMs, nowMs, zone: facts.policy.policy.zone })
  if (entry.takenAtMs >= check.closesMs) return accept({ checkKey: null, extraReason: 'after-closing' })
  return accept({ checkKey, extraReason: null })
}

/**
 * Why the reading can never lead to insulin: the control that counted when it was taken had not passed on that ward day
 * (two levels every 24 h of use: common hospital practice, M), the strip lot's date has passed (its last day is still good), or
 * the meter is another ward's. A laboratory value has no meter to doubt.
 */
function doubtsOf(entry: ReadingEntry, facts: ReadingFacts): readonly MeterDoubt[] {
  const { unit, zone } = facts.policy.policy
  const doubts: MeterDoubt[] = []
  const meter = facts.meters.find((one) => one.meterId === entry.meterId)
  const whenTaken = { unit, zone, nowMs: entry.takenAtMs }
  if (meter !== undefined && meterFitness({ ...meter, lastControl: meter.controlWhenTaken }, whenTaken) !== 'usable')
    doubts.push('meter-control-not-done')
  // from paper with no meter named: nobody can show that its controls were done
  if (entry.source === 'paper' && meter === undefined) doubts.push('meter-not-named')
  const lot = facts.stripLots.find((one) => one.lot === entry.stripLot)
  if (lot !== undefined && lot.expiresOn < wardDate(entry.takenAtMs, zone)) doubts.push('strip-lot-expired')
  if (meter !== undefined && meter.wardId !== facts.ward.wardId) doubts.push('meter-of-other-ward')
  if (entry.source !== 'venous' && facts.stay.facts.laboratoryOnly !== undefined) doubts.push('laboratory-only')
  return doubts
}
