/**
 * The version of the rules that make a dose. A dose keeps the version that it was calculated with, and is recalculated
 * with the same one years later.
 * - 1: until November 2026.
 * - 2: "no dose, call" with a hold for a patient who does not eat is 0 units; limits by class of insulin; the age of the
 *   reading with time left to give it; lows and sums for directions.
 * - 3: basal insulin once in its interval, from whatever door; scheduled rapid and regular insulin with a reading, food
 *   and tray; NPH and long-acting insulin up to the ward's hours late.
 */
export type RulesVersion = 1 | 2 | 3

export const CURRENT_RULES: RulesVersion = 3
