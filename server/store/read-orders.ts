/** Order versions. What was ordered never changes and is parsed once; its end and verification are columns. */
import type { InsulinOrder, OrderVersion } from '../../shared/order/order.ts'
import type { Connection } from './connection.ts'

type OrderRow = {
  readonly order_id: string
  readonly version: number
  readonly stay_id: string
  readonly written_at_ms: number
  readonly transcribed_by: string
  readonly verified_by: string | null
  readonly verified_at_ms: number | null
  readonly ended_at_ms: number | null
}

export type OrderReads = {
  /** Versions of the ward's present stays, or of those listed as JSON, that have not ended by `atMs`; one can start later. */
  readonly ofWard: (wardId: string, atMs: number, stays: string | null) => readonly OrderVersion[]
  /** Versions of one stay that were still running at, or written after, `sinceMs`. */
  readonly ofStay: (stayId: string, sinceMs: number) => readonly OrderVersion[]
  /** All versions of one stay, ended ones included, newest first. */
  readonly everyOfStay: (stayId: string) => readonly OrderVersion[]
  readonly one: (orderId: string, version: number) => OrderVersion | undefined
}

const COLUMNS =
  'o.order_id, o.version, o.stay_id, o.written_at_ms, o.transcribed_by, o.verified_by, o.verified_at_ms, o.ended_at_ms'

/** Prepares the reads. */
export function orderReadsOf({ raw, parsed }: Connection): OrderReads {
  const ofWard = raw.prepare<{ wardId: string; atMs: number; stays: string | null }, OrderRow>(
    `SELECT ${COLUMNS} FROM stay s JOIN order_version o ON o.stay_id = s.stay_id
     WHERE s.ward_id = @wardId AND s.discharged_at_ms IS NULL
       AND (@stays IS NULL OR s.stay_id IN (SELECT value FROM json_each(@stays)))
       AND (o.ended_at_ms IS NULL OR o.ended_at_ms > @atMs) AND (o.stops_at_ms IS NULL OR o.stops_at_ms > @atMs)
     ORDER BY o.stay_id, o.order_id, o.version`,
  )
  const ofStay = raw.prepare<{ stayId: string; sinceMs: number }, OrderRow>(
    `SELECT ${COLUMNS} FROM order_version o
     WHERE o.stay_id = @stayId
       AND (o.written_at_ms >= @sinceMs OR ((o.ended_at_ms IS NULL OR o.ended_at_ms >= @sinceMs) AND (o.stops_at_ms IS NULL OR o.stops_at_ms >= @sinceMs)))
     ORDER BY o.order_id, o.version`,
  )
  const everyOfStay = raw.prepare<[string], OrderRow>(
    `SELECT ${COLUMNS} FROM order_version o WHERE o.stay_id = ? ORDER BY o.written_at_ms DESC, o.rowid DESC`,
  )
  const one = raw.prepare<[string, number], OrderRow>(
    `SELECT ${COLUMNS} FROM order_version o WHERE o.order_id = ? AND o.version = ?`,
  )
  const body = raw.prepare<[string, number], { insulin_order: string }>(
    'SELECT insulin_order FROM order_version WHERE order_id = ? AND version = ?',
  )

  const orderOf = ({ order_id: orderId, version }: OrderRow): InsulinOrder => {
    const order = parsed.order(orderId, version, () => {
      const text = body.get(orderId, version)?.insulin_order
      return text === undefined ? undefined : (JSON.parse(text) as InsulinOrder)
    })
    if (order === undefined) throw new Error(`order ${orderId} version ${String(version)} is not there`)
    return order
  }
  const versionOf = (row: OrderRow): OrderVersion => ({
    orderId: row.order_id,
    version: row.version,
    stayId: row.stay_id,
    order: orderOf(row),
    writtenAtMs: row.written_at_ms,
    transcribedById: row.transcribed_by,
    verified:
      row.verified_by === null || row.verified_at_ms === null
        ? null
        : { byId: row.verified_by, atMs: row.verified_at_ms },
    endedAtMs: row.ended_at_ms,
  })
  return {
    ofWard: (wardId, atMs, stays) => ofWard.all({ wardId, atMs, stays }).map(versionOf),
    ofStay: (stayId, sinceMs) => ofStay.all({ stayId, sinceMs }).map(versionOf),
    everyOfStay: (stayId) => everyOfStay.all(stayId).map(versionOf),
    one: (orderId, version) => {
      const row = one.get(orderId, version)
      return row === undefined ? undefined : versionOf(row)
    },
  }
}
