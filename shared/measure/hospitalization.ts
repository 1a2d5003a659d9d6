/** Which encounters count, and from when to when the hospitalization around one runs. */
import { HOUR_MS } from '../time/span.ts'
import type { Encounter, MeasureFacts, MeasurePeriod } from './facts.ts'

/** Closed at both ends. */
export type Hospitalization = { readonly startMs: number; readonly endMs: number }

/** A stay that the measures look at. */
export type Qualifying = { readonly encounter: Encounter; readonly hospitalization: Hospitalization }

/** An emergency or observation encounter belongs to the stay when it ended at most this long before (CMS816, CMS871; R). */
const JOINS_WITHIN_MS = HOUR_MS
const ADULT_YEARS = 18

/**
 * Finished inpatient encounters that ended in the period, of people at least 18 years old on the date the inpatient
 * encounter itself began (not the emergency visit before it). One patient can have several.
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
 * The start of the whole: the inpatient start, moved back to the start of the last observation encounter that ended in
 * the hour before it, and then to that of the last emergency encounter that ended in the hour before that. One hop each.
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

/** Whole years from a date of birth to a date, both YYYY-MM-DD: a birthday counts from its own day on. */
export function ageOn(bornOn: string, date: string): number {
  const [birthYear, year] = [Number(bornOn.slice(0, 4)), Number(date.slice(0, 4))]
  return year - birthYear - (date.slice(5) < bornOn.slice(5) ? 1 : 0)
}

/** True when the instant lies in the hospitalization; both ends are in. */
export function isDuring({ startMs, endMs }: Hospitalization, atMs: number): boolean {
  return atMs >= startMs && atMs <= endMs
}
