/**
 * The folder of scheduled backups: file names, and which files to delete. It only touches files named by this rule for
 * this record.
 */
import { readdirSync, rmSync, statSync } from 'node:fs'
import { join } from 'node:path'

export type BackupFile = {
  readonly name: string
  /** when it was started, by the clock of that day; UTC milliseconds */
  readonly atMs: number
}

/** More than any clock drifts between two backups. */
const CLOCK_SLACK_MS = 60_000

/**
 * "ward-backup-0f3a91c2-20261126T021500123Z.sqlite". The first part is from the hash of the record's first row, so that
 * two services can share a folder. The second part is the UTC time, so that names sort by time.
 */
export function nameOf(firstHash: string, atMs: number): string {
  return `ward-backup-${firstHash.slice(0, 8)}-${new Date(atMs).toISOString().replace(/[-:.]/g, '')}.sqlite`
}

/** When the backup with this name was started. Null: the name is not one of this record's. */
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
  // rejects another record's name, and an invalid date such as the 31st of a short month
  return nameOf(firstHash, atMs) === name ? atMs : null
}

/**
 * The record's backups, oldest first. A time in the future came from a wrong clock, so its age is unknown and it comes
 * first.
 */
export function backupsIn(folder: string, firstHash: string, nowMs: number): readonly BackupFile[] {
  const kept = readdirSync(folder).flatMap((name) => {
    const atMs = timeOfName(firstHash, name)
    return atMs === null || !statSync(join(folder, name)).isFile() ? [] : [{ name, atMs }]
  })
  const isDated = ({ atMs }: BackupFile): boolean => atMs <= nowMs + CLOCK_SLACK_MS
  return kept.sort((a, b) => Number(isDated(a)) - Number(isDated(b)) || a.atMs - b.atMs)
}

/** The newest backup with a known age. */
export function newestOf(kept: readonly BackupFile[], nowMs: number): BackupFile | null {
  return kept.filter(({ atMs }) => atMs <= nowMs + CLOCK_SLACK_MS).at(-1) ?? null
}

/** Deletes the oldest beyond `keep`, but never the one just made. Returns what is left, oldest first. */
export function deleteOldest(
  folder: string,
  kept: readonly BackupFile[],
  keep: number,
  justMade: string,
): readonly BackupFile[] {
  const others = kept.filter(({ name }) => name !== justMade)
  const going = others.slice(0, Math.max(0, others.length - (keep - 1)))
  for (const { name } of going) rmSync(join(folder, name))
  return kept.filter((one) => !going.includes(one))
}
