/** Symptoms with a value that is not low: treated with a snack, and no low event (UK practice, at 4.0 mmol/L and above). */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { lowLevel } from './level.ts'
import { MINUTE_MS } from '../time/span.ts'

export type SymptomsRefusal =
  | 'symptoms-stay-discharged'
  | 'symptoms-not-measured'
  | 'symptoms-value-low'
  | 'symptoms-missing'
  | 'symptoms-what-missing'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'symptoms-not-measured': { minutes: number }
  }
}

/**
 * Charts symptoms and what was given for them. The value comes first: a reading of the policy's recheck minutes (15) or
 * less before, and when the newest one is low the low protocol applies instead.
 */
export function treatSymptoms(
  entry: { readonly symptomsId: string; readonly symptoms: string; readonly what: string; readonly byId: string },
  facts: {
    readonly stay: { readonly stayId: string; readonly wardId: string; readonly dischargedAtMs: number | null }
    readonly readings: readonly Reading[]
    readonly policy: WardPolicy
    readonly nowMs: number
  },
): Outcome<LedgerEvent[], SymptomsRefusal> {
  const { stay, policy, nowMs } = facts
  if (stay.dischargedAtMs !== null) return refuse('symptoms-stay-discharged')
  const newest = facts.readings
    .filter((reading) => isEffective(reading) && reading.takenAtMs <= nowMs)
    .sort((a, b) => b.takenAtMs - a.takenAtMs || b.chartedAtMs - a.chartedAtMs)[0]
  if (newest === undefined || nowMs - newest.takenAtMs > policy.low.recheckMin * MINUTE_MS)
    return refuse('symptoms-not-measured', { minutes: policy.low.recheckMin })
  if (lowLevel(newest.glucose, policy) !== null) return refuse('symptoms-value-low')
  const [symptoms, what] = [entry.symptoms.trim(), entry.what.trim()]
  if (symptoms === '') return refuse('symptoms-missing')
  if (what === '') return refuse('symptoms-what-missing')
  return accept([
    {
      ...eventHead(stay, entry.byId, nowMs),
      type: 'symptoms-treated',
      body: { symptomsId: entry.symptomsId, symptoms, what, readingId: newest.readingId },
    },
  ])
}
