/**
 * The deadlines of a critical result: its repeat, the call to the prescriber, and the laboratory value for LO and HI.
 */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import type { Charted } from '../low/low.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { confirmationOf, criticalKind, type Confirmation, type CriticalFacts, type CriticalKind } from './confirm.ts'
import { laboratoryValueFor } from './laboratory.ts'
import { MINUTE_MS } from '../time/span.ts'

/** A charted call: who was told and read it back, and what they ordered. */
export type CriticalCall = Charted & { readonly readingId: string; readonly told: string; readonly ordered: string }

export type CallRefusal = 'call-not-open' | 'call-reading-not-current' | 'call-not-read-back' | 'call-told-missing'

/**
 * Charts the call: who was told, that it was read back, and what was ordered. `isOpen`: this result waits for its call.
 * A second call for the same result, or one for a result that is not critical, is a conflict. `alsoTold`: other waiting
 * critical results of the stay reported in the same call, such as the repeat's.
 */
export function tellCritical(
  entry: { readonly told: string; readonly readBack: boolean; readonly ordered: string; readonly byId: string },
  facts: { readonly reading: Reading; readonly isOpen: boolean; readonly alsoTold?: readonly Reading[] },
  nowMs: number,
): Outcome<LedgerEvent[], CallRefusal> {
  const { reading, alsoTold = [] } = facts
  if (!isEffective(reading)) return refuse('call-reading-not-current')
  if (!facts.isOpen) return refuse('call-not-open')
  const told = entry.told.trim()
  if (told === '') return refuse('call-told-missing')
  if (!entry.readBack) return refuse('call-not-read-back')
  return accept(
    [reading, ...alsoTold].map(({ wardId, stayId, readingId }): LedgerEvent => ({
      ...eventHead({ wardId, stayId }, entry.byId, nowMs),
      type: 'critical-told',
      body: { readingId, told, readBack: true, ordered: entry.ordered.trim() },
    })),
  )
}

/** The deadline for telling the prescriber of a critical result taken at `takenAtMs`. */
export function callByMs(takenAtMs: number, policy: WardPolicy): number {
  return takenAtMs + policy.critical.callWithinMin * MINUTE_MS
}

export type CriticalClock = {
  readonly kind: CriticalKind
  readonly confirmation: Confirmation
  /** The deadline for a repeat. Null when none is needed: confirmed, a laboratory value, or a low under treatment. */
  readonly repeatByMs: number | null
  readonly call: { readonly byMs: number; readonly made: CriticalCall | null }
  /** A laboratory sample is needed: for LO and HI, and for a value that no repeat confirmed. Null: none is needed. */
  readonly laboratory: { readonly byMs: number; readonly value: Reading | null } | null
  /** The earliest deadline of what is still to be done. Null: nothing is. */
  readonly nextByMs: number | null
}

/**
 * The state of a critical result at `nowMs`; null when it is not critical. All deadlines run from the time it was
 * taken. The repeat is due within `policy.critical.repeatWithinMin` (10 min, CAP Q-Probes 2016;140:119; R). The call is
 * due within `callWithinMin` and the laboratory value within `laboratoryWithinMin` (the ward's own settings). A repeat
 * never delays the treatment of a low. Once treatment has begun the next reading is a recheck, so no repeat is needed.
 */
export function criticalClock(
  reading: Reading,
  facts: CriticalFacts & { readonly calls: readonly CriticalCall[] },
): CriticalClock | null {
  const { critical } = facts.policy
  const kind = criticalKind(reading.glucose, facts.policy)
  if (kind === null) return null
  const confirmation = confirmationOf(reading, facts) ?? 'confirmed'
  const isTreated =
    kind === 'low' && facts.lows.some((low) => low.treatments.some((treatment) => treatment.atMs >= reading.takenAtMs))
  const repeatByMs =
    confirmation === 'awaiting-repeat' && !isTreated ? reading.takenAtMs + critical.repeatWithinMin * MINUTE_MS : null
  const made =
    facts.calls.filter((call) => call.readingId === reading.readingId).sort((a, b) => a.atMs - b.atMs)[0] ?? null
  const byMs = callByMs(reading.takenAtMs, facts.policy)
  const isNumber = typeof reading.glucose.value === 'number'
  const needsLaboratory =
    reading.source !== 'venous' &&
    (!isNumber || (!isTreated && (confirmation === 'not-confirmed' || confirmation === 'outside')))
  const value = laboratoryValueFor(reading, facts.readings)
  const laboratory = needsLaboratory
    ? { byMs: reading.takenAtMs + critical.laboratoryWithinMin * MINUTE_MS, value }
    : null
  const open = [
    repeatByMs,
    made === null ? byMs : null,
    laboratory !== null && value === null ? laboratory.byMs : null,
  ].filter((ms) => ms !== null)
  return {
    kind,
    confirmation,
    repeatByMs,
    call: { byMs, made },
    laboratory,
    nextByMs: open.length === 0 ? null : Math.min(...open),
  }
}
