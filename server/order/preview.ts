/** What is drawn beside the order form: from what is typed so far to plots, edge tables, a tried value, or what is wrong. */
import { OCCASIONS } from '../../shared/check/check.ts'
import { glucoseDigits, METER_RANGE } from '../../shared/glucose/value.ts'
import {
  correctionAnswer,
  edgesOf,
  factorValues,
  mainOccasion,
  exampleDose,
  type OrderAnswer,
  type CorrectionOrder,
} from '../../shared/order/answers.ts'
import { orderFromTyped, limitsFromTyped, type EntryRefusal } from '../../shared/order/entry.ts'
import { OCCASION_FIELD, type Typed } from '../../shared/order/entry-fields.ts'
import {
  bedtimeFromTyped,
  correctionFromTyped,
  mealFromTyped,
  notEatingFromTyped,
} from '../../shared/order/entry-parts.ts'
import { hasTypedScale } from '../../shared/order/entry-scale.ts'
import { fractionOf } from '../../shared/order/fraction.ts'
import type { CorrectionAt } from '../../shared/order/terms.ts'
import { countOf, type ScaleLimits } from '../../shared/order/written.ts'
import { sentenceOf, type Refused } from '../../shared/outcome.ts'
import type { Scale } from '../../shared/order/order.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { amountText, sumText, termText } from '../../views/dose/working.ts'
import { OCCASION_NAME } from '../../views/format.ts'
import type { CellView, EdgeView, FaultView, PartView, PreviewView, TriedView } from '../../views/order/preview.ts'
import { ENTRY_SENTENCES, fieldName } from '../../views/words/order.ts'
import { answerText, plotOf } from './preview-plot.ts'

export const NO_PREVIEW: PreviewView = { unit: null, parts: [], fault: null, tried: null }

/** Every part as far as it is typed, each drawn or refused on its own; then what contradicts between them. */
export function previewOf(typed: Typed, policy: WardPolicy, nowMs: number): PreviewView {
  const limits = limitsFromTyped(typed, policy)
  const correction = correctionFromTyped(typed, limits)
  const bedtime = bedtimeFromTyped(typed, limits)
  const notEating = notEatingFromTyped(typed, limits)
  const meal = mealFromTyped(typed)
  const parts: PartView[] = []
  const typedScale = typed['correctionKind'] === 'scale'
  if (typedScale && !hasTypedScale(typed, 'correction'))
    parts.push({
      id: 'correction',
      title: 'Correction',
      kind: 'says',
      text: 'Type the first row: the drawing follows.',
    })
  else if (!correction.ok) parts.push(refusedPart('correction', 'Correction', correction))
  const rounding = { to: typed['roundTo'] === '0.5' ? 0.5 : 1, ties: typed['ties'] === 'up' ? 'up' : 'down' } as const
  const order: CorrectionOrder = {
    unit: policy.unit,
    correction: correction.ok ? correction.value : null,
    rounding,
    bedtime: bedtime.ok ? bedtime.value : { kind: 'same' },
    notEating: notEating.ok ? notEating.value : { kind: 'correction-as-ordered' },
  }
  const draw = (id: string, title: string, at: CorrectionAt, scale: Scale | null): void => {
    parts.push(drawn({ id, title, order, at, scale, limits }))
  }
  const scale = order.correction?.kind === 'scale' ? order.correction.scale : null
  if (order.correction !== null) draw('correction', 'Correction', { atBedtime: false, notEating: false }, scale)
  else if (correction.ok) parts.push({ id: 'correction', title: 'Correction', kind: 'says', text: 'No correction.' })
  if (!meal.ok) parts.push(refusedPart('meal', 'Meal part', meal))
  if (!bedtime.ok) parts.push(refusedPart('bedtime', 'At bedtime', bedtime))
  else if (bedtime.value.kind === 'none')
    parts.push({ id: 'bedtime', title: 'At bedtime', kind: 'says', text: 'No correction.' })
  else if (bedtime.value.kind !== 'same' && scale !== null)
    draw(
      'bedtime',
      'At bedtime',
      { atBedtime: true, notEating: false },
      bedtime.value.kind === 'own-scale' ? bedtime.value.scale : scale,
    )
  if (!notEating.ok) parts.push(refusedPart('notEating', 'When not eating', notEating))
  else if (notEating.value.kind === 'hold-all')
    parts.push({
      id: 'notEating',
      title: 'When not eating',
      kind: 'says',
      text: `No correction and no meal part: 0 units.${scale?.steps.some(({ answer }) => answer === 'call') === true ? ' Where the scale says “no dose, call”, still call the prescriber.' : ''}`,
    })
  else if (notEating.value.kind === 'own-scale' && order.correction !== null)
    draw('notEating', 'When not eating', { atBedtime: false, notEating: true }, notEating.value.scale)
  const sound = [correction, bedtime, notEating, meal].every(({ ok }) => ok)
  return {
    unit: policy.unit,
    parts,
    fault: sound ? wholeFault(typed, policy, nowMs) : null,
    tried: triedView(typed, policy, nowMs, limits),
  }
}

function drawn({
  id,
  title,
  order,
  at,
  scale,
  limits,
}: {
  readonly id: string
  readonly title: string
  readonly order: CorrectionOrder
  readonly at: CorrectionAt
  readonly scale: Scale | null
  readonly limits: ScaleLimits
}): PartView {
  const { unit, lowLimit: low, maxSingleDose } = limits
  const answerAt = (glucose: number): OrderAnswer => correctionAnswer(order, glucose, at, maxSingleDose)
  const plot = plotOf({ unit, low, title, answerAt })
  const digits = (value: number): string => glucoseDigits({ unit, value })
  if (scale === null) {
    const target = order.correction?.kind === 'factor' ? order.correction.target : low
    return {
      id,
      title,
      kind: 'factor',
      plot,
      rows: factorValues({ unit, target, low })
        .map(answerAt)
        .map(({ glucose, exact, answer }) => ({
          glucose: digits(glucose),
          exact: amountText(exact),
          answer: answerText(answer),
        })),
    }
  }
  const cell = (glucose: number): CellView => ({
    glucose: digits(glucose),
    answer: answerText(answerAt(glucose).answer),
  })
  const edges = edgesOf(scale).map(([before, edge, after]): EdgeView => ({
    cells: [cell(before), cell(edge), cell(after)],
    also: answerAt(edge).also,
  }))
  return { id, title, kind: 'scale', plot, edges }
}

function faultView(refused: Refused<EntryRefusal>): FaultView {
  const field = refused.details.field ?? null
  return { sentence: sentenceOf(ENTRY_SENTENCES, refused), field, where: field === null ? null : fieldName(field) }
}

function refusedPart(id: string, title: string, refused: Refused<EntryRefusal>): PartView {
  return { id, title, kind: 'refused', fault: faultView(refused) }
}

/** What a half-filled form lacks is no fault yet. */
const STILL_TO_COME: ReadonlySet<EntryRefusal> = new Set(['order-says-nothing', 'scheduled-incomplete', 'rows-missing'])

/** The form with stand-ins for what it has not said yet (insulin, concentration, occasions): they change no number. */
function stoodIn(typed: Typed): Typed {
  const missing = (field: string): boolean => (typed[field] ?? '').trim() === ''
  const noOccasion = Object.values(OCCASION_FIELD).every(missing)
  return {
    ...typed,
    ...(missing('insulin') ? { insulin: 'insulin lispro' } : {}),
    ...(missing('concentration') ? { concentration: 'U-100' } : {}),
    ...(noOccasion ? Object.fromEntries(Object.values(OCCASION_FIELD).map((field) => [field, 'yes'])) : {}),
  }
}

function wholeFault(typed: Typed, policy: WardPolicy, nowMs: number): FaultView | null {
  const checked = orderFromTyped(stoodIn(typed), { policy, nowMs, entry: 'standard' })
  return checked.ok || STILL_TO_COME.has(checked.reason) ? null : faultView(checked)
}

/** The tried value's whole dose. */
function triedView(
  typed: Typed,
  policy: WardPolicy,
  nowMs: number,
  { unit, lowLimit, maxSingleDose }: ScaleLimits,
): TriedView | null {
  const text = (typed['tryGlucose'] ?? '').trim()
  if (text === '') return null
  const glucose = countOf(text, unit)
  const { least, most } = METER_RANGE[unit]
  const digits = (value: number): string => glucoseDigits({ unit, value })
  if (glucose === null || glucose < least || glucose > most)
    return {
      kind: 'asks',
      text: `Type a glucose from ${digits(least)} to ${digits(most)} ${unit}, as a meter shows it.`,
    }
  if (glucose < lowLimit)
    return {
      kind: 'asks',
      text: `${digits(glucose)} ${unit} is below the low limit of ${digits(lowLimit)} ${unit}: a low is treated, and no dose follows from it.`,
    }
  const gramsText = (typed['tryGrams'] ?? '').trim()
  const grams = /^\d{1,3}(?:\.\d)?$/.test(gramsText) ? Number(gramsText) : null
  if (gramsText !== '' && grams === null)
    return { kind: 'asks', text: 'Type the grams as a number, with at most one decimal.' }
  const made = orderFromTyped(stoodIn(typed), { policy, nowMs, entry: 'standard' })
  if (!made.ok) return { kind: 'asks', text: 'The value can be tried once the order is complete.' }
  const order = made.value
  const occasion = OCCASIONS.find((one) => one === typed['tryAt']) ?? mainOccasion(order)
  if (!order.occasions.includes(occasion))
    return { kind: 'asks', text: `The order does not apply ${OCCASION_NAME[occasion].toLowerCase()}.` }
  const eats = (typed['tryNotEating'] ?? '') === ''
  if (order.meal?.kind === 'ratio' && grams === null && eats && occasion !== 'bedtime' && occasion !== 'overnight')
    return { kind: 'asks', text: 'Type the grams of carbohydrate too.' }
  const { terms, sum, units, stops, callOwed, also } = exampleDose(
    order,
    { glucose, grams, occasion, eats },
    maxSingleDose,
  )
  const lines = [
    ...terms.map((term) => termText(term, unit)),
    stops === 'call' ? 'The scale gives no dose here.' : sumText({ terms, sum, rounding: order.rounding, units }),
    ...(callOwed && stops === null ? ['Call the prescriber: the scale says “no dose, call”.'] : []),
  ]
  return {
    kind: 'answer',
    heading: `${digits(glucose)} ${unit}${grams === null ? '' : `, ${amountOfGrams(grams)}`}, ${OCCASION_NAME[occasion].toLowerCase()}${eats ? '' : ', does not eat'}`,
    answer: answerText(stops ?? units),
    lines,
    also,
  }
}

function amountOfGrams(grams: number): string {
  const { numerator, denominator } = fractionOf(grams)
  return `${String(numerator / denominator)} g`
}
