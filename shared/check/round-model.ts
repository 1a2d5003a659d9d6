/**
 * Everything that a ward's Round shows, derived from the ward's facts at one instant. The same facts and instant give
 * the same model. `validUntilMs` is when time alone next changes it.
 */
import { openLows } from '../low/current.ts'
import { NOTHING_OF_CARE, type CareFacts, type StayCare } from '../care/facts.ts'
import type { Task } from '../care/task.ts'
import { tasksOf } from '../care/tasks.ts'
import { watchesOf } from '../care/watch.ts'
import type { WatchTime } from '../care/watch-time.ts'
import { laboratoryWait, type LaboratoryWait } from '../critical/laboratory.ts'
import type { Dose, DoseState, TrayFact } from '../dose/dose.ts'
import { doseState, validUntilMs } from '../dose/state.ts'
import type { LowEvent } from '../low/low.ts'
import type { LowPhase } from '../low/course.ts'
import { lowState, type DueStep, type LowState } from '../low/event.ts'
import { mealsAround } from '../low/meals.ts'
import { occasionOfReading } from '../order/occasion.ts'
import { isInForce, type OrderVersion } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { awaitsDose } from '../reading/mask.ts'
import type { Reading } from '../reading/reading.ts'
import { isNilByMouth, type Stay } from '../stay/stay.ts'
import { contains } from '../time/interval.ts'
import type { Check, CheckOutcome, CheckState, PlanVersion, TrayDelay } from './check.ts'
import { currentRound, plannedChecks, recheckCheck, type Round } from './plan.ts'
import { inRoundOrder, type Walkable } from './round-order.ts'
import { missedBasalSlots, nextSlotChangeMs, scheduledSlots, type ScheduledSlot } from './scheduled.ts'
import { checkState, nextChangeMs } from './state.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'

/** How far ahead to look for checks of the next round that may open before this one ends. */
const AHEAD_MS = 6 * HOUR_MS

/** Something open that a person has to settle. */
export type RoundItem = {
  readonly itemId: string
  readonly kind: 'low' | 'critical' | 'second-check' | 'insulin-question' | 'flag' | 'insulin-no-tray' | 'handover'
  readonly stayId: string
  readonly sinceMs: number
  readonly subjectId: string
}

export type RoundFacts = {
  readonly beds: readonly string[]
  readonly policy: WardPolicy
  readonly trayDelays: readonly TrayDelay[]
  readonly stays: readonly Stay[]
  readonly plans: readonly PlanVersion[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
  readonly lastReadings: ReadonlyMap<string, Reading>
  readonly orders: readonly OrderVersion[]
  readonly lows: readonly LowEvent[]
  readonly openItems: readonly RoundItem[]
  readonly openDoses: readonly Dose[]
  /** Doses of each stay's newest reading. They show whether a dose was calculated. */
  readonly lastReadingDoses: readonly Dose[]
  /** Signed doses that have expired, where nobody has charted whether they were given. */
  readonly unaccountedDoses: readonly Dose[]
  /** Effective LO and HI readings and laboratory values of the look-back period. */
  readonly forLaboratory: readonly Reading[]
  readonly trays: readonly TrayFact[]
  /** Entries, recent readings and insulin given by stay; a stay without one has none. */
  readonly care?: ReadonlyMap<string, StayCare>
  /** All readings of the stays with an open low event, by stay. The recheck's times are derived from them. */
  readonly readingsOfLows: ReadonlyMap<string, readonly Reading[]>
  /** Slot keys of settled scheduled doses. */
  readonly settledSlots: ReadonlySet<string>
  /**
   * For each stay an object that stays identical while nothing about the stay changes. A stay without one is derived
   * anew each time.
   */
  readonly stayRevisions?: ReadonlyMap<string, object>
}

/**
 * The newest reading of a stay when it needs a dose calculation. It answers a planned check that is done, and an order
 * in force covers its occasion. No dose has been calculated from it up to the check's closing. It appears for every
 * number that is not low, so it reveals nothing of the value; the dose may be 0. `tooOld`: past the policy's reading
 * age, so a new reading is needed first.
 */
export type DoseToWorkOut = {
  readonly readingId: string
  readonly checkKey: string
  readonly byId: string
  readonly takenAtMs: number
  /** the tray, or the end of the reading's age if that is sooner */
  readonly dueMs: number
  readonly tooOld: boolean
}

/** The current state of one patient. */
export type PatientNow = {
  readonly stay: Stay
  readonly bedIndex: number
  readonly lastReading: Reading | null
  readonly nilByMouth: boolean
  /** The newest known low event, open or closed. */
  readonly lastLow: LowEvent | null
  /**
   * `untreatedSinceMs`: since when a value waits for treatment; null: none does. `steps`: every step still due, each
   * with its time.
   */
  readonly openLow: {
    readonly lowId: string
    readonly phase: LowPhase
    readonly dueMs: number | null
    readonly untreatedSinceMs: number | null
    readonly steps: readonly DueStep[]
  } | null
  /** Low events before it that only wait for their paperwork. */
  readonly olderLows: readonly { readonly lowId: string; readonly steps: readonly DueStep[] }[]
  /** A LO or HI reading that waits for its laboratory value. */
  readonly laboratory: LaboratoryWait | null
  /** Doses that may have been given. Until somebody charts this, no other dose is calculated. */
  readonly unaccounted: readonly string[]
  /** Unsettled doses that need action, or that expired before they were given. */
  readonly openDoses: readonly { readonly doseId: string; readonly state: DoseState }[]
  readonly items: readonly RoundItem[]
  readonly doseToWorkOut: DoseToWorkOut | null
  /** What a person must do besides (shared/care/tasks.ts), longest waiting first. */
  readonly tasks: readonly Task[]
  /** Watch checks that facts ask for, those ahead included. */
  readonly watches: readonly WatchTime[]
}

/**
 * One line of the round: a check, a low with its recheck, or insulin given without a tray (then without a check).
 * `doseToWorkOut`: the patient's, on the line of the check that its reading answered.
 */
export type RoundLine = Walkable & {
  readonly stayId: string
  readonly check: Check | null
  readonly state: CheckState | null
  readonly outcome: CheckOutcome | null
  readonly doseToWorkOut: DoseToWorkOut | null
}

export type RoundModel = {
  readonly round: Round
  /** In the order of the round (round-order.ts). */
  readonly lines: readonly RoundLine[]
  /** Planned checks of this round with their states. They give the progress of any selection of beds. */
  readonly roundChecks: readonly { readonly stayId: string; readonly state: CheckState }[]
  /** Closed without a reading within the policy's look-back. Each needs a reason. Oldest first. */
  readonly missed: readonly { readonly stayId: string; readonly check: Check }[]
  readonly scheduled: readonly ScheduledSlot[]
  readonly patients: ReadonlyMap<string, PatientNow>
  /** Open items of patients who have left the ward. A person must still settle them. */
  readonly leftBehind: readonly RoundItem[]
  readonly validUntilMs: number
  /** Parts that a later derivation may reuse. */
  readonly derived: DerivedStays
}

/** The stays' parts of one derivation, and the other facts that they were derived from. */
type DerivedStays = {
  readonly facts: Pick<RoundFacts, 'policy' | 'trayDelays' | 'beds' | 'stayRevisions'>
  readonly round: Round
  readonly nowMs: number
  readonly parts: ReadonlyMap<string, StayPart>
}

/**
 * Derives the round at the instant. For stays no longer on the ward only the open items are kept. From an `earlier`
 * model it reuses the part of each stay that neither the facts nor the time have changed. Reused parts are the same
 * objects. The result equals a derivation without `earlier`.
 */
export function roundModel(facts: RoundFacts, nowMs: number, earlier?: RoundModel): RoundModel {
  const { policy } = facts
  const round = currentRound(nowMs, policy, facts.trayDelays)
  const known = earlier === undefined ? undefined : reusable(earlier.derived, facts, round, nowMs)
  const [plans, lows, doses, items] = [
    grouped(facts.plans),
    grouped(facts.lows),
    grouped(facts.openDoses),
    grouped(facts.openItems),
  ]
  const lastDoses = grouped(facts.lastReadingDoses)
  const [unaccounted, laboratory] = [grouped(facts.unaccountedDoses), grouped(facts.forLaboratory)]
  const derive = (stay: Stay): StayPart =>
    stayPart({
      facts,
      round,
      nowMs,
      stay,
      plans: plans.get(stay.stayId) ?? [],
      lows: lows.get(stay.stayId) ?? [],
      doses: doses.get(stay.stayId) ?? [],
      items: items.get(stay.stayId) ?? [],
      lastDoses: lastDoses.get(stay.stayId) ?? [],
      unaccounted: unaccounted.get(stay.stayId) ?? [],
      laboratory: laboratory.get(stay.stayId) ?? [],
    })
  const parts = facts.stays.map((stay) => known?.(stay.stayId) ?? derive(stay))
  const patients = new Map(parts.map(({ patient }) => [patient.stay.stayId, patient]))
  const bedOf = (stayId: string): number => patients.get(stayId)?.bedIndex ?? 0
  const orders = facts.orders.filter(({ stayId }) => patients.has(stayId))
  const slotFacts = { zone: policy.zone, lookBackHours: policy.missedLookBackHours, settled: facts.settledSlots }
  const changes = [
    round.endsMs,
    round.trayMs,
    ...parts.flatMap((part) => part.changes),
    ...orders.map((version) => nextSlotChangeMs(version, slotFacts, nowMs)),
  ]
  return {
    round,
    lines: inRoundOrder(
      parts.flatMap((part) => part.lines),
      nowMs,
    ),
    roundChecks: parts.flatMap((part) => part.roundChecks),
    missed: parts
      .flatMap((part) => part.missed)
      .sort((a, b) => a.check.dueMs - b.check.dueMs || bedOf(a.stayId) - bedOf(b.stayId)),
    scheduled: orders
      .flatMap((version) => scheduledSlots(version, slotFacts, nowMs))
      .sort((a, b) => a.dueMs - b.dueMs || bedOf(a.stayId) - bedOf(b.stayId)),
    patients,
    leftBehind: facts.openItems.filter(({ stayId }) => !patients.has(stayId)),
    validUntilMs: firstAfter(changes, nowMs),
    derived: { facts, round, nowMs, parts: new Map(parts.map((part) => [part.patient.stay.stayId, part])) },
  }
}

/** The stay's unchanged part of the earlier derivation. Undefined: it must be derived anew. */
function reusable(
  earlier: DerivedStays,
  facts: RoundFacts,
  round: Round,
  nowMs: number,
): ((stayId: string) => StayPart | undefined) | undefined {
  const sameWard =
    earlier.facts.policy === facts.policy &&
    isSameList(earlier.facts.trayDelays, facts.trayDelays) &&
    isSameList(earlier.facts.beds, facts.beds) &&
    earlier.round.occasion === round.occasion &&
    earlier.round.startsMs === round.startsMs &&
    earlier.round.endsMs === round.endsMs &&
    earlier.round.trayMs === round.trayMs &&
    nowMs >= earlier.nowMs
  if (!sameWard) return undefined
  return (stayId) => {
    const part = earlier.parts.get(stayId)
    const revision = facts.stayRevisions?.get(stayId)
    if (part === undefined || revision === undefined || revision !== earlier.facts.stayRevisions?.get(stayId))
      return undefined
    // an open low depends on readings that are not among the stay's own facts
    return part.patient.openLow === null && nowMs < firstAfter(part.changes, earlier.nowMs) ? part : undefined
  }
}

function isSameList<T>(one: readonly T[], other: readonly T[]): boolean {
  return one === other || (one.length === other.length && one.every((item, index) => item === other[index]))
}

/** The first of the instants after `ms`; infinity when there is none. */
function firstAfter(changes: readonly (number | null)[], ms: number): number {
  return Math.min(...changes.filter((change): change is number => change !== null && change > ms))
}

type StayInputs = {
  readonly facts: RoundFacts
  readonly round: Round
  readonly nowMs: number
  readonly stay: Stay
  readonly plans: readonly PlanVersion[]
  readonly lows: readonly LowEvent[]
  readonly doses: readonly Dose[]
  readonly lastDoses: readonly Dose[]
  readonly items: readonly RoundItem[]
  readonly unaccounted: readonly Dose[]
  readonly laboratory: readonly Reading[]
}

/** One stay's part of the model. `changes` are the instants at which it may change; past ones and null are allowed. */
type StayPart = {
  readonly patient: PatientNow
  readonly lines: RoundLine[]
  readonly roundChecks: { readonly stayId: string; readonly state: CheckState }[]
  readonly missed: { readonly stayId: string; readonly check: Check }[]
  readonly changes: (number | null)[]
}

function stayPart(inputs: StayInputs): StayPart {
  const { facts, nowMs, stay, lows, doses, items } = inputs
  const { policy } = facts
  const care = careOf(inputs)
  const watches = watchesOf(care, nowMs)
  const checks = checksOf(inputs, watches)
  const { tasks, changes: taskChanges } = tasksOf(care, nowMs)
  const awaited = doseToWorkOut(inputs, checks)
  const unaccounted = [
    ...inputs.unaccounted,
    ...doses.filter(({ voided, product, outcome }) => voided !== null && product !== null && outcome === null),
  ].map(({ doseId }) => doseId)
  const place = facts.beds.indexOf(stay.bed)
  const [open, ...older] = openLows(lows)
  const state = open === undefined ? null : stateOfLow(open, inputs)
  const laboratory = laboratoryWait(inputs.laboratory, policy, nowMs)
  const part: StayPart = {
    patient: {
      stay,
      bedIndex: place === -1 ? facts.beds.length : place,
      lastReading: facts.lastReadings.get(stay.stayId) ?? null,
      nilByMouth: isNilByMouth(stay.facts, nowMs),
      lastLow: lows.reduce<LowEvent | null>(
        (last, one) => (last === null || one.openedAtMs > last.openedAtMs ? one : last),
        null,
      ),
      openLow:
        open === undefined || state === null
          ? null
          : {
              lowId: open.lowId,
              phase: state.course.phase,
              dueMs: state.course.dueMs,
              untreatedSinceMs: state.course.untreatedSinceMs,
              steps: state.steps,
            },
      olderLows: older.map((low) => ({ lowId: low.lowId, steps: stateOfLow(low, inputs).steps })),
      laboratory,
      unaccounted,
      openDoses: doses
        .map((dose) => ({ doseId: dose.doseId, state: doseState(dose, policy, nowMs) }))
        .filter(({ state }) => state !== 'zero'),
      items,
      // no dose may be calculated while another is unaccounted for
      doseToWorkOut: unaccounted.length === 0 ? awaited.dose : null,
      tasks,
      watches,
    },
    lines: [],
    roundChecks: [],
    missed: [],
    changes: [
      stay.facts.nilByMouth?.fromMs ?? null,
      stay.facts.nilByMouth?.untilMs ?? null,
      ...doses.map((dose) => validUntilMs(dose, policy) + 1),
      ...awaited.changes,
      ...taskChanges,
      laboratory === null ? null : laboratory.untilMs + 1,
    ],
  }
  if (open !== undefined && state !== null) addRecheck(part, inputs, open, state)
  addTrays(part, inputs)
  addPlanned(part, inputs, checks)
  return part
}

function careOf({ facts, stay, lows, nowMs }: StayInputs): CareFacts {
  const { policy, trays, orders } = facts
  const isOwn = ({ stayId }: { readonly stayId: string }): boolean => stayId === stay.stayId
  const own = facts.care?.get(stay.stayId) ?? NOTHING_OF_CARE
  const ordersOfStay = orders.filter(isOwn)
  const slotFacts = { zone: policy.zone, lookBackHours: policy.missedLookBackHours, settled: facts.settledSlots }
  const missedBasal = missedBasalSlots(ordersOfStay, slotFacts, nowMs)
  return { ...own, stay, policy, lows, missedBasal, trays: trays.filter(isOwn), orders: ordersOfStay }
}

function checksOf({ facts, round, nowMs, stay, plans }: StayInputs, watches: readonly WatchTime[]): readonly Check[] {
  const { policy, trayDelays, outcomes } = facts
  return plannedChecks({
    plans,
    policy,
    trayDelays,
    outcomes,
    fromMs: nowMs - policy.missedLookBackHours * HOUR_MS,
    toMs: round.endsMs + AHEAD_MS,
    watches,
    stay,
  })
}

/** The dose still to be calculated from the stay's newest reading, and when time alone changes that. */
function doseToWorkOut(
  { facts, nowMs, stay, lastDoses }: StayInputs,
  checks: readonly Check[],
): { readonly dose: DoseToWorkOut | null; readonly changes: readonly (number | null)[] } {
  const { policy, trayDelays } = facts
  const reading = facts.lastReadings.get(stay.stayId)
  if (reading === undefined) return { dose: null, changes: [] }
  // a repeat taken inside the check's window answers it too
  const { occasion, date, slot, own } = occasionOfReading(reading, policy, trayDelays)
  const check = own ? checks.find(({ key }) => key === `${stay.stayId}.${date}.${slot}`) : undefined
  if (check === undefined || facts.outcomes.get(check.key)?.kind !== 'done') return { dose: null, changes: [] }
  const orders = facts.orders.filter(
    ({ stayId, order }) =>
      stayId === stay.stayId &&
      (order.correction !== null || order.meal !== null) &&
      order.occasions.includes(occasion),
  )
  const oldAtMs = reading.takenAtMs + policy.dose.readingAgeMaxMin * MINUTE_MS
  const changes = [
    oldAtMs + 1,
    check.closesMs,
    ...orders.flatMap(({ order, endedAtMs }) => [order.startsAtMs, order.stopsAtMs, endedAtMs]),
  ]
  const hasApplicableOrder = orders.some((version) => isInForce(version, nowMs))
  if (nowMs >= check.closesMs || !awaitsDose(reading, lastDoses, { policy, hasApplicableOrder }))
    return { dose: null, changes }
  const dueMs = check.lateAfterMs > reading.takenAtMs ? Math.min(check.lateAfterMs, oldAtMs) : oldAtMs
  return {
    dose: {
      readingId: reading.readingId,
      checkKey: check.key,
      byId: reading.byId,
      takenAtMs: reading.takenAtMs,
      dueMs,
      tooOld: nowMs > oldAtMs,
    },
    changes,
  }
}

function stateOfLow(low: LowEvent, { facts, stay, nowMs }: StayInputs): LowState {
  const { policy, trayDelays, trays, readingsOfLows } = facts
  return lowState({
    low,
    policy,
    nowMs,
    readings: readingsOfLows.get(stay.stayId) ?? [],
    bedside: stay.facts,
    mealsMs: mealsAround(low.openedAtMs, nowMs, policy, trayDelays),
    servedMs: trays.flatMap(({ stayId, servedAtMs }) =>
      stayId === stay.stayId && servedAtMs !== null ? [servedAtMs] : [],
    ),
  })
}

function addRecheck(
  { patient, lines, changes }: StayPart,
  { facts, nowMs }: StayInputs,
  low: LowEvent,
  { course: { cycle, dueMs, untreatedSinceMs }, changesAtMs }: LowState,
): void {
  changes.push(changesAtMs)
  if (dueMs === null) return
  const check = recheckCheck(low, cycle, dueMs, facts.policy)
  const outcome = facts.outcomes.get(check.key)
  const treated = untreatedSinceMs === null
  const standing = { kind: 'low', treated, openedAtMs: low.openedAtMs, recheckDueMs: dueMs } as const
  lines.push({
    id: check.key,
    bedIndex: patient.bedIndex,
    stayId: low.stayId,
    check,
    state: checkState(check, outcome, nowMs),
    outcome: outcome ?? null,
    doseToWorkOut: null,
    standing,
  })
  changes.push(dueMs, nextChangeMs(check, outcome, nowMs))
}

function addTrays({ patient, lines, changes }: StayPart, { facts, round, nowMs, items }: StayInputs): void {
  for (const { itemId, stayId, kind, sinceMs } of items) {
    if (kind !== 'insulin-no-tray') continue
    const fromMs = noTrayFromMs(sinceMs, round, facts)
    if (nowMs >= fromMs)
      lines.push({
        id: itemId,
        bedIndex: patient.bedIndex,
        stayId,
        check: null,
        state: null,
        outcome: null,
        doseToWorkOut: null,
        standing: { kind, sinceMs },
      })
    changes.push(fromMs)
  }
}

function addPlanned(
  { patient, lines, roundChecks, missed, changes }: StayPart,
  { facts, round, nowMs, stay }: StayInputs,
  checks: readonly Check[],
): void {
  const { policy, outcomes } = facts
  const { stayId } = stay
  const lookBackMs = policy.missedLookBackHours * HOUR_MS
  for (const check of checks) {
    const outcome = outcomes.get(check.key)
    const state = checkState(check, outcome, nowMs)
    const ofRound = isOfRound(check, round)
    changes.push(nextChangeMs(check, outcome, nowMs))
    if (ofRound) roundChecks.push({ stayId, state })
    if (state === 'missed') {
      missed.push({ stayId, check })
      changes.push(check.dueMs + lookBackMs + 1)
    } else if (ofRound || state === 'open' || state === 'late') {
      lines.push({
        id: check.key,
        bedIndex: patient.bedIndex,
        stayId,
        check,
        state,
        outcome: outcome ?? null,
        doseToWorkOut: patient.doseToWorkOut?.checkKey === check.key ? patient.doseToWorkOut : null,
        standing: { kind: 'check', state, dueMs: check.dueMs },
      })
    }
  }
}

/** True when the check belongs to this round: by its occasion and date, or by time for a listed or overnight slot. */
function isOfRound(check: Check, round: Round): boolean {
  const slot = check.key.split('.')[2]
  if (slot === check.occasion && slot !== 'overnight')
    return check.occasion === round.occasion && check.date === round.date
  return contains({ fromMs: round.startsMs, toMs: round.endsMs }, check.dueMs)
}

/**
 * From when insulin given without a charted tray is shown: after the policy's minutes. It is shown at once when the
 * trays are known to come later than that.
 */
function noTrayFromMs(sinceMs: number, round: Round, facts: RoundFacts): number {
  const limitMs = sinceMs + facts.policy.dose.noTrayAfterMin * MINUTE_MS
  const delayed = facts.trayDelays.some(({ date, minutes }) => date === round.date && minutes > 0)
  return delayed && round.trayMs !== null && round.trayMs > limitMs ? sinceMs : limitMs
}

function grouped<T extends { readonly stayId: string }>(all: readonly T[]): ReadonlyMap<string, readonly T[]> {
  const groups = new Map<string, T[]>()
  for (const one of all) {
    const group = groups.get(one.stayId)
    if (group === undefined) groups.set(one.stayId, [one])
    else group.push(one)
  }
  return groups
}
