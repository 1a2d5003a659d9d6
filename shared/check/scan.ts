/** What to show for a wristband scanned on the Round. */
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { Check, CheckState } from './check.ts'

export type ScanRefusal = 'wristband-missing' | 'wristband-of-other-ward' | 'wristband-not-on-ward'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'wristband-of-other-ward': { bed: string; ward: string }
  }
}

/** The check to show, or null. Without one, an extra check is offered and the next planned check named. */
export type ScanAnswer = {
  readonly stayId: string
  readonly checkKey: string | null
  readonly nextDueMs: number | null
}

export type ScanFacts = {
  /** The stay on this ward with this wristband. Null: none. */
  readonly stayId: string | null
  /** The ward and bed where the wristband is in use instead, if this person may see that ward. */
  readonly elsewhere: { readonly bed: string; readonly ward: string } | null
  /** All current checks of that stay with their states, including rechecks. */
  readonly checks: readonly { readonly check: Check; readonly state: CheckState }[]
}

/**
 * Chooses a recheck first, because after a low the current value is most urgent. Then come late and open checks, the
 * longest due first. A wristband of another ward is refused; the answer names only its bed.
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
