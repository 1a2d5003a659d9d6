/**
 * One run of the scheduled backups: checks whether a backup is due, makes it, deletes the oldest. It runs in its own
 * process.
 */
import { statSync } from 'node:fs'
import { join } from 'node:path'
import { BACKUP_SENTENCES } from '../../views/words/backup.ts'
import { firstHashOf } from '../store/backup.ts'
import { clearParts, isFolder } from '../store/files.ts'
import { backupsIn, deleteOldest, nameOf, newestOf, timeOfName, type BackupFile } from './folder.ts'
import { makeBackup, refusalFrom } from './make.ts'
import { sentenceOf } from '../../shared/outcome.ts'

export type ScheduledBackupInput = {
  readonly databaseFile: string
  readonly folder: string
  readonly keep: number
  /** now, UTC milliseconds */
  readonly nowMs: number
  /** A backup younger than this many milliseconds is recent enough. 0: always make one. */
  readonly enoughMs: number
}

/** The state of the folder after a run. */
export type BackupFolderState = {
  /** The newest backup and its age in milliseconds. Null: there is none. */
  readonly newest: { readonly atMs: number; readonly ageMs: number } | null
  readonly kept: number
  /** True when the folder is on the database's own disk. */
  readonly sameDisk: boolean
  /** True: the record is empty, so there is nothing to back up. */
  readonly nothingYet: boolean
}

export type ScheduledBackupResult = {
  /** A sentence for the administrator when something failed. Null: no failure. */
  readonly failure: string | null
  readonly made: boolean
  /** Null: the folder could not be read. */
  readonly seen: BackupFolderState | null
}

/** Does one run. Disk and database errors are returned as `failure`, never thrown. */
export function runScheduledBackup({
  databaseFile,
  folder,
  keep,
  nowMs,
  enoughMs,
}: ScheduledBackupInput): ScheduledBackupResult {
  let seen: BackupFolderState | null = null
  const see = (kept: readonly BackupFile[], sameDisk: boolean): BackupFolderState => {
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
