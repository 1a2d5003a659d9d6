/** Turns an order back into form fields, as the starting values of a revision. */
import { OCCASIONS, type Occasion } from '../check/check.ts'
import { localDateTime } from '../time/zone.ts'
import { MEAL_FIELD, MOST_ROWS, OCCASION_FIELD, scaleField, scheduledField, type ScaleName } from './entry-fields.ts'
import type { InsulinOrder, Scale, ScaleAnswer } from './order.ts'
import { boundText } from './scale.ts'

/**
 * The form values of this order; `orderFromTyped` reads them back as the same order. Start, prescriber and how it was
 * received are left out: they belong to the new version. Null when a scale has more steps than the form has rows.
 */
export function typedFromOrder(order: InsulinOrder, zone: string): Readonly<Record<string, string>> | null {
  const scales = scalesOf(order)
  if (scales.some(([, scale]) => scale.steps.length > MOST_ROWS)) return null
  const { correction, meal, bedtime, notEating, unit } = order
  return {
    insulin: order.insulin,
    concentration: order.concentration,
    ...Object.fromEntries(
      OCCASIONS.filter((occasion) => order.occasions.includes(occasion)).map((occasion) => [
        OCCASION_FIELD[occasion],
        'yes',
      ]),
    ),
    correctionKind: correction?.kind ?? 'none',
    ...(correction?.kind === 'factor'
      ? { target: boundText(correction.target, unit), perUnit: boundText(correction.perUnit, unit) }
      : {}),
    belowTarget: correction?.kind === 'factor' && correction.belowTargetSubtracts ? 'subtracts' : 'nothing',
    mealKind: meal?.kind ?? 'none',
    ...(meal?.kind === 'fixed' ? mealUnits(meal.units) : {}),
    ...(meal?.kind === 'ratio' ? { gramsPerUnit: String(meal.gramsPerUnit) } : {}),
    mealTiming: order.mealTiming,
    bedtimeKind: bedtime.kind,
    notEatingKind: notEating?.kind ?? 'correction-as-ordered',
    ...Object.fromEntries(scales.flatMap(([name, scale]) => Object.entries(rowsOf(name, scale)))),
    ...scheduledFields(order),
    roundTo: String(order.rounding.to),
    ties: order.rounding.ties,
    maxSingleDose: String(order.maxSingleDose),
    ...(order.correctionIntervalMin === null ? {} : { interval: intervalText(order.correctionIntervalMin) }),
    ...(order.stackingStopsAtOccasions ? { stackingStops: 'yes' } : {}),
    ...(order.inAddition === true ? { inAddition: 'yes' } : {}),
    ...(order.stopsAtMs === null ? {} : { stopsAt: localDateTime(order.stopsAtMs, zone) }),
  }
}

function mealUnits(units: Readonly<Partial<Record<Occasion, number>>>): Readonly<Record<string, string>> {
  return Object.fromEntries(
    OCCASIONS.flatMap((occasion): [string, string][] => {
      const [field, count] = [MEAL_FIELD[occasion], units[occasion]]
      return field === undefined || count === undefined ? [] : [[field, String(count)]]
    }),
  )
}

function scheduledFields({ scheduled, unit }: InsulinOrder): Readonly<Record<string, string>> {
  return Object.fromEntries(
    scheduled.flatMap(({ time, units, holdBelow }, index): [string, string][] => [
      [scheduledField(index, 'Time'), time],
      [scheduledField(index, 'Units'), String(units)],
      ...(holdBelow === null
        ? []
        : [[scheduledField(index, 'HoldBelow'), boundText(holdBelow, unit)] as [string, string]]),
    ]),
  )
}

function scalesOf({ correction, bedtime, notEating }: InsulinOrder): readonly (readonly [ScaleName, Scale])[] {
  return [
    ...(correction?.kind === 'scale' ? [['correction', correction.scale] as const] : []),
    ...(bedtime.kind === 'own-scale' ? [['bedtime', bedtime.scale] as const] : []),
    ...(notEating?.kind === 'own-scale' ? [['notEating', notEating.scale] as const] : []),
  ]
}

/** Every step as a printed row. The last one is open upward; one that begins at 0 is open downward. */
function rowsOf(name: ScaleName, { unit, steps }: Scale): Readonly<Record<string, string>> {
  const fields: [string, string][] = []
  for (const [index, { atLeast, answer, also, repeatMin }] of steps.entries()) {
    const next = steps[index + 1]
    const put = (part: string, text: string): void => {
      fields.push([scaleField(name, `row${String(index + 1)}${part}`), text])
    }
    if (atLeast > 0) put('From', boundText(atLeast, unit))
    if (next !== undefined) put('To', boundText(next.atLeast - 1, unit))
    putAnswer(put, answer)
    if (also !== null) put('Also', also)
    if (repeatMin !== undefined) put('Repeat', String(repeatMin))
  }
  return Object.fromEntries(fields)
}

function putAnswer(put: (part: string, text: string) => void, answer: ScaleAnswer): void {
  if (answer === 'call') put('Call', 'yes')
  else put('Units', String(answer))
}

function intervalText(minutes: number): string {
  return minutes % 60 === 0 && minutes < 100 * 60 ? `${String(minutes / 60)} h` : `${String(minutes)} min`
}
