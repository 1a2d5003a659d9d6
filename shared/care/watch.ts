/**
 * Watch checks: extra checks that a fact asks for (insulin without food, ketones, an infusion). They are derived like
 * planned ones, and only their outcomes are stored. A new reason is its word in WatchReason (watch-time.ts) and its function in SOURCES.
 */
import { bedtimeWatches } from './bedtime.ts'
import type { CareFacts } from './facts.ts'
import { foodWatches } from './food.ts'
import { repeatsOfCalls } from './no-dose-call.ts'
import { otherInsulinWatches } from './other-insulin.ts'
import { takenBackWatches } from './taken-back.ts'
import type { WatchTime } from './watch-time.ts'

/** The watch checks of one patient by one rule, from a day ago on, those that lie ahead included. */
export type WatchSource = (facts: CareFacts, nowMs: number) => readonly WatchTime[]

const SOURCES: readonly WatchSource[] = [
  repeatsOfCalls,
  bedtimeWatches,
  foodWatches,
  otherInsulinWatches,
  takenBackWatches,
]

/** Every watch check of the patient, by time. `sources`: the rules; all of them, except in tests. */
export function watchesOf(
  facts: CareFacts,
  nowMs: number,
  sources: readonly WatchSource[] = SOURCES,
): readonly WatchTime[] {
  return sources.flatMap((source) => source(facts, nowMs)).sort((a, b) => a.dueMs - b.dueMs || (a.id < b.id ? -1 : 1))
}
