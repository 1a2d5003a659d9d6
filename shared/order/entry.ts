/** The whole order form: turns typed values into a valid order, or names the field at fault. */
import { OCCASIONS, type Occasion } from '../check/check.ts'
import { accept, refuse, withDetails, type Outcome, type Refused } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { parseLocalDateTime } from '../time/zone.ts'
import {
  MEAL_FIELD,
  MOST_ROWS,
  MOST_SCHEDULED,
  OCCASION_FIELD,
  scheduledField,
  scaleField,
  type ScaleName,
  type Typed,
} from './entry-fields.ts'
import {
  bedtimeFromTyped,
  correctionFromTyped,
  mealFromTyped,
  notEatingFromTyped,
  scheduledFromTyped,
  type EntryPartRefusal,
} from './entry-parts.ts'
import { unitsOf } from './entry-scale.ts'
import { INSULIN_CLASS, type InsulinName, type InsulinOrder } from './order.ts'
import { checkOrder, wardLimit, type OrderAsWritten, type OrderRefusal } from './validate.ts'
import type { ScalePart } from './scale.ts'
import { beginningOf, type ScaleLimits } from './written.ts'

export type EntryRefusal =
  | EntryPartRefusal
  | OrderRefusal
  | 'insulin-not-chosen'
  | 'limit-not-typed'
  | 'interval-not-read'
  | 'start-not-read'
  | 'stop-not-read'
  | 'stop-in-past'
  | 'received-not-chosen'
  | 'read-back-missing'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'repeat-not-minutes': { typed: string }
    'units-not-typed': { typed: string }
    'answer-missing': { row: string }
    'two-answers': { row: string; units: string }
    /** What is typed and left out, or 'rows' for several rows. */
    'typed-not-used': { typed: string }
    'grams-not-typed': { typed: string }
    'limit-not-typed': { typed: string }
    'interval-not-read': { typed: string }
  }
}

/** A standard order belongs to no patient. It has no prescriber, start or stop until it is copied to a patient. */
export type EntryFor = 'patient' | 'standard'
/** Stored in a standard order in place of the prescriber's name. */
export const STANDARD_PRESCRIBER = 'Standard order of the ward'

const textOf = (typed: Typed, field: string): string => (typed[field] ?? '').trim()

/**
 * The limits for the scales of a typed order, in units. Without a typed single-dose limit the ward's for the insulin
 * applies; while no insulin is chosen, the ward's for all insulin.
 */
export function limitsFromTyped(typed: Typed, policy: WardPolicy): ScaleLimits & { readonly orderLimit: number } {
  const text = textOf(typed, 'maxSingleDose')
  const insulin = textOf(typed, 'insulin')
  const wards = isInsulin(insulin) ? wardLimit(insulin, policy) : policy.dose.singleDoseLimit
  const orderLimit = text === '' ? wards : (unitsOf(text) ?? wards)
  return {
    unit: policy.unit,
    lowLimit: policy.limits.low,
    orderLimit,
    maxSingleDose: Math.min(orderLimit, wards),
  }
}

/** Minutes of an interval written with its unit: "4 h", "3 h 30 min", "240 min". A bare "4" is ambiguous: null. */
export function intervalMinutes(typed: string): number | null {
  const match = /^(?:(\d{1,2})\s*h)?\s*(?:(\d{1,4})\s*min)?$/i.exec(typed.trim())
  if (match === null || (match[1] === undefined && match[2] === undefined)) return null
  return Number(match[1] ?? 0) * 60 + Number(match[2] ?? 0)
}

/**
 * The typed order. Every refusal names the value and, in `field`, its field. Glucose counts in the ward's unit; start
 * and stop are ward-local. `checkOrder` then checks it, as for every order.
 */
export function orderFromTyped(
  typed: Typed,
  { policy, nowMs, entry }: { readonly policy: WardPolicy; readonly nowMs: number; readonly entry: EntryFor },
): Outcome<InsulinOrder, EntryRefusal> {
  const insulin = textOf(typed, 'insulin')
  if (!isInsulin(insulin)) return refuse('insulin-not-chosen', { field: 'insulin' })
  const limitText = textOf(typed, 'maxSingleDose')
  if (limitText !== '' && unitsOf(limitText) === null)
    return refuse('limit-not-typed', { typed: limitText, field: 'maxSingleDose' })
  // report the limit itself first; otherwise every row would be reported as above it
  if (unitsOf(limitText) === 0) return refuse('order-limit-not-units', { limit: limitText, field: 'maxSingleDose' })
  const limits = limitsFromTyped(typed, policy)
  const correction = correctionFromTyped(typed, limits)
  if (!correction.ok) return correction
  const meal = mealFromTyped(typed)
  if (!meal.ok) return meal
  const bedtime = bedtimeFromTyped(typed, limits)
  if (!bedtime.ok) return bedtime
  const notEating = notEatingFromTyped(typed, limits)
  if (!notEating.ok) return notEating
  const scheduled = scheduledFromTyped(typed, limits)
  if (!scheduled.ok) return scheduled
  const intervalText = textOf(typed, 'interval')
  const correctionIntervalMin = intervalText === '' ? null : intervalMinutes(intervalText)
  if (intervalText !== '' && correctionIntervalMin === null)
    return refuse('interval-not-read', { typed: intervalText, field: 'interval' })
  const head =
    entry === 'standard'
      ? accept({ prescriber: STANDARD_PRESCRIBER, received: 'written' as const, startsAtMs: nowMs, stopsAtMs: null })
      : headFromTyped(typed, policy.zone, nowMs)
  if (!head.ok) return head
  const order: OrderAsWritten = {
    insulin,
    concentration: textOf(typed, 'concentration'),
    route: 'subcutaneous',
    unit: policy.unit,
    occasions: OCCASIONS.filter((occasion) => textOf(typed, OCCASION_FIELD[occasion]) !== ''),
    correction: correction.value,
    meal: meal.value,
    mealTiming: textOf(typed, 'mealTiming') === 'after-by-share' ? 'after-by-share' : 'before',
    bedtime: bedtime.value,
    notEating: notEating.value,
    scheduled: scheduled.value,
    rounding: {
      to: textOf(typed, 'roundTo') === '0.5' ? 0.5 : 1,
      ties: textOf(typed, 'ties') === 'up' ? 'up' : 'down',
    },
    maxSingleDose: limits.orderLimit,
    correctionIntervalMin,
    stackingStopsAtOccasions: textOf(typed, 'stackingStops') !== '',
    ...(textOf(typed, 'inAddition') === '' ? {} : { inAddition: true as const }),
    ...head.value,
  }
  const checked = checkOrder(order, policy)
  return checked.ok ? checked : inField(checked, typed, policy)
}

function isInsulin(text: string): text is InsulinName {
  return Object.hasOwn(INSULIN_CLASS, text)
}

export type HeadRefusal =
  'received-not-chosen' | 'read-back-missing' | 'start-not-read' | 'stop-not-read' | 'stop-in-past'
/** The fields that only a patient's own order has. */
export type Head = Pick<InsulinOrder, 'prescriber' | 'received' | 'startsAtMs' | 'stopsAtMs'>

/**
 * Parses the prescriber, how the order was received, its start and its stop. A telephone order must be read back first.
 */
export function headFromTyped(typed: Typed, zone: string, nowMs: number): Outcome<Head, HeadRefusal> {
  const received = textOf(typed, 'received')
  if (received !== 'written' && received !== 'telephone') return refuse('received-not-chosen', { field: 'received' })
  if (received === 'telephone' && textOf(typed, 'readBack') === '')
    return refuse('read-back-missing', { field: 'readBack' })
  const startsAtMs = parseLocalDateTime(textOf(typed, 'startsAt'), zone, nowMs)
  if (startsAtMs === null) return refuse('start-not-read', { field: 'startsAt' })
  const stopText = textOf(typed, 'stopsAt')
  const stopsAtMs = stopText === '' ? null : parseLocalDateTime(stopText, zone, nowMs)
  if (stopText !== '' && stopsAtMs === null) return refuse('stop-not-read', { field: 'stopsAt' })
  if (stopsAtMs !== null && stopsAtMs > startsAtMs && stopsAtMs <= nowMs)
    return refuse('stop-in-past', { field: 'stopsAt' })
  return accept({
    prescriber: textOf(typed, 'prescriber'),
    received: received === 'written' ? 'written' : 'telephone-read-back',
    startsAtMs,
    stopsAtMs,
  })
}

const FIELD_OF: Partial<Readonly<Record<OrderRefusal, string>>> = {
  'concentration-u500': 'concentration',
  'concentration-not-u100': 'concentration',
  'order-says-nothing': 'correctionKind',
  'order-occasions-missing': 'atBreakfast',
  'insulin-not-for-meals-or-correction': 'insulin',
  'order-limit-not-units': 'maxSingleDose',
  'order-interval-not-minutes': 'interval',
  'order-dates-crossed': 'stopsAt',
  'order-prescriber-missing': 'prescriber',
  'factor-not-positive': 'perUnit',
  'target-below-low': 'target',
  'meal-ratio-not-positive': 'gramsPerUnit',
  'meal-missing-for-share': 'mealKind',
  'bedtime-not-ordered': 'bedtimeKind',
  'bedtime-needs-scale': 'bedtimeKind',
  'not-eating-needs-correction': 'notEatingKind',
  'not-eating-above-bedtime': 'notEatingKind',
}

const PART_OF: Readonly<Record<ScalePart, ScaleName>> = {
  correction: 'correction',
  bedtime: 'bedtime',
  'not-eating': 'notEating',
}

function inField(refused: Refused<OrderRefusal>, typed: Typed, policy: WardPolicy): Refused<OrderRefusal> {
  const { details } = refused
  const field =
    FIELD_OF[refused.reason] ??
    fieldOfMeal(details) ??
    fieldOfScheduled(refused, typed) ??
    fieldOfStep(details, typed, policy)
  return field === null ? refused : withDetails(refused, { field })
}

type Details = Refused<OrderRefusal>['details']

function fieldOfMeal(details: Details): string | null {
  return 'occasion' in details ? (MEAL_FIELD[details.occasion as Occasion] ?? null) : null
}

function fieldOfScheduled({ reason, details }: Refused<OrderRefusal>, typed: Typed): string | null {
  if (!('time' in details)) return null
  const listed = Array.from({ length: MOST_SCHEDULED }, (_, index) => index).filter(
    (index) => textOf(typed, scheduledField(index, 'Time')) === details.time,
  )
  const index = (reason === 'scheduled-time-repeated' ? listed.at(-1) : listed[0]) ?? 0
  if (reason === 'scheduled-hold-not-a-glucose') return scheduledField(index, 'HoldBelow')
  return scheduledField(index, reason.startsWith('scheduled-time') ? 'Time' : 'Units')
}

/**
 * The row whose first value is the given one. A step without a row of its own (an answer, or what applies above) is
 * placed at the end.
 */
function fieldOfStep(details: Details, typed: Typed, { unit }: WardPolicy): string | null {
  if (!('part' in details) || details.part === undefined) return null
  const scale = PART_OF[details.part]
  const named = beginningOf('value' in details ? details.value : '', unit)
  for (let row = 1; row <= MOST_ROWS; row++) {
    const from = textOf(typed, scaleField(scale, `row${String(row)}From`))
    const filled = textOf(typed, scaleField(scale, `row${String(row)}Units`)) !== ''
    if (filled && (from === '' ? 0 : beginningOf(from, unit)) === named)
      return scaleField(scale, `row${String(row)}Units`)
  }
  return scaleField(scale, 'aboveUnits')
}
