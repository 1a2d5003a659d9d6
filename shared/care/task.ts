/** A task: something that a person must do for a patient. */

export type TaskKind =
  | 'no-dose-call'
  | 'bedtime-snack'
  | 'elsewhere-unknown'
  | 'insulin-held'
  | 'insulin-question-left'
  | 'infusion-ended'
  | 'pump-off'
  | 'basal-not-given'
  | 'basal-not-ordered'
  | 'share-to-chart'
  | 'carbohydrate-now'
  | 'ate-too-little-call'
  | 'feed-stopped-call'
  | 'ketones-due'
  | 'ketones-again'
  | 'ketones-call'
  | 'ketones-emergency'
  | 'dose-taken-back'

export type Task = {
  readonly kind: TaskKind
  /** Names the task for ever: its kind, and what it is about. Of letters, digits, dots and hyphens. */
  readonly key: string
  readonly stayId: string
  /** The reading, dose, order, slot or entry that it is about. */
  readonly subjectId: string
  /** What its sentence says besides, as text; null: nothing. */
  readonly detail: string | null
  /** From when it shows (in); it may lie ahead. */
  readonly sinceMs: number
  /** Until when it should be done; null: at once. */
  readonly dueMs: number | null
  /** From when it is the charge nurse's; null: never. */
  readonly chargeFromMs: number | null
}
