/** The working of a dose as sentences: the order's answer, the sum, the rounding, the questions. */
import type { Fraction, GuardFinding, GuardOutcome, Working, WorkingTerm } from '../../shared/dose/dose.ts'
import { glucoseDigits, type GlucoseUnit } from '../../shared/glucose/value.ts'
import { formatNumber, formatUnits } from '../format.ts'
import { html, type Html } from '../html.ts'
import { foundText, GUARD_NAME, releaseText } from '../words/guards.ts'
import { rangeText } from './order-table.ts'

/** An exact amount: "4 units", "4.5 units", or rounded for display with its fraction: "about 3.133 units (47/15)". */
export function amountText(amount: Fraction): string {
  const { numerator, denominator } = amount
  if (1000 % denominator === 0) return formatUnits(numerator / denominator)
  return `about ${formatNumber(numerator / denominator)} units (${String(numerator)}/${String(denominator)})`
}

/** One term of the sum as a sentence. */
export function termText(term: WorkingTerm, unit: GlucoseUnit): string {
  const held = term.held ? ' It is held and counts as 0 units.' : ''
  return `${termBody(term, unit)}${held}`
}

function termBody(term: WorkingTerm, unit: GlucoseUnit): string {
  const digits = (value: number): string => glucoseDigits({ unit, value })
  const share = 'sharePercent' in term && term.sharePercent !== null ? ` × ${String(term.sharePercent)} % eaten` : ''
  switch (term.part) {
    case 'correction-scale':
      return `Correction by ${term.notEating === true ? 'the scale for not eating' : 'scale'}, row ${rangeText(term.atLeast, term.below, unit)} ${unit}: ${amountText(term.amount)}${term.halved ? ' (half at bedtime, half units rounded down)' : ''}.`
    case 'correction-factor':
      return term.glucose < term.target && term.amount.numerator === 0
        ? `Correction by factor: ${digits(term.glucose)} ${unit} is below the target of ${digits(term.target)} ${unit}: 0 units.`
        : `Correction by factor: (${digits(term.glucose)} − ${digits(term.target)}) ÷ ${digits(term.perUnit)} ${unit} for each unit = ${amountText(term.amount)}.`
    case 'meal-fixed':
      return `Meal part as ordered: ${formatUnits(term.units)}${share}${share === '' ? '' : ` = ${amountText(term.amount)}`}.`
    case 'meal-ratio':
      return `Meal part: ${formatNumber(term.grams)} g of carbohydrate ÷ ${formatNumber(term.gramsPerUnit)} g for each unit${share} = ${amountText(term.amount)}.`
    case 'scheduled':
      return `Scheduled at ${term.time}: ${formatUnits(term.units)}.`
    case 'direction':
      return `By the prescriber's direction: ${formatUnits(term.units)}.`
  }
}

/** The last line: the sum, the minimum of 0, and the rounding. */
export function sumText(working: Pick<Working, 'sum' | 'rounding' | 'units' | 'terms'>): string {
  const { sum, rounding, units } = working
  if (working.terms.length === 0) return `Nothing is ordered for this: ${formatUnits(units)}.`
  if (sum.numerator < 0) return `The sum is below 0: ${formatUnits(units)}.`
  const exact = (sum.numerator * (rounding.to === 1 ? 1 : 2)) % sum.denominator === 0
  if (exact) return `Sum: ${formatUnits(units)}.`
  return `Sum: ${amountText(sum)}, rounded once to ${rounding.to === 1 ? 'whole' : 'half'} units (ties ${rounding.ties}): ${formatUnits(units)}.`
}

/** The working in full. `heading` names it, `orderName` gives the order and version. */
export function workingList(view: {
  readonly working: Working
  readonly unit: GlucoseUnit
  readonly zone: string
  readonly orderName: string
}): Html {
  const { working, unit, zone, orderName } = view
  const warnings = working.guards.filter((guard) => guard.outcome !== 'passed')
  const passed = working.guards.filter((guard) => guard.outcome === 'passed')
  return html`<section class="working">
<h2>Working</h2>
<ol>
<li>${orderName}.</li>
${working.terms.map((term) => html`<li>${termText(term, unit)}</li>`)}
<li>${sumText(working)}</li>
</ol>
${working.also.length === 0 ? null : html`<div class="warning"><h3>The order adds</h3><ul>${working.also.map((also) => html`<li>${also}</li>`)}</ul></div>`}
${warnings.length === 0 ? null : guardList(warnings, zone)}
<details><summary>${passed.length === 1 ? '1 guard passed' : `${String(passed.length)} guards passed`}</summary><ul>${passed.map((guard) => html`<li>${GUARD_NAME[guard.guard]}</li>`)}</ul></details>
</section>`
}

const OUTCOME_MARK: Readonly<Record<GuardOutcome, { readonly shape: string; readonly word: string }>> = {
  passed: { shape: '✓', word: 'Passed' },
  warns: { shape: '▲', word: 'Warning' },
  'holds-correction': { shape: '‖', word: 'Correction held' },
  'holds-meal': { shape: '‖', word: 'Meal part held' },
  stops: { shape: '■', word: 'Stops' },
}

/** Guards that did not simply pass: what was found, and what would release each. */
export function guardList(guards: readonly GuardFinding[], zone: string): Html {
  return html`<ul class="guards">${guards.map((guard) => {
    const mark = OUTCOME_MARK[guard.outcome]
    return html`<li class="warning"><p><strong><span aria-hidden="true">${mark.shape}</span> ${mark.word}: ${GUARD_NAME[guard.guard]}</strong></p>
<p>${foundText(guard, zone)}</p>
${guard.outcome === 'warns' ? null : html`<p>What would release it: ${releaseText(guard, zone)}</p>`}</li>`
  })}</ul>`
}
