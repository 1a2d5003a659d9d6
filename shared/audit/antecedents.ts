/**
 * Lists what happened to a patient in a period. The 24 h before the first value of a low show its possible causes.
 * Events count from when they happened, however late they were charted. A period is half-open.
 */
import type { PlanVersion } from '../check/check.ts'
import type { CriticalCall } from '../critical/call.ts'
import type { Dose, OutsideDose, TrayFact } from '../dose/dose.ts'
import type { LowEvent, SymptomsTreated } from '../low/low.ts'
import type { OrderVersion } from '../order/order.ts'
import type { OrderStop } from '../order/stop.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { changedFacts } from '../stay/facts.ts'
import type { BedsideFacts, BedSpan, FactsVersion, FeedInterruption, Stay } from '../stay/stay.ts'
import { contains, type Interval } from '../time/interval.ts'
import { HOUR_MS } from '../time/span.ts'
import { mealsOf, trayOfDose } from './antecedent-meals.ts'
import type { Antecedent, AntecedentFact } from './antecedent.ts'
import { nilSpans } from './nil-spans.ts'

/** How far back to search for the causes of a low (24 h; common practice, no published figure). */
export const LOOK_BACK_MS = 24 * HOUR_MS

/** Everything charted about one stay that may explain a low. Events outside the period may be included. */
export type AntecedentFacts = {
  readonly stay: Pick<Stay, 'admittedAtMs' | 'dischargedAtMs'>
  readonly facts: readonly FactsVersion[]
  readonly beds: readonly BedSpan[]
  readonly interruptions: readonly FeedInterruption[]
  readonly plans: readonly PlanVersion[]
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly outsideDoses: readonly OutsideDose[]
  readonly trays: readonly TrayFact[]
  readonly orders: readonly OrderVersion[]
  readonly orderStops: readonly OrderStop[]
  readonly lows: readonly LowEvent[]
  readonly criticalCalls: readonly CriticalCall[]
  readonly symptoms: readonly SymptomsTreated[]
}

/** Order at one instant: findings and measurements come before the actions that follow them. */
const RANK: Readonly<Record<AntecedentFact['kind'], number>> = {
  bed: 0,
  'facts-changed': 1,
  'nil-by-mouth': 1,
  feed: 1,
  'order-ended': 2,
  'order-written': 3,
  'order-verified': 4,
  plan: 5,
  reading: 6,
  low: 7,
  'critical-told': 8,
  symptoms: 8,
  dose: 9,
  'dose-not-given': 9,
  'outside-dose': 9,
  tray: 10,
  discharged: 11,
}

/** Everything in the period, by time and then by kind. The order of charting does not matter. */
export function antecedentsIn(facts: AntecedentFacts, span: Interval, policy: WardPolicy): readonly Antecedent[] {
  return [
    ...measured(facts),
    ...insulin(facts, policy),
    ...ordered(facts),
    ...bedside(facts),
    ...planned(facts),
    ...mealsOf(facts, policy),
  ]
    .filter(({ atMs }) => contains(span, atMs))
    .sort(
      (a, b) =>
        a.atMs - b.atMs || RANK[a.fact.kind] - RANK[b.fact.kind] || (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1),
    )
}

/** What happened in the 24 h before the first value of a low. That value is excluded. */
export function antecedentsOf(facts: AntecedentFacts, firstValueMs: number, policy: WardPolicy): readonly Antecedent[] {
  return antecedentsIn(facts, { fromMs: firstValueMs - LOOK_BACK_MS, toMs: firstValueMs }, policy)
}

/** The patient's state at the instant, from the facts charted up to then. */
export type PatientState = {
  readonly facts: BedsideFacts | null
  readonly nilByMouth: boolean
  readonly feedStopped: FeedInterruption | null
}

export function patientStateAt(
  { facts, interruptions }: Pick<AntecedentFacts, 'facts' | 'interruptions'>,
  atMs: number,
): PatientState {
  return {
    facts: [...facts].sort((a, b) => a.number - b.number).findLast((version) => version.atMs <= atMs)?.facts ?? null,
    nilByMouth: nilSpans(facts).some((span) => contains(span, atMs)),
    feedStopped:
      interruptions.find((one) =>
        contains({ fromMs: one.fromMs, toMs: one.untilMs ?? Number.POSITIVE_INFINITY }, atMs),
      ) ?? null,
  }
}

function measured({ readings, criticalCalls, symptoms, lows }: AntecedentFacts): readonly Antecedent[] {
  return [
    ...readings.map((reading): Antecedent => ({
      atMs: reading.takenAtMs,
      chartedAtMs: reading.chartedAtMs,
      byId: reading.byId,
      fact: { kind: 'reading', reading },
    })),
    ...criticalCalls.map((call): Antecedent => ({ ...when(call), fact: { kind: 'critical-told', call } })),
    ...symptoms.map((one): Antecedent => ({ ...when(one), fact: { kind: 'symptoms', symptoms: one } })),
    ...lows.flatMap((low): Antecedent[] => [
      { atMs: low.openedAtMs, chartedAtMs: null, byId: null, fact: { kind: 'low', low, opened: true } },
      ...(low.closedAtMs === null
        ? []
        : [
            {
              atMs: low.closedAtMs,
              chartedAtMs: null,
              byId: low.charted.closing?.byId ?? null,
              fact: { kind: 'low', low, opened: false },
            } as const,
          ]),
    ]),
  ]
}

function when({
  atMs,
  chartedAtMs,
  byId,
}: {
  readonly atMs: number
  readonly chartedAtMs: number
  readonly byId: string
}): Omit<Antecedent, 'fact'> {
  return { atMs, chartedAtMs, byId }
}

/**
 * Insulin given, withheld and refused here, and insulin given elsewhere or on paper. Proposals that were not given are
 * left out.
 */
function insulin(facts: AntecedentFacts, policy: WardPolicy): readonly Antecedent[] {
  return [
    ...facts.doses.flatMap((dose): Antecedent[] => {
      const { outcome } = dose
      if (outcome === null || outcome.kind === 'zero-charted') return []
      const fact: AntecedentFact =
        outcome.kind === 'given'
          ? { kind: 'dose', dose, tray: trayOfDose(dose, facts, policy) }
          : { kind: 'dose-not-given', dose }
      return [{ atMs: outcome.atMs, chartedAtMs: null, byId: outcome.byId, fact }]
    }),
    ...facts.outsideDoses.map((dose): Antecedent => ({
      atMs: dose.givenAtMs,
      chartedAtMs: dose.chartedAtMs,
      byId: dose.byId,
      fact: { kind: 'outside-dose', dose },
    })),
  ]
}

function ordered({ orders, orderStops }: AntecedentFacts): readonly Antecedent[] {
  return orders.flatMap((version): Antecedent[] => {
    const { verified, order, endedAtMs } = version
    const at = (atMs: number, byId: string | null, fact: AntecedentFact): Antecedent => ({
      atMs,
      chartedAtMs: null,
      byId,
      fact,
    })
    const stop = orderStops.find((one) => one.orderId === version.orderId && one.atMs === endedAtMs) ?? null
    const replaced = orders.some(
      (other) =>
        other.orderId === version.orderId && other.version > version.version && other.writtenAtMs === endedAtMs,
    )
    const expired =
      order.stopsAtMs !== null && (endedAtMs === null || order.stopsAtMs < endedAtMs)
        ? [at(order.stopsAtMs, null, { kind: 'order-ended', version, how: 'expired', stop: null })]
        : []
    return [
      at(version.writtenAtMs, version.transcribedById, { kind: 'order-written', version }),
      ...(verified === null ? [] : [at(verified.atMs, verified.byId, { kind: 'order-verified', version })]),
      // a version that expired before it was replaced or stopped ended only once
      ...(endedAtMs === null || expired.length > 0
        ? expired
        : [
            at(endedAtMs, stop?.byId ?? null, {
              kind: 'order-ended',
              version,
              how: replaced ? 'replaced' : 'stopped',
              stop,
            }),
          ]),
    ]
  })
}

/** Changes of the bedside facts, and the times when nil by mouth and stopped feeds began and ended. */
function bedside({ facts, interruptions, beds, stay }: AntecedentFacts): readonly Antecedent[] {
  const versions = [...facts].sort((a, b) => a.number - b.number)
  const changes = versions.flatMap((version, index): Antecedent[] => {
    const before = versions[index - 1]
    if (before === undefined) return []
    const names = changedFacts(before.facts, version.facts)
    return names.length === 0
      ? []
      : [
          {
            atMs: version.atMs,
            chartedAtMs: version.atMs,
            byId: version.byId,
            fact: { kind: 'facts-changed', names, before: before.facts, after: version.facts },
          },
        ]
  })
  const plain = (atMs: number, fact: AntecedentFact, byId: string | null = null): Antecedent => ({
    atMs,
    chartedAtMs: null,
    byId,
    fact,
  })
  return [
    ...changes,
    ...nilSpans(facts).flatMap(({ fromMs, toMs }) => [
      plain(fromMs, { kind: 'nil-by-mouth', began: true }),
      ...(Number.isFinite(toMs) ? [plain(toMs, { kind: 'nil-by-mouth', began: false })] : []),
    ]),
    ...interruptions.flatMap((one) => [
      plain(one.fromMs, { kind: 'feed', interruption: one, began: true }, one.byId),
      ...(one.untilMs === null ? [] : [plain(one.untilMs, { kind: 'feed', interruption: one, began: false })]),
    ]),
    ...beds.map((span) => plain(span.fromMs, { kind: 'bed', span, admitted: span.fromMs <= stay.admittedAtMs })),
    ...(stay.dischargedAtMs === null ? [] : [plain(stay.dischargedAtMs, { kind: 'discharged' })]),
  ]
}

function planned({ plans }: AntecedentFacts): readonly Antecedent[] {
  return plans
    .filter(({ fromMs, untilMs }) => untilMs === null || untilMs > fromMs)
    .flatMap((version): Antecedent[] => {
      const at = (atMs: number, began: boolean): Antecedent => ({
        atMs,
        chartedAtMs: null,
        byId: null,
        fact: { kind: 'plan', version, began },
      })
      return [at(version.fromMs, true), ...(version.untilMs === null ? [] : [at(version.untilMs, false)])]
    })
}

/**
 * Kinds of the short list. Only the last reading is in it. Calls, verifications and check plans appear in the full list
 * only.
 */
const TOLD: ReadonlySet<AntecedentFact['kind']> = new Set([
  'dose',
  'outside-dose',
  'dose-not-given',
  'tray',
  'order-written',
  'facts-changed',
  'nil-by-mouth',
  'feed',
  'symptoms',
  'bed',
])

/** The 24 h before in short, latest first, and the rest. Together they are the full list. */
export type BeforeSummary = { readonly told: readonly Antecedent[]; readonly left: readonly Antecedent[] }

/**
 * The short list holds the last reading that counts, all insulin given, withheld or refused, and every meal. It also
 * holds every order written or ended, every change of the patient's facts and every earlier low. A replaced order
 * appears through its new version.
 */
export function summarizeBefore(antecedents: readonly Antecedent[]): BeforeSummary {
  const last = antecedents.findLast(({ fact }) => fact.kind === 'reading' && isEffective(fact.reading))
  const isTold = (one: Antecedent): boolean => {
    const { fact } = one
    if (fact.kind === 'reading') return one === last
    if (fact.kind === 'order-ended') return fact.how !== 'replaced'
    return fact.kind === 'low' ? fact.opened : TOLD.has(fact.kind)
  }
  return { told: antecedents.filter(isTold).reverse(), left: antecedents.filter((one) => !isTold(one)) }
}

/** The last tray and the last dose of each insulin, latest first. A chosen cause is compared with these. */
export function lastTrayAndInsulin(antecedents: readonly Antecedent[]): {
  readonly meal: Antecedent | null
  readonly insulin: readonly Antecedent[]
} {
  const byInsulin = new Map<string, Antecedent>()
  for (const one of antecedents)
    if (one.fact.kind === 'dose' || one.fact.kind === 'outside-dose') byInsulin.set(one.fact.dose.insulin, one)
  return {
    meal: antecedents.findLast(({ fact }) => fact.kind === 'tray') ?? null,
    insulin: [...byInsulin.values()].sort((a, b) => b.atMs - a.atMs),
  }
}
