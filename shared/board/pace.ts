/**
 * Estimates when each nurse will finish, from this round's progress. The page states the assumption. The checks left
 * take as long as the same nurse's finished ones took on average. They are done one after another in walking order. A
 * pause longer than 20 minutes does not count as a step. No check begins before it opens. The result is an estimate,
 * not a promise.
 */
import { MINUTE_MS } from '../time/span.ts'

/** One planned check of the round. `doneAtMs`: when it was charted or excused. Null: still to do. */
export type PaceCheck = {
  readonly checkKey: string
  readonly bed: string
  readonly bedIndex: number
  readonly opensMs: number
  readonly lateAfterMs: number
  readonly doneAtMs: number | null
}

export type NurseList = { readonly staffId: string; readonly checks: readonly PaceCheck[] }

export type PlannedStep = {
  readonly checkKey: string
  readonly bed: string
  readonly atMs: number
  readonly late: boolean
}

export type Pace =
  | { readonly kind: 'nothing-to-do' }
  | { readonly kind: 'finished'; readonly atMs: number }
  | { readonly kind: 'not-enough-yet'; readonly finished: number; readonly needed: number; readonly remaining: number }
  | {
      readonly kind: 'pace'
      readonly stepMs: number
      readonly finishMs: number
      readonly steps: readonly PlannedStep[]
    }

/** Fewer finished checks than this give no reliable pace (our own choice; no published figure). */
export const ENOUGH_FINISHED = 4
/** A longer gap between two finished checks is a pause. */
export const PAUSE_MS = 20 * MINUTE_MS

/** The pace of one nurse's list at the instant. */
export function paceOf(list: NurseList, nowMs: number): Pace {
  const done = doneTimes(list)
  const left = toDo(list)
  if (left.length === 0)
    return done.length === 0 ? { kind: 'nothing-to-do' } : { kind: 'finished', atMs: done.at(-1) ?? nowMs }
  const stepMs = stepOf(done)
  if (stepMs === null)
    return { kind: 'not-enough-yet', finished: done.length, needed: ENOUGH_FINISHED, remaining: left.length }
  const steps = walk(left, { fromMs: done.at(-1) ?? nowMs, stepMs, nowMs })
  return { kind: 'pace', stepMs, finishMs: steps.at(-1)?.atMs ?? nowMs, steps }
}

/** A bed that one nurse could pass to another. */
export type BedReassignment = {
  readonly bed: string
  readonly checkKey: string
  readonly fromId: string
  readonly toId: string
}

/**
 * Suggests beds to reassign. Their checks would be late with the current nurse, but on time with another whose own
 * checks stay on time. The last checks of a late list come first; each goes to the nurse who would finish first. The
 * service never reassigns by itself. Empty when nothing helps.
 */
export function bedReassignments(lists: readonly NurseList[], nowMs: number): readonly BedReassignment[] {
  const working = new Map(lists.map((list) => [list.staffId, list]))
  const moved: BedReassignment[] = []
  for (const { staffId } of lists) {
    for (;;) {
      const from = working.get(staffId)
      const late = from === undefined ? undefined : lateSteps(from, nowMs).at(-1)
      if (from === undefined || late === undefined) break
      const check = from.checks.find(({ checkKey }) => checkKey === late.checkKey)
      const taker =
        check === undefined
          ? undefined
          : takerOf(
              check,
              [...working.values()].filter((list) => list.staffId !== staffId),
              nowMs,
            )
      if (check === undefined || taker === undefined) break
      working.set(staffId, { staffId, checks: from.checks.filter(({ checkKey }) => checkKey !== late.checkKey) })
      working.set(taker.staffId, taker)
      moved.push({ bed: check.bed, checkKey: check.checkKey, fromId: staffId, toId: taker.staffId })
    }
  }
  return moved
}

/** The steps that the list would reach after their check is late. */
export function lateSteps(list: NurseList, nowMs: number): readonly PlannedStep[] {
  const pace = paceOf(list, nowMs)
  return pace.kind === 'pace' ? pace.steps.filter(({ late }) => late) : []
}

/** The list, with the check added, of the nurse who would finish first with nothing late. Undefined: nobody would. */
function takerOf(check: PaceCheck, others: readonly NurseList[], nowMs: number): NurseList | undefined {
  const takers = others.flatMap((list) => {
    const stepMs = stepOf(doneTimes(list))
    if (stepMs === null) return []
    const added = { staffId: list.staffId, checks: [...list.checks, check] }
    const pace = paceOf(added, nowMs)
    return pace.kind === 'pace' && pace.steps.every(({ late }) => !late) ? [{ added, finishMs: pace.finishMs }] : []
  })
  return takers.sort((a, b) => a.finishMs - b.finishMs || (a.added.staffId < b.added.staffId ? -1 : 1))[0]?.added
}

function doneTimes({ checks }: NurseList): readonly number[] {
  return checks.flatMap(({ doneAtMs }) => (doneAtMs === null ? [] : [doneAtMs])).sort((a, b) => a - b)
}

function toDo({ checks }: NurseList): readonly PaceCheck[] {
  return checks
    .filter(({ doneAtMs }) => doneAtMs === null)
    .sort((a, b) => a.bedIndex - b.bedIndex || a.opensMs - b.opensMs || (a.checkKey < b.checkKey ? -1 : 1))
}

/** The average step between finished checks, without pauses. Null: there are too few. */
function stepOf(done: readonly number[]): number | null {
  if (done.length < ENOUGH_FINISHED) return null
  const gaps = done
    .slice(1)
    .map((ms, index) => ms - (done[index] ?? ms))
    .filter((gap) => gap <= PAUSE_MS)
  return gaps.length < ENOUGH_FINISHED - 1 ? null : gaps.reduce((sum, gap) => sum + gap, 0) / gaps.length
}

/** Plans one check after another, a step apart. None begins before it opens or before now. */
function walk(
  left: readonly PaceCheck[],
  { fromMs, stepMs, nowMs }: { readonly fromMs: number; readonly stepMs: number; readonly nowMs: number },
): readonly PlannedStep[] {
  let atMs = fromMs
  return left.map((check, index) => {
    atMs = Math.max(atMs + stepMs, check.opensMs, index === 0 ? nowMs : 0)
    return { checkKey: check.checkKey, bed: check.bed, atMs, late: atMs >= check.lateAfterMs }
  })
}
