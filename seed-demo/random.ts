/** Pseudo-random numbers that repeat: the same seed gives the same week. */

export type RandomSource = {
  /** From 0 (included) to 1 (excluded). */
  readonly next: () => number
  /** An integer from `least` to `most`, both included. */
  readonly integer: (least: number, most: number) => number
  /** True with this probability. */
  readonly withProbability: (share: number) => boolean
  /** Roughly normal around 0; most values lie within ± 1. */
  readonly noise: () => number
}

/**
 * A linear congruential generator with the constants of Numerical Recipes. It uses the high bits only. Good enough for
 * a demo; not for secrets.
 */
export function seededRandom(seed: number): RandomSource {
  let state = seed >>> 0
  const next = (): number => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0
    return (state >>> 8) / 0x1000000
  }
  return {
    next,
    integer: (least, most) => least + Math.floor(next() * (most - least + 1)),
    withProbability: (share) => next() < share,
    noise: () => (next() + next() + next() - 1.5) / 0.75,
  }
}

/** A seed from a name, so that each patient has a different course. */
export function seedOf(name: string): number {
  let hash = 2_166_136_261
  for (const char of name) hash = Math.imul(hash ^ (char.codePointAt(0) ?? 0), 16_777_619)
  return hash >>> 0
}
