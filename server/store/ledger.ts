/** The ledger: one row for each accepted event, chained by SHA-256. Nothing else is a fact. */
import canonicalize from 'canonicalize'
import { createHash } from 'node:crypto'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Connection } from './connection.ts'

/** What stands before the first row. */
export const NO_HASH = '0'.repeat(64)

export type LedgerRow = {
  readonly seq: number
  readonly type: string
  readonly ward_id: string | null
  readonly stay_id: string | null
  readonly actor_id: string
  readonly happened_at_ms: number
  readonly charted_at_ms: number
  readonly body: string
  readonly previous_hash: string
  readonly hash: string
}

/** How many rows there are, and the hash of the last one. */
export type LedgerHead = { readonly count: number; readonly hash: string }

/** Canonical JSON (RFC 8785); a value that is no JSON is broken code. */
export function canonical(value: unknown): string {
  const text = canonicalize(value)
  if (text === undefined) throw new Error('not a JSON value')
  return text
}

/** SHA-256, in hex, over the previous row's hash and the canonical JSON of the whole event. */
export function hashOf(previousHash: string, event: LedgerEvent): string {
  return sha256(previousHash, canonical(event))
}

/**
 * The same hash for a row about to be written, whose body is canonical already: it goes in as it is, between the other
 * names in their order. Verifying makes the whole event canonical anew, so a difference between the two would show.
 */
function hashOfRow(row: Omit<LedgerRow, 'hash'>): string {
  const json = (value: string | number | null): string => JSON.stringify(value)
  const event = `{"actorId":${json(row.actor_id)},"body":${row.body},"chartedAtMs":${json(row.charted_at_ms)},"happenedAtMs":${json(row.happened_at_ms)},"stayId":${json(row.stay_id)},"type":${json(row.type)},"wardId":${json(row.ward_id)}}`
  return sha256(row.previous_hash, event)
}

function sha256(previousHash: string, event: string): string {
  return createHash('sha256').update(previousHash).update(event).digest('hex')
}

/** The event that a row holds. */
export function eventOf(row: Omit<LedgerRow, 'hash'>): LedgerEvent {
  return {
    type: row.type,
    wardId: row.ward_id,
    stayId: row.stay_id,
    actorId: row.actor_id,
    happenedAtMs: row.happened_at_ms,
    chartedAtMs: row.charted_at_ms,
    body: JSON.parse(row.body) as unknown,
  } as LedgerEvent
}

export type Ledger = {
  /** Writes the event as the next row and answers it as the row holds it: what is applied is what was written. */
  readonly append: (event: LedgerEvent) => LedgerEvent
  readonly head: () => LedgerHead
  /** All rows in order, one at a time. */
  readonly rows: () => IterableIterator<LedgerRow>
  /** At most `most` rows after `seq`, in order: for a reader that writes meanwhile on the same connection. */
  readonly after: (seq: number, most: number) => readonly LedgerRow[]
  readonly hashAt: (seq: number) => string | undefined
  readonly lastChartedAtMs: () => number | undefined
}

/** Prepares the ledger's statements on a connection. */
export function ledgerOf({ raw }: Pick<Connection, 'raw'>): Ledger {
  const last = raw.prepare<[], LedgerHead>('SELECT seq AS count, hash FROM ledger ORDER BY seq DESC LIMIT 1')
  const insert = raw.prepare<[LedgerRow]>(
    `INSERT INTO ledger (seq, type, ward_id, stay_id, actor_id, happened_at_ms, charted_at_ms, body, previous_hash, hash)
     VALUES (@seq, @type, @ward_id, @stay_id, @actor_id, @happened_at_ms, @charted_at_ms, @body, @previous_hash, @hash)`,
  )
  const all = raw.prepare<[], LedgerRow>('SELECT * FROM ledger ORDER BY seq')
  const page = raw.prepare<[number, number], LedgerRow>('SELECT * FROM ledger WHERE seq > ? ORDER BY seq LIMIT ?')
  const one = raw.prepare<[number], { hash: string }>('SELECT hash FROM ledger WHERE seq = ?')
  const latest = raw.prepare<[], { at: number | null }>('SELECT max(charted_at_ms) AS at FROM ledger')
  const head = (): LedgerHead => last.get() ?? { count: 0, hash: NO_HASH }
  return {
    append: (event) => {
      const before = head()
      const row = {
        seq: before.count + 1,
        type: event.type,
        ward_id: event.wardId,
        stay_id: event.stayId,
        actor_id: event.actorId,
        happened_at_ms: event.happenedAtMs,
        charted_at_ms: event.chartedAtMs,
        body: canonical(event.body),
        previous_hash: before.hash,
      }
      insert.run({ ...row, hash: hashOfRow(row) })
      return eventOf(row)
    },
    head,
    rows: () => all.iterate(),
    after: (seq, most) => page.all(seq, most),
    hashAt: (seq) => one.get(seq)?.hash,
    lastChartedAtMs: () => latest.get()?.at ?? undefined,
  }
}

export type ChainFault = { readonly seq: number; readonly fault: string }

/**
 * Goes over the chain from the first row and names every row that does not follow from the one before: edited,
 * reordered, inserted or missing. A cut tail leaves a whole chain; the head kept outside shows it.
 */
export function verifyChain(ledger: Ledger): { readonly count: number; readonly faults: readonly ChainFault[] } {
  const faults: ChainFault[] = []
  let count = 0
  let previous = { seq: 0, hash: NO_HASH }
  for (const row of ledger.rows()) {
    count += 1
    if (row.seq !== previous.seq + 1)
      faults.push({
        seq: row.seq,
        fault: `row ${String(row.seq)} follows row ${String(previous.seq)}: rows between are missing`,
      })
    if (row.previous_hash !== previous.hash)
      faults.push({
        seq: row.seq,
        fault: `row ${String(row.seq)} does not follow from the row before it: inserted, reordered, or the one before was changed`,
      })
    const fault = contentFault(row)
    if (fault !== null) faults.push({ seq: row.seq, fault })
    previous = row
  }
  return { count, faults }
}

function contentFault(row: LedgerRow): string | null {
  try {
    const event = eventOf(row)
    if (canonical(event.body) === row.body && hashOf(row.previous_hash, event) === row.hash) return null
  } catch {
    return `row ${String(row.seq)} holds no readable event`
  }
  return `row ${String(row.seq)} is not what its hash was made from: it was changed`
}
