/** The order form: a patient's new order, a new version of one, or a ward's standard order. */
import { OCCASIONS } from '../../shared/check/check.ts'
import { MEAL_FIELD, MOST_SCHEDULED, OCCASION_FIELD, scheduledField } from '../../shared/order/entry-fields.ts'
import { OCCASION_NAME } from '../format.ts'
import { attribute, html, type Attribute, type Html } from '../html.ts'
import { caution, choice, field, form, problem, select, tick } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'
import { scaleRows } from './entry-rows.ts'
import { orderPreview, type PreviewView } from './preview.ts'

export type OrderEntryView = {
  readonly heading: string
  /** The form's target path, without its leading slash. */
  readonly action: string
  readonly submit: string
  /** The kind of order: of the patient in `patient`, or a ward's standard with the wards to choose from. */
  readonly of:
    | {
        readonly kind: 'patient'
        readonly patient: BannerView
        readonly wardId: string
        /** the version that a new one is based on */
        readonly basedOn: string | null
      }
    | { readonly kind: 'standard'; readonly wards: readonly { readonly value: string; readonly label: string }[] }
  /** The ward's glucose unit. Null: no ward chosen yet. */
  readonly unit: string | null
  /** The ward's own single-dose limit, "20 units". Null: no ward chosen yet. */
  readonly wardLimit: string | null
  readonly insulins: readonly string[]
  readonly note: string | null
  readonly preview: PreviewView
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  readonly back: { readonly path: string; readonly label: string }
}

export function orderEntryPage(view: OrderEntryView): Html {
  return html`<h1>${view.heading}</h1>
${view.of.kind === 'patient' ? html`<div class="card">${banner(view.of.patient)}</div>` : null}
${view.note === null ? null : html`<p class="kept">${view.note}</p>`}
${problem(view.problem)}
${form({
  action: view.action,
  key: view.values['key'] ?? '',
  submit: view.submit,
  name: 'order-form',
  body: html`<div class="order-entry"><div class="order-fields">${sections(view)}</div>
<aside class="order-side" aria-labelledby="side-heading"><h2 id="side-heading">What this order says</h2>${tryFields(view)}
<div id="order-preview" hx-post="/orders/preview" hx-trigger="input delay:400ms from:#order-form" hx-include="#order-form" hx-target="this" hx-swap="innerHTML" hx-sync="this:replace">${orderPreview(view.preview)}</div></aside></div>`,
})}
${caution()}
<p><a class="quiet" href="/${view.back.path}">${view.back.label}</a></p>`
}

type Draw = { readonly value: (name: string) => string; readonly error: (name: string) => string | null }

function drawOf({ values, errors }: Pick<OrderEntryView, 'values' | 'errors'>): Draw {
  return { value: (name) => values[name] ?? '', error: (name) => errors[name] ?? null }
}

function sections(view: OrderEntryView): Html {
  const { value, error } = drawOf(view)
  const unit = view.unit ?? 'the ward’s unit'
  const at = (name: string): { readonly name: string; readonly value: string; readonly error: string | null } => ({
    name,
    value: value(name),
    error: error(name),
  })
  return html`${view.of.kind === 'standard' ? standardHead(view, view.of.wards) : hiddenWard(view.of)}
<section><h2>Insulin</h2>
${select({ ...at('insulin'), label: 'Insulin, generic name', options: [{ value: '', label: 'Choose' }, ...view.insulins.map((name) => ({ value: name, label: name }))] })}
${field({ ...at('concentration'), label: 'Concentration, as the order has it', maxlength: 40, hint: 'Only U-100 is taken.' })}</section>
<section${shows(view, 'correctionKind')}><h2>Correction</h2>
<p class="narrow-only"><a href="#side-heading">See what this order says</a></p>
${occasions(view)}
${choice({
  ...at('correctionKind'),
  label: 'Correction',
  options: [
    { value: 'scale', label: 'By scale' },
    { value: 'factor', label: 'By factor and target' },
    { value: 'none', label: 'None' },
  ],
})}
<div class="if-scale">${scaleRows('correction', unit, view)}</div>
<div class="if-factor">
${field({ ...at('target'), label: 'Target', unit, inputmode: 'decimal', maxlength: 6 })}
${field({ ...at('perUnit'), label: 'One unit for each', unit, inputmode: 'decimal', maxlength: 6, hint: '(glucose − target) ÷ this' })}
${choice({
  ...at('belowTarget'),
  label: 'A value below the target',
  options: [
    { value: 'nothing', label: 'Corrects nothing' },
    { value: 'subtracts', label: 'Subtracts from the meal part' },
  ],
})}</div></section>
<section${shows(view, 'mealKind')}><h2>Meal part</h2>
${choice({
  ...at('mealKind'),
  label: 'Meal part',
  options: [
    { value: 'none', label: 'None' },
    { value: 'fixed', label: 'Fixed for each meal' },
    { value: 'ratio', label: 'By carbohydrate' },
  ],
})}
<div class="if-fixed">${OCCASIONS.map((occasion) => {
    const name = MEAL_FIELD[occasion]
    return name === undefined
      ? null
      : field({ ...at(name), label: OCCASION_NAME[occasion], unit: 'units', inputmode: 'decimal', maxlength: 6 })
  })}</div>
<div class="if-ratio">${field({ ...at('gramsPerUnit'), label: 'One unit for each', unit: 'g of carbohydrate', inputmode: 'decimal', maxlength: 7 })}</div>
<div class="if-meal">${choice({
    ...at('mealTiming'),
    label: 'Given',
    options: [
      { value: 'before', label: 'Before the meal' },
      { value: 'after-by-share', label: 'After eating, by the share eaten' },
    ],
  })}</div></section>
<section${shows(view, 'bedtimeKind')}><h2>At bedtime</h2>
${choice({
  ...at('bedtimeKind'),
  label: 'Correction at bedtime',
  options: [
    { value: 'same', label: 'As by day' },
    { value: 'half', label: 'Half, half units rounded down' },
    { value: 'own-scale', label: 'Its own rows' },
    { value: 'none', label: 'None' },
  ],
})}
<div class="if-own">${scaleRows('bedtime', unit, view)}</div></section>
<section${shows(view, 'notEatingKind')}><h2>When the patient does not eat</h2>
<p class="hint">Nil by mouth, or will not eat. The meal part is held in every case.</p>
${choice({
  ...at('notEatingKind'),
  label: 'Correction when not eating',
  options: [
    { value: 'correction-as-ordered', label: 'As ordered' },
    { value: 'own-scale', label: 'Its own rows' },
    { value: 'hold-all', label: 'Held too' },
  ],
})}
<div class="if-own">${scaleRows('notEating', unit, view)}</div></section>
<section><h2>Scheduled doses, without a scale</h2>
<details${attribute('open', scheduledTyped(view))}><summary>Times and units</summary>${Array.from({ length: MOST_SCHEDULED }, (_, index) => scheduledRow(view, index))}</details>
${tick({ name: 'inAddition', label: 'NPH or long-acting insulin in addition to another one, as the prescriber said (for a steroid, a feed, a split dose)', ticked: value('inAddition') === 'yes', error: error('inAddition') })}</section>
<section><h2>Rounding and limits</h2>
${choice({
  ...at('roundTo'),
  label: 'Rounded once, at the end, to',
  options: [
    { value: '1', label: 'Whole units' },
    { value: '0.5', label: 'Half units' },
  ],
})}
${choice({
  ...at('ties'),
  label: 'A tie goes',
  options: [
    { value: 'down', label: 'Down' },
    { value: 'up', label: 'Up' },
  ],
})}
${field({ ...at('maxSingleDose'), label: 'Single-dose limit of the order', unit: 'units', inputmode: 'decimal', maxlength: 6, hint: `Empty where the order prints none: the ward’s${view.wardLimit === null ? '' : `, ${view.wardLimit},`} counts. The lower of the two always does.` })}
${field({ ...at('interval'), label: 'Interval between corrections', maxlength: 20, hint: 'With its unit, such as 4 h. Empty: the ward’s for this insulin.' })}
${tick({ name: 'stackingStops', label: 'Earlier insulin inside the interval stops the correction at the order’s own occasions too', ticked: value('stackingStops') === 'yes', error: error('stackingStops') })}</section>
${view.of.kind === 'standard' ? null : patientHead(view)}`
}

/** A choice hides the fields that it does not use. If one of them has an error, all stay visible. */
function shows(view: OrderEntryView, kindField: string): Attribute {
  return attribute('class', view.errors[kindField] === undefined ? 'by-choice' : null)
}

function hiddenWard(of: { readonly wardId: string; readonly basedOn: string | null }): Html {
  return html`<input type="hidden" name="ward" value="${of.wardId}">${of.basedOn === null ? null : html`<input type="hidden" name="basedOn" value="${of.basedOn}">`}`
}

function standardHead(
  view: OrderEntryView,
  wards: readonly { readonly value: string; readonly label: string }[],
): Html {
  const { value, error } = drawOf(view)
  return html`<section><h2>Standard order</h2>
${select({ name: 'ward', label: 'Ward', value: value('ward'), error: error('ward'), options: [{ value: '', label: 'Choose' }, ...wards] })}
${field({ name: 'name', label: 'Name', value: value('name'), error: error('name'), maxlength: 80, hint: 'The name of a standard order that is there already makes a new version of it: once approved, it replaces the old one.' })}</section>`
}

function patientHead(view: OrderEntryView): Html {
  const { value, error } = drawOf(view)
  return html`<section><h2>Prescriber and time</h2>
${field({ name: 'prescriber', label: 'Prescriber', value: value('prescriber'), error: error('prescriber'), maxlength: 80 })}
${choice({
  name: 'received',
  label: 'Received',
  value: value('received'),
  error: error('received'),
  options: [
    { value: 'written', label: 'Written' },
    { value: 'telephone', label: 'By telephone' },
  ],
})}
${tick({ name: 'readBack', label: 'By telephone: I read the whole order back to the prescriber', ticked: value('readBack') === 'yes', error: error('readBack') })}
${field({ name: 'startsAt', label: 'Counts from', type: 'datetime-local', value: value('startsAt'), error: error('startsAt') })}
${field({ name: 'stopsAt', label: 'Until', type: 'datetime-local', value: value('stopsAt'), error: error('stopsAt'), hint: 'Empty: until it is stopped or replaced.' })}</section>`
}

function occasions(view: OrderEntryView): Html {
  const { value, error } = drawOf(view)
  const wrong = error('atBreakfast')
  return html`<fieldset class="choice"${attribute('aria-describedby', wrong === null ? null : 'atBreakfast-error')}><legend>Correction and meal part apply</legend>
${OCCASIONS.map((occasion) => html`<label class="option"><input id="${OCCASION_FIELD[occasion]}" type="checkbox" name="${OCCASION_FIELD[occasion]}" value="yes"${attribute('checked', value(OCCASION_FIELD[occasion]) === 'yes')}><span>${OCCASION_NAME[occasion]}</span></label>`)}
${wrong === null ? null : html`<p class="error" id="atBreakfast-error"><span aria-hidden="true">▲</span> ${wrong}</p>`}</fieldset>`
}

function scheduledRow(view: OrderEntryView, index: number): Html {
  const { value, error } = drawOf(view)
  const [time, units, hold] = [
    scheduledField(index, 'Time'),
    scheduledField(index, 'Units'),
    scheduledField(index, 'HoldBelow'),
  ]
  return html`<fieldset class="scheduled-row"><legend>Dose ${index + 1}</legend>
${field({ name: time, label: 'At', type: 'time', value: value(time), error: error(time) })}
${field({ name: units, label: 'Give', unit: 'units', inputmode: 'decimal', maxlength: 6, value: value(units), error: error(units) })}
${field({ name: hold, label: 'Held below', unit: view.unit ?? '', inputmode: 'decimal', maxlength: 6, value: value(hold), error: error(hold) })}</fieldset>`
}

function scheduledTyped({ values, errors }: OrderEntryView): boolean {
  return [...Object.entries(values), ...Object.entries(errors)].some(
    ([name, text]) => name.startsWith('scheduled') && text !== '',
  )
}

/** An example value: shown beside the form with its working, and never stored. */
function tryFields(view: OrderEntryView): Html {
  const { value, error } = drawOf(view)
  return html`<details class="try"${attribute('open', value('tryGlucose') !== '')}><summary>Try a value</summary><div class="try-fields">
${field({ name: 'tryGlucose', label: 'Glucose', unit: view.unit ?? '', inputmode: 'decimal', maxlength: 6, value: value('tryGlucose'), error: error('tryGlucose') })}
${field({ name: 'tryGrams', label: 'Carbohydrate', unit: 'g', inputmode: 'decimal', maxlength: 6, value: value('tryGrams'), error: error('tryGrams') })}
${select({ name: 'tryAt', label: 'At', value: value('tryAt'), error: error('tryAt'), options: [{ value: '', label: 'A meal of the order' }, ...OCCASIONS.map((occasion) => ({ value: occasion, label: OCCASION_NAME[occasion] }))] })}
${tick({ name: 'tryNotEating', label: 'Does not eat', ticked: value('tryNotEating') === 'yes', error: error('tryNotEating') })}</div></details>
<p class="actions"><button type="submit" name="show" value="yes" hx-post="/orders/preview" hx-target="#order-preview" hx-swap="innerHTML">Show</button></p>`
}
