/** One turn of the scheduled backups, whole: looks whether one is owed, makes it, deletes the oldest. Runs in a process of its own. */
import { statSync } from 'node:fs'
import { join } from 'node:path'
import { BACKUP_SENTENCES } from '../../views/words/backup.ts'
import { firstHashOf } from '../store/backup.ts'
import { clearParts, isFolder } from '../store/files.ts'
import { backupsIn, deleteOldest, nameOf, newestOf, timeOfName, type Kept } from './folder.ts'
import { makeBackup, refusalFrom } from './make.ts'
import { sentenceOf } from '../../shared/outcome.ts'

export type ScheduledBackupInput = {
  readonly databaseFile: string
  readonly folder: string
  readonly keep: number
  /** now, UTC milliseconds */
  readonly nowMs: number
  /** A backup younger than this many milliseconds is enough; 0: one is made whatever there is. */
  readonly enoughMs: number
}

/** What a turn saw in the folder. */
export type BackupFolderState = {
  /** The newest backup and its age in milliseconds; null when there is none. */
  readonly newest: { readonly atMs: number; readonly ageMs: number } | null
  readonly kept: number
  /** True when the folder is on the database's own disk. */
  readonly sameDisk: boolean
  /** True: the record is empty, and there is nothing to keep yet. */
  readonly nothingYet: boolean
}

export type ScheduledBackupResult = {
  /** A sentence for the administrator when something failed; null when all is well. */
  readonly failure: string | null
  readonly made: boolean
  /** Null when the folder could not be looked into. */
  readonly seen: BackupFolderState | null
}

/** Does a turn and never throws for what a disk or a database may do: that is the failure it tells of. */
export function runScheduledBackup({
  databaseFile,
  folder,
  keep,
  nowMs,
  enoughMs,
}: ScheduledBackupInput): ScheduledBackupResult {
  let seen: BackupFolderState | null = null
  const see = (kept: readonly Kept[], sameDisk: boolean): BackupFolderState => {
    const newest = newestOf(kept, nowMs)
    return {
      newest: newest === null ? null : { atMs: newest.atMs, ageMs: Math.max(0, nowMs - newest.atMs) },
      kept: kept.length,
      sameDisk,
      nothingYet: false,
    }
  }
  try {
    if (!isFolder(folder)) return { failure: BACKUP_SENTENCES['no-folder']({ folder }), made: false, seen }
    const sameDisk = statSync(folder).dev === statSync(databaseFile).dev
    const firstHash = firstHashOf(databaseFile)
    if (firstHash === null)
      return { failure: null, made: false, seen: { newest: null, kept: 0, sameDisk, nothingYet: true } }
    clearParts(folder, (name) => timeOfName(firstHash, name) !== null)
    const before = backupsIn(folder, firstHash, nowMs)
    seen = see(before, sameDisk)
    if (seen.newest !== null && seen.newest.ageMs < enoughMs) return { failure: null, made: false, seen }
    const name = nameOf(firstHash, nowMs)
    const made = makeBackup({ databaseFile, file: join(folder, name), thorough: false })
    if (!made.ok) return { failure: sentenceOf(BACKUP_SENTENCES, made), made: false, seen }
    const kept = [...before, { name, atMs: nowMs }]
    seen = see(kept, sameDisk)
    return { failure: null, made: true, seen: see(deleteOldest(folder, kept, keep, name), sameDisk) }
  } catch (error) {
    return { failure: sentenceOf(BACKUP_SENTENCES, refusalFrom(error, folder)), made: false, seen }
  }
}
