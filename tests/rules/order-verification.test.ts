/** Verifying a transcription: the questions, the transcription's own answers, and the result. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { MEAL_OF, OCCASIONS } from '../../shared/check/check.ts'
import { roundUnits, fraction } from '../../shared/order/fraction.ts'
import type { InsulinName, InsulinOrder, ScaleAnswer } from '../../shared/order/order.ts'
import { checkOrder } from '../../shared/order/validate.ts'
import {
  QUESTIONS_ASKED,
  transcribedAnswer,
  verificationQuestions,
  type VerificationQuestion,
} from '../../shared/order/verification.ts'
import {
  readAnswers,
  verifyBlock,
  verifyOrder,
  versionState,
  type TypedAnswer,
  type VerifyFacts,
} from '../../shared/order/verify.ts'
import { answerText, questionText } from '../../views/words/verification.ts'
import { MMOL_POLICY, NOW_MS, order, POLICY, propose, scaleOf, USUAL, version } from '../support/dose.ts'

/** Bedtime has its own, weaker steps. */
const WEAK = scaleOf([
  [null, 200, 0],
  [201, 300, 2],
  [301, 400, 4],
  [401, null, 'call'],
])
/** Only 0 units and a call: invented, with one edge. */
const CALL_ONLY = scaleOf([
  [null, 349, 0],
  [350, null, 'call'],
])
/** Tenths of mmol/L. */
const TENTHS = scaleOf(
  [
    [null, 83, 0],
    [84, 111, 2],
    [112, 138, 4],
    [139, null, 6],
  ],
  'mmol/L',
)

const seedOf = (n: number): string =>
  Array.from({ length: 16 }, (_, at) =>
    ((n * 2_654_435_761 + at * 40_503) % 65_536).toString(16).padStart(4, '0'),
  ).join('')
const SEEDS = Array.from({ length: 200 }, (_, n) => seedOf(n + 1))
const asked = (parts: Partial<InsulinOrder>): readonly VerificationQuestion[] =>
  SEEDS.flatMap((seed) => verificationQuestions(order(parts), seed))
const seed = fc.string({ unit: fc.constantFrom(...'0123456789abcdef'), minLength: 64, maxLength: 64 })

/**
 * Any order that a ward may have: every kind of correction, meal part, bedtime variant, not-eating rule and scheduled
 * dose.
 */
const anyOrder: fc.Arbitrary<InsulinOrder> = fc
  .record({
    occasions: fc.subarray([...OCCASIONS], { minLength: 0 }),
    correction: fc.oneof(
      fc.constant(null),
      fc.constantFrom(USUAL, WEAK, CALL_ONLY).map((scale) => ({ kind: 'scale' as const, scale })),
      fc
        .array(
          fc.record({
            width: fc.integer({ min: 1, max: 90 }),
            more: fc.integer({ min: 0, max: 3 }),
            calls: fc.boolean(),
          }),
          { minLength: 1, maxLength: 8 },
        )
        .map((rows) => {
          let [atLeast, answer] = [70, 0]
          return {
            kind: 'scale' as const,
            scale: {
              unit: 'mg/dL' as const,
              steps: rows.map((row) => ({
                atLeast: (atLeast += row.width),
                answer: row.calls ? ('call' as const) : (answer += row.more),
                also: null,
              })),
            },
          }
        }),
      fc.record({
        kind: fc.constant('factor' as const),
        target: fc.integer({ min: 70, max: 1200 }),
        perUnit: fc.integer({ min: 1, max: 200 }),
        belowTargetSubtracts: fc.boolean(),
      }),
    ),
    meal: fc.oneof(
      fc.constant(null),
      fc.record({
        kind: fc.constant('ratio' as const),
        gramsPerUnit: fc.integer({ min: 1, max: 30_000 }).map((n) => n / 100),
      }),
      fc
        .dictionary(fc.constantFrom(...OCCASIONS), fc.integer({ min: 1, max: 20 }), { minKeys: 1 })
        .map((units) => ({ kind: 'fixed' as const, units })),
    ),
    mealTiming: fc.constantFrom('before' as const, 'after-by-share' as const),
    bedtime: fc.oneof(
      fc.constantFrom({ kind: 'same' as const }, { kind: 'half' as const }, { kind: 'none' as const }),
      fc.constant({ kind: 'own-scale' as const, scale: WEAK }),
    ),
    notEating: fc.oneof(
      fc.constantFrom({ kind: 'correction-as-ordered' as const }, { kind: 'hold-all' as const }),
      fc.constant({ kind: 'own-scale' as const, scale: WEAK }),
    ),
    scheduled: fc.uniqueArray(
      fc.record({
        time: fc.constantFrom('08:00', '21:00', '22:30'),
        units: fc.integer({ min: 1, max: 20 }),
        holdBelow: fc.oneof(fc.constant(null), fc.integer({ min: 70, max: 200 })),
      }),
      { selector: ({ time }) => time, maxLength: 3 },
    ),
    rounding: fc.record({
      to: fc.constantFrom(1 as const, 0.5 as const),
      ties: fc.constantFrom('down' as const, 'up' as const),
    }),
    maxSingleDose: fc.integer({ min: 1, max: 60 }).map((n) => n / 2),
  })
  .map((parts) => order(parts))
  .filter((one) => checkOrder(one, POLICY).ok)

const keyOf = (question: VerificationQuestion): string => JSON.stringify(question)
/** Two questions that differ in one number by one, with different answers. */
const straddles = (one: InsulinOrder, a: VerificationQuestion, b: VerificationQuestion): boolean => {
  const [x, y] = [a, b].map((question) =>
    'glucose' in question ? question.glucose : 'grams' in question ? question.grams : NaN,
  )
  return a.kind === b.kind && (y ?? NaN) - (x ?? NaN) === 1 && transcribedAnswer(one, a) !== transcribedAnswer(one, b)
}
const hasEdge = (one: InsulinOrder): boolean => {
  const within = (answer: ScaleAnswer): boolean => answer === 'call' || answer <= one.maxSingleDose
  const steps = (ask: (x: number) => VerificationQuestion, most: number): boolean =>
    Array.from(
      { length: most },
      (_, x) => [transcribedAnswer(one, ask(x)), transcribedAnswer(one, ask(x + 1))] as const,
    ).some(([a, b]) => a !== b && within(a) && within(b))
  const corrects =
    one.correction !== null &&
    one.occasions.some((occasion) => steps((glucose) => ({ kind: 'correction', glucose, occasion }), 1200))
  return corrects || (one.meal?.kind === 'ratio' && steps((grams) => ({ kind: 'meal-ratio', grams }), 300))
}

/**
 * How many amounts of carbohydrate can be asked where a ratio is the whole order. A tight limit leaves few. Null: the
 * order has other parts.
 */
const ratioAlone = (one: InsulinOrder): number | null => {
  if (one.correction !== null || one.scheduled.length > 0) return null
  return Array.from({ length: 301 }, (_, grams) => transcribedAnswer(one, { kind: 'meal-ratio', grams })).filter(
    (answer) => answer !== 'call' && answer <= one.maxSingleDose,
  ).length
}

describe('questions over every valid order', () => {
  it('are answerable, distinct, one to three, and the same for the same seed', () => {
    fc.assert(
      fc.property(anyOrder, seed, (one, from) => {
        const questions = verificationQuestions(one, from)
        expect(verificationQuestions(one, from)).toEqual(questions)
        expect(questions.length).toBeGreaterThan(0)
        expect(questions.length).toBeLessThanOrEqual(QUESTIONS_ASKED)
        expect(new Set(questions.map(keyOf)).size).toBe(questions.length)
        for (const question of questions) {
          const answer = transcribedAnswer(one, question)
          expect(answer === 'call' || Number.isInteger(answer * 2), keyOf(question)).toBe(true)
          if (question.kind !== 'scheduled-hold' && answer !== 'call')
            expect(answer).toBeLessThanOrEqual(one.maxSingleDose)
          if ('occasion' in question) expect(one.occasions).toContain(question.occasion)
        }
      }),
      { numRuns: 400 },
    )
  })
  it('are three, two of them on both sides of an edge, wherever there is an edge', () => {
    let edged = 0
    fc.assert(
      fc.property(anyOrder, seed, (one, from) => {
        if (!hasEdge(one)) return
        edged += 1
        const questions = verificationQuestions(one, from)
        expect(
          questions.some((a) => questions.some((b) => straddles(one, a, b))),
          questions.map(keyOf).join(' '),
        ).toBe(true)
        expect(questions).toHaveLength(Math.min(QUESTIONS_ASKED, ratioAlone(one) ?? QUESTIONS_ASKED))
      }),
      { numRuns: 300 },
    )
    expect(edged).toBeGreaterThan(50)
  })
  it('are fewer than three only where the order has fewer answers', () => {
    fc.assert(
      fc.property(anyOrder, seed, (one, from) => {
        if (one.correction !== null || one.meal !== null) return
        expect(verificationQuestions(one, from)).toHaveLength(Math.min(QUESTIONS_ASKED, 2 * one.scheduled.length))
      }),
    )
  })
  it('ask the correction that works out the dose', () => {
    let compared = 0
    fc.assert(
      fc.property(anyOrder, seed, (one, from) => {
        for (const question of verificationQuestions(one, from)) {
          if (question.kind !== 'correction' && question.kind !== 'correction-not-eating') continue
          const willEat = question.kind === 'correction' ? ('yes' as const) : ('no' as const)
          const { working } = propose({
            glucose: question.glucose,
            order: one,
            inputs: {
              occasion: question.occasion,
              atOrderOccasion: true,
              meal: { willEat, carbohydrateGrams: 0, shareEatenPercent: null },
            },
          })
          const term = working.terms.find(({ part }) => part.startsWith('correction'))
          const calls = working.guards.some(({ guard, outcome }) => guard === 'scale-says-call' && outcome === 'stops')
          const held = one.notEating?.kind === 'hold-all' && willEat === 'no'
          const engine =
            calls && !held
              ? 'call'
              : held || term === undefined
                ? 0
                : roundUnits(fraction(Math.max(0, term.amount.numerator), term.amount.denominator), one.rounding)
          expect(transcribedAnswer(one, question), keyOf(question)).toBe(engine)
          compared += 1
        }
      }),
      { numRuns: 300 },
    )
    expect(compared).toBeGreaterThan(100)
  })
})

describe('possible questions', () => {
  const kinds = (parts: Partial<InsulinOrder>): readonly string[] =>
    [...new Set(asked(parts).map(({ kind }) => kind))].sort()
  it('one scale: both sides of every edge, top step and below the first, over several verifiers', () => {
    const glucoses = new Set(asked({}).map((question) => ('glucose' in question ? question.glucose : -1)))
    for (const edge of [141, 181, 221, 261, 301, 351, 401])
      expect([glucoses.has(edge - 1), glucoses.has(edge)], String(edge)).toEqual([true, true])
    expect([...glucoses].some((value) => value > 401)).toBe(true)
    expect([...glucoses].some((value) => value < 140)).toBe(true)
    expect(
      asked({}).every(
        (question) => question.kind === 'correction' && question.glucose >= 20 && question.glucose <= 600,
      ),
    ).toBe(true)
  })
  it('a bedtime variant: asked at bedtime only', () => {
    for (const bedtime of [{ kind: 'own-scale', scale: WEAK }, { kind: 'half' }, { kind: 'none' }] as const) {
      const bedtimes = SEEDS.map(
        (one) =>
          verificationQuestions(order({ bedtime }), one).filter(
            (question) => 'occasion' in question && question.occasion === 'bedtime',
          ).length,
      )
      expect(
        bedtimes.every((count) => count > 0 && count < 3),
        bedtime.kind,
      ).toBe(true)
    }
  })
  it('a factor: both sides of a rounding edge, never above the single-dose limit', () => {
    const parts = {
      correction: { kind: 'factor' as const, target: 120, perUnit: 40, belowTargetSubtracts: false },
      maxSingleDose: 8,
    }
    for (const from of SEEDS) {
      const [below, at] = verificationQuestions(order(parts), from)
      if (below?.kind !== 'correction' || at?.kind !== 'correction') throw new Error('no pair')
      // ties round down: 0.5 unit above a whole number rounds to it
      expect((at.glucose - 120 - 21) % 40, String(at.glucose)).toBe(0)
      expect([transcribedAnswer(order(parts), below), transcribedAnswer(order(parts), at)]).toEqual([
        (at.glucose - 141) / 40,
        (at.glucose - 101) / 40,
      ])
    }
    expect(
      Math.max(...asked(parts).map((question) => ('glucose' in question ? question.glucose : 0))),
    ).toBeLessThanOrEqual(120 + 8 * 40 + 20)
  })
  it('tenths: asked as tenths', () => {
    const questions = verificationQuestions(
      order({ unit: 'mmol/L', correction: { kind: 'scale', scale: TENTHS } }),
      SEEDS[3] ?? '',
    )
    expect(
      questions.every(
        (question) => question.kind === 'correction' && question.glucose >= 11 && question.glucose <= 333,
      ),
    ).toBe(true)
    expect(questionText({ kind: 'correction', glucose: 83, occasion: 'before-lunch' }, 'mmol/L')).toBe(
      'Before lunch, glucose 8.3 mmol/L: the correction alone',
    )
  })
  it.each<readonly [string, Partial<InsulinOrder>, readonly string[]]>([
    ['scale and fixed meals', { meal: { kind: 'fixed', units: { 'before-lunch': 5 } } }, ['correction', 'meal-fixed']],
    ['scale and ratio', { meal: { kind: 'ratio', gramsPerUnit: 10 } }, ['correction', 'meal-ratio']],
    [
      'scale that does not apply when not eating',
      { notEating: { kind: 'hold-all' } },
      ['correction', 'correction-not-eating'],
    ],
    ['fixed meals alone', { correction: null, meal: { kind: 'fixed', units: { 'before-lunch': 5 } } }, ['meal-fixed']],
    ['ratio alone', { correction: null, meal: { kind: 'ratio', gramsPerUnit: 12 } }, ['meal-ratio']],
    [
      'scheduled doses',
      {
        insulin: 'insulin glargine',
        correction: null,
        occasions: [],
        scheduled: [{ time: '21:00', units: 18, holdBelow: 100 }],
      },
      ['scheduled', 'scheduled-hold'],
    ],
  ])('%s', (_, parts, expected) => {
    expect(kinds(parts)).toEqual(expected)
  })
  it('a meal missing from the transcription: asked for as 0 units', () => {
    const parts = { correction: null, meal: { kind: 'fixed' as const, units: { 'before-lunch': 5 } } }
    expect(new Set(asked(parts).map((question) => transcribedAnswer(order(parts), question)))).toEqual(new Set([0, 5]))
    expect(
      asked(parts).every((question) => question.kind === 'meal-fixed' && MEAL_OF[question.occasion] !== null),
    ).toBe(true)
  })
  it('another verifier: asked something else', () => {
    expect(new Set(SEEDS.map((one) => JSON.stringify(verificationQuestions(order(), one)))).size).toBeGreaterThan(50)
  })
  it('an invalid seed throws, because nobody may choose the questions', () => {
    expect(() => verificationQuestions(order(), '')).toThrow('a seed is at least 64')
  })
})

describe('reading the answers', () => {
  const dose: VerificationQuestion = { kind: 'scheduled', time: '21:00' }
  const hold: VerificationQuestion = { kind: 'scheduled-hold', time: '21:00' }
  const read = (question: VerificationQuestion, text: string, ticked = false, unit: 'mg/dL' | 'mmol/L' = 'mg/dL') =>
    readAnswers(order({ unit }), [question], [{ text, ticked }])
  it.each<readonly [VerificationQuestion, string, boolean, ScaleAnswer]>([
    [dose, '18', false, 18],
    [dose, '2.5', false, 2.5],
    [dose, '0', false, 0],
    [dose, '', true, 'call'],
    [hold, '100', false, 100],
    [hold, '', true, 0],
  ])('%j "%s" %s is %s', (question, text, ticked, answer) => {
    expect(read(question, text, ticked)).toEqual({ ok: true, value: [answer] })
  })
  it.each<readonly [VerificationQuestion, string, boolean, string]>([
    [dose, '', false, 'missing'],
    [dose, '4', true, 'both'],
    [dose, '2.4', false, 'no-units'],
    [dose, '4.0', false, 'no-units'],
    [dose, 'x', false, 'no-units'],
    [hold, '5.6', false, 'no-glucose'],
    [hold, '0', false, 'no-glucose'],
  ])('refuses %j "%s" %s: %s', (question, text, ticked, found) => {
    expect(read(question, text, ticked)).toMatchObject({ ok: false, reason: 'answer-1', details: { found } })
  })
  it('requires the decimal of a hold limit in mmol/L', () => {
    expect(read(hold, '5.6', false, 'mmol/L')).toEqual({ ok: true, value: [56] })
    expect(read(hold, '56', false, 'mmol/L').ok).toBe(false)
  })
  it('names the question of a refusal', () => {
    const typed: TypedAnswer[] = [
      { text: '1', ticked: false },
      { text: '', ticked: false },
    ]
    expect(readAnswers(order(), [dose, hold], typed)).toMatchObject({ ok: false, reason: 'answer-2' })
  })
})

describe('decision', () => {
  const waiting = version({}, { verified: null })
  const facts = (over: Partial<VerifyFacts> = {}): VerifyFacts => ({
    version: waiting,
    differed: false,
    wardId: 'ward000000000001',
    dischargedAtMs: null,
    nowMs: NOW_MS,
    ...over,
  })
  const questions = verificationQuestions(waiting.order, SEEDS[0] ?? '')
  const right = questions.map((question) => transcribedAnswer(waiting.order, question))
  const verify = (
    entered: readonly ScaleAnswer[],
    insulin: InsulinName = 'insulin lispro',
    over: Partial<VerifyFacts> = {},
  ) => verifyOrder({ byId: 'nurse00000000007', insulin, questions, entered }, facts(over))

  it('all equal: answered and verified at once', () => {
    const decision = verify(right)
    expect(
      decision.ok && decision.value.map(({ type, actorId, wardId, stayId }) => [type, actorId, wardId, stayId]),
    ).toEqual([
      ['order-verification-answered', 'nurse00000000007', 'ward000000000001', waiting.stayId],
      ['order-verified', 'nurse00000000007', 'ward000000000001', waiting.stayId],
    ])
  })
  it.each([0, 1, 2])('answer %i wrong: answered, never verified', (wrong) => {
    const decision = verify(right.map((answer, index) => (index === wrong ? 7 : answer)))
    expect(decision.ok && decision.value.map(({ type }) => type)).toEqual(['order-verification-answered'])
    expect(decision.ok && decision.value[0]).toMatchObject({ body: { agreed: false } })
  })
  it('0 units is not "no dose, call"', () => {
    const decision = verifyOrder(
      {
        byId: 'x',
        insulin: 'insulin lispro',
        questions: [{ kind: 'correction', glucose: 60, occasion: 'bedtime' }],
        entered: ['call'],
      },
      facts(),
    )
    expect(decision.ok && decision.value).toHaveLength(1)
  })
  it('another insulin: answered with its name, never verified', () => {
    const decision = verify(right, 'insulin glargine')
    expect(decision.ok && decision.value).toMatchObject([
      {
        body: {
          agreed: false,
          answers: [
            {
              question: { kind: 'insulin' },
              entered: 'insulin glargine',
              transcribed: 'insulin lispro',
              agrees: false,
            },
            {},
            {},
            {},
          ],
        },
      },
    ])
  })
  it.each<readonly [string, Partial<VerifyFacts>, string]>([
    ['verified', { version: version() }, 'verified-already'],
    ['differed', { differed: true }, 'verification-differed'],
    ['stopped', { version: version({}, { verified: null, endedAtMs: NOW_MS }) }, 'order-ended'],
    ['over', { version: version({ stopsAtMs: NOW_MS }, { verified: null }) }, 'order-ended'],
    ['discharged', { dischargedAtMs: NOW_MS }, 'stay-discharged'],
    [
      'transcribed by herself',
      { version: version({}, { verified: null, transcribedById: 'nurse00000000007' }) },
      'verifier-transcribed',
    ],
  ])('%s', (_, over, reason) => {
    expect(verify(right, 'insulin lispro', over)).toMatchObject({ ok: false, reason })
  })
  it('can be made before the order starts, and until the instant it ends', () => {
    expect(
      verifyBlock(
        facts({ version: version({ startsAtMs: NOW_MS + 1 }, { verified: null, endedAtMs: NOW_MS + 1 }) }),
        'other',
      ),
    ).toBeNull()
  })
})

describe('state of a version', () => {
  const state = (one = version(), rest: readonly ReturnType<typeof version>[] = [], differed = false) =>
    versionState(one, { versions: [one, ...rest], differed, nowMs: NOW_MS })
  it.each([
    ['in-force', state()],
    ['not-verified', state(version({}, { verified: null }))],
    ['starts-later', state(version({ startsAtMs: NOW_MS + 1 }))],
    ['expired', state(version({ stopsAtMs: NOW_MS }))],
    ['stopped', state(version({}, { endedAtMs: NOW_MS }))],
    ['replaced', state(version({}, { endedAtMs: NOW_MS - 5 }), [version({}, { version: 4, writtenAtMs: NOW_MS - 5 })])],
    [
      'replaced',
      state(version({}, { endedAtMs: NOW_MS - 5 }), [
        version({ startsAtMs: NOW_MS - 5 }, { version: 4, writtenAtMs: NOW_MS - 50 }),
      ]),
    ],
    ['stopped', state(version({}, { endedAtMs: NOW_MS - 9 }), [version({}, { version: 4, writtenAtMs: NOW_MS - 5 })])],
    ['in-force', state(version({}, { endedAtMs: NOW_MS + 1 }))],
    ['differed', state(version({}, { verified: null, endedAtMs: NOW_MS - 5 }), [], true)],
  ] as const)('%s', (expected, found) => {
    expect(found).toBe(expected)
  })
})

it('every answer is shown with its unit', () => {
  const hold = {
    question: { kind: 'scheduled-hold', time: '21:00' },
    entered: 0,
    transcribed: 56,
    agrees: false,
  } as const
  expect([answerText(hold, 'entered', 'mmol/L'), answerText(hold, 'transcribed', 'mmol/L')]).toEqual([
    'never held',
    'held below 5.6 mmol/L',
  ])
  const dose = {
    question: { kind: 'scheduled', time: '21:00' },
    entered: 'call',
    transcribed: 1,
    agrees: false,
  } as const
  expect([answerText(dose, 'entered', 'mg/dL'), answerText(dose, 'transcribed', 'mg/dL')]).toEqual([
    'no dose, call the prescriber',
    '1 unit',
  ])
  expect(checkOrder(order({ unit: 'mmol/L', correction: { kind: 'scale', scale: TENTHS } }), MMOL_POLICY).ok).toBe(true)
})
