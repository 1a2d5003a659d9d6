/** Words of the rates, the harm measures and the exports: denominators, bands, and why a question was not answered. */
import { OCCASION_NAME } from '../format.ts'
import type { OccasionGroup } from '../../shared/audit/by-hour.ts'
import type { Band } from '../../shared/audit/rates.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { OutOfRangeRule } from '../../shared/measure/facts.ts'
import type { HighExclusion, HighReason } from '../../shared/measure/severe-high.ts'
import type { SevereLow } from '../../shared/measure/severe-low.ts'
import type { Sentences } from '../../shared/outcome.ts'

/** The bands as they are named in each unit: in mmol/L by the printed pairs (shared/audit/patient-day.ts). */
export const BAND_NAME: Readonly<Record<GlucoseUnit, Readonly<Record<Band, string>>>> = {
  'mg/dL': {
    below54: 'Below 54 mg/dL',
    below70: 'Below 70 mg/dL',
    in70to180: '70 to 180 mg/dL',
    above180: 'Above 180 mg/dL',
    above250: 'Above 250 mg/dL',
    above300: 'Above 300 mg/dL',
  },
  'mmol/L': {
    below54: 'Below 3.0 mmol/L',
    below70: 'Below 3.9 mmol/L',
    in70to180: '3.9 to 10.0 mmol/L',
    above180: 'Above 10.0 mmol/L',
    above250: 'Above 13.9 mmol/L',
    above300: 'Above 16.7 mmol/L',
  },
}

export const OCCASION_GROUP_NAME: Readonly<Record<OccasionGroup, string>> = {
  ...OCCASION_NAME,
  recheck: 'Rechecks of a low',
  extra: 'Extra checks',
}

/** One plain sentence for each figure of the spread, with its source. */
export const SPREAD_SAYS: readonly string[] = [
  'CV: SD divided by the mean, so how widely the values swing, whatever their level. Higher swings more.',
  'LBGI: how often and how far values lie on the low side, each weighed by how dangerous it is. 0: never low; a value of 70 mg/dL alone weighs about 8, one of 54 about 18 (Kovatchev and others, Diabetes Care 1997;20:1655).',
  'HBGI: the same for the high side: a value of 180 mg/dL alone weighs about 8, one of 250 about 22 (same source).',
]

/** How many of the readings are rechecks that a low asked for. */
export function recheckText(rechecks: number, readings: number): string {
  if (rechecks === 0) return 'No reading of the period is a recheck of a low, so nothing would change without them.'
  return `${String(rechecks)} of ${String(readings)} readings above are rechecks that a low asked for: a low that is looked at often counts often. The table here leaves them out; days and stays count where another reading is left.`
}

/** Why a question about a period has no answer. */
export type QuestionRefusal =
  | 'period-no-ward'
  | 'period-ward-not-yours'
  | 'period-date-not-read'
  | 'period-turned-round'
  | 'period-not-over'
  | 'period-too-long'
  | 'period-too-much'

/** The field that a refused period stands beside. */
type PeriodField = { field: 'ward' | 'from' | 'to' }

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'period-no-ward': PeriodField
    'period-ward-not-yours': PeriodField
    'period-date-not-read': PeriodField
    'period-turned-round': PeriodField
    'period-not-over': PeriodField & { last: string }
    'period-too-long': PeriodField & { days: number }
    'period-too-much': PeriodField & { days: number }
  }
}

export const QUESTION_SENTENCES: Sentences<QuestionRefusal> = {
  'period-no-ward': () => 'You belong to no ward, so there is nothing to show.',
  'period-ward-not-yours': () => 'Choose one of your wards, or all of them.',
  'period-date-not-read': () => 'Give a date of the calendar.',
  'period-turned-round': () => 'The last day lies before the first.',
  'period-not-over': ({ last }) =>
    `Whole days only. The last day that is over is ${last}: a day counts from two hours after midnight on.`,
  'period-too-long': ({ days }) => `At most ${days} days at once.`,
  'period-too-much': ({ days }) =>
    `Too much to go through stay by stay at once. Take fewer wards or days: days times wards at most ${days}.`,
}

/** What the rates page says about figures that it does not work out for so much at once. */
export function detailLeftOut({ days, wardDays }: { readonly days: number; readonly wardDays: number }): string {
  return `By occasion, by hour, checks on time, minutes and low events are gone through one by one. Rechecks of lows are counted in the readings above, and told apart with the rest. All of it is shown for at most ${String(days)} days, and at most ${String(wardDays)} days times wards: choose a shorter period or one ward.`
}

export type ExportRefusal = QuestionRefusal | 'export-reason-missing'

export const EXPORT_SENTENCES: Sentences<ExportRefusal> = {
  ...QUESTION_SENTENCES,
  'export-reason-missing': () => 'A file that names patients needs a reason. It is recorded with your name.',
}

export const RULE_NAME: Readonly<Record<OutOfRangeRule, string>> = {
  published: 'As published: LO and HI left out',
  classed: 'Classed: LO counts below, HI above',
}

/** What the two rows of each table are, before them. */
export const RULES_SAY =
  'A meter shows LO or HI where it has no number. The published measures compare numbers, so there an LO or a HI counts neither as low nor as high: the row “as published” leaves them out. The row “classed” counts LO as below and HI as above every limit. Where the two rows differ, LO and HI make the difference.'
export const NOTHING_ENDED = 'No patient was discharged on these days, so there is nothing to measure.'

/** The published logic in short, as the page says it beside the numbers. */
export const MEASURE_LOGIC = {
  low: [
    'Denominator: stays of adults that ended in the period, with insulin given during the stay.',
    'Harm: a value below 40 mg/dL at most 24 h after insulin (an injection at the very time counts), unless a value above 80 mg/dL follows within 5 min and inside the stay. One harm a stay.',
    'Version 1.0.000 for 2026. Lower is better.',
  ],
  high: [
    'Denominator: stays of adults that ended in the period, with diabetes charted, insulin given during the stay, or a value of 200 mg/dL or above.',
    'Days are 24-hour blocks from admission, at most ten; the first is not counted, and a last one under 24 h is dropped. Event: a value above 300 mg/dL that day, or no test that day after two days of 200 mg/dL or above.',
    'Excluded: a first value above 600 mg/dL between 1 h before and 6 h after the start.',
    'Version 1.0.000 for 2026. Lower is better. Days of one patient are not independent of each other: the interval is narrower than it should be.',
  ],
} as const

/** What of this record stands for what of the measures (shared/measure/from-record.ts), and what is missing. */
export const HOW_MEASURED: readonly string[] = [
  'A stay here is one admission to a ward, with its moves. Emergency and observation visits before it are not on record, and a patient who comes back within the hour is a stay of its own.',
  'Drugs are the insulin doses given here or charted as given elsewhere. Other glucose-lowering drugs are charted as a fact without doses, so they bring nobody into a denominator.',
  'Results are readings and laboratory values as they count now. Values in mmol/L are converted with 18.0156 and not rounded: 11.1 mmol/L is 199.97 mg/dL and stays below 200; 16.7 is 300.86 and lies above 300.',
  'LO and HI have no number. As published they count neither as low nor as high; classed, LO lies below every limit and HI above, because a meter measures 20 to 600 mg/dL. Both numbers are shown.',
  'Diabetes is type 1, type 2 or another type as charted at the end; gestational and steroid-induced are not in the set.',
  'Comfort care and discharge to hospice are not charted here, so nobody is excluded for them.',
  'Age is taken on the ward’s date of admission; the period is asked of its date of discharge. A stay is counted on the ward that it ended on.',
]

export const HIGH_REASON: Readonly<Record<HighReason, string>> = {
  diabetes: 'diabetes charted',
  drug: 'insulin given',
  'glucose-200': 'a value of 200 mg/dL or above',
}
export const HIGH_EXCLUSION: Readonly<Record<HighExclusion, string>> = {
  'first-result-above-600': 'the first value, near admission, was above 600 mg/dL',
  'comfort-care': 'comfort care',
  hospice: 'discharged to hospice care',
}
export const SEVERE_LOW_KIND: Readonly<Record<SevereLow['kind'], string>> = {
  harm: 'Harm: insulin in the 24 h before, and no value above 80 mg/dL within 5 min.',
  'cancelled-by-repeat': 'No harm: a value above 80 mg/dL followed within 5 min.',
  'no-drug-in-24-h': 'No harm by this measure: no insulin in the 24 h before.',
}
