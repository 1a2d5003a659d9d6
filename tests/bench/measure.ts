/**
 * Ratios within one run. Absolute times vary with the machine's load, so ours and the baseline run alternately,
 * seconds apart.
 */

/** Medians of requests a second over all turns, and the median of each turn's ratio, which drift affects least. */
export type Ratio = { readonly ours: number; readonly floor: number; readonly ratio: number }

export function median(numbers: readonly number[]): number {
  const sorted = [...numbers].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  const upper = sorted[middle] ?? Number.NaN
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? Number.NaN) + upper) / 2
}

/**
 * Runs both alternately, the first turn unmeasured, and swaps their order each turn. Each returns requests a second.
 */
export async function measureInTurns(
  turns: number,
  ours: () => Promise<number>,
  floor: () => Promise<number>,
): Promise<Ratio> {
  const seen: { ours: number[]; floor: number[] } = { ours: [], floor: [] }
  await ours()
  await floor()
  for (let turn = 0; turn < turns; turn++) {
    const order = turn % 2 === 0 ? (['ours', 'floor'] as const) : (['floor', 'ours'] as const)
    for (const who of order) seen[who].push(await (who === 'ours' ? ours() : floor()))
  }
  const ratios = seen.ours.map((perSecond, turn) => perSecond / (seen.floor[turn] ?? Number.NaN))
  return { ours: round(median(seen.ours), 1), floor: round(median(seen.floor), 1), ratio: round(median(ratios), 3) }
}

export function round(value: number, decimals: number): number {
  const scale = 10 ** decimals
  return Math.round(value * scale) / scale
}
