/**
 * Verifying a transcription: a second person re-enters doses at values that the server picks, from the original order.
 * The server asks for three answers. Two lie on the two sides of one edge, if the order has an edge: a wrong bound and
 * a wrong amount both show there.
 */
import { MEAL_OF, type Occasion } from '../check/check.ts'
import { METER_RANGE } from '../glucose/value.ts'
import { divide, fractionOf, roundUnits } from './fraction.ts'
import type { InsulinName, InsulinOrder, ScaleAnswer } from './order.ts'
import { LARGEST_BOUND } from './scale.ts'
import { decideCorrection } from './terms.ts'

/** One question: an answer of the order, named so that it can be found on the paper. */
export type VerificationQuestion =
  /** `glucose` counts mg/dL or tenths of mmol/L. `occasion` tells the bedtime variant from the others. */
  | { readonly kind: 'correction'; readonly glucose: number; readonly occasion: Occasion }
  /** The same for a patient who does not eat, if the order has a rule for that. */
  | { readonly kind: 'correction-not-eating'; readonly glucose: number; readonly occasion: Occasion }
  | { readonly kind: 'meal-fixed'; readonly occasion: Occasion }
  | { readonly kind: 'meal-ratio'; readonly grams: number }
  | { readonly kind: 'scheduled'; readonly time: string }
  /** Answered with the glucose below which the dose is held, in the order's count. 0: the order never holds it. */
  | { readonly kind: 'scheduled-hold'; readonly time: string }

/** The second person's entry and the transcription's answer. The insulin's name is compared as well. */
export type VerificationAnswer =
  | {
      readonly question: VerificationQuestion
      readonly entered: ScaleAnswer
      readonly transcribed: ScaleAnswer
      readonly agrees: boolean
    }
  | {
      readonly question: { readonly kind: 'insulin' }
      readonly entered: InsulinName
      readonly transcribed: InsulinName
      readonly agrees: boolean
    }

/** Answers asked of one order, or fewer if it has fewer. Three is our own figure, without a published source. */
export const QUESTIONS_ASKED = 3
/** More carbohydrate than a meal contains, in grams. Questions on a ratio stay within it (common practice). */
const GRAMS_MOST = 300
/** Hexadecimal digits of the seed for each choice: 65,536 values, far more than the possible choices. */
const DIGITS_A_DRAW = 4

/** Returns the seed's next number, from 0 (included) to `count` (excluded). */
type NextNumber = (count: number) => number

/** One answer as a function of one number (glucose or grams), over the numbers that can be asked. */
type Curve = {
  readonly ask: (x: number) => VerificationQuestion
  /** Ascending. Only numbers whose answer is within the order's single-dose limit. */
  readonly values: readonly number[]
  /** Numbers at which the answer differs from the answer before. Both numbers can be asked. */
  readonly edges: readonly number[]
}

/**
 * The questions for an order: distinct, at most three, and at least one for any non-empty order. `seed` has at least 64
 * hexadecimal digits, known only to the server. The same order and seed give the same questions.
 */
export function verificationQuestions(order: InsulinOrder, seed: string): readonly VerificationQuestion[] {
  const nextNumber = drawsOf(seed)
  const curves = curvesOf(order, nextNumber)
  const listed = listedQuestions(order)
  const stepped = curves.filter(({ edges }) => edges.length > 0)
  if (stepped.length === 0) return withoutEdges(curves, listed, nextNumber)
  const curve = oneOf(stepped, nextNumber)
  const edge = oneOf(curve.edges, nextNumber)
  const pair = [curve.ask(edge - 1), curve.ask(edge)]
  const elsewhere = [...listed, ...curves.filter((other) => other !== curve && other.values.length > 0)]
  if (elsewhere.length > 0) {
    const other = oneOf(elsewhere, nextNumber)
    return [...pair, 'ask' in other ? other.ask(oneOf(informativeValues(other), nextNumber)) : other]
  }
  const third = placesOf(curve, edge)
  return third.length === 0 ? pair : [...pair, curve.ask(oneOf(oneOf(third, nextNumber), nextNumber))]
}

/**
 * The transcription's answer: units or "no dose, call". For a hold it is the glucose in the order's count, 0 for no
 * hold.
 */
export function transcribedAnswer(order: InsulinOrder, question: VerificationQuestion): ScaleAnswer {
  switch (question.kind) {
    case 'correction':
      return correctionAt(order, question.glucose, question.occasion, false)
    case 'correction-not-eating':
      return correctionAt(order, question.glucose, question.occasion, true)
    case 'meal-fixed':
      return order.meal?.kind === 'fixed' ? (order.meal.units[question.occasion] ?? 0) : 0
    case 'meal-ratio':
      return order.meal?.kind === 'ratio'
        ? roundUnits(divide(fractionOf(question.grams), fractionOf(order.meal.gramsPerUnit)), order.rounding)
        : 0
    case 'scheduled':
      return order.scheduled.find(({ time }) => time === question.time)?.units ?? 0
    case 'scheduled-hold':
      return order.scheduled.find(({ time }) => time === question.time)?.holdBelow ?? 0
  }
}

/**
 * The correction alone, rounded as ordered and never below 0. Bedtime uses its variant (half units of a half round
 * down).
 */
function correctionAt(order: InsulinOrder, glucose: number, occasion: Occasion, notEating: boolean): ScaleAnswer {
  const decided = decideCorrection(
    order,
    { unit: order.unit, value: glucose },
    { atBedtime: occasion === 'bedtime', notEating },
  )
  if (decided.noDose) return 'call'
  return decided.part === null || decided.held ? 0 : roundUnits(decided.part.amount, order.rounding)
}

/**
 * Every part of the order that answers a number: the correction, its bedtime variant, its not-eating rule, the ratio.
 */
function curvesOf(order: InsulinOrder, nextNumber: NextNumber): readonly Curve[] {
  const curves: Curve[] = []
  const glucoses = glucosesOf(order)
  if (order.correction !== null) {
    const alike = order.occasions.filter((occasion) => occasion !== 'bedtime' || order.bedtime.kind === 'same')
    if (alike.length > 0) {
      const occasion = oneOf(alike, nextNumber)
      curves.push(curveOf(order, glucoses, (glucose) => ({ kind: 'correction', glucose, occasion })))
    }
    if (order.occasions.includes('bedtime') && order.bedtime.kind !== 'same')
      curves.push(curveOf(order, glucoses, (glucose) => ({ kind: 'correction', glucose, occasion: 'bedtime' })))
    const meals = order.occasions.filter((occasion) => MEAL_OF[occasion] !== null)
    if (meals.length > 0 && order.notEating !== undefined && order.notEating.kind !== 'correction-as-ordered') {
      const occasion = oneOf(meals, nextNumber)
      curves.push(curveOf(order, glucoses, (glucose) => ({ kind: 'correction-not-eating', glucose, occasion })))
    }
  }
  if (order.meal?.kind === 'ratio')
    curves.push(
      curveOf(order, { preferred: range(0, GRAMS_MOST), all: [] }, (grams) => ({ kind: 'meal-ratio', grams })),
    )
  return curves
}

/** Numbers to ask about. `all` is used when no edge lies among the preferred. */
type Numbers = { readonly preferred: readonly number[]; readonly all: readonly number[] }

/** The meter's range as preferred, and everything that an order may print. */
function glucosesOf({ unit }: InsulinOrder): Numbers {
  const { least, most } = METER_RANGE[unit]
  return { preferred: range(least, most), all: range(0, LARGEST_BOUND[unit]) }
}

function range(least: number, most: number): readonly number[] {
  return Array.from({ length: most - least + 1 }, (_, index) => least + index)
}

function curveOf(order: InsulinOrder, { preferred, all }: Numbers, ask: Curve['ask']): Curve {
  const found = curveAmong(order, preferred, ask)
  const wider = found.edges.length > 0 ? found : curveAmong(order, all, ask)
  return wider.edges.length > 0 ? wider : found
}

function curveAmong(order: InsulinOrder, some: readonly number[], ask: Curve['ask']): Curve {
  const answers = new Map<number, ScaleAnswer>()
  for (const x of some) {
    const answer = transcribedAnswer(order, ask(x))
    // an answer above the order's limit is not asked: both the dose and no dose would be right
    if (answer === 'call' || answer <= order.maxSingleDose) answers.set(x, answer)
  }
  const values = [...answers.keys()]
  return { ask, values, edges: values.filter((x) => answers.has(x - 1) && answers.get(x) !== answers.get(x - 1)) }
}

/** The order's doses that depend on no number: every meal of a fixed meal part, every scheduled dose and its hold. */
function listedQuestions(order: InsulinOrder): readonly VerificationQuestion[] {
  const meals = order.meal?.kind === 'fixed' ? order.occasions.filter((occasion) => MEAL_OF[occasion] !== null) : []
  return [
    ...meals.map((occasion): VerificationQuestion => ({ kind: 'meal-fixed', occasion })),
    ...order.scheduled.flatMap(({ time }): VerificationQuestion[] => [
      { kind: 'scheduled', time },
      { kind: 'scheduled-hold', time },
    ]),
  ]
}

/** The most informative values of another part: the two sides of its edges, or any value if it has none. */
function informativeValues({ values, edges }: Curve): readonly number[] {
  return edges.length === 0 ? values : edges.flatMap((edge) => [edge - 1, edge])
}

/**
 * Where the third value can lie if the order has one part only: below the first edge, in the top step, or at another
 * edge.
 */
function placesOf({ values, edges }: Curve, edge: number): readonly (readonly number[])[] {
  const [first, last] = [edges[0] ?? edge, edges.at(-1) ?? edge]
  const open = (x: number): boolean => x !== edge && x !== edge - 1
  const others = [...new Set(edges.flatMap((one) => [one - 1, one]))]
  return [values.filter((x) => x < first), values.filter((x) => x >= last), others]
    .map((some) => some.filter(open))
    .filter((some) => some.length > 0)
}

/** Questions on an order without an edge: its listed doses first, then any values. */
function withoutEdges(
  curves: readonly Curve[],
  listed: readonly VerificationQuestion[],
  nextNumber: NextNumber,
): readonly VerificationQuestion[] {
  const left = [...listed]
  const asked: VerificationQuestion[] = []
  while (asked.length < QUESTIONS_ASKED && left.length > 0) asked.push(...left.splice(nextNumber(left.length), 1))
  for (const { ask, values } of curves) {
    const open = [...values]
    while (asked.length < QUESTIONS_ASKED && open.length > 0)
      asked.push(...open.splice(nextNumber(open.length), 1).map(ask))
  }
  return asked
}

function drawsOf(seed: string): NextNumber {
  if (!/^[0-9a-f]{64,}$/.test(seed)) throw new Error('a seed is at least 64 hexadecimal digits')
  let at = 0
  return (count) => {
    const digits = seed.slice(at, at + DIGITS_A_DRAW)
    if (digits.length < DIGITS_A_DRAW) throw new Error('the seed is used up')
    at += DIGITS_A_DRAW
    return Number.parseInt(digits, 16) % count
  }
}

function oneOf<T>(list: readonly T[], nextNumber: NextNumber): T {
  const found = list[nextNumber(list.length)]
  if (found === undefined) throw new Error('there is nothing to choose from')
  return found
}
