/** An insulin order in one line, for a hand-over: what it is, never what a dose is worked out from. */
import { OCCASIONS } from '../../shared/check/check.ts'
import { glucoseDigits } from '../../shared/glucose/value.ts'
import type { InsulinOrder, Scale } from '../../shared/order/order.ts'
import { formatNumber, formatUnits, OCCASION_NAME } from '../format.ts'

/** "insulin lispro U-100, before breakfast, bedtime: correction by scale, 2 to 10 units, from 151 mg/dL, no dose, call from 401 mg/dL; …" */
export function orderShort(order: InsulinOrder): string {
  const parts = [
    correctionText(order),
    mealText(order),
    bedtimeText(order),
    ...order.scheduled.map(
      ({ time, units, holdBelow }) =>
        `every day at ${time} ${formatUnits(units)}${holdBelow === null ? '' : `, held below ${glucose(order, holdBelow)}`}`,
    ),
  ]
  const at =
    order.occasions.length === 0
      ? ''
      : `, ${order.occasions.map((occasion) => OCCASION_NAME[occasion].toLowerCase()).join(', ')}`
  return `${order.insulin} ${order.concentration}${at}: ${parts.filter((part) => part !== '').join('; ')}`
}

function glucose({ unit }: Pick<InsulinOrder, 'unit'>, value: number): string {
  return `${glucoseDigits({ unit, value })} ${unit}`
}

function correctionText({ correction, unit }: InsulinOrder): string {
  if (correction === null) return ''
  if (correction.kind === 'scale') return `correction by scale, ${scaleText(correction.scale)}`
  return `correction 1 unit for each ${glucose({ unit }, correction.perUnit)} above ${glucose({ unit }, correction.target)}`
}

function scaleText({ unit, steps }: Scale): string {
  const amounts = steps.flatMap(({ answer }) => (typeof answer === 'number' && answer > 0 ? [answer] : []))
  const first = steps.find(({ answer }) => typeof answer === 'number' && answer > 0)
  const call = steps.find(({ answer }) => answer === 'call')
  const given =
    first === undefined
      ? 'no units'
      : `${amounts.length === 1 ? '' : `${formatNumber(Math.min(...amounts))} to `}${formatUnits(Math.max(...amounts))}, from ${glucose({ unit }, first.atLeast)}`
  return call === undefined ? given : `${given}, “no dose, call” from ${glucose({ unit }, call.atLeast)}`
}

function mealText({ meal, mealTiming }: InsulinOrder): string {
  if (meal === null) return ''
  const after = mealTiming === 'after-by-share' ? ', after eating by the share eaten' : ''
  if (meal.kind === 'ratio')
    return `meal part 1 unit for each ${formatNumber(meal.gramsPerUnit)} g of carbohydrate${after}`
  const amounts = OCCASIONS.flatMap((occasion) => {
    const units = meal.units[occasion]
    return units === undefined ? [] : [`${OCCASION_NAME[occasion].toLowerCase()} ${formatUnits(units)}`]
  })
  return `meal part ${amounts.join(', ')}${after}`
}

function bedtimeText({ bedtime, correction, occasions }: InsulinOrder): string {
  if (correction === null || !occasions.includes('bedtime') || bedtime.kind === 'same') return ''
  return {
    none: 'no correction at bedtime',
    half: 'half the correction at bedtime',
    'own-scale': 'another scale at bedtime',
  }[bedtime.kind]
}
