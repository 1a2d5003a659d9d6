/** Opens the store: the one door to the database. */
import { mkdirSync } from 'node:fs'
import { dirname } from 'node:path'
import { applierOf } from './apply.ts'
import { assertSettings, connect, type Connection } from './connection.ts'
import type { PlainData, Store } from './contract.ts'
import { keepHead, type HeadKeeper } from './head.ts'
import { ledgerOf, type Ledger } from './ledger.ts'
import { loginsOf } from './logins.ts'
import { migrate } from './migrate.ts'
import { notesOf } from './notes.ts'
import { auditReadsOf } from './read-audit.ts'
import { careReadsOf } from './read-care.ts'
import { endedReadsOf } from './read-ended.ts'
import { historyReadsOf } from './read-history.ts'
import { meterReadsOf } from './read-meters.ts'
import { orderHistoryReadsOf } from './read-order-history.ts'
import { policyReadsOf } from './read-policy.ts'
import { rateReadsOf } from './read-rates.ts'
import { rateFactsOf } from './read-rate-facts.ts'
import { bedReadsOf } from './read-beds.ts'
import { stayReadsOf } from './read-stay.ts'
import { wardReadsOf } from './read-ward.ts'
import { rebuildIfAsked } from './rebuild.ts'

export type StoreOptions = {
  /** A file, made when it is not there, or ':memory:' for a test. */
  readonly file: string
  /** Where the ledger's head is kept outside the database; none when null or left out. */
  readonly headFile?: string | null
}

/**
 * Opens the database file, brings its schema up to date, fills the derived tables anew where that asks for it, and
 * prepares every statement. Throws a StoreError with a plain sentence when the file is of a newer schema, a setting did
 * not take, or the ledger holds less than its head outside.
 */
export function openStore({ file, headFile = null }: StoreOptions): Store {
  if (file !== ':memory:') mkdirSync(dirname(file), { recursive: true })
  const connection = connect(file)
  try {
    migrate(connection.raw)
    assertSettings(connection.raw, file)
    const ledger = ledgerOf(connection)
    const head = headFile === null ? null : keepHead(ledger, headFile)
    rebuildIfAsked(connection, ledger)
    return {
      ...wardReadsOf(connection), ...stayReadsOf(connection), ...careReadsOf(connection), ...bedReadsOf(connection), ...policyReadsOf(connection), ...meterReadsOf(connection), ...historyReadsOf(connection),
      ...auditReadsOf(connection), ...endedReadsOf(connection), ...rateReadsOf(connection), ...rateFactsOf(connection),
      ...orderHistoryReadsOf(connection), ...loginsOf(connection), ...notesOf(connection), ...writesOf(connection, ledger, head),
    }
  } catch (error) {
    connection.raw.close()
    throw error
  }
}

type Writes = Pick<Store, 'transact' | 'append' | 'onWrite' | 'lastEventAtMs' | 'probe' | 'close'>

function writesOf(connection: Connection, ledger: Ledger, head: HeadKeeper | null): Writes {
  const { raw } = connection
  const apply = applierOf(connection, 'live')
  const listeners = new Set<(wardIds: readonly string[]) => void>()
  /** Wards changed by the running transaction. */
  const changed = new Set<string>()
  const tell = (): void => {
    if (changed.size === 0) return
    const wardIds = [...changed]
    changed.clear()
    for (const listener of listeners) listener(wardIds)
  }
  const read = raw.prepare<[], { count: number }>('SELECT count FROM probe')
  const write = raw.prepare<[]>('UPDATE probe SET count = count + 1')
  const within = raw.transaction((work: () => unknown): unknown => {
    const result = work()
    if (isThenable(result)) throw new Error('a transaction answers plain data: a promise or a reply would be answered before it is stored')
    return result
  })
  const answers = (question: () => unknown): boolean => {
    try {
      question()
      return true
    } catch {
      return false
    }
  }
  return {
    transact: <T>(work: () => PlainData<T>): T => {
      if (raw.inTransaction) throw new Error('a transaction inside another: one decision is one transaction')
      let result: unknown
      try {
        result = within.immediate(work)
      } catch (error) {
        connection.parsed.forget()
        changed.clear()
        throw error
      }
      head?.changed()
      tell()
      // `within` hands back what `work` answered, and a thenable threw
      return result as T
    },
    append: (events) => {
      if (!raw.inTransaction) throw new Error('events are appended inside a transaction')
      for (const event of events) for (const wardId of apply(ledger.append(event))) changed.add(wardId)
    },
    onWrite: (listener) => {
      listeners.add(listener)
      return () => { listeners.delete(listener) }
    },
    lastEventAtMs: () => ledger.lastChartedAtMs(),
    probe: () => ({ readable: answers(() => read.get()), writable: answers(() => write.run()) && head?.failing() !== true }),
    close: () => {
      if (!raw.open) return
      try {
        head?.close()
        raw.pragma('wal_checkpoint(TRUNCATE)')
      } finally {
        raw.close()
      }
    },
  }
}

function isThenable(value: unknown): boolean {
  return (typeof value === 'object' || typeof value === 'function') && value !== null && 'then' in value
}
