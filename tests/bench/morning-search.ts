/** The search for the most that is held, in as few tries as may be: each of them takes minutes. */

export type Search = {
  /** Plays so many wards and says whether they were held. */
  readonly held: (wards: number) => Promise<boolean>
  readonly first: number
  /** Fewer than this are not tried. */
  readonly least: number
  /** It ends when what was not held is at most so many times what was. */
  readonly near: number
  /** Asked before each further try. */
  readonly mayGoOn: () => boolean
}

/** Null: nothing was held, or nothing was not. */
export type Found = { readonly held: number | null; readonly notHeld: number | null }

/** Twice as many while all is held, half as many while none is, then between the two in equal ratios. */
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
