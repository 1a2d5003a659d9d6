/**
 * Copies of the database: made while the service writes, looked at before they are believed, compared with what stands
 * in their place. Nothing here writes to a database that a service uses.
 */
import Database from 'better-sqlite3'
import { statSync } from 'node:fs'
import { connect } from './connection.ts'
import { refusalOf, StoreError } from './errors.ts'
import { clearPartsOf, createEmpty, partOf, sync } from './files.ts'
import { headFault } from './head.ts'
import { ledgerOf, verifyChain, type Ledger, type LedgerHead } from './ledger.ts'
import { REBUILD_NOTE, refuseNewerSchema, schemaVersion } from './migrate.ts'
import type { Verified } from './verify.ts'

/**
 * Writes a copy of `file` into `into`, an empty file that is there already and keeps its permissions. Answers the
 * ledger's head as it stood before: the copy must reach it.
 *
 * One statement reads one snapshot, whatever is written meanwhile, and keeps the order of rows within each table (reads
 * break ties by it). A copy page by page begins again at each write of another process, so beside a busy ward it never
 * ends. Throws a StoreError with a sentence about whichever file is at fault.
 */
export function copyDatabase(file: string, into: string): LedgerHead {
  const connection = connect(file, 'read-only')
  const { raw } = connection
  try {
    // a copy of nothing would look like a backup
    if (schemaVersion(raw) === 0)
      throw new StoreError('not-a-database', `${file} is not a database of this program. Check DATABASE_FILE.`)
    const before = ledgerOf(connection).head()
    try {
      raw.prepare<[string]>('VACUUM INTO ?').run(into)
    } catch (error) {
      // damage is the original's; anything else is about the place where the copy goes
      throw refusalOf(
        error,
        error instanceof Error && 'code' in error && String(error.code).startsWith('SQLITE_CORRUPT') ? file : into,
      )
    }
    return before
  } finally {
    raw.close()
  }
}

/**
 * Writes a copy of `file` under the temporary name of `target`, waits until it is on disk, and looks through it. Throws a
 * StoreError; whoever asked removes the part (`removePart`), also then.
 */
export function copyToPart(file: string, target: string): CopyFacts {
  const part = partOf(target)
  clearPartsOf(target)
  createEmpty(part)
  const reaches = copyDatabase(file, part)
  sync(part)
  return inspectCopy(part, reaches)
}

export type CopyFacts = {
  readonly schema: number
  readonly head: LedgerHead
  readonly sizeBytes: number
  /** A sentence for each thing that is wrong with the file or its chain; none: it is whole. */
  readonly faults: readonly string[]
}

/**
 * Looks at a copy: whose it is, its schema, every page of the file, the ledger's chain from the first row, and that it
 * reaches `reaches` where that is given. Throws a StoreError when it is no database of this program, or of a newer one.
 */
export function inspectCopy(file: string, reaches: LedgerHead | null): CopyFacts {
  const connection = connect(file, 'read-only')
  const { raw } = connection
  try {
    refuseNewerSchema(raw)
    const schema = schemaVersion(raw)
    if (schema === 0) throw new StoreError('not-a-database', `${file} is not a database of this program.`)
    const whole = (raw.pragma('integrity_check') as { integrity_check: string }[])
      .map((row) => row.integrity_check)
      .filter((text) => text !== 'ok')
    const ledger = ledgerOf(connection)
    const chain = verifyChain(ledger).faults.map(({ fault }) => fault)
    const short = reaches === null ? null : headFault(ledger, reaches)
    return {
      schema,
      head: ledger.head(),
      sizeBytes: statSync(file).size,
      faults: [...whole, ...chain, ...(short === null ? [] : [short])],
    }
  } catch (error) {
    throw refusalOf(error, file)
  } finally {
    raw.close()
  }
}

/** Asks a copy that no service uses to fill its derived tables anew from the ledger when it is next opened. */
export function askForRebuild(file: string): void {
  const { raw } = connect(file)
  try {
    raw.prepare<[string]>("INSERT OR IGNORE INTO note (name, text) VALUES (?, '')").run(REBUILD_NOTE)
    leaveOneFile(raw)
  } finally {
    raw.close()
  }
}

/** How long a restore waits for a lock that another process may be about to give back, in milliseconds. */
const LOCK_WAIT_MS = 1000

/** What a report of verifyStore says of a copy. */
export type ReportParts = {
  /** The record itself cannot be relied on, or not be applied. */
  readonly record: readonly string[]
  /** Derived tables that differ from the ledger: a rebuild puts them right. */
  readonly tables: readonly string[]
  /** Doses that do not work out as they were stored. */
  readonly doses: readonly string[]
}

/** Tells apart what a rebuild mends and what it does not. */
export function partsOf(report: readonly Verified[]): ReportParts {
  const of = (kinds: readonly string[]): readonly string[] =>
    report.filter(({ what }) => kinds.includes(what)).flatMap(({ differences }) => differences)
  const record = ['database file', 'ledger rows in the chain', 'head kept outside', 'rebuild']
  const doses = ['doses worked out again']
  return {
    record: of(record),
    doses: of(doses),
    tables: report
      .filter(({ what }) => !record.includes(what) && !doses.includes(what))
      .flatMap(({ differences }) => differences),
  }
}

/** How the ledger of one database stands to the head and chain of another. */
export type CopyDifference =
  /** One chain: `more` rows after the copy's last one, charted within these instants (null when there are none). */
  | {
      readonly kind: 'one-chain'
      readonly more: number
      readonly chartedFromMs: number | null
      readonly chartedToMs: number | null
    }
  /** The chains part after row `common`; `more` rows of this database are not in the copy. */
  | { readonly kind: 'parted'; readonly common: number; readonly more: number }

function compareWithCopy(raw: Database.Database, copy: Ledger): CopyDifference {
  const ledger = ledgerOf({ raw })
  const [here, there] = [ledger.head().count, copy.head().count]
  // each hash covers all rows before it, so the rows that agree are the first ones: halve until they part
  let [common, different] = [0, Math.min(here, there) + 1]
  while (different - common > 1) {
    const middle = Math.floor((common + different) / 2)
    if (ledger.hashAt(middle) === copy.hashAt(middle)) common = middle
    else different = middle
  }
  if (common < Math.min(here, there)) return { kind: 'parted', common, more: here - common }
  const span = raw
    .prepare<[number], { low: number | null; high: number | null }>(
      'SELECT min(charted_at_ms) AS low, max(charted_at_ms) AS high FROM ledger WHERE seq > ?',
    )
    .get(there)
  return {
    kind: 'one-chain',
    more: Math.max(0, here - there),
    chartedFromMs: span?.low ?? null,
    chartedToMs: span?.high ?? null,
  }
}

/** The database that a copy is about to take the place of, held so that nobody else can open it meanwhile. */
export type Held = {
  /** What it holds that the copy does not; null when its ledger cannot be read. */
  readonly differenceFrom: (copyFile: string) => CopyDifference | null
  readonly release: () => void
}

/**
 * Takes a database for itself alone and folds its write-ahead log in, so that all of it is in the one file. 'in-use'
 * when any process has it open: in a write-ahead log's database each one holds a shared lock for as long as it is
 * open. 'unreadable' when the file cannot be opened as a database at all; it is left as it is.
 */
export function holdAlone(file: string): Held | 'in-use' | 'unreadable' {
  const raw = new Database(file, { fileMustExist: true, timeout: LOCK_WAIT_MS })
  try {
    leaveOneFile(raw)
    raw.exec('BEGIN EXCLUSIVE')
  } catch (error) {
    raw.close()
    const refusal = refusalOf(error, file)
    return refusal instanceof StoreError && refusal.reason === 'in-use' ? 'in-use' : 'unreadable'
  }
  return {
    differenceFrom: (copyFile) => {
      const copy = connect(copyFile, 'read-only')
      try {
        return compareWithCopy(raw, ledgerOf(copy))
      } catch {
        return null
      } finally {
        copy.raw.close()
      }
    },
    release: () => {
      raw.close()
    },
  }
}

/** Folds the write-ahead log into the file and does without it until the next opening. Needs the database to itself. */
function leaveOneFile(raw: Database.Database): void {
  raw.pragma('locking_mode = EXCLUSIVE')
  const mode: unknown = raw.pragma('journal_mode = DELETE', { simple: true })
  if (mode !== 'delete') throw new StoreError('in-use', 'The database is in use.')
}

/** What tells one database's record from another's for good: the hash of its first row; null while the ledger is empty. */
export function firstHashOf(file: string): string | null {
  const connection = connect(file, 'read-only')
  try {
    return ledgerOf(connection).hashAt(1) ?? null
  } finally {
    connection.raw.close()
  }
}
