/**
 * The whole board of a ward at one instant: needs, beds in walking order, each nurse's pace, and when it next changes.
 */
import type { Check, CheckState } from '../check/check.ts'
import type { PatientNow, RoundLine } from '../check/round-model.ts'
import { callByMs } from '../critical/call.ts'
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { addDays, localToUtc, wardDate } from '../time/zone.ts'
import { maskedOnBoard, type BoardInputs } from './facts.ts'
import { needsOf, type Need } from './needs.ts'
import { bedReassignments, paceOf, type BedReassignment, type NurseList, type Pace, type PaceCheck } from './pace.ts'
import { bedNurses, shiftAt, type BedNurse, type Shift } from './shift.ts'

/** The most urgent state of the bed on the Round, with the same names and order. */
export type BedState =
  | 'empty'
  | 'low-untreated'
  | 'low-recheck-due'
  | 'low-recheck-running'
  | 'insulin-no-tray'
  | 'dose-to-work-out'
  | CheckState
  | 'no-check'

/** How long a low stays on the tile of its bed, open or closed: one shift (our own choice; no published figure). */
export const LOW_SHOWN_MS = 12 * HOUR_MS

export type BedNow = {
  readonly bed: string
  readonly patient: PatientNow | null
  readonly masked: boolean
  /** True when the newest reading has a dose, so that the masked value waits for its second check. */
  readonly doseWaits: boolean
  readonly state: BedState
  /** The time shown with the state: due, opened or since. Null: the state has none. */
  readonly atMs: number | null
  /** When a late check became late. */
  readonly lateSinceMs: number | null
  /** When the newest low began, if it is closed and began less than LOW_SHOWN_MS ago. */
  readonly closedLowAtMs: number | null
  readonly nurse: BedNurse | null
  readonly earlier: BedNurse | null
  /** Number of needs of this bed. */
  readonly waiting: number
}

export type NursePace = {
  readonly nurse: BedNurse
  readonly beds: readonly string[]
  readonly done: number
  readonly total: number
  readonly pace: Pace
}

export type Board = {
  readonly shift: Shift
  readonly needs: readonly Need[]
  readonly beds: readonly BedNow[]
  readonly paces: readonly NursePace[]
  /** Suggestions only; the service never applies them. */
  readonly bedReassignments: readonly BedReassignment[]
  /** Number of checks to do on beds without a nurse. */
  readonly withNobody: number
  /** When time alone next changes the board (excluded). */
  readonly validUntilMs: number
}

/** Builds the board from the Round's model of the same instant. */
export function boardOf(inputs: BoardInputs): Board {
  const { facts, model, nowMs } = inputs
  const shift = shiftAt(facts.policy, nowMs)
  const nurses = bedNurses(facts.bedsTaken, shift)
  const needs = needsOf(inputs)
  const inBed = new Map([...model.patients.values()].map((patient) => [patient.stay.bed, patient]))
  const waiting = new Map<string, number>()
  for (const { stayId } of needs) if (stayId !== null) waiting.set(stayId, (waiting.get(stayId) ?? 0) + 1)
  // the first line of each stay, and the newest of its missed checks
  const lines = new Map([...model.lines].reverse().map((line) => [line.stayId, line]))
  const missed = new Map(model.missed.map((one) => [one.stayId, one.check]))
  const beds = facts.beds.map((bed): BedNow => {
    const patient = inBed.get(bed) ?? null
    const base = { bed, patient, nurse: nurses.now.get(bed) ?? null, earlier: nurses.earlier.get(bed) ?? null }
    if (patient === null)
      return {
        ...base,
        masked: false,
        doseWaits: false,
        state: 'empty',
        atMs: null,
        lateSinceMs: null,
        closedLowAtMs: null,
        waiting: 0,
      }
    const { stayId } = patient.stay
    return {
      ...base,
      masked: maskedOnBoard(patient, inputs),
      doseWaits: facts.lastReadingDoses.some((dose) => dose.stayId === stayId && dose.voided === null),
      ...stateOf(lines.get(stayId), missed.get(stayId), nowMs),
      closedLowAtMs: closedLowAt(patient, nowMs),
      waiting: waiting.get(stayId) ?? 0,
    }
  })
  const lists = listsOf(inputs, nurses.now)
  const paces = lists.map(({ nurse, list }): NursePace => ({
    nurse,
    beds: facts.beds.filter((bed) => nurses.now.get(bed)?.staffId === nurse.staffId),
    done: list.checks.filter(({ doneAtMs }) => doneAtMs !== null).length,
    total: list.checks.length,
    pace: paceOf(list, nowMs),
  }))
  const withNobody = paceChecks(inputs).filter(({ bed, doneAtMs }) => doneAtMs === null && !nurses.now.has(bed)).length
  return {
    shift,
    needs,
    beds,
    paces,
    bedReassignments: bedReassignments(
      lists.map(({ list }) => list),
      nowMs,
    ),
    withNobody,
    validUntilMs: validUntil(inputs, shift, paces),
  }
}

function closedLowAt({ lastLow }: PatientNow, nowMs: number): number | null {
  return lastLow !== null && lastLow.closedAtMs !== null && nowMs < lastLow.openedAtMs + LOW_SHOWN_MS
    ? lastLow.openedAtMs
    : null
}

type BedStatus = Pick<BedNow, 'state' | 'atMs' | 'lateSinceMs'>

/**
 * The state of the bed's first line on the Round. A check that closed without a reading comes before checks not open
 * yet.
 */
function stateOf(line: RoundLine | undefined, missed: Check | undefined, nowMs: number): BedStatus {
  const first = line === undefined ? null : lineState(line, nowMs)
  const waits = first === null || first.state === 'upcoming' || first.state === 'done' || first.state === 'excused'
  if (missed !== undefined && waits) return { state: 'missed', atMs: missed.dueMs, lateSinceMs: null }
  return first ?? { state: 'no-check', atMs: null, lateSinceMs: null }
}

function lineState({ standing, check, state, outcome, doseToWorkOut }: RoundLine, nowMs: number): BedStatus {
  const lateSinceMs = null
  if (standing.kind === 'insulin-no-tray') return { state: 'insulin-no-tray', atMs: standing.sinceMs, lateSinceMs }
  if (standing.kind === 'low') {
    if (!standing.treated) return { state: 'low-untreated', atMs: standing.openedAtMs, lateSinceMs }
    return {
      state: nowMs >= standing.recheckDueMs ? 'low-recheck-due' : 'low-recheck-running',
      atMs: standing.recheckDueMs,
      lateSinceMs,
    }
  }
  if (doseToWorkOut !== null) return { state: 'dose-to-work-out', atMs: doseToWorkOut.takenAtMs, lateSinceMs }
  return {
    state: state ?? 'no-check',
    atMs: outcome?.kind === 'done' ? outcome.atMs : (check?.dueMs ?? null),
    lateSinceMs: state === 'late' && check !== null ? check.lateAfterMs : null,
  }
}

/** The planned checks of the Round's lines, without those that closed without a reading. */
function paceChecks({ model }: BoardInputs): readonly PaceCheck[] {
  return model.lines.flatMap(({ check, bedIndex, stayId, outcome }): PaceCheck[] => {
    if (check?.kind !== 'planned') return []
    return [
      {
        checkKey: check.key,
        bed: model.patients.get(stayId)?.stay.bed ?? '',
        bedIndex,
        opensMs: check.opensMs,
        lateAfterMs: check.lateAfterMs,
        doneAtMs: outcome?.atMs ?? null,
      },
    ]
  })
}

function listsOf(
  inputs: BoardInputs,
  nurses: ReadonlyMap<string, BedNurse>,
): readonly { readonly nurse: BedNurse; readonly list: NurseList }[] {
  const people = new Map([...nurses.values()].map((nurse) => [nurse.staffId, nurse]))
  const checks = paceChecks(inputs)
  return [...people.values()]
    .map((nurse) => ({
      nurse,
      list: { staffId: nurse.staffId, checks: checks.filter(({ bed }) => nurses.get(bed)?.staffId === nurse.staffId) },
    }))
    .sort((a, b) =>
      a.nurse.name < b.nurse.name ? -1 : a.nurse.name > b.nurse.name ? 1 : a.nurse.staffId < b.nurse.staffId ? -1 : 1,
    )
}

/**
 * The next instant at which time alone changes the board: the Round's own changes, and those that only the board shows.
 */
function validUntil({ facts, model, nowMs }: BoardInputs, shift: Shift, paces: readonly NursePace[]): number {
  const { policy } = facts
  const patients = [...model.patients.values()]
  const changes = [
    model.validUntilMs,
    shift.endsMs,
    localToUtc(addDays(wardDate(nowMs, policy.zone), 1), '00:00', policy.zone),
    ...patients.flatMap(({ lastReading, items, openLow, lastLow }) => [
      lastLow === null ? nowMs : lastLow.openedAtMs + LOW_SHOWN_MS,
      lastReading === null ? nowMs : lastReading.takenAtMs + policy.dose.readingAgeMaxMin * MINUTE_MS + 1,
      ...items.filter(({ kind }) => kind === 'critical').map(({ sinceMs }) => callByMs(sinceMs, policy) + 1),
      ...(openLow?.steps ?? []).map(({ deadlineMs }) => deadlineMs),
    ]),
    ...facts.lastReadingDoses.map(
      (dose) => (dose.inputs.readingTakenAtMs ?? dose.proposedAtMs) + policy.dose.readingAgeMaxMin * MINUTE_MS + 1,
    ),
    ...facts.orders.flatMap(({ order, endedAtMs }) => [order.startsAtMs, order.stopsAtMs ?? nowMs, endedAtMs ?? nowMs]),
    // nobody charts times in the future, but a corrected clock can leave some
    ...facts.meters.map(({ lastControl }) => lastControl?.atMs ?? nowMs),
    ...facts.trays.map(({ servedAtMs }) => servedAtMs ?? nowMs),
    // a finish is shown to the minute, and moves with every minute in which nobody charts
    ...(paces.some(({ pace }) => pace.kind === 'pace') ? [(Math.floor(nowMs / MINUTE_MS) + 1) * MINUTE_MS] : []),
  ]
  return Math.min(nowMs + DAY_MS, ...changes.filter((ms) => ms > nowMs))
}
