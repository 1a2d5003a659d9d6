/** Parses the parts of an order from the form: correction, meal part, bedtime, not eating, scheduled doses. */
import { OCCASIONS, type Occasion } from '../check/check.ts'
import { accept, refuse, type Outcome, type Refused } from '../outcome.ts'
import { MEAL_FIELD, MOST_SCHEDULED, scheduledField, type ScaleName, type Typed } from './entry-fields.ts'
import { hasTypedScale, scaleFromTyped, unitsOf, type EntryScaleRefusal } from './entry-scale.ts'
import { hasAtMostTwoDecimals } from './fraction.ts'
import type { BedtimeVariant, Correction, MealPart, NotEatingRule, ScheduledDose } from './order.ts'
import { countOf, type ScaleLimits } from './written.ts'

export type EntryPartRefusal =
  | EntryScaleRefusal
  | 'kind-not-chosen'
  | 'typed-not-used'
  | 'grams-not-typed'
  | 'meal-units-missing'
  | 'scheduled-incomplete'

const textOf = (typed: Typed, field: string): string => (typed[field] ?? '').trim()

/**
 * Refuses a field with a value that the choice above it does not use. Ignoring it silently could lose part of the
 * order.
 */
function leftOver(
  typed: Typed,
  kindField: string,
  used: { readonly scale?: ScaleName | null; readonly fields?: readonly string[] },
): Refused<'typed-not-used'> | null {
  const field = (used.fields ?? []).find((name) => textOf(typed, name) !== '')
  if (field !== undefined) return refuse('typed-not-used', { typed: textOf(typed, field), field: kindField })
  return used.scale != null && hasTypedScale(typed, used.scale)
    ? refuse('typed-not-used', { typed: 'rows', field: kindField })
    : null
}

/** Parses the correction: by scale, by factor and target, or none. */
export function correctionFromTyped(typed: Typed, limits: ScaleLimits): Outcome<Correction | null, EntryPartRefusal> {
  const kind = textOf(typed, 'correctionKind')
  const factorFields = ['target', 'perUnit']
  switch (kind) {
    case 'none':
      return leftOver(typed, 'correctionKind', { scale: 'correction', fields: factorFields }) ?? accept(null)
    case 'scale': {
      const left = leftOver(typed, 'correctionKind', { fields: factorFields })
      if (left !== null) return left
      const scale = scaleFromTyped(typed, 'correction', limits)
      return scale.ok ? accept({ kind: 'scale', scale: scale.value }) : scale
    }
    case 'factor': {
      const left = leftOver(typed, 'correctionKind', { scale: 'correction' })
      if (left !== null) return left
      const target = glucoseIn(typed, 'target', limits)
      if (!target.ok) return target
      const perUnit = glucoseIn(typed, 'perUnit', limits)
      if (!perUnit.ok) return perUnit
      return accept({
        kind: 'factor',
        target: target.value,
        perUnit: perUnit.value,
        belowTargetSubtracts: textOf(typed, 'belowTarget') === 'subtracts',
      })
    }
    default:
      return refuse('kind-not-chosen', { field: 'correctionKind' })
  }
}

function glucoseIn(typed: Typed, field: string, { unit }: ScaleLimits): Outcome<number, 'glucose-not-as-printed'> {
  const text = textOf(typed, field)
  const count = countOf(text, unit)
  return count === null ? refuse('glucose-not-as-printed', { value: text, unit, field }) : accept(count)
}

/**
 * Parses the meal part: none, fixed units for each meal, or carbohydrate grams for each unit (at most two decimals).
 */
export function mealFromTyped(typed: Typed): Outcome<MealPart | null, EntryPartRefusal> {
  const fixedFields = Object.values(MEAL_FIELD)
  switch (textOf(typed, 'mealKind')) {
    case 'none':
      return leftOver(typed, 'mealKind', { fields: [...fixedFields, 'gramsPerUnit'] }) ?? accept(null)
    case 'fixed': {
      const left = leftOver(typed, 'mealKind', { fields: ['gramsPerUnit'] })
      if (left !== null) return left
      const units: Partial<Record<Occasion, number>> = {}
      for (const occasion of OCCASIONS) {
        const field = MEAL_FIELD[occasion]
        if (field === undefined || textOf(typed, field) === '') continue
        const count = unitsOf(textOf(typed, field))
        if (count === null) return refuse('units-not-typed', { typed: textOf(typed, field), field })
        units[occasion] = count
      }
      return Object.keys(units).length === 0
        ? refuse('meal-units-missing', { field: 'mealBreakfast' })
        : accept({ kind: 'fixed', units })
    }
    case 'ratio': {
      const left = leftOver(typed, 'mealKind', { fields: fixedFields })
      if (left !== null) return left
      const text = textOf(typed, 'gramsPerUnit')
      const grams = /^\d{1,3}(?:\.\d{1,2})?$/.test(text) ? Number(text) : NaN
      return hasAtMostTwoDecimals(grams)
        ? accept({ kind: 'ratio', gramsPerUnit: grams })
        : refuse('grams-not-typed', { typed: text, field: 'gramsPerUnit' })
    }
    default:
      return refuse('kind-not-chosen', { field: 'mealKind' })
  }
}

/** Parses the bedtime variant: the same as by day, its own rows, half, or none. */
export function bedtimeFromTyped(typed: Typed, limits: ScaleLimits): Outcome<BedtimeVariant, EntryPartRefusal> {
  const kind = textOf(typed, 'bedtimeKind')
  if (kind === 'own-scale') {
    const scale = scaleFromTyped(typed, 'bedtime', limits)
    return scale.ok ? accept({ kind, scale: scale.value }) : scale
  }
  if (kind !== 'same' && kind !== 'half' && kind !== 'none') return refuse('kind-not-chosen', { field: 'bedtimeKind' })
  return leftOver(typed, 'bedtimeKind', { scale: 'bedtime' }) ?? accept({ kind })
}

/** Parses the rule for a patient who does not eat. */
export function notEatingFromTyped(typed: Typed, limits: ScaleLimits): Outcome<NotEatingRule, EntryPartRefusal> {
  const kind = textOf(typed, 'notEatingKind')
  if (kind === 'own-scale') {
    const scale = scaleFromTyped(typed, 'notEating', limits)
    return scale.ok ? accept({ kind, scale: scale.value }) : scale
  }
  if (kind !== 'correction-as-ordered' && kind !== 'hold-all')
    return refuse('kind-not-chosen', { field: 'notEatingKind' })
  return leftOver(typed, 'notEatingKind', { scale: 'notEating' }) ?? accept({ kind })
}

/** Parses up to six doses without a scale: time (HH:MM), units, and the glucose below which the order holds each. */
export function scheduledFromTyped(
  typed: Typed,
  { unit }: Pick<ScaleLimits, 'unit'>,
): Outcome<readonly ScheduledDose[], EntryPartRefusal> {
  const doses: ScheduledDose[] = []
  for (let index = 0; index < MOST_SCHEDULED; index++) {
    const [timeField, unitsField, holdField] = [
      scheduledField(index, 'Time'),
      scheduledField(index, 'Units'),
      scheduledField(index, 'HoldBelow'),
    ]
    const [time, units, hold] = [textOf(typed, timeField), textOf(typed, unitsField), textOf(typed, holdField)]
    if (time === '' && units === '' && hold === '') continue
    if (time === '' || units === '')
      return refuse('scheduled-incomplete', { field: time === '' ? timeField : unitsField })
    const count = unitsOf(units)
    if (count === null) return refuse('units-not-typed', { typed: units, field: unitsField })
    const holdBelow = hold === '' ? null : countOf(hold, unit)
    if (hold !== '' && holdBelow === null)
      return refuse('glucose-not-as-printed', { value: hold, unit, field: holdField })
    doses.push({ time, units: count, holdBelow })
  }
  return accept(doses)
}
