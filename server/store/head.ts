/**
 * The ledger's count and last hash, kept in a file outside the database: a tail that was cut off leaves a whole chain
 * behind, and only this shows it. Written after commits, at most once a second, and at closing.
 */
import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  writeSync,
} from 'node:fs'
import { dirname } from 'node:path'
import type { Ledger, LedgerHead } from './ledger.ts'
import { StoreError } from './errors.ts'
import { needPlaceBeside } from './place.ts'

const AT_MOST_EACH_MS = 1000

/** Reads the head kept outside; undefined when there is no such file. A file that cannot be understood is an error. */
export function readHead(file: string): LedgerHead | undefined {
  if (!existsSync(file)) return undefined
  const unreadable = new StoreError(
    'head-unreadable',
    `The ledger head in ${file} cannot be read, so a cut tail of the record would not show. Put the file right or move it away; then start the service, and run the verify command.`,
  )
  let parsed: unknown
  try {
    parsed = JSON.parse(readFileSync(file, 'utf8'))
  } catch {
    throw unreadable
  }
  if (typeof parsed !== 'object' || parsed === null || !('count' in parsed) || !('hash' in parsed)) throw unreadable
  const { count, hash } = parsed
  if (typeof count !== 'number' || !Number.isSafeInteger(count) || typeof hash !== 'string') throw unreadable
  return { count, hash }
}

/** What the head kept outside says against the ledger; null when they agree. */
export function headFault(ledger: Ledger, kept: LedgerHead): string | null {
  const { count } = ledger.head()
  if (count < kept.count)
    return `the ledger ends at row ${String(count)}, but the head kept outside the database knows ${String(kept.count)} rows: its tail is missing`
  if (kept.count > 0 && ledger.hashAt(kept.count) !== kept.hash)
    return `row ${String(kept.count)} is not the one that the head kept outside the database knows`
  return null
}

/** The refusal of a ledger that is not the one its head outside knows. */
export function behindHead(fault: string, headFile: string): StoreError {
  return new StoreError(
    'ledger-behind-head',
    `Not opened: ${fault}. Restore the database, or move ${headFile} away if this database was put back on purpose.`,
  )
}

export type HeadKeeper = {
  readonly changed: () => void
  /** True while the file could not be written: the health check says so, and it is tried again each second. */
  readonly failing: () => boolean
  readonly close: () => void
}

/**
 * Starts keeping the head of `ledger` in `file`. Throws when the file knows more than the ledger holds: going on would
 * write over the only trace of a cut tail.
 */
export function keepHead(ledger: Ledger, file: string): HeadKeeper {
  const kept = readHead(file)
  const fault = kept === undefined ? null : headFault(ledger, kept)
  if (fault !== null) throw behindHead(fault, file)
  needPlace(file)
  let written = kept?.count ?? -1
  let timer: NodeJS.Timeout | null = null
  let failing = false
  const write = (): void => {
    const head = ledger.head()
    if (head.count === written) return
    writeWhole(file, `${JSON.stringify(head)}\n`)
    written = head.count
  }
  // a head that cannot be written must not bring down the charting of a ward
  const later = (): void => {
    timer ??= setTimeout(() => {
      timer = null
      try {
        write()
        failing = false
      } catch {
        failing = true
        later()
      }
    }, AT_MOST_EACH_MS).unref()
  }
  return {
    changed: later,
    failing: () => failing,
    close: () => {
      if (timer !== null) clearTimeout(timer)
      write()
    },
  }
}

/** A head that can never be written is told before a ward relies on it; one that fails later is tried again. */
function needPlace(file: string): void {
  try {
    mkdirSync(dirname(file), { recursive: true })
    needPlaceBeside(file)
  } catch (error) {
    throw new StoreError(
      'head-not-writable',
      `The ledger head cannot be written to ${file}, so a cut tail of the record would not show. Make its folder writable for the service, or set HEAD_FILE to another place.`,
      { cause: error },
    )
  }
}

/** Writes the head of a database that nobody has open. */
export function writeHead(file: string, head: LedgerHead): void {
  writeWhole(file, `${JSON.stringify(head)}\n`)
}

/** The whole new file or the whole old one, whatever happens in between. */
function writeWhole(file: string, text: string): void {
  // the load command may keep the same head at the same moment
  const draft = `${file}.${String(process.pid)}.new`
  try {
    const descriptor = openSync(draft, 'w')
    try {
      writeSync(descriptor, text)
      fsyncSync(descriptor)
    } finally {
      closeSync(descriptor)
    }
    renameSync(draft, file)
  } catch (error) {
    rmSync(draft, { force: true })
    throw error
  }
}
