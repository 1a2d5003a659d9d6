/** Applies what is about an insulin order: its versions, their verification and their end. */
import { eq, sql } from 'drizzle-orm'
import { stayIdOf, type Derived, type Handlers } from './derived.ts'
import { order_version } from './tables.ts'

type Types = 'order-written' | 'order-verified' | 'order-verification-answered' | 'order-stopped'

export function orderHandlers(derived: Derived): Handlers<Types> {
  const versions = derived.connection.orm
    .select()
    .from(order_version)
    .where(eq(order_version.order_id, sql.placeholder('orderId')))
    .prepare()
  const lastVerification = derived.connection.raw.prepare<[string, number], { last: number | null }>(
    'SELECT max(number) AS last FROM order_verification WHERE order_id = ? AND version = ?',
  )
  /** Ends every version still running at the instant. */
  const end = (orderId: string, atMs: number): void => {
    for (const version of versions.all({ orderId })) {
      if (version.ended_at_ms === null || version.ended_at_ms > atMs)
        derived.orderVersion.put({ ...version, ended_at_ms: atMs })
    }
  }
  return {
    // the one before ends when the new one starts
    'order-written': (event) => {
      const [stayId, { body, happenedAtMs, actorId }] = [stayIdOf(event), event]
      end(body.orderId, Math.max(happenedAtMs, body.order.startsAtMs))
      derived.orderVersion.insert({
        order_id: body.orderId,
        version: body.version,
        stay_id: stayId,
        insulin_order: body.order,
        written_at_ms: happenedAtMs,
        transcribed_by: actorId,
        verified_by: null,
        verified_at_ms: null,
        stops_at_ms: body.order.stopsAtMs,
        ended_at_ms: null,
      })
    },
    'order-verified': ({ body, happenedAtMs, actorId }) => {
      const version = derived.orderVersion.need(body.orderId, body.version)
      if (version.verified_by !== null)
        throw new Error(`order ${body.orderId} version ${String(body.version)} was verified before`)
      derived.orderVersion.put({ ...version, verified_by: actorId, verified_at_ms: happenedAtMs })
    },
    // a difference stops the version for good; an agreement is made by order-verified, and this row shows on what
    'order-verification-answered': ({ body, actorId, happenedAtMs }) => {
      const { orderId, version: number, answers, agreed } = body
      const version = derived.orderVersion.need(orderId, number)
      const earlier = lastVerification.get(orderId, number)?.last ?? 0
      derived.orderVerification.insert({
        order_id: orderId,
        version: number,
        number: earlier + 1,
        answers,
        agreed,
        by_id: actorId,
        at_ms: happenedAtMs,
      })
      if (!agreed && (version.ended_at_ms === null || version.ended_at_ms > happenedAtMs))
        derived.orderVersion.put({ ...version, ended_at_ms: happenedAtMs })
    },
    'order-stopped': ({ body, happenedAtMs }) => {
      end(body.orderId, happenedAtMs)
    },
  }
}
