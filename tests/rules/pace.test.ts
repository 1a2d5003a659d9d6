/** The expected end of a list: cases worked out by hand (D), and properties of every list. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  ENOUGH_FINISHED,
  bedReassignments,
  lateSteps,
  paceOf,
  PAUSE_MS,
  type NurseList,
  type PaceCheck,
} from '../../shared/board/pace.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'

const min = (minutes: number): number => minutes * MINUTE_MS
const check = (bed: number, parts: Partial<PaceCheck> = {}): PaceCheck => ({
  checkKey: `check${String(bed)}`,
  bed: String(bed),
  bedIndex: bed,
  opensMs: 0,
  lateAfterMs: min(60),
  doneAtMs: null,
  ...parts,
})
/** A nurse who finished `done` at these minutes and has `left` more beds. */
const list = (staffId: string, done: readonly number[], left: number, firstBed = 1): NurseList => ({
  staffId,
  checks: [
    ...done.map((at, index) => check(firstBed + index, { doneAtMs: min(at) })),
    ...Array.from({ length: left }, (_, index) => check(firstBed + done.length + index)),
  ],
})

describe('pace of one list (worked out by hand, D)', () => {
  it('four checks in 15 min give a step of 5 min: three more from the last one', () => {
    const pace = paceOf(list('a', [0, 5, 10, 15], 3), min(16))
    expect(pace).toMatchObject({ kind: 'pace', stepMs: min(5), finishMs: min(30) })
    if (pace.kind === 'pace') expect(pace.steps.map(({ atMs }) => atMs / MINUTE_MS)).toEqual([20, 25, 30])
  })
  it('a nurse who stops delays the end: the next check is not before now', () => {
    expect(paceOf(list('a', [0, 5, 10, 15], 3), min(40))).toMatchObject({ finishMs: min(50) })
  })
  it('a pause above 20 min is no step; one of 20 min is', () => {
    expect(paceOf(list('a', [0, 4, 8, 30, 34], 1), min(35))).toMatchObject({ stepMs: min(4), finishMs: min(38) })
    expect(paceOf(list('a', [0, 4, 8, 28], 1), min(29))).toMatchObject({ stepMs: min(28 / 3) })
  })
  it('fewer than four finished are not enough, nor are four around a pause', () => {
    expect(paceOf(list('a', [0, 5, 10], 5), min(11))).toEqual({
      kind: 'not-enough-yet',
      finished: 3,
      needed: ENOUGH_FINISHED,
      remaining: 5,
    })
    expect(paceOf(list('a', [0, 5, 10, 45], 5), min(46))).toMatchObject({ kind: 'not-enough-yet', finished: 4 })
  })
  it('a check starts when it opens, and at its late instant it is late', () => {
    const late = {
      staffId: 'a',
      checks: [...list('a', [0, 5, 10, 15], 0).checks, check(8, { opensMs: min(50) }), check(9)],
    }
    expect(paceOf(late, min(16))).toMatchObject({ finishMs: min(55) })
    expect(
      lateSteps(
        { staffId: 'a', checks: [...list('a', [0, 5, 10, 15], 0).checks, check(8, { lateAfterMs: min(20) })] },
        min(16),
      ),
    ).toHaveLength(1)
    expect(
      lateSteps(
        { staffId: 'a', checks: [...list('a', [0, 5, 10, 15], 0).checks, check(8, { lateAfterMs: min(20) + 1 })] },
        min(16),
      ),
    ).toHaveLength(0)
  })
  it('a finished list has its end, an empty one has no work', () => {
    expect(paceOf(list('a', [0, 5], 0), min(9))).toEqual({ kind: 'finished', atMs: min(5) })
    expect(paceOf(list('a', [], 0), min(9))).toEqual({ kind: 'nothing-to-do' })
  })
})

describe('handing over (D)', () => {
  it('the last late beds go to a nurse who has time, and no others', () => {
    // a is at 30 of 60 min with 5 beds at 8 min each: 38, 46, 54, 62, 70; b has finished at 3 min each
    const a = list('a', [6, 14, 22, 30], 5)
    const b = list('b', [10, 13, 16, 19], 1, 20)
    expect(lateSteps(a, min(30)).map(({ bed }) => bed)).toEqual(['8', '9'])
    expect(bedReassignments([a, b], min(30))).toEqual([
      { bed: '9', checkKey: 'check9', fromId: 'a', toId: 'b' },
      { bed: '8', checkKey: 'check8', fromId: 'a', toId: 'b' },
    ])
  })
  it('suggests nothing when nobody can be in time', () => {
    expect(bedReassignments([list('a', [6, 14, 22, 30], 5), list('b', [6, 14, 22, 30], 5, 20)], min(30))).toEqual([])
  })
})

const doneList = fc.array(fc.integer({ min: 0, max: 90 }), { minLength: 0, maxLength: 12 })
const anyList = (staffId: string): fc.Arbitrary<NurseList> =>
  fc
    .tuple(doneList, fc.integer({ min: 0, max: 10 }), fc.integer({ min: 0, max: 50 }))
    .map(([done, left, firstBed]) => list(staffId, done, left, firstBed))

describe('any round', () => {
  it('never predicts an end in the past or before the fastest step seen allows', () => {
    fc.assert(
      fc.property(anyList('a'), fc.integer({ min: 0, max: 60 }), (nurse, more) => {
        const done = nurse.checks.flatMap(({ doneAtMs }) => (doneAtMs === null ? [] : [doneAtMs])).sort((a, b) => a - b)
        const nowMs = (done.at(-1) ?? 0) + min(more)
        const pace = paceOf(nurse, nowMs)
        if (pace.kind !== 'pace') return
        const fastest = Math.min(
          ...done
            .slice(1)
            .map((ms, index) => ms - (done[index] ?? ms))
            .filter((gap) => gap <= PAUSE_MS),
        )
        expect(pace.finishMs).toBeGreaterThanOrEqual((done.at(-1) ?? 0) + pace.steps.length * fastest)
        expect(pace.finishMs).toBeGreaterThanOrEqual(nowMs)
        expect(pace.steps.map(({ atMs }) => atMs)).toEqual(pace.steps.map(({ atMs }) => atMs).sort((x, y) => x - y))
      }),
    )
  })
  it('hands over only late beds, each once, and makes nobody else late', () => {
    fc.assert(
      fc.property(anyList('a'), anyList('b'), anyList('c'), fc.integer({ min: 90, max: 120 }), (a, b, c, at) => {
        const lists = [
          a,
          b,
          { ...c, checks: c.checks.map((one) => ({ ...one, checkKey: `c${one.checkKey}`, lateAfterMs: min(150) })) },
        ]
        const moves = bedReassignments(lists, min(at))
        expect(new Set(moves.map(({ checkKey, fromId }) => `${fromId}${checkKey}`)).size).toBe(moves.length)
        for (const nurse of lists) {
          const taken = moves
            .filter(({ toId }) => toId === nurse.staffId)
            .flatMap(
              ({ fromId, checkKey }) =>
                lists.find(({ staffId }) => staffId === fromId)?.checks.filter((one) => one.checkKey === checkKey) ??
                [],
            )
          if (taken.length > 0)
            expect(lateSteps({ ...nurse, checks: [...nurse.checks, ...taken] }, min(at))).toEqual([])
        }
      }),
    )
  })
})
