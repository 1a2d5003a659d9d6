/** A confidence interval for a proportion. */

/** The 97.5th percentile of the standard normal distribution: 95 % lie between minus and plus this many deviations. */
const Z_95 = 1.959963984540054

/**
 * The 95 % score interval of Wilson (J Am Stat Assoc 1927;22:209, without continuity correction) for `count` of `of`,
 * as shares from 0 to 1; null when there is nothing to take a share of. `count` from 0 to `of`, both whole.
 */
export function wilson95(count: number, of: number): { readonly low: number; readonly high: number } | null {
  if (of === 0) return null
  if (!Number.isInteger(count) || !Number.isInteger(of) || count < 0 || count > of)
    throw new Error('a share is a whole count out of a whole number')
  const share = count / of
  const z2 = Z_95 * Z_95
  const middle = share + z2 / (2 * of)
  const spread = Z_95 * Math.sqrt((share * (1 - share)) / of + z2 / (4 * of * of))
  const scale = 1 + z2 / of
  // at the ends the two terms are equal on paper and differ by a rounding error here
  return {
    low: count === 0 ? 0 : Math.max(0, (middle - spread) / scale),
    high: count === of ? 1 : Math.min(1, (middle + spread) / scale),
  }
}
