/** Where to inject next. */
import type { RestrictedHand } from '../stay/stay.ts'
import type { InjectionSite } from './dose.ts'

/** Abdomen, thigh, upper arm, buttock on either side (R/M, marks: tests/standards/README.md), in the order offered. */
export const INJECTION_SITES: readonly InjectionSite[] = [
  { area: 'abdomen', side: 'left' },
  { area: 'abdomen', side: 'right' },
  { area: 'thigh', side: 'left' },
  { area: 'thigh', side: 'right' },
  { area: 'upper-arm', side: 'left' },
  { area: 'upper-arm', side: 'right' },
  { area: 'buttock', side: 'left' },
  { area: 'buttock', side: 'right' },
]

export type InjectionSuggestion = { readonly site: InjectionSite; readonly reason: 'never-used' | 'least-recent' }

export function sameInjectionSite(a: InjectionSite, b: InjectionSite): boolean {
  return a.area === b.area && a.side === b.side
}

/**
 * Never the last site used, the one used longest ago first; sites never used come first, in the order above.
 * `history` is newest first. The upper arm on the side of a restricted hand is left out (a drip, a fistula, lymph node
 * surgery; common practice). There is always a site: six of eight are never restricted.
 */
export function suggestInjectionSite(
  history: readonly InjectionSite[],
  restrictedHands: readonly RestrictedHand[],
): InjectionSuggestion {
  const last = history[0]
  const lastUse = (site: InjectionSite): number => {
    const at = history.findIndex((used) => sameInjectionSite(used, site))
    return at === -1 ? Number.POSITIVE_INFINITY : at
  }
  const [best] = INJECTION_SITES.filter((site) => !(last !== undefined && sameInjectionSite(site, last)))
    .filter((site) => site.area !== 'upper-arm' || !restrictedHands.some((restricted) => restricted.hand === site.side))
    .map((site) => ({ site, lastUse: lastUse(site) }))
    .sort((a, b) => (a.lastUse === b.lastUse ? 0 : b.lastUse - a.lastUse))
  if (best === undefined) throw new Error('no injection site left')
  return { site: best.site, reason: best.lastUse === Number.POSITIVE_INFINITY ? 'never-used' : 'least-recent' }
}
