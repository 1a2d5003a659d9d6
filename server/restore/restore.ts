/**
 * Replaces the database by a copy of a backup. The backup is verified first. The old database is only renamed, with a
 * date. After a failure it is complete under its old or its dated name.
 */
import { chmodSync, chownSync, copyFileSync, existsSync, readdirSync, readlinkSync, rmSync, statSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import {
  clearPartsOf,
  createEmpty,
  giveSecondName,
  isFolder,
  partOf,
  place,
  removePart,
  replace,
  sync,
} from '../store/files.ts'
import { askForRebuild, holdAlone, inspectCopy, partsOf, type CopyDifference, type CopyFacts } from '../store/backup.ts'
import { refusalOf, StoreError } from '../store/errors.ts'
import { readHead, writeHead } from '../store/head.ts'
import { knownSchema } from '../store/migrate.ts'
import { openStore } from '../store/open.ts'
import { verifyStore, type Verified } from '../store/verify.ts'

export type RestoreRequest = {
  readonly backupFile: string
  readonly databaseFile: string
  readonly headFile: string
  /** now, UTC milliseconds: for the name of the file that is set aside */
  readonly nowMs: number
}

export type Restored = Pick<CopyFacts, 'schema' | 'head'> & {
  /** Where the old database is now. Null: there was none. */
  readonly setAside: string | null
  /** How its record differs from the restored one. Null: there was none, or it cannot be read. */
  readonly difference: CopyDifference | null
  /** Rows counted in the separate head file, if there is no database to compare. Null: there was no head file. */
  readonly rowsKnownOutside: number | null
  /** Tables that differ from the record. The next start rebuilds them. */
  readonly tables: readonly string[]
  readonly doses: readonly string[]
}

export type RestoreRefusal =
  | 'no-backup'
  | 'same-file'
  | 'log-beside'
  | 'no-folder'
  | 'in-use'
  | 'maybe-in-use'
  | 'backup-faulty'
  | 'does-not-apply'
  | 'store-fault'

/** Restores, or refuses and changes nothing. The service must be stopped. */
export function restoreBackup(request: RestoreRequest): Outcome<Restored, RestoreRefusal> {
  const { backupFile, databaseFile, headFile } = request
  if (!existsSync(backupFile) || isFolder(backupFile)) return refuse('no-backup', { file: backupFile })
  if (isSameFile(backupFile, databaseFile)) return refuse('same-file')
  if (existsSync(`${backupFile}-wal`) && statSync(`${backupFile}-wal`).size > 0)
    return refuse('log-beside', { file: backupFile })
  for (const folder of [dirname(databaseFile), dirname(headFile)])
    if (!isFolder(folder)) return refuse('no-folder', { folder })
  const part = partOf(databaseFile)
  try {
    for (const made of [databaseFile, scratchOf(databaseFile), `${databaseFile}-wal`]) clearPartsOf(made)
    // verify and use a copy, so that the backup itself stays unchanged
    createEmpty(part)
    copyFileSync(backupFile, part)
    sync(part)
    const inspected = inspect(part, request)
    return inspected.ok ? putInPlace(part, inspected.value, request) : inspected
  } catch (error) {
    const refusal = refusalOf(error, databaseFile)
    if (refusal instanceof StoreError) return refuse('store-fault', { sentence: refusal.message })
    throw error
  } finally {
    removePart(part)
  }
}

type InspectedCopy = {
  readonly facts: CopyFacts
  readonly tables: readonly string[]
  readonly doses: readonly string[]
}

/**
 * Verifies the copy, by itself and as this program's. For an older schema the latter uses a scratch copy that is
 * upgraded.
 */
function inspect(part: string, { backupFile, databaseFile }: RestoreRequest): Outcome<InspectedCopy, RestoreRefusal> {
  const facts = inspectCopy(part, null)
  if (facts.faults.length > 0) return refuse('backup-faulty', { file: backupFile, faults: facts.faults.join('\n') })
  const found =
    facts.schema === knownSchema()
      ? verifyStore({ file: part, headFile: null })
      : upgradedReport(part, partOf(scratchOf(databaseFile)))
  const { record, tables, doses } = partsOf(found)
  return record.length > 0
    ? refuse('does-not-apply', { file: backupFile, faults: record.join('\n') })
    : accept({ facts, tables, doses })
}

function scratchOf(databaseFile: string): string {
  return `${databaseFile}.upgraded`
}

/**
 * The report on an upgraded scratch copy. A record that cannot be applied is a finding, not an error of the program.
 */
function upgradedReport(part: string, scratch: string): readonly Verified[] {
  try {
    copyFileSync(part, scratch)
    openStore({ file: scratch, keepBeforeUpgrade: false }).close()
    return verifyStore({ file: scratch, headFile: null })
  } catch (error) {
    const refusal = refusalOf(error, scratch)
    if (refusal instanceof StoreError) throw refusal
    return [{ what: 'rebuild', checked: 0, differences: [error instanceof Error ? error.message : String(error)] }]
  } finally {
    removePart(scratch)
  }
}

function putInPlace(
  part: string,
  { facts, tables, doses }: InspectedCopy,
  { databaseFile, headFile, nowMs }: RestoreRequest,
): Outcome<Restored, RestoreRefusal> {
  const there = existsSync(databaseFile)
  // checking whether the old database is in use makes SQLite delete a log that it cannot read
  const [log, keptLog] = [`${databaseFile}-wal`, partOf(`${databaseFile}-wal`)]
  if (existsSync(log)) copyFileSync(log, keptLog)
  const held = there ? holdAlone(databaseFile) : null
  const suffix = `set-aside-${new Date(nowMs).toISOString().replace(/[-:.]/g, '')}`
  const isLogKept = held === null || held === 'unreadable'
  let half = false
  try {
    if (held === 'in-use') return refuse('in-use', { file: databaseFile })
    if (held === 'unreadable' && isOpenSomewhere(databaseFile)) return refuse('maybe-in-use', { file: databaseFile })
    const difference = held === null || held === 'unreadable' ? null : held.differenceFrom(part)
    const rowsKnownOutside = rowsOf(headFile)
    if (tables.length > 0) askForRebuild(part)
    sameOwner(part, there ? databaseFile : dirname(databaseFile), there)
    sync(part)
    half = true
    // second names first: from here on the old database is complete under its dated name, whatever happens
    for (const file of [databaseFile, headFile]) if (existsSync(file)) giveSecondName(file, `${file}.${suffix}`)
    // the log of a readable database was merged into its file
    if (isLogKept && existsSync(keptLog)) giveSecondName(keptLog, `${databaseFile}.${suffix}-wal`)
    for (const folder of new Set([dirname(databaseFile), dirname(headFile)])) sync(folder)
    // SQLite would use a log left beside a new database
    for (const one of [log, `${databaseFile}-shm`]) rmSync(one, { force: true })
    writeHead(headFile, facts.head)
    if (existsSync(`${headFile}.${suffix}`)) sameOwner(headFile, `${headFile}.${suffix}`, true)
    sync(dirname(headFile))
    replaceOrPlace(part, databaseFile, there)
    half = false
    return accept({
      schema: facts.schema,
      head: facts.head,
      setAside: there ? `${databaseFile}.${suffix}` : null,
      difference,
      rowsKnownOutside,
      tables,
      doses,
    })
  } finally {
    if (half) putBack({ databaseFile, headFile, suffix, keptLog: isLogKept ? keptLog : null })
    removePart(keptLog)
    if (held !== null && typeof held !== 'string') held.release()
  }
}

function replaceOrPlace(part: string, databaseFile: string, there: boolean): void {
  if (there) replace(part, databaseFile)
  // a service started in the meantime has created its own
  else place(part, databaseFile)
}

/**
 * The database was not replaced. Restores its log and head, and removes the second names, which refer to the same
 * files.
 */
function putBack({
  databaseFile,
  headFile,
  suffix,
  keptLog,
}: {
  readonly databaseFile: string
  readonly headFile: string
  readonly suffix: string
  readonly keptLog: string | null
}): void {
  if (keptLog !== null && existsSync(keptLog) && !existsSync(`${databaseFile}-wal`))
    giveSecondName(keptLog, `${databaseFile}-wal`)
  rmSync(`${databaseFile}.${suffix}-wal`, { force: true })
  if (existsSync(`${headFile}.${suffix}`)) {
    replace(`${headFile}.${suffix}`, headFile)
    // when both names are of one file, renaming does nothing
    rmSync(`${headFile}.${suffix}`, { force: true })
  }
  if (
    existsSync(`${databaseFile}.${suffix}`) &&
    existsSync(databaseFile) &&
    isSameFile(`${databaseFile}.${suffix}`, databaseFile)
  )
    rmSync(`${databaseFile}.${suffix}`)
}

/** The service must be able to open the new file, whoever runs the restore. */
function sameOwner(file: string, like: string, andMode: boolean): void {
  const { uid, gid, mode } = statSync(like)
  const mine = statSync(file)
  if (mine.uid !== uid || mine.gid !== gid) chownSync(file, uid, gid)
  if (andMode) chmodSync(file, mode & 0o777)
}

/** A head that cannot be read gives null. It is set aside unchanged. */
function rowsOf(headFile: string): number | null {
  try {
    return readHead(headFile)?.count ?? null
  } catch {
    return null
  }
}

function isSameFile(one: string, other: string): boolean {
  if (!existsSync(other)) return resolve(one) === resolve(other)
  const [a, b] = [statSync(one), statSync(other)]
  return a.dev === b.dev && a.ino === b.ino
}

/**
 * Whether any process visible to this one has the file open: a file that is not a database takes no database lock.
 * Works on Linux only; elsewhere it finds nothing.
 */
function isOpenSomewhere(file: string): boolean {
  const { dev, ino } = statSync(file)
  const opened = (link: string): boolean => {
    try {
      if (!readlinkSync(link).startsWith('/')) return false
      const found = statSync(link)
      return found.dev === dev && found.ino === ino
    } catch {
      return false
    }
  }
  const list = (folder: string): readonly string[] => {
    try {
      return readdirSync(folder)
    } catch {
      return []
    }
  }
  return list('/proc')
    .filter((name) => /^\d+$/.test(name))
    .some((pid) => list(join('/proc', pid, 'fd')).some((fd) => opened(join('/proc', pid, 'fd', fd))))
}
