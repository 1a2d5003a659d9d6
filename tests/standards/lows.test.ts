/** Lows and critical results against published figures. README.md beside this file explains the marks. */
import { describe, expect, it } from 'vitest'
import { criticalClock } from '../../shared/critical/call.ts'
import { criticalKind, judgeRepeat } from '../../shared/critical/confirm.ts'
import { armFor, dextroseFor } from '../../shared/low/arm.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { lowProgress } from '../../shared/low/recheck.ts'
import { defaultPolicy, type DextroseRule } from '../../shared/policy/ward-policy.ts'
import { at, glucose, lowEvent, MINUTE, MMOL_POLICY, POLICY, reading } from '../support/readings.ts'
import { by, FIRST, mmol, mouth, recheckOf, SAFE, SIGNED, stateOf, UK, withLow } from '../support/lows.ts'

const armOf = (
  value: number | 'LO',
  policy = SIGNED,
  more: Partial<Parameters<typeof armFor>[0]> = {},
): ReturnType<typeof armFor> =>
  armFor({
    answers: SAFE,
    nilByMouth: false,
    levelThree: false,
    glucose: glucose(value, policy.unit),
    failedCycles: 0,
    policy,
    ...more,
  })

describe('swallows safely: 15-20 g, recheck in 10-15 min, up to 3 times, then rescue (World J Diabetes 2021;12:2036 table 1; R)', () => {
  it.each([
    [69, 15],
    [54, 15],
    [53, 20],
    [40, 20],
    ['LO', 20],
  ] as const)('%s mg/dL: %s g, inside 15-20 g', (value, grams) => {
    expect(armOf(value)).toEqual({
      kind: 'give',
      arm: 'by-mouth',
      amount: { kind: 'grams', grams },
      how: null,
      emergency: false,
    })
    expect(grams).toBeGreaterThanOrEqual(15)
    expect(grams).toBeLessThanOrEqual(20)
  })

  it('the recheck is due 15 min after treatment, and a value before 10 min needs no second treatment', () => {
    const treated = lowEvent(FIRST, { treatments: [mouth(at('03:02'))] })
    expect(lowProgress(treated, [FIRST], POLICY).dueMs).toBe(at('03:17'))
    expect(lowCourse(treated, [FIRST, reading(55, at('03:11'))], POLICY).untreatedSinceMs).toBe(null)
    expect(lowCourse(treated, [FIRST, reading(55, at('03:12'))], POLICY).untreatedSinceMs).toBe(at('03:12'))
  })

  it('a third value below recovery after treatment escalates; two do not', () => {
    const readings = [
      FIRST,
      recheckOf(55, at('03:16'), 1),
      recheckOf(60, at('03:32'), 2),
      recheckOf(63, at('03:48'), 3),
    ]
    const low = lowEvent(FIRST, { treatments: [mouth(at('03:01')), mouth(at('03:17')), mouth(at('03:33'))] })
    const kinds = (count: number, nowMs: number): readonly string[] =>
      stateOf({ low, readings: readings.slice(0, count), nowMs }).steps.map(({ kind }) => kind)
    expect(kinds(3, at('03:33'))).not.toContain('escalate')
    expect(kinds(4, at('03:48'))).toEqual(['treat', 'escalate', 'tell-prescriber', 'recheck'])
  })

  it('then 200 mL of 10 % glucose over 15 min into a working IV, or glucagon 1 mg', () => {
    expect(armOf(60, SIGNED, { failedCycles: 3, answers: { ...SAFE, ivWorking: true } })).toEqual({
      kind: 'give',
      arm: 'iv-dextrose',
      amount: { kind: 'intravenous', grams: 20, millilitres: 200, percent: 10, overMin: 15 },
      how: null,
      emergency: false,
    })
    expect(armOf(60, SIGNED, { failedCycles: 3 })).toEqual({
      kind: 'give',
      arm: 'glucagon',
      amount: { kind: 'glucagon', milligrams: 1 },
      how: null,
      emergency: false,
    })
    expect(
      armOf(60, SIGNED, { failedCycles: 2 }).kind === 'give' && armOf(60, SIGNED, { failedCycles: 2 }),
    ).toMatchObject({ arm: 'by-mouth' })
  })
})

it('15 g raises by about 50 mg/dL in 15 min (hospital 15-15 study abstract, Society of Hospital Medicine; R): 52 is recovered after one cycle, and 19 would not be', () => {
  const after = (first: number): string => {
    const start = reading(first, at('03:00'), { readingId: 'r0' })
    return lowProgress(
      lowEvent(start, { treatments: [mouth(at('03:00'))] }),
      [start, recheckOf(first + 50, at('03:15'), 1)],
      POLICY,
    ).phase
  }
  expect([after(52), after(20), after(19)]).toEqual(['recovered', 'recovered', 'open'])
})

describe('dextrose into a vein (R): 50 mL of 50 % is 25 g; 12.5 g is 25 mL of 50 %, 50 mL of 25 % and 125 mL of 10 %', () => {
  it.each([
    [25, 50, 50],
    [12.5, 50, 25],
    [12.5, 25, 50],
    [12.5, 10, 125],
  ])('%s g of %s %% is %s mL', (grams, percent, millilitres) => {
    expect(dextroseFor(glucose(45), { dextrose: { kind: 'fixed', grams, percent } })).toEqual({
      kind: 'intravenous',
      grams,
      millilitres,
      percent,
      overMin: null,
    })
  })
  it('the default is 25 g as 50 mL of 50 %', () => {
    expect(armOf(45, SIGNED, { answers: { ...SAFE, swallowing: 'not-safely', ivWorking: true } })).toMatchObject({
      arm: 'iv-dextrose',
      amount: { grams: 25, millilitres: 50, percent: 50 },
    })
  })
})

describe('the formula: grams = (100 - mg/dL) x 0.2, mL of 50 % = (100 - mg/dL) x 0.4 (SCCM 2012, Crit Care Med 40:3251; M)', () => {
  const formula: DextroseRule = { kind: 'formula', percent: 50, gramsWithoutNumber: 25 }
  it.each([
    [40, 12, 24],
    [50, 10, 20],
    [60, 8, 16],
    [69, 6.2, 12],
    [20, 16, 32],
  ])('%s mg/dL: %s g, %s mL (40, 50, 60: printed; D)', (value, grams, millilitres) => {
    expect(dextroseFor(glucose(value), { dextrose: formula })).toEqual({
      kind: 'intravenous',
      grams,
      millilitres,
      percent: 50,
      overMin: null,
    })
  })
  it('2.2 mmol/L is 39.63432 mg/dL: 12.1 g, 24 mL; 3.0 is 54.0468: 9.2 g, 18 mL (D)', () => {
    expect(dextroseFor(glucose(22, 'mmol/L'), { dextrose: formula })).toMatchObject({ grams: 12.1, millilitres: 24 })
    expect(dextroseFor(glucose(30, 'mmol/L'), { dextrose: formula })).toMatchObject({ grams: 9.2, millilitres: 18 })
  })
  it('LO has no number: the policy’s fixed grams apply', () => {
    expect(dextroseFor(glucose('LO'), { dextrose: formula })).toMatchObject({ grams: 25, millilitres: 50 })
  })
})

describe('a UK ward in mmol/L (NHS formularies restating JBDS; R)', () => {
  const first = mmol(36, at('03:00'), { readingId: 'r0' })
  const uk = { policy: UK } as const

  it.each([
    [39, true],
    [40, false],
  ])('%s tenths is low: %s (below 4.0)', (value, low) => {
    expect(
      stateOf({ ...uk, low: lowEvent(mmol(value, at('03:00'))), readings: [mmol(value, at('03:00'))] }).level !== null,
    ).toBe(low)
  })
  it('71 mg/dL, 3.9 mmol/L, is low there and not in the US', () => {
    expect(stateOf({ ...uk, low: lowEvent(mmol(39, at('03:00'))), readings: [mmol(39, at('03:00'))] }).level).toBe(1)
    expect(stateOf({ low: lowEvent(reading(71, at('03:00'))), readings: [reading(71, at('03:00'))] }).level).toBe(null)
  })
  it('15-20 g by mouth, recovery at 4.0', () => {
    expect(armOf(36, UK)).toMatchObject({ arm: 'by-mouth', amount: { grams: 15 } })
    const at40 = (value: number): string =>
      lowProgress(
        lowEvent(first, { treatments: [mouth(at('03:01'))] }),
        [first, recheckOf(value, at('03:16'), 1, 'mmol/L')],
        UK,
      ).phase
    expect([at40(40), at40(39)]).toEqual(['recovered', 'open'])
  })
  it('escalates after 45 min without recovery, after one cycle only', () => {
    const low = lowEvent(first, { treatments: [mouth(at('03:01'))] })
    const steps = (nowMs: number): readonly { readonly kind: string; readonly deadlineMs: number }[] =>
      stateOf({ ...uk, low, readings: [first], nowMs }).steps.filter(({ kind }) => kind === 'escalate')
    expect(steps(at('03:45') - 1)).toEqual([])
    expect(steps(at('03:45'))).toEqual([{ kind: 'escalate', deadlineMs: at('03:45') }])
    expect(stateOf({ ...uk, low, readings: [first], nowMs: at('03:30') }).changesAtMs).toBe(at('03:45'))
  })
  it('escalates after 3 cycles before 45 min', () => {
    const readings = [
      first,
      recheckOf(36, at('03:11'), 1, 'mmol/L'),
      recheckOf(37, at('03:22'), 2, 'mmol/L'),
      recheckOf(38, at('03:33'), 3, 'mmol/L'),
    ]
    const low = lowEvent(first, { treatments: [mouth(at('03:00')), mouth(at('03:11')), mouth(at('03:22'))] })
    expect(
      stateOf({ ...uk, low, readings, nowMs: at('03:34') }).steps.find(({ kind }) => kind === 'escalate')?.deadlineMs,
    ).toBe(at('03:33'))
  })
  it.each([
    ['by-mouth', 20],
    ['glucagon', 40],
  ] as const)('after recovery 20 g longer-acting carbohydrate, 40 g after glucagon: %s, %s g', (arm, grams) => {
    const amount =
      arm === 'glucagon' ? ({ kind: 'glucagon', milligrams: 1 } as const) : ({ kind: 'grams', grams: 15 } as const)
    const low = lowEvent(first, { treatments: [mouth(at('03:01'), { arm, amount })] })
    expect(
      stateOf({ ...uk, low, readings: [first, recheckOf(48, at('03:16'), 1, 'mmol/L')], nowMs: at('03:16') }).lasting,
    ).toEqual({ kind: 'grams', grams })
  })
  it('due insulin is never omitted but asked about (tests/rules/next.test.ts); 4.0 and above with symptoms is no event', () => {
    expect(
      stateOf({ ...uk, low: lowEvent(mmol(40, at('03:00'))), readings: [mmol(40, at('03:00'))] }).steps[0]?.kind,
    ).toBe('look-again')
  })
})

it('the follow-up recheck is due 60 min after recovery (common practice; S)', () => {
  const low = lowEvent(FIRST, { treatments: [mouth(at('03:01'))] })
  expect(lowProgress(low, [FIRST, recheckOf(96, at('03:16'), 1)], POLICY)).toEqual({
    phase: 'recovered',
    cycle: 2,
    dueMs: at('04:16'),
  })
})

it('most lows fall into the night shift, 19:00-06:59 (PMC2771522; R), and one night has an hour twice: clocks count minutes, not hands', () => {
  // 1 November 2026 in Chicago: 01:59 is followed by 01:00
  const start = reading(52, at('01:50', '2026-11-01'), { readingId: 'r0' })
  const low = lowEvent(start, { treatments: [mouth(start.takenAtMs + 5 * MINUTE)] })
  expect(lowProgress(low, [start], POLICY).dueMs).toBe(start.takenAtMs + 20 * MINUTE)
  expect(lowProgress(low, [start], POLICY).dueMs).toBeLessThan(at('02:00', '2026-11-01'))
})

describe('critical limits are each hospital’s own (Arch Pathol Lab Med 2016;140:119; R)', () => {
  const withLimits = (criticalLow: number, criticalHigh: number): typeof POLICY => ({
    ...POLICY,
    limits: { ...POLICY.limits, criticalLow, criticalHigh },
  })
  it.each([
    ['US survey means 46 and 484', 46, 484],
    ['the strictest low and the widest high read', 40, 450],
    ['the widest low and the strictest high read', 60, 300],
  ])('%s', (_name, low, high) => {
    const policy = withLimits(low, high)
    expect([low - 1, low, high, high + 1].map((value) => criticalKind(glucose(value), policy))).toEqual([
      'low',
      null,
      null,
      'high',
    ])
  })
  it('the default, 50 and 400, lies inside what single hospitals use', () => {
    const { criticalLow, criticalHigh } = defaultPolicy('mg/dL', 'UTC').limits
    expect(criticalLow >= 40 && criticalLow <= 60 && criticalHigh >= 300 && criticalHigh <= 450).toBe(true)
  })
})

describe('repeat of a point-of-care critical value: within 10 min, and within 15 mg/dL or 20 % (CAP Q-Probes, Arch Pathol Lab Med 2016;140:119; R)', () => {
  it.each([
    [38, 52, 8, 'low', 'confirmed', 'R'],
    [38, 54, 8, 'low', 'not-confirmed', 'R'],
    [38, 53, 8, 'low', 'confirmed', 'D'],
    [38, 40, 11, 'low', 'outside', 'R'],
    [38, 40, 10, 'low', 'confirmed', 'D'],
    [500, 400, 8, 'high', 'confirmed', 'R'],
    [500, 399, 8, 'high', 'not-confirmed', 'D'],
    [500, 600, 8, 'high', 'confirmed', 'D'],
    [500, 601, 8, 'high', 'not-confirmed', 'D'],
  ] as const)('%s then %s at + %s min (%s): %s (%s)', (first, repeat, afterMin, kind, verdict, _mark) => {
    expect(
      judgeRepeat({ first: glucose(first), repeat: glucose(repeat), afterMs: afterMin * MINUTE, kind }, POLICY),
    ).toBe(verdict)
  })
  it('0.8 mmol/L stands for 15 mg/dL on a mmol/L ward (D)', () => {
    const judge = (repeat: number): string =>
      judgeRepeat(
        { first: glucose(21, 'mmol/L'), repeat: glucose(repeat, 'mmol/L'), afterMs: 8 * MINUTE, kind: 'low' },
        MMOL_POLICY,
      )
    expect([judge(29), judge(30)]).toEqual(['confirmed', 'not-confirmed'])
  })
  it('both values are kept, whatever the repeat decides, and treatment is still required', () => {
    const first = reading(38, at('03:00'), { readingId: 'r0' })
    for (const repeat of [40, 54, 90]) {
      const state = stateOf({
        low: lowEvent(first),
        readings: [first, reading(repeat, at('03:08'))],
        nowMs: at('03:08'),
      })
      expect(
        state.course.parts.map(
          ({
            reading: {
              glucose: { value },
            },
            part,
          }) => [value, part],
        ),
      ).toEqual([
        [38, 'first'],
        [repeat, 'repeat'],
      ])
      expect(state.next).toEqual({ kind: 'treat', number: 1, deadlineMs: at('03:05') })
    }
  })
  it('once treated, the next value is a recheck and no repeat is asked for', () => {
    const first = reading(38, at('03:00'), { readingId: 'r0' })
    const clock = (treatedMs: readonly number[]): number | null | undefined =>
      criticalClock(first, {
        readings: [first],
        lows: [lowEvent(first, { treatments: treatedMs.map((ms) => mouth(ms)) })],
        policy: POLICY,
        calls: [],
        nowMs: at('03:03'),
      })?.repeatByMs
    expect([clock([]), clock([at('03:02')])]).toEqual([at('03:10'), null])
  })
})

describe('time limits of a critical result', () => {
  const hi = reading('HI', at('03:00'), { readingId: 'hi' })
  const clockOf = (
    of = hi,
    more: Partial<Parameters<typeof criticalClock>[1]> = {},
  ): ReturnType<typeof criticalClock> =>
    criticalClock(of, { readings: [of], lows: [], policy: POLICY, calls: [], nowMs: at('03:05'), ...more })
  const call = { ...by(at('03:12')), readingId: 'hi', told: 'Dr. Vera Kim', ordered: '' }

  it('HI: repeat, call and laboratory sample, each with its deadline', () => {
    expect(clockOf()).toEqual({
      kind: 'high',
      confirmation: 'awaiting-repeat',
      repeatByMs: at('03:10'),
      call: { byMs: at('03:30'), made: null },
      laboratory: { byMs: at('04:00'), value: null },
      nextByMs: at('03:10'),
    })
  })
  it('called, and the laboratory’s value charted as venous: nothing is left', () => {
    const venous = reading(412, at('03:20'), { readingId: 'lab', source: 'venous' })
    expect(clockOf(hi, { calls: [call], readings: [hi, venous], nowMs: at('03:40') })).toMatchObject({
      call: { made: call },
      laboratory: { value: venous },
      nextByMs: null,
    })
  })
  it('a voided or earlier laboratory value does not count for this sample', () => {
    const voided = reading(412, at('03:20'), {
      source: 'venous',
      voided: { reason: 'x', byId: 'n', atMs: at('03:30') },
    })
    const earlier = reading(300, at('02:50'), { readingId: 'early', source: 'venous' })
    expect(clockOf(hi, { calls: [call], readings: [hi, voided, earlier], nowMs: at('03:40') })?.nextByMs).toBe(
      at('04:00'),
    )
  })
  it('LO waits for a laboratory sample as well, beside its treatment; a confirmed number does not; 112 is not critical', () => {
    const lo = reading('LO', at('03:00'), { readingId: 'lo' })
    expect(clockOf(lo, { readings: [lo], lows: [lowEvent(lo, { treatments: [mouth(at('03:01'))] })] })).toMatchObject({
      repeatByMs: null,
      laboratory: { byMs: at('04:00'), value: null },
    })
    const low = reading(45, at('03:00'), { readingId: 'n45' })
    expect(clockOf(low, { readings: [low, reading(48, at('03:04'))] })?.laboratory).toBe(null)
    expect(clockOf(reading(112, at('03:00')))).toBe(null)
  })
  it('a critical high that no repeat confirms waits for the laboratory', () => {
    const high = reading(500, at('03:00'), { readingId: 'n500' })
    expect(clockOf(high, { readings: [high, reading(380, at('03:06'))] })?.laboratory).toEqual({
      byMs: at('04:00'),
      value: null,
    })
  })
})

it('every protocol default with a published figure equals it', () => {
  const { low } = defaultPolicy('mg/dL', 'UTC')
  expect(low).toMatchObject({
    recheckMin: 15,
    recheckNotBeforeMin: 10,
    maxCycles: 3,
    followUpMin: 60,
    fastGrams: 15,
    fastGramsLevel2: 20,
    glucagonMg: 1,
    rescue: { grams: 20, percent: 10, overMin: 15 },
    lasting: { grams: 20, gramsAfterGlucagon: 40, mealWithinMin: 60 },
  })
  expect(low.standingOrders).toEqual({ dextrose: false, glucagon: false })
  expect(withLow({ maxCycles: 2 }).low.recheckMin).toBe(15)
})
