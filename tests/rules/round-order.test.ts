import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { CheckState } from '../../shared/check/check.ts'
import { inRoundOrder, nextInWalk, progressOf, type Walkable } from '../../shared/check/round-order.ts'
import { decideScan } from '../../shared/check/scan.ts'
import { extraCheck, recheckCheck } from '../../shared/check/plan.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'

const NOW = 1000
const low = (id: string, bedIndex: number, treated: boolean, openedAtMs: number, recheckDueMs: number): Walkable => ({
  id,
  bedIndex,
  standing: { kind: 'low', treated, openedAtMs, recheckDueMs },
})
const tray = (id: string, bedIndex: number, sinceMs: number): Walkable => ({
  id,
  bedIndex,
  standing: { kind: 'insulin-no-tray', sinceMs },
})
const check = (id: string, bedIndex: number, state: CheckState, dueMs = 500): Walkable => ({
  id,
  bedIndex,
  standing: { kind: 'check', state, dueMs },
})
const order = (items: readonly Walkable[]): string[] => inRoundOrder(items, NOW).map(({ id }) => id)

describe('order of the round', () => {
  it('untreated lows, due rechecks, insulin without a tray, late, then open by beds', () => {
    expect(
      order([
        check('done', 0, 'done'),
        check('upcoming', 1, 'upcoming'),
        check('open-bed-2', 2, 'open'),
        check('open-bed-9', 9, 'open', 1),
        check('missed', 3, 'missed'),
        check('late', 8, 'late'),
        tray('tray', 7, 900),
        low('recheck-running', 4, true, 100, NOW + 1),
        low('recheck-due', 5, true, 100, NOW),
        low('untreated', 6, false, 990, NOW + 500),
        check('excused', 0, 'excused'),
      ]),
    ).toEqual([
      'untreated',
      'recheck-due',
      'tray',
      'recheck-running',
      'late',
      'open-bed-2',
      'open-bed-9',
      'missed',
      'upcoming',
      'done',
      'excused',
    ])
  })
  it.each([
    ['the low that waits longest first', [low('b', 0, false, 20, 9), low('a', 5, false, 10, 99)]],
    ['the recheck longest overdue first', [low('b', 0, true, 1, 30), low('a', 5, true, 2, 20)]],
    ['the dose longest without a tray first', [tray('b', 0, 20), tray('a', 5, 10)]],
    ['the check longest late first', [check('b', 0, 'late', 20), check('a', 5, 'late', 10)]],
    ['late at the same time: by beds', [check('b', 5, 'late'), check('a', 1, 'late')]],
    ['open: by beds, whatever is due first', [check('b', 5, 'open', 1), check('a', 1, 'open', 99)]],
    ['upcoming: the next one first', [check('b', 1, 'upcoming', 99), check('a', 5, 'upcoming', 10)]],
  ])('%s', (_name, items) => {
    expect(order(items)).toEqual(['a', 'b'])
  })
  it('a recheck passes the trays in the millisecond at which it is due', () => {
    const items = [tray('tray', 1, 5), low('recheck', 2, true, 1, 2000)]
    expect(inRoundOrder(items, 1999).map(({ id }) => id)).toEqual(['tray', 'recheck'])
    expect(inRoundOrder(items, 2000).map(({ id }) => id)).toEqual(['recheck', 'tray'])
  })
  it('property: any order of input gives the same list, and nothing is lost', () => {
    const state = fc.constantFrom<CheckState>('upcoming', 'open', 'late', 'missed', 'done', 'excused')
    const item = fc.oneof(
      fc.record({ bed: fc.nat(40), state, due: fc.nat(3000) }).map((x) => check('', x.bed, x.state, x.due)),
      fc
        .record({ bed: fc.nat(40), treated: fc.boolean(), at: fc.nat(3000), due: fc.nat(3000) })
        .map((x) => low('', x.bed, x.treated, x.at, x.due)),
      fc.record({ bed: fc.nat(40), at: fc.nat(3000) }).map((x) => tray('', x.bed, x.at)),
    )
    fc.assert(
      fc.property(fc.array(item, { maxLength: 40 }), (raw) => {
        const items = raw.map((one, i) => ({ ...one, id: `i${String(i).padStart(2, '0')}` }))
        expect(order([...items].reverse())).toEqual(order(items))
        expect(order(items).sort()).toEqual(items.map(({ id }) => id).sort())
      }),
    )
  })
})

describe('next step from a bed', () => {
  const next = (items: readonly Walkable[], from: number): string | null => nextInWalk(items, NOW, from)?.id ?? null
  const open = [check('bed1', 1, 'open'), check('bed2', 2, 'open'), check('bed3', 3, 'open')]
  it.each([
    ['the next bed along the walk', open, 1, 'bed2'],
    ['past a bed that was passed over', open, 2, 'bed3'],
    ['round again at the end', open, 3, 'bed1'],
    ['a late one before the open ones', [...open, check('late', 0, 'late')], 2, 'late'],
    [
      'the next along the walk among those late alike',
      [check('a', 1, 'late'), check('b', 2, 'late'), check('c', 3, 'late')],
      2,
      'c',
    ],
    ['a low before all', [...open, low('low', 0, false, 1, 5000)], 1, 'low'],
    [
      'a recheck whose time has come before late ones',
      [check('late', 3, 'late'), low('recheck', 0, true, 1, NOW)],
      1,
      'recheck',
    ],
    ['no recheck whose clock still runs', [low('recheck', 0, true, 1, NOW + 1)], 1, null],
    [
      'not what is on this very bed, done, missed or to come',
      [
        check('here', 1, 'open'),
        check('d', 2, 'done'),
        check('m', 3, 'missed'),
        check('u', 4, 'upcoming'),
        check('e', 5, 'excused'),
        tray('t', 6, 1),
      ],
      1,
      null,
    ],
  ])('%s', (_name, items, from, expected) => {
    expect(next(items, from)).toBe(expected)
  })
})

describe('progress', () => {
  it('counts done and excused as accounted for', () => {
    expect(progressOf(['done', 'done', 'excused', 'open', 'late', 'upcoming', 'missed'])).toEqual({
      accounted: 3,
      excused: 1,
      total: 7,
    })
    expect(progressOf([])).toEqual({ accounted: 0, excused: 0, total: 0 })
  })
})

describe('a wristband scanned on the round', () => {
  const policy = defaultPolicy('mg/dL', 'UTC')
  const recheck = recheckCheck({ lowId: 'low1', stayId: 's1', openedAtMs: 0 }, 1, 5000, policy)
  const extra = (id: string, dueMs: number) => extraCheck('s1', id, dueMs, policy)
  const answer = (checks: Parameters<typeof decideScan>[0]['checks']) =>
    decideScan({ stayId: 's1', elsewhere: null, checks })

  it('opens the recheck first, though something else is longer due', () => {
    expect(
      answer([
        { check: extra('a', 10), state: 'late' },
        { check: recheck, state: 'open' },
      ]),
    ).toMatchObject({ ok: true, value: { checkKey: 'low.low1.1' } })
  })
  it('opens the check that is longest due', () => {
    expect(
      answer([
        { check: extra('b', 90), state: 'open' },
        { check: extra('a', 10), state: 'late' },
      ]),
    ).toMatchObject({ value: { checkKey: 'extra.s1.a' } })
  })
  it('opens no check when all are done or to come, and names the next', () => {
    expect(
      answer([
        { check: extra('a', 10), state: 'done' },
        { check: extra('c', 900), state: 'upcoming' },
        { check: extra('b', 800), state: 'upcoming' },
        { check: extra('m', 1), state: 'missed' },
      ]),
    ).toEqual({ ok: true, value: { stayId: 's1', checkKey: null, nextDueMs: 800 } })
    expect(answer([])).toEqual({ ok: true, value: { stayId: 's1', checkKey: null, nextDueMs: null } })
  })
  it('is refused when it is of another ward, and names only the bed', () => {
    expect(decideScan({ stayId: null, elsewhere: null, checks: [] })).toEqual({
      ok: false,
      reason: 'wristband-not-on-ward',
      details: {},
    })
    expect(decideScan({ stayId: null, elsewhere: { bed: '4', ward: 'North' }, checks: [] })).toEqual({
      ok: false,
      reason: 'wristband-of-other-ward',
      details: { bed: '4', ward: 'North' },
    })
  })
})
