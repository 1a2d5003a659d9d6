/** The full check of an insulin order before it may be stored. The load command and all pages use it. */
import { MEAL_OF, OCCASIONS, type Occasion } from '../check/check.ts'
import { accept, refuse, withDetails, type Outcome, type Refused } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { fractionOf, hasAtMostTwoDecimals } from './fraction.ts'
import { INSULIN_CLASS, type InsulinName, type InsulinOrder, type Scale } from './order.ts'
import {
  answerFor,
  boundText,
  checkScale,
  isDeliverable,
  LARGEST_BOUND,
  type ScalePart,
  type ScaleRefusal,
} from './scale.ts'

/** An order as transcribed. The concentration may still be any text from a label. */
export type OrderAsWritten = Omit<InsulinOrder, 'concentration'> & { readonly concentration: string }

export type OrderRefusal =
  | 'concentration-u500'
  | 'concentration-not-u100'
  | 'order-unit-not-wards'
  | 'scale-unit-not-orders'
  | 'order-says-nothing'
  | 'order-occasions-missing'
  | 'order-occasion-repeated'
  | 'insulin-not-for-meals-or-correction'
  | 'order-limit-not-units'
  | 'order-interval-not-minutes'
  | 'order-dates-crossed'
  | 'order-prescriber-missing'
  | 'factor-not-positive'
  | 'target-below-low'
  | 'meal-occasion-not-a-meal'
  | 'meal-occasion-not-ordered'
  | 'meal-units-not-deliverable'
  | 'meal-above-limit'
  | 'meal-ratio-not-positive'
  | 'meal-missing-for-share'
  | 'bedtime-not-ordered'
  | 'bedtime-needs-scale'
  | 'not-eating-needs-correction'
  | 'not-eating-above-bedtime'
  | 'answer-finer-than-rounding'
  | 'scheduled-time-not-a-time'
  | 'scheduled-time-repeated'
  | 'scheduled-units-not-deliverable'
  | 'scheduled-above-limit'
  | 'scheduled-hold-not-a-glucose'
  | ScaleRefusal

declare module '../outcome.ts' {
  interface RefusalDetails {
    'order-unit-not-wards': { unit: string; wards: string }
    'scale-unit-not-orders': { unit: string; orders: string; part: ScalePart }
    'order-occasion-repeated': { occasion: string }
    'insulin-not-for-meals-or-correction': { insulin: string }
    'order-limit-not-units': { limit: string }
    'order-interval-not-minutes': { interval: string }
    'factor-not-positive': { value: string; unit: string }
    'target-below-low': { value: string; unit: string; low: string }
    'meal-occasion-not-a-meal': { occasion: string }
    'meal-occasion-not-ordered': { occasion: string }
    'meal-units-not-deliverable': { occasion: string; units: string }
    'meal-above-limit': { occasion: string; units: number; limit: number }
    'meal-ratio-not-positive': { grams: string }
    'not-eating-above-bedtime': { value: string; unit: string; answer: number; bedtime: number | string }
    'answer-finer-than-rounding': { value: string; unit: string; answer: string; part: ScalePart }
    'scheduled-time-not-a-time': { time: string }
    'scheduled-time-repeated': { time: string }
    'scheduled-units-not-deliverable': { time: string; units: string }
    'scheduled-above-limit': { time: string; units: number; limit: number }
    'scheduled-hold-not-a-glucose': { time: string; value: string; unit: string }
  }
}

type Fault = Refused<OrderRefusal> | null

/**
 * Accepts an order that the rules can use on a ward with this policy, or refuses it with the first fault. U-500 is
 * refused: 0.15 mL of it is 75 units (R), and a U-100 syringe would give five times the intended dose. Glucose counts
 * are mg/dL or tenths of mmol/L, in the ward's unit.
 */
export function checkOrder(order: OrderAsWritten, policy: WardPolicy): Outcome<InsulinOrder, OrderRefusal> {
  const fault =
    headFault(order, policy) ??
    correctionFault(order, policy) ??
    mealFault(order, policy) ??
    bedtimeFault(order, policy) ??
    notEatingFault(order, policy) ??
    scheduledFault(order, policy)
  return fault ?? accept({ ...order, concentration: 'U-100' })
}

/** The ward's limit of a single dose of the insulin, in units: the lower of the one for all insulin and its class's. */
export function wardLimit(insulin: InsulinName, { dose }: WardPolicy): number {
  return Math.min(dose.singleDoseLimit, dose.classLimits[INSULIN_CLASS[insulin]].stop)
}

/** The single-dose limit that applies: the lower of the order's and the ward's, in units. */
export function singleDoseLimit(
  order: { readonly insulin: InsulinName; readonly maxSingleDose: number },
  policy: WardPolicy,
): number {
  return Math.min(order.maxSingleDose, wardLimit(order.insulin, policy))
}

function headFault(order: OrderAsWritten, policy: WardPolicy): Fault {
  if (/^U-?500$/i.test(order.concentration.trim())) return refuse('concentration-u500')
  if (order.concentration !== 'U-100')
    return refuse('concentration-not-u100', { concentration: order.concentration.slice(0, 40) })
  if (order.unit !== policy.unit) return refuse('order-unit-not-wards', { unit: order.unit, wards: policy.unit })
  if (order.prescriber.trim() === '') return refuse('order-prescriber-missing')
  if (!isDeliverable(order.maxSingleDose) || order.maxSingleDose === 0)
    return refuse('order-limit-not-units', { limit: String(order.maxSingleDose) })
  const interval = order.correctionIntervalMin
  if (interval !== null && (!Number.isInteger(interval) || interval < 1 || interval > 24 * 60))
    return refuse('order-interval-not-minutes', { interval: String(interval) })
  if (!Number.isSafeInteger(order.startsAtMs) || (order.stopsAtMs !== null && !(order.stopsAtMs > order.startsAtMs)))
    return refuse('order-dates-crossed')
  const bearsOnReading = order.correction !== null || order.meal !== null
  if (!bearsOnReading && order.scheduled.length === 0) return refuse('order-says-nothing')
  if (bearsOnReading && order.occasions.length === 0) return refuse('order-occasions-missing')
  const repeated = order.occasions.find((occasion, index) => order.occasions.indexOf(occasion) !== index)
  if (repeated !== undefined) return refuse('order-occasion-repeated', { occasion: repeated })
  const slow = INSULIN_CLASS[order.insulin] === 'intermediate' || INSULIN_CLASS[order.insulin] === 'long-acting'
  if (bearsOnReading && slow) return refuse('insulin-not-for-meals-or-correction', { insulin: order.insulin })
  return null
}

function correctionFault(order: OrderAsWritten, policy: WardPolicy): Fault {
  const correction = order.correction
  if (correction === null) return null
  if (correction.kind === 'scale') return scaleFault('correction', correction.scale, order, policy)
  const { target, perUnit } = correction
  if (!Number.isInteger(perUnit) || perUnit <= 0 || perUnit > LARGEST_BOUND[order.unit])
    return refuse('factor-not-positive', { value: boundText(perUnit, order.unit), unit: order.unit })
  if (!Number.isInteger(target) || target < policy.limits.low || target > LARGEST_BOUND[order.unit])
    return refuse('target-below-low', {
      value: boundText(target, order.unit),
      low: boundText(policy.limits.low, order.unit),
      unit: order.unit,
    })
  return null
}

/** `part` names the scale at fault. */
function scaleFault(part: ScalePart, scale: Scale, order: OrderAsWritten, policy: WardPolicy): Fault {
  if (scale.unit !== order.unit) return refuse('scale-unit-not-orders', { unit: scale.unit, orders: order.unit, part })
  const checked = checkScale(scale, { low: policy.limits.low, maxSingleDose: singleDoseLimit(order, policy) })
  if (!checked.ok) return withDetails(checked, { part })
  const fine = scale.steps.find((step) => step.answer !== 'call' && isFiner(step.answer, order))
  return fine === undefined
    ? null
    : refuse('answer-finer-than-rounding', {
        value: boundText(fine.atLeast, order.unit),
        unit: order.unit,
        answer: String(fine.answer),
        part,
      })
}

/** An order that rounds to whole units must not contain half units: the rounding would change them. */
function isFiner(units: number, order: OrderAsWritten): boolean {
  return order.rounding.to === 1 && !Number.isInteger(units)
}

function mealFault(order: OrderAsWritten, policy: WardPolicy): Fault {
  const meal = order.meal
  if (meal === null) return order.mealTiming === 'after-by-share' ? refuse('meal-missing-for-share') : null
  if (meal.kind === 'ratio') {
    const grams = meal.gramsPerUnit
    const sound = hasAtMostTwoDecimals(grams) && fractionOf(grams).numerator > 0 && grams <= 300
    return sound ? null : refuse('meal-ratio-not-positive', { grams: String(grams) })
  }
  const limit = singleDoseLimit(order, policy)
  const listed = OCCASIONS.filter((occasion) => meal.units[occasion] !== undefined)
  if (listed.length === 0) return refuse('meal-units-not-deliverable', { occasion: '–', units: '–' })
  for (const occasion of listed) {
    const units = meal.units[occasion] ?? 0
    if (MEAL_OF[occasion] === null) return refuse('meal-occasion-not-a-meal', { occasion })
    if (!order.occasions.includes(occasion)) return refuse('meal-occasion-not-ordered', { occasion })
    if (!isDeliverable(units) || units === 0 || isFiner(units, order))
      return refuse('meal-units-not-deliverable', { occasion, units: String(units) })
    if (units > limit) return refuse('meal-above-limit', { occasion, units, limit })
  }
  return null
}

function bedtimeFault(order: OrderAsWritten, policy: WardPolicy): Fault {
  const bedtime: Occasion = 'bedtime'
  const variant = order.bedtime
  if (variant.kind === 'same' || variant.kind === 'none') return null
  if (!order.occasions.includes(bedtime)) return refuse('bedtime-not-ordered')
  if (order.correction?.kind !== 'scale') return refuse('bedtime-needs-scale')
  return variant.kind === 'own-scale' ? scaleFault('bedtime', variant.scale, order, policy) : null
}

/**
 * At bedtime the scale for a patient who does not eat replaces the bedtime scale. If it gives more there, the order
 * contradicts itself, and only the prescriber can resolve that.
 */
function notEatingFault(order: OrderAsWritten, policy: WardPolicy): Fault {
  const rule = order.notEating
  if (rule === undefined || rule.kind === 'correction-as-ordered') return null
  if (order.correction === null) return refuse('not-eating-needs-correction')
  if (rule.kind === 'hold-all') return null
  const fault = scaleFault('not-eating', rule.scale, order, policy)
  if (fault !== null || order.bedtime.kind !== 'own-scale') return fault
  const atBedtime = order.bedtime.scale
  for (const { atLeast: value } of [...rule.scale.steps, ...atBedtime.steps].sort((a, b) => a.atLeast - b.atLeast)) {
    const [answer, bedtime] = [rule.scale, atBedtime].map(
      (scale) => answerFor(scale, { unit: order.unit, value }).answer,
    )
    if (
      answer !== undefined &&
      bedtime !== undefined &&
      answer !== 'call' &&
      (bedtime === 'call' || answer > bedtime)
    ) {
      return refuse('not-eating-above-bedtime', {
        value: boundText(value, order.unit),
        unit: order.unit,
        answer,
        bedtime: bedtime === 'call' ? 'no dose, call' : bedtime,
      })
    }
  }
  return null
}

function scheduledFault(order: OrderAsWritten, policy: WardPolicy): Fault {
  const limit = singleDoseLimit(order, policy)
  const seen = new Set<string>()
  for (const { time, units, holdBelow } of order.scheduled) {
    if (!/^([01]\d|2[0-3]):[0-5]\d$/.test(time)) return refuse('scheduled-time-not-a-time', { time: time.slice(0, 20) })
    if (seen.has(time)) return refuse('scheduled-time-repeated', { time })
    seen.add(time)
    if (!isDeliverable(units) || units === 0 || isFiner(units, order))
      return refuse('scheduled-units-not-deliverable', { time, units: String(units) })
    if (units > limit) return refuse('scheduled-above-limit', { time, units, limit })
    if (
      holdBelow !== null &&
      (!Number.isInteger(holdBelow) || holdBelow < policy.limits.low || holdBelow > LARGEST_BOUND[order.unit])
    )
      return refuse('scheduled-hold-not-a-glucose', { time, value: boundText(holdBelow, order.unit), unit: order.unit })
  }
  return null
}
