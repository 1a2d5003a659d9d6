/**
 * Proves a database: the file is whole, the ledger's chain is unbroken from its first row and reaches the head kept
 * outside, every derived table equals a rebuild from the ledger to the bit, and every dose works out as it was stored.
 * Reads one snapshot through a read-only connection, so it can run beside the service.
 */
import { getTableConfig, type SQLiteTable } from 'drizzle-orm/sqlite-core'
import type { Dose } from '../../shared/dose/dose.ts'
import { recomputeDose } from '../../shared/order/recompute.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { rebuilderOf } from './apply.ts'
import { connect, type Connection } from './connection.ts'
import { headFault, readHead } from './head.ts'
import { eventOf, ledgerOf, verifyChain, type Ledger } from './ledger.ts'
import { migrate, needThisSchema } from './migrate.ts'
import { parsePolicy } from './policy-at.ts'
import { orderReadsOf } from './read-orders.ts'
import { keyOf } from './rows.ts'
import { DERIVED } from './tables.ts'

/** One line of the report: what was looked at, how many, and each difference in a sentence. */
export type Verified = { readonly what: string; readonly checked: number; readonly differences: readonly string[] }

export type VerifyOptions = {
  readonly file: string
  /** The head kept outside the database; null when there is none to compare with. */
  readonly headFile: string | null
}

/** Looks at everything and answers one line for each kind of thing. Changes nothing. Throws a StoreError when the file is not of this program's schema. */
export function verifyStore({ file, headFile }: VerifyOptions): readonly Verified[] {
  // read before the snapshot is taken: the service only ever adds rows, so an older head must still be found in it
  const kept = headFile === null ? undefined : readHead(headFile)
  const connection = connect(file, 'read-only')
  try {
    needThisSchema(connection.raw)
    connection.raw.exec('BEGIN')
    const ledger = ledgerOf(connection)
    const chain = verifyChain(ledger)
    return [
      wholeFile(connection),
      { what: 'ledger rows in the chain', checked: chain.count, differences: chain.faults.map(({ fault }) => fault) },
      ...(headFile === null ? [] : [headOutside(ledger, kept, headFile)]),
      ...compareWithRebuild(connection, ledger),
      doses(connection),
    ]
  } finally {
    connection.raw.close()
  }
}

function wholeFile({ raw }: Connection): Verified {
  const found = raw.pragma('integrity_check') as { integrity_check: string }[]
  return {
    what: 'database file',
    checked: 1,
    differences: found.map((row) => row.integrity_check).filter((text) => text !== 'ok'),
  }
}

function headOutside(ledger: Ledger, kept: ReturnType<typeof readHead>, file: string): Verified {
  if (kept === undefined)
    return {
      what: 'head kept outside',
      checked: 0,
      differences: [`there is no head at ${file}: a tail that was cut off would not show`],
    }
  const fault = headFault(ledger, kept)
  return { what: 'head kept outside', checked: 1, differences: fault === null ? [] : [fault] }
}

/** Applies the whole ledger to an empty database in memory, and compares every row of every derived table. */
function compareWithRebuild(connection: Connection, ledger: Ledger): readonly Verified[] {
  const rebuilt = connect(':memory:')
  try {
    migrate(rebuilt.raw)
    const stopped = rebuild(ledger, rebuilt)
    const tables = DERIVED.map((table) => compareTable(table, connection, rebuilt))
    return stopped === null
      ? tables
      : [{ what: 'rebuild', checked: ledger.head().count, differences: [stopped] }, ...tables]
  } finally {
    rebuilt.raw.close()
  }
}

/** Null, or where and why the rebuild could not go on. */
function rebuild(ledger: Ledger, into: Connection): string | null {
  const apply = rebuilderOf(into)
  let seq = 0
  try {
    for (const row of ledger.rows()) {
      seq = row.seq
      apply(eventOf(row))
    }
    return null
  } catch (error) {
    return `the rebuild stops at row ${String(seq)}: ${error instanceof Error ? error.message : String(error)}`
  }
}

type AnyRow = Readonly<Record<string, unknown>>

/** Walks both tables in the order of their key; a row is missing, too many, or differs in named columns. */
function compareTable(table: SQLiteTable, live: Connection, rebuilt: Connection): Verified {
  const { name } = getTableConfig(table)
  const key = keyOf(table).map((column) => column.name)
  const query = `SELECT * FROM ${name} ORDER BY ${key.join(', ')}`
  const mine = live.raw.prepare<[], AnyRow>(query).iterate()
  const theirs = rebuilt.raw.prepare<[], AnyRow>(query).iterate()
  const differences: string[] = []
  let checked = 0
  let [a, b] = [next(mine), next(theirs)]
  while (a !== undefined || b !== undefined) {
    const order = a === undefined ? 1 : b === undefined ? -1 : compareKeys(key, a, b)
    if (order < 0 && a !== undefined)
      differences.push(`${name} ${labelOf(key, a)} is in the table and not in the ledger`)
    else if (order > 0 && b !== undefined)
      differences.push(`${name} ${labelOf(key, b)} is in the ledger and not in the table`)
    else if (a !== undefined && b !== undefined) differences.push(...rowDifference(name, key, a, b))
    if (order <= 0) checked += 1
    ;[a, b] = [order <= 0 ? next(mine) : a, order >= 0 ? next(theirs) : b]
  }
  return { what: name.replaceAll('_', ' '), checked, differences }
}

function next(rows: IterableIterator<AnyRow>): AnyRow | undefined {
  const step = rows.next()
  return step.done === true ? undefined : step.value
}

/** Text keys compare as SQLite's BINARY order does, by their UTF-8 bytes. */
function compareKeys(key: readonly string[], a: AnyRow, b: AnyRow): number {
  for (const column of key) {
    const [left, right] = [a[column], b[column]]
    const order =
      typeof left === 'number' && typeof right === 'number'
        ? left - right
        : Buffer.compare(Buffer.from(String(left)), Buffer.from(String(right)))
    if (order !== 0) return order
  }
  return 0
}

function labelOf(key: readonly string[], row: AnyRow): string {
  return key.map((column) => String(row[column])).join(' ')
}

function rowDifference(name: string, key: readonly string[], live: AnyRow, rebuilt: AnyRow): readonly string[] {
  const columns = Object.keys(live).filter((column) => live[column] !== rebuilt[column])
  return columns.length === 0 ? [] : [`${name} ${labelOf(key, live)} differs from the ledger in ${columns.join(', ')}`]
}

/** Works every stored dose out again from its order version, policy version and reading. */
function doses(connection: Connection): Verified {
  const { raw } = connection
  const orders = orderReadsOf(connection)
  const policy = raw.prepare<[string, number], { policy: string }>(
    'SELECT policy FROM policy_version WHERE ward_id = ? AND version = ?',
  )
  const reading = raw.prepare<[string], { fact: string }>('SELECT fact FROM reading WHERE reading_id = ?')
  const differences: string[] = []
  let checked = 0
  for (const { fact } of raw.prepare<[], { fact: string }>('SELECT fact FROM dose ORDER BY dose_id').iterate()) {
    checked += 1
    const dose = JSON.parse(fact) as Dose
    const { working } = dose
    const policyText = policy.get(dose.wardId, working.policyVersion)?.policy
    const readingText = working.readingId === null ? undefined : reading.get(working.readingId)?.fact
    const again =
      policyText === undefined
        ? { difference: `policy version ${String(working.policyVersion)} is not there` }
        : recomputeDose(dose, {
            order: orders.one(working.orderId, working.orderVersion),
            policy: parsePolicy(policyText),
            reading: readingText === undefined ? undefined : (JSON.parse(readingText) as Reading),
          })
    if ('difference' in again) differences.push(`dose ${dose.doseId}: ${again.difference}`)
    else if (again.units !== dose.units)
      differences.push(`dose ${dose.doseId}: stored ${String(dose.units)} units, worked out ${String(again.units)}`)
  }
  return { what: 'doses worked out again', checked, differences }
}
