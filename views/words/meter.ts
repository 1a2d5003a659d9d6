/** The words of meters, strips, controls and comparisons: states, limits by name, and each refusal as a sentence. */
import type { GlucoseRefusal } from '../../shared/glucose/value.ts'
import type { SetVerdict, StandardName } from '../../shared/meter/accuracy.ts'
import type { ComparisonRefusal } from '../../shared/meter/compare.ts'
import type { ControlRefusal } from '../../shared/meter/control.ts'
import type { MeterKeepRefusal } from '../../shared/meter/keep.ts'
import type { StripLotRefusal } from '../../shared/meter/strips.ts'
import { formatDate } from '../format.ts'
import { GLUCOSE_SENTENCES } from './glucose.ts'
import type { Sentences } from '../../shared/outcome.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

export const RETIRED_MARK: Mark = { shape: '–', word: 'Retired', tone: 'calm' }

export const CONTROL_MARK: Readonly<Record<'passed' | 'failed', Mark>> = {
  passed: { shape: '✓', word: 'Passed', tone: 'done' },
  failed: { shape: '■', word: 'Failed', tone: 'urgent' },
}

/** One level against its range. */
export const LEVEL_MARK: Readonly<Record<'in' | 'out', Mark>> = {
  in: { shape: '✓', word: 'in range', tone: 'done' },
  out: { shape: '■', word: 'out of range', tone: 'urgent' },
}

export const LOT_MARK: Readonly<Record<'good' | 'no-ranges' | 'expired', Mark>> = {
  good: { shape: '✓', word: 'In date', tone: 'done' },
  'no-ranges': { shape: '▲', word: 'Control ranges missing', tone: 'due' },
  expired: { shape: '■', word: 'Expired', tone: 'urgent' },
}

export const STANDARD: Readonly<
  Record<StandardName, { readonly name: string; readonly says: string; readonly source: string }>
> = {
  'iso-15197-2013': {
    name: 'ISO 15197:2013',
    says: '95 % of pairs within 15 mg/dL below 100 mg/dL, and within 15 % from 100',
    source:
      'In mmol/L: its own 0.83 below 5.55. The standard also asks for the places in an error grid, which is not judged here.',
  },
  'clsi-poct12-a3': {
    name: 'CLSI POCT12-A3',
    says: '95 % of pairs within 12 mg/dL below 100 mg/dL, and within 12.5 % from 100; at most 2 % beyond 15 mg/dL below 75, or 20 % from 75',
    source: 'In mmol/L: converted unrounded, 18.0156 mg/dL in one mmol/L.',
  },
  'fda-point-of-care': {
    name: 'FDA, point of care',
    says: '95 % of pairs within 12 mg/dL below 75 mg/dL, and within 12 % from 75; 98 % within 15 mg/dL, or 15 %',
    source: 'In mmol/L: converted unrounded, 18.0156 mg/dL in one mmol/L.',
  },
}

export const PAIR_MARK: Readonly<Record<'inside' | 'outside', Mark>> = {
  inside: { shape: '✓', word: 'inside', tone: 'done' },
  outside: { shape: '▲', word: 'outside', tone: 'due' },
}

/** The verdict over a meter's pairs. */
export function setMark(verdict: SetVerdict): Mark {
  switch (verdict.verdict) {
    case 'met':
      return { shape: '✓', word: 'Met', tone: 'done' }
    case 'not-met':
      return { shape: '■', word: 'Not met', tone: 'urgent' }
    case 'too-few':
      return { shape: '○', word: `Too few pairs: ${String(verdict.pairs)}`, tone: 'calm' }
  }
}

export const METER_KEEP_SENTENCES: Sentences<MeterKeepRefusal> = {
  'meter-ward-unknown': () => 'Choose one of your wards.',
  'meter-serial-taken': (d) =>
    `A meter with the serial number ${d.serial} is set up already. Look for it in the list, on this ward or another.`,
  'meter-unit-differs': (d) =>
    `The meter shows ${d.found}, and the ward measures in ${d.unit}: it cannot be used there.`,
  'meter-retired': (d) => `This meter was taken out of use: ${d.reason}`,
  'meter-same-ward': () => 'The meter is on this ward already. Choose another one.',
  'meter-reason-missing': () => 'Say why the meter is taken out of use.',
}

export const CONTROL_SENTENCES: Sentences<ControlRefusal> = {
  'control-meter-retired': () => 'This meter was taken out of use. Nothing more is charted for it.',
  'control-meter-other-unit': (d) =>
    `The meter shows ${d.found}, and the ward measures in ${d.unit}: it cannot be used here.`,
  'control-lot-unknown': () => 'Choose the strip lot that was used for the control.',
  'control-lot-expired': (d) =>
    `The last day of lot ${d.lot} was ${formatDate(d.expiresOn)}: run the control with strips in date.`,
  'control-ranges-missing': (d) =>
    `The two control ranges of lot ${d.lot} are not entered yet. Enter them from its label first, under Strips.`,
  'control-ranges-other-unit': (d) =>
    `The ranges of this lot are in ${d.found}, and the meter shows ${d.unit}. Use a lot of this ward.`,
}

export const STRIP_LOT_SENTENCES: Sentences<StripLotRefusal> = {
  'lot-ward-unknown': () => 'Choose one of your wards.',
  'lot-date-wrong': () => 'Enter the last day as it stands on the label.',
  'lot-date-far-off': (d) => `Look at the label again: strips do not keep until ${formatDate(d.expiresOn)}.`,
  'lot-expired': (d) =>
    `The last day was ${formatDate(d.expiresOn)}. Discard these strips. If readings were made with them all the same, tick below to enter the lot: such readings never lead to insulin.`,
  'lot-already-there': (d) => `Lot ${d.lot} is there already, with its ranges.`,
  'lot-other-date': (d) =>
    `Lot ${d.lot} is there already with ${formatDate(d.expiresOn)} as its last day. Look at the label again.`,
  'level1-turned-round': () => 'The range of level 1 must run upwards: from the lower to the higher number.',
  'level2-turned-round': () => 'The range of level 2 must run upwards: from the lower to the higher number.',
  'level2-not-above': () => 'Level 2 must begin above the end of level 1. Look at the label again.',
  'level1-out-of-range': () => 'No meter shows such a value for level 1. Look at the label again.',
  'level2-out-of-range': () => 'No meter shows such a value for level 2. Look at the label again.',
  'ranges-other-unit': (d) => `Enter the ranges in ${d.unit}, the unit of this ward.`,
}

export const COMPARISON_SENTENCES: Sentences<ComparisonRefusal> = {
  'comparison-meter-time-in-future': () => 'This time is still to come.',
  'comparison-laboratory-time-in-future': () => 'This time is still to come.',
  'comparison-too-far-apart': (d) =>
    `The two are ${d.minutes} min apart. A pair is taken within ${d.most} min (common practice): later, glucose itself has changed.`,
  'comparison-other-unit': (d) => `Enter both values in ${d.unit}, as this meter shows them.`,
  'comparison-lot-unknown': (d) => `Lot ${d.lot} is not one of this ward’s.`,
  'comparison-already-there': () => 'A pair of these two times is charted for this meter already.',
}

/** Why a typed control value, range end or laboratory value was not taken: the glucose sentences, where they fit. */
export const VALUE_SENTENCES: Sentences<GlucoseRefusal | 'value-not-a-number'> = {
  ...GLUCOSE_SENTENCES,
  'value-not-a-number': () => 'Type a number: LO and HI are none.',
}

export type RecallRefusal = 'recall-nothing-asked' | 'recall-time-not-read' | 'recall-turned-round' | 'recall-too-long'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'recall-too-long': { days: number }
  }
}

export const RECALL_SENTENCES: Sentences<RecallRefusal> = {
  'recall-nothing-asked': () => 'Choose a meter, a strip lot, or both.',
  'recall-time-not-read': () => 'Enter both times as date and time.',
  'recall-turned-round': () => 'The first time must lie before the second.',
  'recall-too-long': (d) => `Ask for at most ${d.days} days at a time.`,
}
