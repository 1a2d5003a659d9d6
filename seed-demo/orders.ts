/**
 * Insulin orders of the demo's patients, with the figures of published scales: the supplemental scale of the
 * RABBIT 2 trial (Umpierrez et al., Diabetes Care 2007;30:2181) and teaching scales. tests/standards/README.md explains
 * the labels and marks.
 */
import type { LoadFileInput } from '../server/load/schema.ts'

type LoadStayInput = NonNullable<LoadFileInput['stays']>[number]
type LoadOrderInput = LoadStayInput['orders'][number]
/** An order without its dates and signatures, which depend on the demo's first day. */
export type DemoOrder = Omit<LoadOrderInput, 'writtenAt' | 'startsAt' | 'stopsAt' | 'transcribedBy' | 'verified'>
type Rows = Extract<NonNullable<LoadOrderInput['correction']>, { kind: 'scale' }>['rows']

const MEALS_AND_BEDTIME = ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'] as const
const ROUND_THE_CLOCK = ['overnight', 'before-breakfast', 'before-lunch', 'before-supper', 'bedtime'] as const

const BLANK: DemoOrder = {
  insulin: 'insulin lispro',
  concentration: 'U-100',
  route: 'subcutaneous',
  occasions: [...MEALS_AND_BEDTIME],
  correction: null,
  meal: null,
  mealTiming: 'before',
  bedtime: { kind: 'half' },
  scheduled: [],
  rounding: { to: 1, ties: 'down' },
  maxSingleDose: 20,
  correctionIntervalMin: null,
  stackingStopsAtOccasions: false,
  prescriber: 'Dr. L. Vance',
  received: 'written',
}

/** The RABBIT 2 rows. The column's units start in the second row: "≤ 140" is 0. */
function supplemental(bounds: readonly string[], next: (bound: string) => string, units: readonly number[]): Rows {
  return [
    { from: '', to: bounds[0] ?? '', answer: 0 },
    ...units.map((answer, index) => ({ from: next(bounds[index] ?? ''), to: bounds[index + 1] ?? '', answer })),
  ]
}

const MG_BOUNDS = ['140', '180', '220', '260', '300', '350', '400']
/** The same bounds in mmol/L to one decimal, by 18.0156 mg/dL per mmol/L. */
const MMOL_BOUNDS = ['7.8', '10.0', '12.2', '14.4', '16.7', '19.4', '22.2']
const nextMg = (bound: string): string => String(Number(bound) + 1)
const nextTenth = (bound: string): string => ((Math.round(Number(bound) * 10) + 1) / 10).toFixed(1)

const SENSITIVE = [2, 4, 6, 8, 10, 12, 14]
const USUAL = [4, 6, 8, 10, 12, 14, 16]
const RESISTANT = [6, 8, 10, 12, 14, 16, 18]

const scaleMg = (units: readonly number[]): DemoOrder => ({
  ...BLANK,
  correction: { kind: 'scale', rows: supplemental(MG_BOUNDS, nextMg, units) },
})
const scaleMmol = (units: readonly number[]): DemoOrder => ({
  ...BLANK,
  correction: { kind: 'scale', rows: supplemental(MMOL_BOUNDS, nextTenth, units) },
})

export const sensitiveScale: DemoOrder = scaleMg(SENSITIVE)
export const usualScale: DemoOrder = scaleMg(USUAL)
export const resistantScale: DemoOrder = scaleMg(RESISTANT)
export const sensitiveScaleMmol: DemoOrder = scaleMmol(SENSITIVE)
export const usualScaleMmol: DemoOrder = scaleMmol(USUAL)

/** Textbook scale for every 6 h, regular insulin (2e, R). */
export const everySixHours: DemoOrder = {
  ...BLANK,
  insulin: 'regular insulin',
  occasions: [...ROUND_THE_CLOCK],
  bedtime: { kind: 'same' },
  correction: {
    kind: 'scale',
    rows: [
      { from: '0', to: '180', answer: 0 },
      { from: '181', to: '240', answer: 2 },
      { from: '241', to: '300', answer: 4 },
      { from: '301', to: '400', answer: 6 },
      { from: '401', to: '', answer: 8, instruction: 'Repeat the glucose in 2 h.' },
    ],
  },
}

/** College packet's scale for every 4 h, regular insulin; above 330 it gives no dose but asks for a call (2e, R). */
export const everyFourHours: DemoOrder = {
  ...everySixHours,
  correctionIntervalMin: 240,
  correction: {
    kind: 'scale',
    rows: [
      { from: '0', to: '150', answer: 0 },
      { from: '151', to: '200', answer: 2 },
      { from: '201', to: '240', answer: 4 },
      { from: '241', to: '280', answer: 6 },
      { from: '281', to: '330', answer: 8 },
      { from: '331', to: '', answer: 'call', instruction: 'Call the prescriber; no dose.' },
    ],
  },
}

/** Correction by factor and meal dose by carbohydrate: target 120, 1 unit per 50 mg/dL, 1 unit per 10 g. */
export const factorAndRatio: DemoOrder = {
  ...BLANK,
  occasions: ['before-breakfast', 'before-lunch', 'before-supper'],
  correction: { kind: 'factor', target: '120', perUnit: '50', belowTargetSubtracts: false },
  meal: { kind: 'ratio', gramsPerUnit: 10 },
  bedtime: { kind: 'none' },
  rounding: { to: 0.5, ties: 'down' },
}

/** The same in mmol/L: target 6.7, 1 unit per 2.8 mmol/L. */
export const factorAndRatioMmol: DemoOrder = {
  ...factorAndRatio,
  correction: { kind: 'factor', target: '6.7', perUnit: '2.8', belowTargetSubtracts: false },
}

/** A fixed meal dose plus the sensitive column. */
export const mealAndScale: DemoOrder = {
  ...sensitiveScale,
  meal: { kind: 'fixed', units: { 'before-breakfast': 4, 'before-lunch': 4, 'before-supper': 5 } },
  bedtime: { kind: 'none' },
}

/**
 * Pregnancy clinic's scale with its printed bedtime column (2d, R). The prescriber has answered for the missing 301.
 */
export const pregnancyScale: DemoOrder = {
  ...BLANK,
  prescriber: 'Dr. M. Adeyemi',
  correction: {
    kind: 'scale',
    rows: [
      { from: '100', to: '140', answer: 2 },
      { from: '141', to: '160', answer: 3 },
      { from: '161', to: '180', answer: 4 },
      { from: '181', to: '200', answer: 5 },
      { from: '201', to: '250', answer: 6 },
      { from: '251', to: '300', answer: 8 },
      { from: '302', to: '', answer: 10 },
    ],
    answered: { '301': 10 },
  },
  bedtime: {
    kind: 'own-scale',
    rows: [
      { from: '100', to: '160', answer: 1 },
      { from: '161', to: '200', answer: 2 },
      { from: '201', to: '250', answer: 3 },
      { from: '251', to: '300', answer: 4 },
      { from: '302', to: '', answer: 5 },
    ],
    answered: { '301': 5 },
  },
}

/** Long-acting insulin at one time of day, without a scale. Held below a value if the order says so. */
export function longActing(time: string, units: number, holdBelow: string | null): DemoOrder {
  return {
    ...BLANK,
    insulin: 'insulin glargine',
    occasions: [],
    bedtime: { kind: 'same' },
    scheduled: [{ time, units, holdBelow }],
    maxSingleDose: 20,
  }
}
