/** An insulin order in full, for the bedside, the second nurse and paper. */
import { glucoseDigits, type GlucoseUnit } from '../../shared/glucose/value.ts'
import type { InsulinOrder, Scale } from '../../shared/order/order.ts'
import { formatDateTime, formatMinutes, formatNumber, formatUnits, OCCASION_NAME } from '../format.ts'
import { html, type Html } from '../html.ts'
import { OCCASIONS } from '../../shared/check/check.ts'

/** One line of the order's facts. */
type Fact = { readonly name: string; readonly value: string }

/** The whole order: insulin, scale or factor, meal part, bedtime, scheduled doses, rounding, limits, prescriber. */
export function orderTable(order: InsulinOrder, zone: string): Html {
  return tableOf(order, orderFacts(order, zone))
}

/** Facts that only a patient's own order has. */
const OWN: readonly string[] = ['Prescriber', 'From', 'Until']

/** A ward's standard order. It has no prescriber, start or end. */
export function standardOrderTable(order: InsulinOrder, zone: string): Html {
  return tableOf(
    order,
    orderFacts(order, zone).filter(({ name }) => !OWN.includes(name)),
  )
}

function tableOf(order: InsulinOrder, facts: readonly Fact[]): Html {
  return html`<div class="order">
<dl class="facts">${facts.map(({ name, value }) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl>
${order.correction?.kind === 'scale' ? scaleTable(order.correction.scale, 'Correction scale') : null}
${order.bedtime.kind === 'own-scale' ? scaleTable(order.bedtime.scale, 'Scale at bedtime') : null}
${order.notEating?.kind === 'own-scale' ? scaleTable(order.notEating.scale, 'Correction scale when the patient does not eat') : null}
</div>`
}

function orderFacts(order: InsulinOrder, zone: string): readonly Fact[] {
  const facts: Fact[] = [
    { name: 'Insulin', value: `${order.insulin}, ${order.concentration}, ${order.route}` },
    {
      name: 'At',
      value:
        order.occasions.length === 0
          ? '–'
          : order.occasions.map((occasion) => OCCASION_NAME[occasion].toLowerCase()).join(', '),
    },
  ]
  const glucose = (value: number): string => `${glucoseDigits({ unit: order.unit, value })} ${order.unit}`
  if (order.correction?.kind === 'factor') {
    const { target, perUnit, belowTargetSubtracts } = order.correction
    facts.push({
      name: 'Correction',
      value: `(glucose − ${glucose(target)}) ÷ ${glucose(perUnit)} for each unit; a value below the target ${belowTargetSubtracts ? 'subtracts from the meal part' : 'corrects nothing'}`,
    })
  }
  if (order.meal !== null) facts.push({ name: 'Meal part', value: mealText(order) })
  facts.push(...bedtimeFact(order), ...notEatingFact(order))
  for (const { time, units, holdBelow } of order.scheduled) {
    facts.push({
      name: `Every day at ${time}`,
      value: `${formatUnits(units)}${holdBelow === null ? '' : `, held below ${glucose(holdBelow)}`}`,
    })
  }
  facts.push(
    {
      name: 'Rounding',
      value: `once, at the end, to ${order.rounding.to === 1 ? 'whole' : 'half'} units, ties ${order.rounding.ties}`,
    },
    { name: 'Single-dose limit', value: formatUnits(order.maxSingleDose) },
  )
  if (order.correctionIntervalMin !== null)
    facts.push({ name: 'Between corrections', value: formatMinutes(order.correctionIntervalMin) })
  if (order.inAddition === true) facts.push({ name: 'Beside another basal insulin', value: 'in addition to it' })
  if (order.stackingStopsAtOccasions)
    facts.push({ name: 'Earlier insulin inside the interval', value: 'stops the correction at every occasion' })
  facts.push(
    {
      name: 'Prescriber',
      value: `${order.prescriber}, ${order.received === 'written' ? 'written' : 'by telephone, read back'}`,
    },
    { name: 'From', value: formatDateTime(order.startsAtMs, zone) },
  )
  if (order.stopsAtMs !== null) facts.push({ name: 'Until', value: formatDateTime(order.stopsAtMs, zone) })
  return facts
}

function mealText(order: InsulinOrder): string {
  const { meal } = order
  const when =
    order.mealTiming === 'after-by-share'
      ? ', given after eating by the share eaten'
      : ', given with the correction before eating'
  if (meal === null) return '–'
  if (meal.kind === 'ratio') return `1 unit for each ${formatNumber(meal.gramsPerUnit)} g of carbohydrate${when}`
  const parts = OCCASIONS.flatMap((occasion) => {
    const units = meal.units[occasion]
    return units === undefined ? [] : [`${OCCASION_NAME[occasion].toLowerCase()} ${formatUnits(units)}`]
  })
  return `${parts.join(', ')}${when}`
}

function bedtimeFact(order: InsulinOrder): readonly Fact[] {
  if (!order.occasions.includes('bedtime') || order.correction === null) return []
  switch (order.bedtime.kind) {
    case 'same':
      return []
    case 'none':
      return [{ name: 'At bedtime', value: 'no correction' }]
    case 'half':
      return [{ name: 'At bedtime', value: "half of the step's answer, half units rounded down" }]
    case 'own-scale':
      return [{ name: 'At bedtime', value: 'its own scale' }]
  }
}

function notEatingFact({ notEating }: InsulinOrder): readonly Fact[] {
  switch (notEating?.kind) {
    case undefined:
      return []
    case 'correction-as-ordered':
      return [{ name: 'Not eating', value: 'the correction as ordered, no meal part' }]
    case 'hold-all':
      return [{ name: 'Not eating', value: 'no correction and no meal part' }]
    case 'own-scale':
      return [{ name: 'Not eating', value: 'its own scale in place of the correction, no meal part' }]
  }
}

/** The scale's steps, each with both ends, as the paper prints rows. */
export function scaleTable(scale: Scale, title: string): Html {
  const first = scale.steps[0]?.atLeast ?? 0
  return html`<table class="table scale">
<caption>${title}</caption>
<thead><tr><th scope="col">${scale.unit}</th><th scope="col">Give</th><th scope="col">Also</th></tr></thead>
<tbody>
${first > 0 ? html`<tr><th scope="row">below ${glucoseDigits({ unit: scale.unit, value: first })}</th><td>0 units</td><td>–</td></tr>` : null}
${scale.steps.map((step, index) => html`<tr><th scope="row">${rangeText(step.atLeast, scale.steps[index + 1]?.atLeast ?? null, scale.unit)}</th><td>${step.answer === 'call' ? 'no dose, call the prescriber' : formatUnits(step.answer)}</td><td>${alsoText(step)}</td></tr>`)}
</tbody>
</table>`
}

/** What the step prints besides: its instruction, and its repeat. */
function alsoText({ also, repeatMin }: Scale['steps'][number]): string {
  const repeat = repeatMin === undefined ? null : `repeat the reading after ${formatMinutes(repeatMin)}`
  return [also, repeat].filter((part) => part !== null).join('; ') || '–'
}

/**
 * From `atLeast` (included) to `below` (excluded), written with both ends included: "201–250", "351 and above", "140
 * and below".
 */
export function rangeText(atLeast: number | null, below: number | null, unit: GlucoseUnit): string {
  const digits = (value: number): string => glucoseDigits({ unit, value })
  if (atLeast === null || atLeast === 0) return below === null ? 'any value' : `${digits(below - 1)} and below`
  if (below === null) return `${digits(atLeast)} and above`
  return below - 1 === atLeast ? digits(atLeast) : `${digits(atLeast)}–${digits(below - 1)}`
}
