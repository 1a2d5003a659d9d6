/** Recalculates a stored dose from its stored inputs. The verify command uses it, possibly years later. */
import type { Dose, Working } from '../dose/dose.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import type { OrderVersion } from './order.ts'
import { proposeDose, type DoseFacts } from './propose.ts'

export type RecomputeFacts = {
  /** The order version named in the working. Undefined: not found (valid only for a direction without an order). */
  readonly order: OrderVersion | undefined
  /** The policy version named in the working. */
  readonly policy: WardPolicy
  /** The reading named in the working. Undefined: none is named. */
  readonly reading: Reading | undefined
}

/**
 * The recalculated units, or the first difference from the stored dose as text for the command's report. Inputs that
 * order and reading can still confirm are checked. The others are taken from the dose.
 */
export function recomputeDose(
  dose: Dose,
  given: RecomputeFacts,
): { readonly units: number } | { readonly difference: string } {
  const { working, inputs } = dose
  const needsOrder = dose.kind !== 'by-direction' || working.orderVersion > 0
  if (needsOrder && given.order === undefined)
    return { difference: `order ${working.orderId} version ${String(working.orderVersion)} is not there` }
  if (
    given.order !== undefined &&
    (given.order.orderId !== working.orderId || given.order.version !== working.orderVersion)
  )
    return { difference: 'another order version than the working names' }
  if (working.readingId !== null && given.reading?.readingId !== working.readingId)
    return { difference: `reading ${working.readingId} is not there` }
  const reading = working.readingId === null ? null : (given.reading ?? null)
  const stale = staleInput(dose, given.order, reading)
  if (stale !== null) return { difference: stale }
  const facts: DoseFacts = {
    order: given.order ?? null,
    insulin: dose.insulin,
    policy: given.policy,
    policyVersion: working.policyVersion,
    reading,
    inputs,
  }
  const proposal = proposeDose(facts, working.rules)
  if (proposal.kind === 'stopped')
    return {
      difference: `now stopped by ${proposal.guards
        .filter((guard) => guard.outcome === 'stops')
        .map((guard) => guard.guard)
        .join(', ')}`,
    }
  const different = differentPart(working, proposal.working)
  if (different !== null) return { difference: different }
  if (dose.units !== proposal.working.units)
    return { difference: `stored ${String(dose.units)} units, worked out ${String(proposal.working.units)}` }
  return { units: proposal.working.units }
}

/** Describes stored inputs that contradict the facts. */
function staleInput(dose: Dose, order: OrderVersion | undefined, reading: Reading | null): string | null {
  const { inputs } = dose
  if (dose.kind !== 'by-direction' && order !== undefined) {
    if (dose.insulin !== order.order.insulin) return 'another insulin than the order names'
    if (order.verified === null || order.verified.atMs > inputs.nowMs) return 'the order was not verified at that time'
    if (order.order.startsAtMs > inputs.nowMs || (order.endedAtMs !== null && order.endedAtMs < inputs.nowMs))
      return 'the order was not in force at that time'
  }
  if (reading !== null && inputs.readingTakenAtMs !== reading.takenAtMs) return 'the reading was taken at another time'
  return null
}

const PARTS_COMPARED: readonly (keyof Working)[] = [
  'glucose',
  'occasion',
  'terms',
  'sum',
  'rounding',
  'units',
  'guards',
  'also',
]

function differentPart(stored: Working, again: Working): string | null {
  if (stored.rules !== again.rules) return `worked out by rules ${String(stored.rules)}`
  const part = PARTS_COMPARED.find((name) => canonical(stored[name]) !== canonical(again[name]))
  return part === undefined ? null : `${part}: stored ${canonical(stored[part])}, worked out ${canonical(again[part])}`
}

/** JSON with sorted keys. The ledger keeps events in canonical order, the rules in the order of writing. */
function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`
  if (value !== null && typeof value === 'object') {
    const entries = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1))
    return `{${entries.map(([name, entry]) => `${JSON.stringify(name)}:${canonical(entry)}`).join(',')}}`
  }
  return JSON.stringify(value) ?? 'null'
}
