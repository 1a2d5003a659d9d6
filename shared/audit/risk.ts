/**
 * Low and high blood glucose index (Kovatchev et al., Diabetes Care 1997;20:1655; constants from memory, M). Each value
 * is transformed by f = 1.509 x ((ln mg/dL)^1.084 - 5.381). Its risk is 10 x f^2: low risk when f < 0, high risk when f
 * > 0. An index is the mean over all numeric values.
 */
import { inMgPerDl } from '../glucose/convert.ts'
import type { NumericGlucose } from '../glucose/value.ts'

/** Risk is stored in whole millionths, so that the order of adding does not change a sum. */
export const RISK_SCALE = 1_000_000

/** The risk of one value, unrounded: 0 or above, about 100 at 20 and at 600 mg/dL. */
export function riskOf(glucose: NumericGlucose): { readonly low: number; readonly high: number } {
  const f = 1.509 * (Math.log(inMgPerDl(glucose)) ** 1.084 - 5.381)
  const risk = 10 * f * f
  return f < 0 ? { low: risk, high: 0 } : { low: 0, high: risk }
}

/** The same in whole millionths. */
export function riskMillionths(glucose: NumericGlucose): { readonly low: number; readonly high: number } {
  const { low, high } = riskOf(glucose)
  return { low: Math.round(low * RISK_SCALE), high: Math.round(high * RISK_SCALE) }
}
