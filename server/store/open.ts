/** Opens the store: the one door to the database. */
import type { VoidFacts } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { existsSync } from 'node:fs'
import { accessLogOf } from './access-log.ts'
import { applierOf } from './apply.ts'
import { assertSettings, connect, mark, type Connection } from './connection.ts'
import type { PlainData, Store } from './contract.ts'
import { refusalOf } from './errors.ts'
import { examine, removeEmptyLog, refuseIfExpected } from './examine.ts'
import { keepHead, type HeadKeeper } from './head.ts'
import { ledgerOf, type Ledger } from './ledger.ts'
import { loginsOf } from './logins.ts'
import { makeNew } from './make-new.ts'
import { isMarkedOf, markerBefore } from './marker.ts'
import { notesOf } from './notes.ts'
import { accessReadsOf } from './read-access.ts'
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
import { serviceReadsOf } from './read-service.ts'
import { siteReadsOf } from './read-sites.ts'
import { stayReadsOf } from './read-stay.ts'
import { voidReadsOf } from './read-voids.ts'
import { wardReadsOf } from './read-ward.ts'
import { upgrade } from './upgrade.ts'
import { voidChecksOf } from './void-check.ts'
import type { WardChange } from './ward-changes.ts'

export type StoreOptions = {
  /** A file, made when it is not there, or ':memory:' for a test. */
  readonly file: string
  /** Where the ledger's head is kept outside the database; none when null or left out. */
  readonly headFile?: string | null
  /** False: a scratch copy, of which no copy is kept before its schema is brought up to date. */
  readonly keepBeforeUpgrade?: boolean
  /** A serialized database that one in memory starts from, instead of an empty one; for tests. */
  readonly image?: Buffer
}

/**
 * Opens the database file, made whole when it is not there; brings its schema up to date (upgrade.ts), fills the derived tables
 * anew where that asks for it, and prepares every statement. Throws a StoreError with a plain sentence when the file is not
 * to be opened: not this program's, damaged, of a newer schema, not writable, its disk full, or its ledger less than
 * the head outside. What is refused is left as it was.
 */
export function openStore({ file, headFile = null, keepBeforeUpgrade = true, image }: StoreOptions): Store {
  if (file === ':memory:') return openSound(connect(file, 'write', image), file, headFile, keepBeforeUpgrade)
  const wasThere = existsSync(file)
  const hadLog = existsSync(`${file}-wal`)
  try {
    if (!wasThere) {
      refuseIfExpected(file, headFile)
      makeNew(file)
    }
    examine(file, headFile)
    return openSound(connect(file), file, headFile, keepBeforeUpgrade)
  } catch (error) {
    if (wasThere && !hadLog && existsSync(`${file}-wal`)) removeEmptyLog(file)
    throw refusalOf(error, file)
  }
}

function openSound(connection: Connection, file: string, headFile: string | null, keepBeforeUpgrade: boolean): Store {
  try {
    const upgraded = upgrade(connection, file, keepBeforeUpgrade)
    mark(connection.raw)
    assertSettings(connection.raw, file)
    const ledger = ledgerOf(connection)
    const head = headFile === null ? null : keepHead(ledger, headFile)
    const voidReads = voidReadsOf(connection)
    const store = {
      ...wardReadsOf(connection),
      ...stayReadsOf(connection),
      ...siteReadsOf(connection),
      ...careReadsOf(connection),
      ...bedReadsOf(connection),
      ...policyReadsOf(connection),
      ...meterReadsOf(connection),
      ...historyReadsOf(connection),
      ...auditReadsOf(connection),
      ...endedReadsOf(connection),
      ...rateReadsOf(connection),
      ...rateFactsOf(connection),
      ...orderHistoryReadsOf(connection),
      ...loginsOf(connection),
      ...notesOf(connection),
      ...accessLogOf(connection),
      ...accessReadsOf(connection),
      ...serviceReadsOf(connection, ledger, head, upgraded),
      ...writesOf(connection, ledger, head, voidReads),
    }
    // a disk without room is told now, not at the first reading of the round
    writeOnce(connection)
    return store
  } catch (error) {
    connection.raw.close()
    throw error
  }
}

const PROBE = 'UPDATE probe SET count = count + 1'

function writeOnce({ raw }: Connection): void {
  raw.prepare<[]>(PROBE).run()
}

type Writes = Pick<
  Store,
  'openDosesForVoiding' | 'transact' | 'append' | 'onWrite' | 'lastEventAtMs' | 'probe' | 'close'
>

function writesOf(
  connection: Connection,
  ledger: Ledger,
  head: HeadKeeper | null,
  voidReads: Pick<Store, 'openDosesForVoiding'>,
): Writes {
  const { raw } = connection
  const apply = applierOf(connection)
  const isMarked = isMarkedOf(connection)
  /** True once a committed row is the marker: it is never taken away again. */
  let isMarkedForGood = isMarked()
  /** What a decision last read about an event, until something is written or the transaction ends. */
  let lastRead: { readonly event: LedgerEvent; readonly facts: VoidFacts } | null = null
  const voidCheck = voidChecksOf(connection, {
    openDosesForVoiding: (event) => (lastRead?.event === event ? lastRead.facts : voidReads.openDosesForVoiding(event)),
  })
  const listeners = new Set<(wardIds: readonly string[]) => void>()
  /** What the running transaction has changed so far. */
  let changed: WardChange[] = []
  const tell = (): void => {
    if (changed.length === 0) return
    connection.wardChanges.committed(changed)
    const wardIds = [...new Set(changed.map(({ wardId }) => wardId))]
    changed = []
    for (const listener of listeners) listener(wardIds)
  }
  const read = raw.prepare<[], { count: number }>('SELECT count FROM probe')
  const write = raw.prepare<[]>(PROBE)
  const within = raw.transaction((work: () => unknown): unknown => {
    const result = work()
    if (isThenable(result))
      throw new Error('a transaction answers plain data: a promise or a reply would be answered before it is stored')
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
    openDosesForVoiding: (event) => {
      const facts = voidReads.openDosesForVoiding(event)
      if (raw.inTransaction) lastRead = { event, facts }
      return facts
    },
    transact: <T>(work: () => PlainData<T>): T => {
      if (raw.inTransaction) throw new Error('a transaction inside another: one decision is one transaction')
      let result: unknown
      lastRead = null
      try {
        result = within.immediate(work)
      } catch (error) {
        connection.parsed.forget()
        changed = []
        throw error
      }
      isMarkedForGood ||= isMarked()
      head?.changed()
      tell()
      // `within` hands back what `work` answered, and a thenable threw
      return result as T
    },
    append: (events) => {
      if (!raw.inTransaction) throw new Error('events are appended inside a transaction')
      const check = voidCheck()
      for (const event of events) {
        if (!isMarkedForGood && !isMarked() && ledger.head().count > 0) ledger.append(markerBefore(event))
        check.before(event)
        lastRead = null
        changed.push(...apply(ledger.append(event)))
      }
      check.end()
    },
    onWrite: (listener) => {
      listeners.add(listener)
      return () => {
        listeners.delete(listener)
      }
    },
    lastEventAtMs: () => ledger.lastChartedAtMs(),
    probe: () => ({
      readable: answers(() => read.get()),
      writable: answers(() => write.run()) && head?.failing() !== true,
    }),
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
