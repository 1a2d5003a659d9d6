/**
 * Ketones in a patient who depends on insulin: asked above the ward's limit, charted by blood, urine or "no strip", with
 * what the result asks for. Nothing here delays due insulin, and none of it adds insulin: that is the prescriber's.
 */
import { isAbove } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { isInsulinDependent, type Stay } from '../stay/stay.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { entriesOf, type EntryOf, type KetonesRead, type UrineBand } from './entries.ts'
import type { CareFacts } from './facts.ts'
import type { Task } from './task.ts'

export type KetoneLevel = 'none' | 'again' | 'prescriber' | 'emergency'

/**
 * What the result asks for. Blood, mmol/L: below 0.6 nothing; 0.6 to 1.4 again in 2 h; 1.5 to 2.9 the prescriber now and
 * again in 2 h (NHS Scotland ward page; R); 3.0 and more an emergency (five-society report, Diabetes Care 47:1257; S).
 * Urine bands beside them (same page; R). No strip: the prescriber.
 */
export function ketoneLevel(read: KetonesRead): KetoneLevel {
  if (read.by === 'no-strip') return 'prescriber'
  if (read.by === 'urine')
    return ({ negative: 'none', small: 'again', moderate: 'prescriber', large: 'emergency' } as const)[read.band]
  if (read.tenths < 6) return 'none'
  if (read.tenths < 15) return 'again'
  return read.tenths < 30 ? 'prescriber' : 'emergency'
}

/** A result stands for four hours when it asks for nothing and the patient is well (the ward's own figure). */
const STANDS_MS = 4 * HOUR_MS
const AGAIN_MS = 2 * HOUR_MS

/** The tasks from the newest value above the limit, and from the newest result. */
export function ketoneTasks(facts: CareFacts): readonly Task[] {
  const { stay, entries, policy } = facts
  const [last] = [...entriesOf(entries, 'ketones')].sort((a, b) => b.atMs - a.atMs)
  const task = (kind: Task['kind'], subjectId: string, sinceMs: number, withinMin: number): Task => ({
    kind,
    key: `${kind}.${subjectId}`,
    stayId: stay.stayId,
    subjectId,
    detail: null,
    sinceMs,
    dueMs: sinceMs + withinMin * MINUTE_MS,
    chargeFromMs: sinceMs + 2 * withinMin * MINUTE_MS,
  })
  return [
    ...asked(facts, last, task),
    ...(last === undefined ? [] : resulting(last, policy.ketones.againWithinMin, task)),
  ]
}

type Make = (kind: Task['kind'], subjectId: string, sinceMs: number, withinMin: number) => Task

function asked(
  { stay, readings, policy }: CareFacts,
  last: EntryOf<'ketones'> | undefined,
  task: Make,
): readonly Task[] {
  const [newest] = readings
  if (newest === undefined || !isInsulinDependent(stay.facts)) return []
  const isHigh = newest.glucose.value === 'HI' || isAbove(newest.glucose, policy.limits.ketonesAbove)
  if (!isHigh) return []
  const isMeasured = last !== undefined && last.atMs >= newest.takenAtMs
  const stands =
    last !== undefined &&
    ketoneLevel(last.fact.read) === 'none' &&
    last.fact.well &&
    newest.takenAtMs < last.atMs + STANDS_MS
  return isMeasured || stands
    ? []
    : [task('ketones-due', newest.readingId, newest.takenAtMs, policy.ketones.measuredWithinMin)]
}

function resulting({ entryId, atMs, fact }: EntryOf<'ketones'>, withinMin: number, task: Make): readonly Task[] {
  const level = ketoneLevel(fact.read)
  const again = fact.read.by === 'no-strip' ? [] : [task('ketones-again', entryId, atMs + AGAIN_MS, withinMin)]
  switch (level) {
    case 'none':
      return []
    case 'again':
      return again
    case 'prescriber':
      return [task('ketones-call', entryId, atMs, 15), ...again]
    case 'emergency':
      return [task('ketones-emergency', entryId, atMs, 5), ...again]
  }
}

export type KetonesRefusal =
  'ketones-not-chosen' | 'ketones-not-a-value' | 'ketones-no-band' | 'ketones-in-future' | 'ketones-stay-discharged'

/** Blood ketones as the meter shows them: 0.0 to 8.0 mmol/L and one decimal (common range of a ketone meter). */
export function ketoneTenths(typed: string): number | null {
  const tenths = /^\d{1,2}\.\d$/.test(typed) ? Math.round(Number(typed) * 10) : null
  return tenths === null || tenths > 200 ? null : tenths
}

/** Charts the result. `well`: the patient looks well. */
export function chartKetones(
  entry: {
    readonly entryId: string
    readonly by: KetonesRead['by'] | null
    readonly blood: string
    readonly band: UrineBand | null
    readonly well: boolean
    readonly atMs: number
    readonly byId: string
  },
  { stay, nowMs }: { readonly stay: Stay; readonly nowMs: number },
): Outcome<LedgerEvent[], KetonesRefusal> {
  if (stay.dischargedAtMs !== null) return refuse('ketones-stay-discharged')
  if (entry.atMs > nowMs) return refuse('ketones-in-future')
  const read = readOf(entry)
  if (!read.ok) return read
  const { entryId, well } = entry
  return accept([
    {
      ...eventHead(stay, entry.byId, nowMs, entry.atMs),
      type: 'entry-charted',
      body: { entryId, kind: 'ketones', fact: { read: read.value, well } },
    },
  ])
}

function readOf({
  by,
  blood,
  band,
}: Parameters<typeof chartKetones>[0]): Outcome<
  KetonesRead,
  'ketones-not-chosen' | 'ketones-not-a-value' | 'ketones-no-band'
> {
  if (by === null) return refuse('ketones-not-chosen')
  if (by === 'no-strip') return accept({ by })
  if (by === 'urine') return band === null ? refuse('ketones-no-band') : accept({ by, band })
  const tenths = ketoneTenths(blood)
  return tenths === null ? refuse('ketones-not-a-value') : accept({ by, tenths })
}
