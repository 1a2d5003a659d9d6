/** Training on the ward's meters. Missing training never prevents charting, because an uncharted value helps nobody. */
import { addDays } from '../time/zone.ts'

/**
 * A training is shown as ending soon for this many days before its end: time to book the next one (common practice).
 */
export const TRAINING_ENDS_SOON_DAYS = 30

/**
 * The latest accepted end, in days from today. Competency on point-of-care meters is assessed again each year (42 CFR
 * 493.1413(b)(9), M), in many hospitals every second year (common practice). A date beyond three years is a typing
 * error.
 */
export const TRAINING_MOST_DAYS = 3 * 366

export type TrainingState = 'not-known' | 'valid' | 'ends-soon' | 'ended'

/** The training's state on the ward-local date `today` (YYYY-MM-DD). The last day counts as trained. */
export function trainingState(until: string | null, today: string): TrainingState {
  if (until === null) return 'not-known'
  if (until < today) return 'ended'
  return until <= addDays(today, TRAINING_ENDS_SOON_DAYS) ? 'ends-soon' : 'valid'
}
