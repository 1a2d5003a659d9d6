/**
 * "Was insulin given elsewhere?" is asked again after each return to the ward. Where nobody can find out, the dose waits
 * and the prescriber decides.
 */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { Stay } from '../stay/stay.ts'
import { MINUTE_MS } from '../time/span.ts'
import { entriesOf, type CameBackFrom, type StayEntry } from './entries.ts'
import type { CareFacts } from './facts.ts'
import type { Task } from './task.ts'

const KIND = 'elsewhere-unknown'

/** When the patient last came back to the ward; null: never left it. */
export function lastBackMs(entries: readonly StayEntry[]): number | null {
  return entriesOf(entries, 'came-back').reduce<number | null>((last, { atMs }) => Math.max(last ?? atMs, atMs), null)
}

/** When the prescriber was last told that nobody can find out, and decided; null: never. */
export function elsewhereDecidedMs(entries: readonly StayEntry[]): number | null {
  return entriesOf(entries, 'task-settled')
    .filter(({ fact }) => fact.taskKey.startsWith(`${KIND}.`))
    .reduce<number | null>((last, { chartedAtMs }) => Math.max(last ?? chartedAtMs, chartedAtMs), null)
}

/** The call that is owed: the prescriber within the ward's minutes for "no dose, call", then the charge nurse's. */
export function elsewhereTasks({ stay, entries, policy }: CareFacts): readonly Task[] {
  const decidedMs = elsewhereDecidedMs(entries) ?? -Infinity
  const owed = entriesOf(entries, KIND).find(({ chartedAtMs }) => chartedAtMs > decidedMs)
  if (owed === undefined) return []
  const dueMs = owed.atMs + policy.dose.noDoseCallMin * MINUTE_MS
  return [
    {
      kind: KIND,
      key: `${KIND}.${owed.entryId}`,
      stayId: stay.stayId,
      subjectId: owed.fact.orderId,
      detail: null,
      sinceMs: owed.atMs,
      dueMs,
      chargeFromMs: dueMs,
    },
  ]
}

export type CameBackRefusal = 'back-stay-discharged' | 'back-in-future' | 'back-before-admission'

/** Charts that the patient is back on the ward. `atMs` is not in the future and not before the admission. */
export function comeBack(
  entry: { readonly entryId: string; readonly from: CameBackFrom; readonly atMs: number; readonly byId: string },
  { stay, nowMs }: { readonly stay: Stay; readonly nowMs: number },
): Outcome<LedgerEvent[], CameBackRefusal> {
  const { entryId, from, atMs, byId } = entry
  if (stay.dischargedAtMs !== null) return refuse('back-stay-discharged')
  if (atMs > nowMs) return refuse('back-in-future')
  if (atMs < stay.admittedAtMs) return refuse('back-before-admission')
  return accept([
    {
      ...eventHead(stay, byId, nowMs, atMs),
      type: 'entry-charted',
      body: { entryId, kind: 'came-back', fact: { from } },
    },
  ])
}
