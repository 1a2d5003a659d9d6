/**
 * "No dose, call the prescriber": an open call with a clock until it and its answer are charted, however long ago the
 * check closed. A repeat that the order prints becomes a check.
 */
import { DAY_MS, MINUTE_MS } from '../time/span.ts'
import { entriesOf, type EntryOf } from './entries.ts'
import type { CareFacts } from './facts.ts'
import type { Task } from './task.ts'
import type { WatchTime } from './watch-time.ts'

/**
 * One open call a patient, from the earliest value since the last call: telling the prescriber covers every value before
 * it. Due within the ward's minutes (30, the ward's own setting), then the charge nurse's.
 */
export function noDoseCallTasks({ stay, entries, policy, readings }: CareFacts, nowMs: number): readonly Task[] {
  const told = new Set(
    entriesOf(entries, 'task-settled')
      .filter(({ fact }) => fact.taskKey.startsWith(`${KIND}.`))
      .map(({ chartedAtMs }) => chartedAtMs),
  )
  const lastToldMs = Math.max(-Infinity, ...told)
  const effective = new Set(readings.map(({ readingId }) => readingId))
  // a value corrected or entered in error asks for nothing; older ones than the readings loaded are not looked up
  const counts = ({ atMs, fact }: EntryOf<typeof KIND>): boolean =>
    atMs < nowMs - DAY_MS || effective.has(fact.readingId)
  const owed = entriesOf(entries, KIND).find((entry) => entry.chartedAtMs > lastToldMs && counts(entry))
  if (owed === undefined) return []
  const dueMs = owed.atMs + policy.dose.noDoseCallMin * MINUTE_MS
  return [
    {
      kind: KIND,
      key: `${KIND}.${owed.entryId}`,
      stayId: stay.stayId,
      subjectId: owed.fact.readingId,
      detail: null,
      sinceMs: owed.atMs,
      dueMs,
      chargeFromMs: dueMs,
    },
  ]
}

/** The check that each printed repeat asks for: that many minutes after the value. */
export function repeatsOfCalls({ entries }: CareFacts): readonly WatchTime[] {
  return entriesOf(entries, KIND).flatMap(({ entryId, atMs, fact: { repeatInMin } }) =>
    repeatInMin === null
      ? []
      : [{ id: `${entryId}r`, dueMs: atMs + repeatInMin * MINUTE_MS, reason: 'call-repeat' as const }],
  )
}

const KIND = 'no-dose-call'
