/** What a wristband scanned on the Round leads to. */
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { Check, CheckState } from './check.ts'

export type ScanRefusal = 'wristband-missing' | 'wristband-of-other-ward' | 'wristband-not-on-ward'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'wristband-of-other-ward': { bed: string; ward: string }
  }
}

/** The check to draw, or none: then an extra check is offered, with the next planned one named. */
export type ScanAnswer = {
  readonly stayId: string
  readonly checkKey: string | null
  readonly nextDueMs: number | null
}

export type ScanFacts = {
  /** The stay on this ward that wears the wristband; null when none does. */
  readonly stayId: string | null
  /** Where it is worn instead, on a ward that this person may see. */
  readonly elsewhere: { readonly bed: string; readonly ward: string } | null
  /** All checks of that stay around now, rechecks included, each with its state. */
  readonly checks: readonly { readonly check: Check; readonly state: CheckState }[]
}

/**
 * A recheck comes first, whatever else is open: after a low nothing is more urgent than knowing the value now. Then the
 * late and open ones, the longest due first. A wristband of another ward is refused and named by its bed only.
 */
export function decideScan(facts: ScanFacts): Outcome<ScanAnswer, ScanRefusal> {
  if (facts.stayId === null) {
    return facts.elsewhere === null
      ? refuse('wristband-not-on-ward')
      : refuse('wristband-of-other-ward', { bed: facts.elsewhere.bed, ward: facts.elsewhere.ward })
  }
  const waiting = facts.checks
    .filter(({ state }) => state === 'open' || state === 'late')
    .map(({ check }) => check)
    .sort((a, b) => Number(b.kind === 'recheck') - Number(a.kind === 'recheck') || a.dueMs - b.dueMs)
  const upcoming = facts.checks.filter(({ state }) => state === 'upcoming').map(({ check }) => check.dueMs)
  return accept({
    stayId: facts.stayId,
    checkKey: waiting[0]?.key ?? null,
    nextDueMs: upcoming.length === 0 ? null : Math.min(...upcoming),
  })
}
