/** A confidence interval for a proportion. */

/**
 * The 97.5th percentile of the standard normal distribution: 95 % lies within this many standard deviations of the
 * mean.
 */
const Z_95 = 1.959963984540054

/**
 * Wilson's 95 % score interval for `count` of `of`, as shares from 0 to 1 (J Am Stat Assoc 1927;22:209, without
 * continuity correction). Null when `of` is 0. Both are integers; `count` is from 0 to `of`.
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
  // at the ends the two terms are mathematically equal and differ only by a rounding error
  return {
    low: count === 0 ? 0 : Math.max(0, (middle - spread) / scale),
    high: count === of ? 1 : Math.min(1, (middle + spread) / scale),
  }
}
