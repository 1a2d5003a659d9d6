/**
 * Glucose values as measured. A value is a whole number of mg/dL or a whole number of tenths of a mmol/L. So every
 * comparison compares integers in one unit, never rounded conversions.
 */
import { accept, refuse, type Outcome } from '../outcome.ts'

export type GlucoseUnit = 'mg/dL' | 'mmol/L'

/** A meter's result outside its measuring range. It drives the protocol like a number but never enters a mean. */
export type OutOfRange = 'LO' | 'HI'

/** `value` counts mg/dL (54 means 54 mg/dL) or tenths of a mmol/L (30 means 3.0 mmol/L). */
export type Glucose = { readonly unit: GlucoseUnit; readonly value: number | OutOfRange }

/** A glucose value that is a number. Orders, limits and means need one. */
export type NumericGlucose = { readonly unit: GlucoseUnit; readonly value: number }

export type GlucoseRefusal =
  | 'glucose-missing'
  | 'glucose-not-a-number'
  | 'glucose-needs-whole-number'
  | 'glucose-needs-decimal-point'
  | 'glucose-too-many-decimals'
  | 'glucose-looks-like-other-unit'
  | 'glucose-not-plausible'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'glucose-not-a-number': { unit: string }
    'glucose-needs-whole-number': { typed: string; unit: string }
    'glucose-needs-decimal-point': { typed: string; unit: string }
    'glucose-too-many-decimals': { typed: string; unit: string }
    'glucose-looks-like-other-unit': { typed: string; unit: string; other: string }
    /** `least`, `most`: in the unit, as a meter shows them. */
    'glucose-not-plausible': { typed: string; unit: string; least: number; most: number }
  }
}

/**
 * What a meter can show as a number (20 to 600 mg/dL, the usual range of meters; 1.1 to 33.3 mmol/L). Beyond it a meter
 * shows LO or HI, so a number beyond it is a typing error.
 */
export const METER_RANGE: Readonly<Record<GlucoseUnit, { readonly least: number; readonly most: number }>> = {
  'mg/dL': { least: 20, most: 600 },
  'mmol/L': { least: 11, most: 333 },
}

/** True when the value is a number and not LO or HI. */
export function isNumeric(glucose: Glucose): glucose is NumericGlucose {
  return typeof glucose.value === 'number'
}

/**
 * Parses a typed or scanned value in the ward's unit. Accepts LO and HI in any case, digits (mg/dL), or digits with
 * exactly one decimal (mmol/L). On a mmol/L ward the decimal point is required: "28" could be 2.8 or 28.0. Refuses,
 * with the reason, a value that is plausible only in the other unit.
 */
export function parseGlucose(typed: string, unit: GlucoseUnit): Outcome<Glucose, GlucoseRefusal> {
  const text = typed.trim()
  if (text === '') return refuse('glucose-missing')
  const upper = text.toUpperCase()
  if (upper === 'LO' || upper === 'HI') return accept({ unit, value: upper })
  if (!/^\d{1,6}(\.\d{0,6})?$/.test(text)) return refuse('glucose-not-a-number', { unit })
  return unit === 'mg/dL' ? parseMgPerDl(text) : parseMmolPerL(text)
}

function parseMgPerDl(text: string): Outcome<Glucose, GlucoseRefusal> {
  const unit = 'mg/dL'
  const { least, most } = METER_RANGE[unit]
  const number = Number(text)
  if (text.includes('.')) {
    // 6.2 is a likely mmol/L value but not a mg/dL one; 112.5 is neither
    if (number < least) return refuse('glucose-looks-like-other-unit', { typed: text, unit, other: 'mmol/L' })
    return refuse('glucose-needs-whole-number', { typed: text, unit })
  }
  if (number < least) {
    return number >= 2
      ? refuse('glucose-looks-like-other-unit', { typed: text, unit, other: 'mmol/L' })
      : refuse('glucose-not-plausible', { typed: text, unit, least, most })
  }
  if (number > most) return refuse('glucose-not-plausible', { typed: text, unit, least, most })
  return accept({ unit, value: number })
}

function parseMmolPerL(text: string): Outcome<Glucose, GlucoseRefusal> {
  const unit = 'mmol/L'
  const { least, most } = METER_RANGE[unit]
  const number = Number(text)
  if (number * 10 > most) {
    return number <= METER_RANGE['mg/dL'].most
      ? refuse('glucose-looks-like-other-unit', { typed: text, unit, other: 'mg/dL' })
      : refuse('glucose-not-plausible', { typed: text, unit, least: least / 10, most: most / 10 })
  }
  const [whole = '', decimals] = text.split('.')
  if (decimals === undefined || decimals === '') return refuse('glucose-needs-decimal-point', { typed: whole, unit })
  if (decimals.length > 1) return refuse('glucose-too-many-decimals', { typed: text, unit })
  const tenths = Number(whole) * 10 + Number(decimals)
  if (tenths < least) return refuse('glucose-not-plausible', { typed: text, unit, least: least / 10, most: most / 10 })
  return accept({ unit, value: tenths })
}

/** LO sorts below and HI above every number. Both values must be in one unit; anything else is a bug. */
export function compareGlucose(a: Glucose, b: Glucose): number {
  if (a.unit !== b.unit) throw new Error('glucose values of two units compared')
  return rank(a) - rank(b)
}

function rank(glucose: Glucose): number {
  if (glucose.value === 'LO') return -1
  if (glucose.value === 'HI') return Number.MAX_SAFE_INTEGER
  return glucose.value
}

/** True when `glucose` is strictly below `limit`, which counts mg/dL or tenths of mmol/L like the glucose itself. */
export function isBelow(glucose: Glucose, limit: number): boolean {
  return rank(glucose) < limit
}

/** True when `glucose` is strictly above `limit` (same count as the glucose itself). */
export function isAbove(glucose: Glucose, limit: number): boolean {
  return rank(glucose) > limit
}

/** The number alone as a meter prints it: "112", "6.2", "LO". Always show it with its unit. */
export function glucoseDigits(glucose: Glucose): string {
  if (typeof glucose.value !== 'number') return glucose.value
  return glucose.unit === 'mg/dL' ? String(glucose.value) : (glucose.value / 10).toFixed(1)
}

/** The value with its unit: "112 mg/dL", "6.2 mmol/L", "LO". */
export function formatGlucose(glucose: Glucose): string {
  return typeof glucose.value === 'number' ? `${glucoseDigits(glucose)} ${glucose.unit}` : glucose.value
}
