/**
 * Conversion between mg/dL and mmol/L: for display beside the measured value, for exports, indices and measures.
 * Never for a comparison with a limit, a step or a tolerance: those are compared in the unit they are written in.
 */
import type { GlucoseUnit, NumericGlucose } from './value.ts'

/** mg/dL in one mmol/L: the molar mass of glucose, 180.156 g/mol (LOINC part LG7967-5), over the 10 dL of a litre. */
export const MG_PER_DL_IN_ONE_MMOL_PER_L = 18.0156

/** Unrounded mmol/L of a number of mg/dL. */
export function mgPerDlToMmolPerL(mgPerDl: number): number {
  return mgPerDl / MG_PER_DL_IN_ONE_MMOL_PER_L
}

/** Unrounded mg/dL of a number of mmol/L (the number as printed: 6.2, not tenths). */
export function mmolPerLToMgPerDl(mmolPerL: number): number {
  return mmolPerL * MG_PER_DL_IN_ONE_MMOL_PER_L
}

/** A measured value as an unrounded number of mg/dL; the number itself when it was measured in mg/dL. */
export function inMgPerDl(glucose: NumericGlucose): number {
  return glucose.unit === 'mg/dL' ? glucose.value : mmolPerLToMgPerDl(glucose.value / 10)
}

/** A measured value as an unrounded number of mmol/L; the number itself when it was measured in mmol/L. */
export function inMmolPerL(glucose: NumericGlucose): number {
  return glucose.unit === 'mmol/L' ? glucose.value / 10 : mgPerDlToMmolPerL(glucose.value)
}

/**
 * The value as it would be printed in `unit`, with that unit: whole mg/dL, or mmol/L with one decimal. Two different
 * mg/dL values can print the same (39 and 40 are both 2.2 mmol/L), so a printed conversion is never read back.
 */
export function printedIn(glucose: NumericGlucose, unit: GlucoseUnit): string {
  return unit === 'mg/dL' ? `${Math.round(inMgPerDl(glucose))} mg/dL` : `${inMmolPerL(glucose).toFixed(1)} mmol/L`
}
