/** Which encounters count, and the hospitalization period around each. */
import { HOUR_MS } from '../time/span.ts'
import type { Encounter, MeasureFacts, MeasurePeriod } from './facts.ts'

/** Both ends included. */
export type Hospitalization = { readonly startMs: number; readonly endMs: number }

/** A stay that the measures consider. */
export type Qualifying = { readonly encounter: Encounter; readonly hospitalization: Hospitalization }

/** An emergency or observation encounter joins the stay when it ended at most this long before (CMS816, CMS871; R). */
const JOINS_WITHIN_MS = HOUR_MS
const ADULT_YEARS = 18

/**
 * Finished inpatient encounters that ended in the period, of patients aged 18 or over. Age counts on the date when the
 * inpatient encounter began, not the emergency visit before it. One patient can have several.
 */
export function qualifyingStays(facts: MeasureFacts, period: MeasurePeriod): readonly Qualifying[] {
  return facts.encounters.flatMap((encounter) => {
    const { endMs, endDate } = encounter
    if (encounter.kind !== 'inpatient' || !encounter.finished || endMs === null || endDate === null) return []
    if (endDate < period.from || endDate > period.to) return []
    if (ageOn(facts.bornOn, encounter.startDate) < ADULT_YEARS) return []
    return [{ encounter, hospitalization: { startMs: joinedStartMs(encounter, facts.encounters), endMs } }]
  })
}

/**
 * The start of the hospitalization. From the inpatient start it moves back to the last observation encounter that ended
 * within the hour before. From there it moves back once more, to the last emergency encounter that ended within the
 * hour before. One step each.
 */
function joinedStartMs(inpatient: Encounter, encounters: readonly Encounter[]): number {
  let startMs = inpatient.startMs
  for (const kind of ['observation', 'emergency'] as const) {
    const before = encounters.filter(
      (one) =>
        one.kind === kind &&
        one.finished &&
        one.endMs !== null &&
        one.endMs <= startMs &&
        one.endMs >= startMs - JOINS_WITHIN_MS,
    )
    const last = before.sort((a, b) => (b.endMs ?? 0) - (a.endMs ?? 0))[0]
    if (last !== undefined) startMs = last.startMs
  }
  return startMs
}

/** Whole years from a date of birth to a date, both YYYY-MM-DD. A birthday counts from that day on. */
export function ageOn(bornOn: string, date: string): number {
  const [birthYear, year] = [Number(bornOn.slice(0, 4)), Number(date.slice(0, 4))]
  return year - birthYear - (date.slice(5) < bornOn.slice(5) ? 1 : 0)
}

/** True when the instant lies in the hospitalization, both ends included. */
export function isDuring({ startMs, endMs }: Hospitalization, atMs: number): boolean {
  return atMs >= startMs && atMs <= endMs
}
