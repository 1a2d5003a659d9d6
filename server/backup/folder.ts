/** The folder of scheduled backups: their names, and which of them go. Only files named by this rule, of this very record, are ever touched. */
import { readdirSync, rmSync, statSync } from 'node:fs'
import { join } from 'node:path'

export type Kept = {
  readonly name: string
  /** when it was begun, by the clock of that day; UTC milliseconds */ readonly atMs: number
}

/** More than any clock drifts from one backup to the next. */
const CLOCK_SLACK_MS = 60_000

/**
 * "ward-backup-0f3a91c2-20261126T021500123Z.sqlite": the first letters of the hash of the record's first row, so that two
 * services may share a folder, and the UTC time, so that names sort by it.
 */
export function nameOf(firstHash: string, atMs: number): string {
  return `ward-backup-${firstHash.slice(0, 8)}-${new Date(atMs).toISOString().replace(/[-:.]/g, '')}.sqlite`
}

/** When the backup of this name was begun; null when the name is not one of this record's. */
export function timeOfName(firstHash: string, name: string): number | null {
  const [, of, year, month, day, hour, minute, second, ms] =
    /^ward-backup-([0-9a-f]{8})-(\d{4})(\d\d)(\d\d)T(\d\d)(\d\d)(\d\d)(\d{3})Z\.sqlite$/.exec(name) ?? []
  if (of === undefined) return null
  const atMs = Date.UTC(
    Number(year),
    Number(month) - 1,
    Number(day),
    Number(hour),
    Number(minute),
    Number(second),
    Number(ms),
  )
  // another record's is not this one's, and the thirty-first of a short month is nobody's
  return nameOf(firstHash, atMs) === name ? atMs : null
}

/** The record's backups, oldest first. A name from the future was given by a clock that was wrong, so its age is not known: it stands first. */
export function backupsIn(folder: string, firstHash: string, nowMs: number): readonly Kept[] {
  const kept = readdirSync(folder).flatMap((name) => {
    const atMs = timeOfName(firstHash, name)
    return atMs === null || !statSync(join(folder, name)).isFile() ? [] : [{ name, atMs }]
  })
  const isDated = ({ atMs }: Kept): boolean => atMs <= nowMs + CLOCK_SLACK_MS
  return kept.sort((a, b) => Number(isDated(a)) - Number(isDated(b)) || a.atMs - b.atMs)
}

/** The newest whose age is known. */
export function newestOf(kept: readonly Kept[], nowMs: number): Kept | null {
  return kept.filter(({ atMs }) => atMs <= nowMs + CLOCK_SLACK_MS).at(-1) ?? null
}

/** Deletes the oldest beyond `keep`, and never the one just made. Answers what is left, oldest first. */
export function deleteOldest(folder: string, kept: readonly Kept[], keep: number, justMade: string): readonly Kept[] {
  const others = kept.filter(({ name }) => name !== justMade)
  const going = others.slice(0, Math.max(0, others.length - (keep - 1)))
  for (const { name } of going) rmSync(join(folder, name))
  return kept.filter((one) => !going.includes(one))
}
