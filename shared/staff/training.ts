/** Training on the ward's meters. It never keeps anybody from charting: a value that is not charted helps nobody. */
import { addDays } from '../time/zone.ts'

/** Days before its end in which a training is shown as ending soon: time to book the next one (common practice). */
export const TRAINING_ENDS_SOON_DAYS = 30

/**
 * The furthest end that is taken, in days from today. Competency on point-of-care meters is assessed again each year
 * (42 CFR 493.1413(b)(9), M), in many hospitals every second year (common practice); a date beyond three years is a
 * slip of the finger.
 */
export const TRAINING_MOST_DAYS = 3 * 366

export type TrainingState = 'not-known' | 'valid' | 'ends-soon' | 'ended'

/** Where the training stands on the ward-local date `today` (YYYY-MM-DD). The last day counts as trained. */
export function trainingState(until: string | null, today: string): TrainingState {
  if (until === null) return 'not-known'
  if (until < today) return 'ended'
  return until <= addDays(today, TRAINING_ENDS_SOON_DAYS) ? 'ends-soon' : 'valid'
}
