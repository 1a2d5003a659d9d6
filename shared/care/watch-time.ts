/** A watch check: one extra check that a fact asks for. */

export type WatchReason =
  | 'call-repeat'
  | 'bedtime-below'
  | 'ate-too-little'
  | 'feed-stopped'
  | 'infusion'
  | 'infusion-ended'
  | 'pump'
  | 'potassium'
  | 'dose-taken-back'
  | 'reading-corrected'

/** One watch check. `id` names it within the stay for ever: 1 to 32 small letters and digits. */
export type WatchTime = { readonly id: string; readonly dueMs: number; readonly reason: WatchReason }
