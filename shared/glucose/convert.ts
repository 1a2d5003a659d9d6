/**
 * Conversion between mg/dL and mmol/L: for display beside the measured value, for exports, indices and measures. Never
 * convert before comparing with a limit, a step or a tolerance: compare in the unit in which they are written.
 */
import { compareGlucose, isNumeric, type Glucose, type GlucoseUnit, type NumericGlucose } from './value.ts'

/**
 * mg/dL in one mmol/L: the molar mass of glucose, 180.156 g/mol (LOINC part LG7967-5), divided by the 10 dL of a litre.
 */
export const MG_PER_DL_IN_ONE_MMOL_PER_L = 18.0156

/** Converts mg/dL to unrounded mmol/L. */
export function mgPerDlToMmolPerL(mgPerDl: number): number {
  return mgPerDl / MG_PER_DL_IN_ONE_MMOL_PER_L
}

/** Converts mmol/L to unrounded mg/dL. The argument is the number as printed: 6.2, not tenths. */
export function mmolPerLToMgPerDl(mmolPerL: number): number {
  return mmolPerL * MG_PER_DL_IN_ONE_MMOL_PER_L
}

/** A measured value as an unrounded number of mg/dL. A value measured in mg/dL stays as it is. */
export function inMgPerDl(glucose: NumericGlucose): number {
  return glucose.unit === 'mg/dL' ? glucose.value : mmolPerLToMgPerDl(glucose.value / 10)
}

/** A measured value as an unrounded number of mmol/L. A value measured in mmol/L stays as it is. */
export function inMmolPerL(glucose: NumericGlucose): number {
  return glucose.unit === 'mmol/L' ? glucose.value / 10 : mgPerDlToMmolPerL(glucose.value)
}

/**
 * The value printed in `unit`, with that unit: whole mg/dL, or mmol/L with one decimal. Two different mg/dL values can
 * print the same (39 and 40 are both 2.2 mmol/L). So never parse a printed conversion.
 */
export function printedIn(glucose: NumericGlucose, unit: GlucoseUnit): string {
  return unit === 'mg/dL' ? `${Math.round(inMgPerDl(glucose))} mg/dL` : `${inMmolPerL(glucose).toFixed(1)} mmol/L`
}

/**
 * A ward's limit as a whole count of the other unit. It applies to values measured on a ward of that unit before the
 * patient moved. The results are the printed pairs (70 = 3.9, 54 = 3.0, 250 = 13.9; American Diabetes Association, R).
 * Only limits are rounded like this, never values. The same unit returns the limit itself.
 */
export function limitIn(limit: number, from: GlucoseUnit, to: GlucoseUnit): number {
  if (from === to) return limit
  return from === 'mg/dL'
    ? Math.round((limit * 10) / MG_PER_DL_IN_ONE_MMOL_PER_L)
    : Math.round((limit / 10) * MG_PER_DL_IN_ONE_MMOL_PER_L)
}

/** Compares two values that may be in different units: LO first, HI last, numbers by their unrounded mg/dL. */
export function compareAcross(a: Glucose, b: Glucose): number {
  if (a.unit === b.unit) return compareGlucose(a, b)
  const rank = (glucose: Glucose): number =>
    isNumeric(glucose) ? inMgPerDl(glucose) : glucose.value === 'LO' ? -1 : Number.MAX_SAFE_INTEGER
  return rank(a) - rank(b)
}
