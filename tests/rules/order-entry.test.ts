/** The order form's text: what it becomes, and that every accepted order is a total and safe function of glucose. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { METER_RANGE, type GlucoseUnit } from '../../shared/glucose/value.ts'
import { correctionAnswer } from '../../shared/order/answers.ts'
import { intervalMinutes, orderFromTyped, type EntryFor } from '../../shared/order/entry.ts'
import { MOST_ROWS, OCCASION_FIELD, type Typed } from '../../shared/order/entry-fields.ts'
import { typedFromOrder } from '../../shared/order/entry-values.ts'
import { answerFor } from '../../shared/order/scale.ts'
import { singleDoseLimit } from '../../shared/order/validate.ts'
import { beginningOf, endOf } from '../../shared/order/written.ts'
import { FRESH_ORDER, PATIENT_FORM } from '../../server/order/form-schema.ts'
import { ENTRY_SENTENCES, fieldName } from '../../views/words/order.ts'
import { MMOL_POLICY, NOW_MS, order, POLICY, scaleOf } from '../support/dose.ts'
import { sentenceOf } from '../../shared/outcome.ts'

/** A fixed seed: the counts below do not depend on chance. */
const SEED = 20260310

const HEAD: Typed = {
  ...FRESH_ORDER,
  insulin: 'insulin lispro',
  atBreakfast: 'yes',
  atLunch: 'yes',
  atSupper: 'yes',
  atBedtime: 'yes',
  prescriber: 'Dr. Vera Kim',
  received: 'written',
  startsAt: '2026-03-10T07:00',
}
const policyOf = (unit: GlucoseUnit) => (unit === 'mg/dL' ? POLICY : MMOL_POLICY)
const read = (typed: Typed, unit: GlucoseUnit = 'mg/dL', entry: EntryFor = 'patient') =>
  orderFromTyped({ ...HEAD, ...typed }, { policy: policyOf(unit), nowMs: NOW_MS, entry })
const ROWS: Typed = {
  row1From: '151',
  row1To: '200',
  row1Units: '2',
  row2From: '201',
  row2To: '250',
  row2Units: '4',
  row3From: '>250',
  row3Call: 'yes',
  row3Also: 'Call the prescriber',
}

describe('a bound as printed', () => {
  it.each([
    ['151', 151, 151],
    ['> 350', 351, null],
    ['>350', 351, null],
    ['over 350', 351, null],
    ['Above 350', 351, null],
    ['≥ 350', 350, null],
    ['>=350', 350, null],
    ['from 350', 350, null],
    ['< 70', null, 69],
    ['under 70', null, 69],
    ['≤70', null, 70],
    ['up to 70', null, 70],
    ['7.8', null, null],
    ['', null, null],
    ['1e2', null, null],
    ['over', null, null],
    ['>>350', null, null],
    ['1000', null, null],
  ] as const)('mg/dL: "%s" begins %s, ends %s', (text, begins, ends) => {
    expect([beginningOf(text, 'mg/dL'), endOf(text, 'mg/dL')]).toEqual([begins, ends])
  })
  it('mmol/L counts in tenths and requires its decimal', () => {
    expect([
      beginningOf('> 13.9', 'mmol/L'),
      endOf('< 4.0', 'mmol/L'),
      beginningOf('6', 'mmol/L'),
      beginningOf('6.05', 'mmol/L'),
    ]).toEqual([140, 39, null, null])
  })
})

it.each([
  ['4 h', 240],
  ['4h', 240],
  ['240 min', 240],
  ['3 h 30 min', 210],
  ['4', null],
  ['', null],
  ['four', null],
  ['4 min h', null],
] as const)('the interval "%s" is %s minutes', (text, minutes) => {
  expect(intervalMinutes(text)).toBe(minutes)
})

describe('a fully typed order', () => {
  it('is stored as typed', () => {
    const made = read({
      ...ROWS,
      mealKind: 'fixed',
      mealLunch: '5',
      bedtimeKind: 'half',
      notEatingKind: 'own-scale',
      notEatingRow1From: '201',
      notEatingRow1Units: '1',
      scheduled1Time: '21:00',
      scheduled1Units: '12',
      scheduled1HoldBelow: '100',
      interval: '4 h',
      stackingStops: 'yes',
      maxSingleDose: '15',
      stopsAt: '2026-03-12T08:00',
      received: 'telephone',
      readBack: 'yes',
    })
    expect(made).toMatchObject({
      ok: true,
      value: {
        insulin: 'insulin lispro',
        concentration: 'U-100',
        unit: 'mg/dL',
        occasions: ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'],
        correction: {
          kind: 'scale',
          scale: {
            steps: [
              { atLeast: 151, answer: 2 },
              { atLeast: 201, answer: 4 },
              { atLeast: 251, answer: 'call', also: 'Call the prescriber' },
            ],
          },
        },
        meal: { kind: 'fixed', units: { 'before-lunch': 5 } },
        bedtime: { kind: 'half' },
        notEating: { kind: 'own-scale', scale: { steps: [{ atLeast: 201, answer: 1 }] } },
        scheduled: [{ time: '21:00', units: 12, holdBelow: 100 }],
        correctionIntervalMin: 240,
        stackingStopsAtOccasions: true,
        maxSingleDose: 15,
        received: 'telephone-read-back',
      },
    })
  })
  it('uses the ward’s limit when none is printed', () => {
    expect(read(ROWS)).toMatchObject({ ok: true, value: { maxSingleDose: POLICY.dose.classLimits.rapid.stop } })
  })
  it('needs no prescriber, start or receipt as a standard order', () => {
    expect(read({ ...ROWS, prescriber: '', received: '', startsAt: '' }, 'mg/dL', 'standard')).toMatchObject({
      ok: true,
      value: { stopsAtMs: null, startsAtMs: NOW_MS },
    })
  })
})

describe('is refused with the value and its field', () => {
  it.each<[string, Typed, string, string, string]>([
    ['a hole', { ...ROWS, row3From: '>251' }, 'row-hole', 'row3From', '251 mg/dL is in no row'],
    [
      'the same with a row left empty between',
      { ...ROWS, row3From: '', row3Call: '', row3Also: '', row5From: '>251', row5Units: '6' },
      'row-hole',
      'row5From',
      '251',
    ],
    ['an overlap', { ...ROWS, row2From: '200' }, 'row-overlap', 'row2From', '200 mg/dL is in two rows'],
    ['a row upside down', { ...ROWS, row1To: '150', row1From: '160' }, 'row-upside-down', 'row1To', '160'],
    ['rows that do not rise', { ...ROWS, row2From: '120', row2To: '130' }, 'rows-not-ascending', 'row2From', '120'],
    ['a bound beyond every meter', { ...ROWS, row3From: 'up to 9' }, 'glucose-not-as-printed', 'row3From', 'up to 9'],
    ['the other unit', { ...ROWS, row1From: '8.4' }, 'glucose-not-as-printed', 'row1From', '8.4'],
    ['a fall', { ...ROWS, row2Units: '1' }, 'scale-goes-down', 'row2Units', '201'],
    ['a dose below the low limit', { ...ROWS, row1From: '60' }, 'scale-doses-below-low', 'row1Units', '60'],
    ['above the order’s limit', { ...ROWS, maxSingleDose: '3' }, 'scale-above-limit', 'row2Units', '201'],
    [
      'above the ward’s limit',
      { ...ROWS, row3Call: '', row3Units: '41', maxSingleDose: '50' },
      'scale-above-limit',
      'row3Units',
      '251',
    ],
    ['a closed last row', { ...ROWS, row3To: '400' }, 'last-row-closed', 'aboveUnits', '401'],
    [
      'an answer above an open last row',
      { ...ROWS, aboveUnits: '6' },
      'after-last-not-needed',
      'aboveUnits',
      'open upward',
    ],
    [
      'what applies above goes down',
      { ...ROWS, row3Call: '', row3Units: '6', row3To: '300', aboveUnits: '5' },
      'scale-goes-down',
      'aboveUnits',
      '301',
    ],
    [
      'an answer for a value in a row',
      { ...ROWS, answered1From: '210', answered1Units: '4' },
      'answer-not-needed',
      'answered1From',
      '210',
    ],
    [
      'an answer twice',
      {
        ...ROWS,
        row3From: '253',
        answered2From: '251',
        answered2To: '252',
        answered2Units: '4',
        answered3From: '252',
        answered3Units: '5',
      },
      'answer-repeated',
      'answered3From',
      '252',
    ],
    [
      'an answer that goes down',
      {
        ...ROWS,
        row3From: '253',
        row3Call: '',
        row3Units: '6',
        answered2From: '251',
        answered2To: '252',
        answered2Units: '3',
      },
      'scale-goes-down',
      'answered2Units',
      '251',
    ],
    [
      'an answer without its value',
      { ...ROWS, answered1Units: '4' },
      'answered-value-missing',
      'answered1From',
      'value',
    ],
    ['a row without an answer', { ...ROWS, row2Units: '' }, 'answer-missing', 'row2Units', '201–250'],
    ['a row with two answers', { ...ROWS, row3Units: '6' }, 'two-answers', 'row3Units', '>250'],
    ['a trailing zero', { ...ROWS, row1Units: '2.0' }, 'units-not-typed', 'row1Units', '2.0'],
    [
      'half units in an order of whole ones',
      { ...ROWS, row2Units: '4.5' },
      'answer-finer-than-rounding',
      'row2Units',
      '201',
    ],
    [
      'the same at bedtime',
      { ...ROWS, bedtimeKind: 'own-scale', bedtimeRow1From: '200', bedtimeRow1Units: '1.5' },
      'answer-finer-than-rounding',
      'bedtimeRow1Units',
      '200',
    ],
    [
      'a hole at bedtime',
      {
        ...ROWS,
        bedtimeKind: 'own-scale',
        bedtimeRow1From: '100',
        bedtimeRow1To: '200',
        bedtimeRow1Units: '1',
        bedtimeRow2From: '>201',
        bedtimeRow2Units: '2',
      },
      'row-hole',
      'bedtimeRow2From',
      '201',
    ],
    [
      'a closed last row when not eating',
      {
        ...ROWS,
        notEatingKind: 'own-scale',
        notEatingRow1From: '200',
        notEatingRow1To: '300',
        notEatingRow1Units: '1',
      },
      'last-row-closed',
      'notEatingAboveUnits',
      '301',
    ],
    [
      'not eating above bedtime',
      {
        ...ROWS,
        bedtimeKind: 'own-scale',
        bedtimeRow1From: '251',
        bedtimeRow1Units: '1',
        notEatingKind: 'own-scale',
        notEatingRow1From: '201',
        notEatingRow1Units: '1',
      },
      'not-eating-above-bedtime',
      'notEatingKind',
      '201',
    ],
    ['no rows', {}, 'rows-missing', 'row1From', 'rows'],
    [
      'rows that the choice leaves out',
      { ...ROWS, correctionKind: 'none', mealKind: 'ratio', gramsPerUnit: '10' },
      'typed-not-used',
      'correctionKind',
      'leaves out',
    ],
    [
      'a bedtime scale that the choice leaves out',
      { ...ROWS, bedtimeRow1Units: '2' },
      'typed-not-used',
      'bedtimeKind',
      'leaves out',
    ],
    ['a meal dose that the choice leaves out', { ...ROWS, mealLunch: '4' }, 'typed-not-used', 'mealKind', '4'],
    ['U-500', { ...ROWS, concentration: 'U-500' }, 'concentration-u500', 'concentration', 'five times the dose'],
    ['another concentration', { ...ROWS, concentration: 'U-200' }, 'concentration-not-u100', 'concentration', 'U-200'],
    [
      'a slow insulin for a scale',
      { ...ROWS, insulin: 'insulin glargine' },
      'insulin-not-for-meals-or-correction',
      'insulin',
      'glargine',
    ],
    [
      'a target below the low limit',
      { correctionKind: 'factor', target: '69', perUnit: '30' },
      'target-below-low',
      'target',
      '69',
    ],
    [
      'a factor of nothing',
      { correctionKind: 'factor', target: '120', perUnit: '0' },
      'factor-not-positive',
      'perUnit',
      '0',
    ],
    [
      'a factor in the other unit',
      { correctionKind: 'factor', target: '120', perUnit: '1.5' },
      'glucose-not-as-printed',
      'perUnit',
      '1.5',
    ],
    [
      'a meal dose above the limit',
      { ...ROWS, mealKind: 'fixed', mealSupper: '41' },
      'meal-above-limit',
      'mealSupper',
      '41',
    ],
    [
      'a meal dose where the order does not apply',
      { ...ROWS, atLunch: '', mealKind: 'fixed', mealLunch: '4' },
      'meal-occasion-not-ordered',
      'mealLunch',
      'before-lunch',
    ],
    ['no meal dose', { ...ROWS, mealKind: 'fixed' }, 'meal-units-missing', 'mealBreakfast', 'one meal'],
    ['no ratio', { ...ROWS, mealKind: 'ratio', gramsPerUnit: '1:15' }, 'grams-not-typed', 'gramsPerUnit', '1:15'],
    [
      'a ratio of nothing',
      { ...ROWS, mealKind: 'ratio', gramsPerUnit: '0' },
      'meal-ratio-not-positive',
      'gramsPerUnit',
      '0 g',
    ],
    [
      'after eating without a meal part',
      { ...ROWS, mealTiming: 'after-by-share' },
      'meal-missing-for-share',
      'mealKind',
      'after eating',
    ],
    [
      'a bedtime rule without bedtime',
      { ...ROWS, atBedtime: '', bedtimeKind: 'half' },
      'bedtime-not-ordered',
      'bedtimeKind',
      'bedtime',
    ],
    [
      'half of a factor',
      { correctionKind: 'factor', target: '120', perUnit: '30', bedtimeKind: 'half' },
      'bedtime-needs-scale',
      'bedtimeKind',
      'scale',
    ],
    [
      'not eating without a correction',
      { correctionKind: 'none', mealKind: 'ratio', gramsPerUnit: '10', notEatingKind: 'hold-all' },
      'not-eating-needs-correction',
      'notEatingKind',
      'correction',
    ],
    ['nothing ordered', { correctionKind: 'none' }, 'order-says-nothing', 'correctionKind', 'no correction'],
    [
      'no occasion',
      { ...ROWS, atBreakfast: '', atLunch: '', atSupper: '', atBedtime: '' },
      'order-occasions-missing',
      'atBreakfast',
      'occasions',
    ],
    ['half a scheduled dose', { ...ROWS, scheduled2Units: '10' }, 'scheduled-incomplete', 'scheduled2Time', 'time'],
    [
      'a scheduled dose twice',
      { ...ROWS, scheduled1Time: '21:00', scheduled1Units: '8', scheduled3Time: '21:00', scheduled3Units: '9' },
      'scheduled-time-repeated',
      'scheduled3Time',
      '21:00',
    ],
    [
      'a scheduled dose above the limit',
      { ...ROWS, scheduled1Time: '21:00', scheduled1Units: '41' },
      'scheduled-above-limit',
      'scheduled1Units',
      '41',
    ],
    [
      'a hold below the low limit',
      { ...ROWS, scheduled1Time: '21:00', scheduled1Units: '8', scheduled1HoldBelow: '60' },
      'scheduled-hold-not-a-glucose',
      'scheduled1HoldBelow',
      '60',
    ],
    ['a bare interval', { ...ROWS, interval: '4' }, 'interval-not-read', 'interval', '4'],
    ['a long interval', { ...ROWS, interval: '25 h' }, 'order-interval-not-minutes', 'interval', '1500'],
    ['a limit of words', { ...ROWS, maxSingleDose: 'ten' }, 'limit-not-typed', 'maxSingleDose', 'ten'],
    ['a limit of nothing', { ...ROWS, maxSingleDose: '0' }, 'order-limit-not-units', 'maxSingleDose', '0'],
    ['no prescriber', { ...ROWS, prescriber: ' ' }, 'order-prescriber-missing', 'prescriber', 'prescriber'],
    [
      'by telephone and not read back',
      { ...ROWS, received: 'telephone' },
      'read-back-missing',
      'readBack',
      'Read the order back',
    ],
    ['not said how received', { ...ROWS, received: '' }, 'received-not-chosen', 'received', 'received'],
    ['no start', { ...ROWS, startsAt: 'soon' }, 'start-not-read', 'startsAt', 'date and time'],
    ['a stop that is none', { ...ROWS, stopsAt: '2026-02-30T08:00' }, 'stop-not-read', 'stopsAt', 'no date'],
    [
      'a stop before the start',
      { ...ROWS, stopsAt: '2026-03-10T06:59' },
      'order-dates-crossed',
      'stopsAt',
      'before it starts',
    ],
    ['a stop that has passed', { ...ROWS, stopsAt: '2026-03-10T07:30' }, 'stop-in-past', 'stopsAt', 'passed'],
    ['an insulin that is none', { ...ROWS, insulin: 'toString' }, 'insulin-not-chosen', 'insulin', 'insulin'],
  ])('%s', (_name, typed, reason, field, says) => {
    const made = read(typed)
    expect(made).toMatchObject({ ok: false, reason, details: { field } })
    if (made.ok) throw new Error('accepted')
    const sentence = sentenceOf(ENTRY_SENTENCES, made)
    expect(sentence).toContain(says)
    expect(sentence).not.toMatch(/undefined|NaN/)
    expect(fieldName(field)).not.toBe('The form')
  })
})

describe('a version filled in from the one before', () => {
  const whole = order({
    correction: {
      kind: 'scale',
      scale: scaleOf([
        [null, 140, 0],
        [141, 180, 2],
        [181, null, 4, 'Call'],
      ]),
    },
    meal: { kind: 'ratio', gramsPerUnit: 12.5 },
    mealTiming: 'after-by-share',
    bedtime: { kind: 'own-scale', scale: scaleOf([[200, null, 1]]) },
    notEating: { kind: 'hold-all' },
    scheduled: [{ time: '21:00', units: 8, holdBelow: 100 }],
    rounding: { to: 0.5, ties: 'up' },
    maxSingleDose: 12.5,
    correctionIntervalMin: 200,
    stackingStopsAtOccasions: true,
    stopsAtMs: NOW_MS + 3_600_000,
  })
  it.each([
    ['everything', whole],
    [
      'by factor',
      order({
        correction: { kind: 'factor', target: 120, perUnit: 30, belowTargetSubtracts: true },
        meal: { kind: 'fixed', units: { 'before-breakfast': 4, 'before-supper': 6 } },
        notEating: { kind: 'correction-as-ordered' },
      }),
    ],
    [
      'scheduled only',
      order({
        insulin: 'insulin glargine',
        correction: null,
        occasions: [],
        scheduled: [{ time: '21:00', units: 18, holdBelow: null }],
        notEating: { kind: 'correction-as-ordered' },
      }),
    ],
  ])('is read back as the same order: %s', (_name, written) => {
    const typed = typedFromOrder(written, POLICY.zone)
    const { prescriber, received, startsAtMs } = whole
    const again = orderFromTyped(
      { ...typed, prescriber, received: 'written', startsAt: '2026-03-10T07:00' },
      { policy: POLICY, nowMs: NOW_MS, entry: 'patient' },
    )
    expect(again.ok && { ...again.value, startsAtMs }).toEqual({ ...written, prescriber, received })
  })
  it('an order with more steps than the form has rows is not truncated', () => {
    const steps = Array.from({ length: MOST_ROWS + 1 }, (_, index) => ({ atLeast: 100 + index, answer: 1, also: null }))
    expect(
      typedFromOrder(order({ correction: { kind: 'scale', scale: { unit: 'mg/dL', steps } } }), POLICY.zone),
    ).toBeNull()
  })
})

/** Text that somebody might type: mostly close to right. */
const bound = (unit: GlucoseUnit) => fc.integer({ min: unit === 'mg/dL' ? 60 : 33, max: unit === 'mg/dL' ? 450 : 250 })
const digits = (count: number, unit: GlucoseUnit): string =>
  unit === 'mg/dL' ? String(count) : (count / 10).toFixed(1)
const answerText = fc.oneof(
  { weight: 60, arbitrary: fc.integer({ min: 0, max: 12 }).map(String) },
  { weight: 4, arbitrary: fc.constantFrom('0.5', '2.5', '7.5') },
  { weight: 1, arbitrary: fc.constantFrom('', '21', '-1', '4.0', 'x') },
)

/** Rows that follow one another, with typical errors of papers and typists. */
function rowsOf(unit: GlucoseUnit, prefix: '' | 'bedtime' | 'notEating'): fc.Arbitrary<Record<string, string>> {
  const name = (place: string): string =>
    prefix === '' ? place : `${prefix}${place.charAt(0).toUpperCase()}${place.slice(1)}`
  const slip = fc.oneof({ weight: 60, arbitrary: fc.constant(0) }, { weight: 1, arbitrary: fc.constantFrom(-1, 1, 2) })
  return fc
    .record({
      bounds: fc.uniqueArray(bound(unit), { minLength: 1, maxLength: 6 }),
      slips: fc.array(slip, { minLength: 6, maxLength: 6 }),
      answers: fc.array(answerText, { minLength: 7, maxLength: 7 }),
      rising: fc.constantFrom(true, true, true, false),
      calls: fc.array(
        fc.oneof({ weight: 9, arbitrary: fc.constant(false) }, { weight: 1, arbitrary: fc.constant(true) }),
        { minLength: 7, maxLength: 7 },
      ),
      openFirst: fc.boolean(),
      openLast: fc.boolean(),
      over: fc.boolean(),
      above: fc.constantFrom('12', '12', '12', '3', ''),
      answered: fc.oneof(
        { weight: 12, arbitrary: fc.constant(null) },
        { weight: 1, arbitrary: fc.tuple(bound(unit), answerText) },
      ),
    })
    .map(({ bounds, slips, answers, rising, calls, openFirst, openLast, over, above, answered }) => {
      const edges = bounds.sort((a, b) => a - b)
      const amounts = rising ? [...answers].sort((a, b) => Number(a) - Number(b)) : answers
      const typed: Record<string, string> = {}
      for (const [index, edge] of edges.entries()) {
        const row = `row${String(index + 1)}`
        const next = edges[index + 1]
        const first = edge + (slips[index] ?? 0)
        typed[name(`${row}From`)] =
          index === 0 && openFirst
            ? ''
            : over && index === edges.length - 1
              ? `>${digits(first - 1, unit)}`
              : digits(first, unit)
        typed[name(`${row}To`)] =
          next === undefined ? (openLast ? '' : digits(edge + 20, unit)) : digits(next - 1, unit)
        if (calls[index] === true) typed[name(`${row}Call`)] = 'yes'
        else typed[name(`${row}Units`)] = amounts[index] ?? ''
      }
      if (!openLast) typed[name('aboveUnits')] = above
      if (answered !== null) {
        typed[name('answered1From')] = digits(answered[0], unit)
        typed[name('answered1Units')] = answered[1]
      }
      return typed
    })
}

function formOf(unit: GlucoseUnit): fc.Arbitrary<Record<string, string>> {
  return fc
    .record({
      rows: rowsOf(unit, ''),
      bedtime: rowsOf(unit, 'bedtime'),
      notEating: rowsOf(unit, 'notEating'),
      kind: fc.constantFrom('scale', 'scale', 'scale', 'factor'),
      target: bound(unit),
      perUnit: fc.integer({ min: 0, max: unit === 'mg/dL' ? 90 : 50 }),
      bedtimeKind: fc.constantFrom('same', 'half', 'none', 'own-scale'),
      notEatingKind: fc.constantFrom('correction-as-ordered', 'correction-as-ordered', 'hold-all', 'own-scale'),
      roundTo: fc.constantFrom('1', '0.5'),
      ties: fc.constantFrom('down', 'up'),
      maxSingleDose: fc.constantFrom('', '5', '16', '50'),
      subtracts: fc.constantFrom('nothing', 'subtracts'),
    })
    .map((f) => ({
      ...(f.kind === 'scale' ? f.rows : { target: digits(f.target, unit), perUnit: digits(f.perUnit, unit) }),
      correctionKind: f.kind,
      belowTarget: f.subtracts,
      bedtimeKind: f.bedtimeKind,
      ...(f.bedtimeKind === 'own-scale' ? f.bedtime : {}),
      notEatingKind: f.notEatingKind,
      ...(f.notEatingKind === 'own-scale' ? f.notEating : {}),
      roundTo: f.roundTo,
      ties: f.ties,
      maxSingleDose: f.maxSingleDose,
    }))
}

describe.each(['mg/dL', 'mmol/L'] as const)('an order accepted by the form in %s', (unit) => {
  const policy = policyOf(unit)
  const { least, most } = METER_RANGE[unit]
  it('answers every glucose once, falls only to “no dose”, gives nothing below the low limit, and keeps the single-dose limit', () => {
    const came = { accepted: 0, refused: 0 }
    const seen = new Set<string>()
    fc.assert(
      fc.property(formOf(unit), (typed) => {
        // the route's own schema first, as for a post
        const parsed = PATIENT_FORM.safeParse({ ...HEAD, ...typed })
        const made = parsed.success ? read(parsed.data, unit) : null
        if (made === null || !made.ok) {
          came.refused++
          if (made !== null) expect(sentenceOf(ENTRY_SENTENCES, made)).not.toMatch(/undefined|NaN/)
          return
        }
        came.accepted++
        const limit = singleDoseLimit(made.value, policy)
        for (const atBedtime of [false, true]) {
          for (const notEating of [false, true]) {
            seen.add(
              `${made.value.correction?.kind ?? ''} ${String(atBedtime)} ${String(notEating)} ${made.value.bedtime.kind} ${made.value.notEating?.kind ?? ''}`,
            )
            let highest = 0
            let stopped = false
            for (let glucose = least; glucose <= most; glucose++) {
              const { answer } = correctionAnswer(made.value, glucose, { atBedtime, notEating }, limit)
              if (answer === 'above-limit') {
                stopped = true
                continue
              }
              if (answer === 'call') continue
              // a factor stays past the limit once it has passed it
              const sound =
                !stopped &&
                Number.isInteger(answer * 2) &&
                answer >= highest &&
                answer <= limit &&
                (glucose >= policy.limits.low || answer === 0)
              if (!sound)
                throw new Error(
                  `${String(answer)} units at ${String(glucose)}, after ${String(highest)}, limit ${String(limit)}`,
                )
              highest = answer
            }
          }
        }
      }),
      { numRuns: 1500, seed: SEED },
    )
    expect(came.accepted).toBeGreaterThan(200)
    expect(came.refused).toBeGreaterThan(200)
    // the generator reaches the cases of the property
    for (const kind of [
      'scale false false',
      'factor false false',
      'scale true false half',
      'scale true false own-scale',
      'own-scale',
    ])
      expect(
        [...seen].some((one) => one.includes(kind)),
        kind,
      ).toBe(true)
  })

  it('answers each typed row as typed', () => {
    let rowsSeen = 0
    fc.assert(
      fc.property(rowsOf(unit, ''), (typed) => {
        const made = read({ ...typed, roundTo: '0.5' }, unit)
        if (!made.ok || made.value.correction?.kind !== 'scale') return
        const { scale } = made.value.correction
        for (let row = 1; row <= MOST_ROWS; row++) {
          const text = (part: string): string => typed[`row${String(row)}${part}`] ?? ''
          const answer = text('Call') === 'yes' ? 'call' : text('Units')
          if (answer === '') continue
          const [from, to] = [
            text('From') === '' ? null : beginningOf(text('From'), unit),
            text('To') === '' ? null : endOf(text('To'), unit),
          ]
          for (const value of [from ?? to, to ?? from])
            if (value !== null)
              expect(String(answerFor(scale, { unit, value }).answer), `${unit} ${String(value)}`).toBe(answer)
          rowsSeen++
        }
      }),
      { numRuns: 1000, seed: SEED },
    )
    expect(rowsSeen).toBeGreaterThan(200)
  })
})

it('any text in any field gives an order or a message, never a fault', () => {
  const names = Object.keys({
    ...HEAD,
    ...ROWS,
    target: '',
    perUnit: '',
    mealBreakfast: '',
    gramsPerUnit: '',
    interval: '',
    answered1From: '',
    answered1To: '',
    scheduled1Time: '',
    scheduled1Units: '',
    bedtimeRow1From: '',
    maxSingleDose: '',
    stopsAt: '',
    [OCCASION_FIELD.overnight]: '',
  })
  const text = fc.oneof(
    fc.string({ maxLength: 12 }),
    fc.string({ unit: 'grapheme', maxLength: 8 }),
    fc.constantFrom(
      '1e9',
      '-5',
      '0',
      '999',
      '.5',
      '00',
      '__proto__',
      'constructor',
      '9'.repeat(30),
      '2026-03-29T02:30',
      '12:60',
    ),
  )
  fc.assert(
    fc.property(
      fc.dictionary(fc.constantFrom(...names), text, { maxKeys: 6 }),
      fc.constantFrom<GlucoseUnit>('mg/dL', 'mmol/L'),
      (typed, unit) => {
        const made = read({ ...ROWS, ...typed }, unit)
        if (!made.ok) expect(sentenceOf(ENTRY_SENTENCES, made)).toMatch(/\S/)
      },
    ),
    { numRuns: 3000 },
  )
})
