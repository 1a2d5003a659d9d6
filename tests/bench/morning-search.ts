/** The search for the highest sustained load in few tries, because each takes minutes. */

export type Search = {
  /** Plays this many wards and returns whether the load was sustained. */
  readonly held: (wards: number) => Promise<boolean>
  readonly first: number
  /** The smallest load tried. */
  readonly least: number
  /** Ends when the failed load is at most this many times the sustained one. */
  readonly near: number
  /** Called before each further try. */
  readonly mayGoOn: () => boolean
}

/** Null: no load was sustained, or none failed. */
export type Found = { readonly held: number | null; readonly notHeld: number | null }

/** Doubles while sustained, halves while not, then narrows the gap in equal ratios. */
export async function mostHeld({ held, first, least, near, mayGoOn }: Search): Promise<Found> {
  const found: { held: number | null; notHeld: number | null } = { held: null, notHeld: null }
  let wards: number | null = first
  do {
    if (await held(wards)) found.held = wards
    else found.notHeld = wards
    wards = next(found, near)
  } while (wards !== null && wards >= least && mayGoOn())
  return found
}

function next({ held, notHeld }: Found, near: number): number | null {
  if (held === null) return notHeld === null ? null : Math.floor(notHeld / 2)
  if (notHeld === null) return held * 2
  const between = Math.round(Math.sqrt(held * notHeld))
  return notHeld / held <= near || between === held || between === notHeld ? null : between
}
