/** Which finger to prick next. */
import type { RestrictedHand } from '../stay/stay.ts'
import type { FingerSite } from './reading.ts'

/**
 * Why this finger: never-used: not used in the history given; least-recent: the one used longest ago;
 * no-finger-left: every finger of the policy is on a restricted hand, or only the last one used remains.
 */
export type FingerReason = 'never-used' | 'least-recent' | 'no-finger-left'
export type FingerSuggestion =
  | { readonly site: FingerSite; readonly reason: 'never-used' | 'least-recent' }
  | { readonly site: null; readonly reason: 'no-finger-left' }

export function sameFinger(a: FingerSite, b: FingerSite): boolean {
  return a.hand === b.hand && a.finger === b.finger
}

/** True when the finger is on a hand that is not to be pricked. */
export function isRestricted(site: FingerSite, restrictedHands: readonly RestrictedHand[]): boolean {
  return restrictedHands.some((restricted) => restricted.hand === site.hand)
}

/**
 * The side of one of the policy's fingers (middle and ring by default), both hands in turn: never the last finger used,
 * never on a restricted hand, the one used longest ago first (common practice).
 * `history` is newest first. Fingers never used come first, in the policy's order.
 */
export function suggestFinger(
  history: readonly FingerSite[],
  restrictedHands: readonly RestrictedHand[],
  fingers: readonly FingerSite[],
): FingerSuggestion {
  const last = history[0]
  const allowed = fingers.filter(
    (finger) => !isRestricted(finger, restrictedHands) && !(last !== undefined && sameFinger(finger, last)),
  )
  const lastUse = (finger: FingerSite): number => {
    const at = history.findIndex((used) => sameFinger(used, finger))
    return at === -1 ? Number.POSITIVE_INFINITY : at
  }
  const [best] = allowed
    .map((site) => ({ site, lastUse: lastUse(site) }))
    .sort((a, b) => (a.lastUse === b.lastUse ? 0 : b.lastUse - a.lastUse))
  if (best === undefined) return { site: null, reason: 'no-finger-left' }
  return { site: best.site, reason: best.lastUse === Number.POSITIVE_INFINITY ? 'never-used' : 'least-recent' }
}
