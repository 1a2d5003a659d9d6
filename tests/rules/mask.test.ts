/** Who may not see a reading or a dose yet. Each part of the rule at its edge, and what is never masked. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Dose, DoseVoidReason, SecondAnswer } from '../../shared/dose/dose.ts'
import type { Role } from '../../shared/ledger/events.ts'
import { maskedDose, maskedFor, nursesWhoKnow } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { at, doseOf, glucose, MINUTE, POLICY, reading } from '../support/readings.ts'

const taken = reading(187, at('07:20'), { readingId: 'r1' })
const dose = doseOf(taken)
const OTHER = { staffId: 'nurse-b', role: 'floor-nurse' } as const
const NOW = at('07:25')

function masked(
  parts: {
    who?: { staffId: string; role: Role }
    of?: Reading
    doses?: readonly Dose[]
    nowMs?: number
    hasApplicableOrder?: boolean
  } = {},
): boolean {
  const { who = OTHER, of = taken, doses = [], nowMs = NOW, hasApplicableOrder } = parts
  return maskedFor(who, of, doses, {
    nowMs,
    policy: POLICY,
    ...(hasApplicableOrder === undefined ? {} : { hasApplicableOrder }),
  })
}

const answer = (agreed: boolean): SecondAnswer => ({
  byId: 'nurse-b',
  atMs: NOW,
  glucose: taken.glucose,
  units: 4,
  agreed,
})
const voided = (reason: DoseVoidReason): Pick<Dose, 'voided'> => ({ voided: { reason, atMs: NOW } })

describe('a reading by its viewer', () => {
  it.each([
    ['another floor nurse', OTHER, true],
    ['a charge nurse', { staffId: 'nurse-c', role: 'charge-nurse' }, true],
    ['who took it', { staffId: 'nurse-a', role: 'floor-nurse' }, false],
    ['an educator', { staffId: 'e', role: 'educator' }, false],
    ['an administrator', { staffId: 'x', role: 'administrator' }, false],
  ] as const)('%s: %s', (_name, who, expected) => {
    expect([masked({ who }), masked({ who, doses: [dose] })]).toEqual([expected, expected])
  })

  it('is shown to the nurse who worked out its dose, though another took it', () => {
    expect(masked({ doses: [doseOf(taken, { proposedById: 'nurse-b' })] })).toBe(false)
  })
})

describe('a reading before any dose', () => {
  it.each([
    ['fresh', {}, true],
    ['exactly 60 min old', { nowMs: at('08:20') }, true],
    ['a millisecond older', { nowMs: at('08:20') + 1 }, false],
    ['no order that could answer it', { hasApplicableOrder: false }, false],
    ['a meter in doubt', { of: { ...taken, doubts: ['meter-control-not-done' as const] } }, false],
    ['HI', { of: { ...taken, glucose: glucose('HI') } }, false],
    ['LO', { of: { ...taken, glucose: glucose('LO') } }, false],
    ['69: a low', { of: { ...taken, glucose: glucose(69) } }, false],
    ['70: none', { of: { ...taken, glucose: glucose(70) } }, true],
    ['a low with a dose waiting on it all the same', { of: { ...taken, glucose: glucose(60) }, doses: [dose] }, false],
    ['corrected: the old value lies near the new one', { of: { ...taken, supersededBy: 'r2' } }, true],
    ['entered in error', { of: { ...taken, voided: { reason: 'x', byId: 'nurse-a', atMs: NOW } } }, true],
  ] as const)('%s: %s', (_name, parts, expected) => {
    expect(masked(parts)).toBe(expected)
  })
})

describe('a reading by the state of its dose', () => {
  it.each([
    ['waiting', {}, true],
    ['the answer differed', { answers: [answer(false)] }, true],
    ['started again', { answers: [answer(false)], restarts: [{ byId: 'nurse-a', atMs: NOW }] }, true],
    ['agreed', { answers: [answer(true)] }, false],
    [
      'differed, started again, agreed',
      { answers: [answer(false), answer(true)], restarts: [{ byId: 'nurse-a', atMs: NOW }] },
      false,
    ],
    [
      'given',
      {
        outcome: {
          kind: 'given',
          byId: 'nurse-a',
          atMs: NOW,
          site: { area: 'abdomen', side: 'left' },
          food: 'tray-here',
        },
      },
      false,
    ],
    ['withheld', { outcome: { kind: 'withheld', byId: 'nurse-a', atMs: NOW, reason: 'x' } }, false],
    [
      '0 units, charted',
      { units: 0, secondCheckRequired: false, outcome: { kind: 'zero-charted', byId: 'nurse-a', atMs: NOW } },
      false,
    ],
    ['0 units that need a check', { units: 0 }, true],
    ['void, and the order changed: another can follow', voided('order-changed'), true],
    ['void, and started again', voided('started-again'), true],
    ['void, replaced by a direction', voided('replaced-by-direction'), true],
    ['void, its meter failed a control: one that it passes frees the reading', voided('meter-failed'), true],
    ['void for a newer reading: none can follow', voided('newer-reading'), false],
    ['void, the stay moved', voided('stay-moved'), false],
    ['void, discharged', voided('stay-discharged'), false],
  ] as const)('%s: %s', (_name, parts, expected) => {
    expect(masked({ doses: [doseOf(taken, parts)] })).toBe(expected)
  })

  it('is masked until the dose lapses after an hour', () => {
    expect([masked({ doses: [dose], nowMs: at('08:20') }), masked({ doses: [dose], nowMs: at('08:20') + 1 })]).toEqual([
      true,
      false,
    ])
  })

  it('is masked by a dose by direction, also when it leads to no dose by itself', () => {
    const hi = { ...taken, glucose: glucose('HI') }
    expect(masked({ of: hi, doses: [doseOf(hi, { kind: 'by-direction' })] })).toBe(true)
  })

  it('is masked again by a second dose for it', () => {
    const first = doseOf(taken, { doseId: 'd1', answers: [answer(true)], ...voided('order-changed') })
    expect(masked({ doses: [first, doseOf(taken, { doseId: 'd2' })] })).toBe(true)
  })

  it('is not affected by doses of other readings', () => {
    const other = reading(200, at('07:22'), { readingId: 'r9' })
    expect(masked({ doses: [doseOf(other, { answers: [answer(true)] })] })).toBe(true)
  })

  it('is masked when corrected, until the correction’s dose agreed', () => {
    const old = { ...taken, supersededBy: 'r2' }
    const now = reading(178, at('07:20'), { readingId: 'r2', supersedes: { readingId: 'r1', reason: 'typo' } })
    const gone = doseOf(taken, { doseId: 'd1', ...voided('reading-corrected') })
    expect(masked({ of: old, doses: [gone] })).toBe(true)
    expect(masked({ of: old, doses: [gone, doseOf(now, { doseId: 'd2' })] })).toBe(true)
    expect(masked({ of: old, doses: [gone, doseOf(now, { doseId: 'd2', answers: [answer(true)] })] })).toBe(false)
  })
})

describe('a dose', () => {
  const hidden = (parts: Partial<Dose> = {}, who: { staffId: string; role: Role } = OTHER, nowMs = NOW): boolean =>
    maskedDose(who, doseOf(taken, parts), { nowMs, policy: POLICY })
  it.each([
    ['waiting', {}, true],
    ['differed', { answers: [answer(false)] }, true],
    ['agreed', { answers: [answer(true)] }, false],
    ['withheld', { outcome: { kind: 'withheld', byId: 'nurse-a', atMs: NOW, reason: 'x' } }, false],
    ['scheduled, without a reading', { kind: 'scheduled', readingId: null }, true],
    ['void, another can follow', voided('order-changed'), true],
    [
      'void, another can follow though this one was agreed',
      { answers: [answer(true)], ...voided('order-changed') },
      true,
    ],
    ['void for good', voided('newer-reading'), false],
  ] as const)('%s: %s', (_name, parts, expected) => {
    expect(hidden(parts)).toBe(expected)
  })

  it('is never masked from its proposer, or from a role that cannot check', () => {
    expect([
      hidden({}, { staffId: 'nurse-a', role: 'floor-nurse' }),
      hidden({}, { staffId: 'e', role: 'educator' }),
    ]).toEqual([false, false])
  })

  it('is masked until it lapses', () => {
    expect([
      hidden({}, OTHER, at('08:20')),
      hidden({}, OTHER, at('08:20') + 1),
      hidden(voided('order-changed'), OTHER, at('08:20') + 1),
    ]).toEqual([true, false, false])
  })
})

describe('people who know the value', () => {
  it('follow the corrections back to the first value', () => {
    const first = { ...taken, byId: 'nurse-x', supersededBy: 'r2' }
    const second = reading(178, at('07:20'), {
      readingId: 'r2',
      byId: 'nurse-y',
      supersedes: { readingId: 'r1', reason: 'x' },
      supersededBy: 'r3',
    })
    const third = reading(179, at('07:20'), {
      readingId: 'r3',
      byId: 'nurse-z',
      supersedes: { readingId: 'r2', reason: 'x' },
    })
    expect([...nursesWhoKnow(third, [third, second, first])].sort()).toEqual(['nurse-x', 'nurse-y', 'nurse-z'])
    expect([...nursesWhoKnow(third, [third])]).toEqual(['nurse-z'])
  })
})

it('property: masks no low, and nothing from its taker or from a role that cannot check', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 20, max: 600 }),
      fc.integer({ min: 0, max: 90 }),
      fc.constantFrom<Role>('floor-nurse', 'charge-nurse', 'educator', 'administrator'),
      fc.boolean(),
      (value, minutes, role, withDose) => {
        const of = reading(value, at('07:20'))
        const who = { staffId: 'nurse-b', role }
        const is = masked({ who, of, doses: withDose ? [doseOf(of)] : [], nowMs: of.takenAtMs + minutes * MINUTE })
        const expected =
          value >= POLICY.limits.low && minutes <= 60 && (role === 'floor-nurse' || role === 'charge-nurse')
        expect(is).toBe(expected)
        expect(masked({ who: { ...who, staffId: of.byId }, of })).toBe(false)
      },
    ),
  )
})
