/** Chance that repeats: the same seed gives the same week. */

export type Chance = {
  /** From 0 (in) to 1 (out). */
  readonly next: () => number
  /** A whole number from `least` to `most`, both in. */
  readonly whole: (least: number, most: number) => number
  /** True that often. */
  readonly happens: (share: number) => boolean
  /** Roughly normal around 0: most values lie within ± 1. */
  readonly wobble: () => number
}

/** A linear congruential generator (Numerical Recipes' constants), its high bits only: plenty for a demo, no secret. */
export function chanceFrom(seed: number): Chance {
  let state = seed >>> 0
  const next = (): number => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0
    return (state >>> 8) / 0x1000000
  }
  return {
    next,
    whole: (least, most) => least + Math.floor(next() * (most - least + 1)),
    happens: (share) => next() < share,
    wobble: () => (next() + next() + next() - 1.5) / 0.75,
  }
}

/** A seed out of a name, so that each patient has a course of their own. */
export function seedOf(name: string): number {
  let hash = 2_166_136_261
  for (const char of name) hash = Math.imul(hash ^ (char.codePointAt(0) ?? 0), 16_777_619)
  return hash >>> 0
}
