/** Applies what is about a ward's standard orders: versions, approval by a second administrator, and their end. */
import { eq, sql } from 'drizzle-orm'
import { wardIdOf, type Derived, type Handlers } from './derived.ts'
import { standard_order } from './tables-setup.ts'

type Types = 'standard-order-written' | 'standard-order-approved' | 'standard-order-withdrawn'

export function standardOrderHandlers(derived: Derived): Handlers<Types> {
  const versions = derived.connection.orm
    .select()
    .from(standard_order)
    .where(eq(standard_order.standard_order_id, sql.placeholder('id')))
    .prepare()
  /** Ends the versions below `before` that have not ended. */
  const end = (id: string, before: number, atMs: number): void => {
    for (const version of versions.all({ id })) {
      if (version.version < before && version.ended_at_ms === null)
        derived.standardOrder.put({ ...version, ended_at_ms: atMs })
    }
  }
  return {
    'standard-order-written': (event) => {
      const { standardOrderId, version, name, order } = event.body
      derived.standardOrder.insert({
        standard_order_id: standardOrderId,
        version,
        ward_id: wardIdOf(event),
        name,
        insulin_order: order,
        written_by: event.actorId,
        written_at_ms: event.happenedAtMs,
        approved_by: null,
        approved_at_ms: null,
        ended_at_ms: null,
      })
    },
    // an earlier version nobody approved ends as well: approved afterwards it would stand beside the newer one
    'standard-order-approved': ({ body, actorId, happenedAtMs }) => {
      const version = derived.standardOrder.need(body.standardOrderId, body.version)
      if (version.approved_at_ms !== null || version.ended_at_ms !== null)
        throw new Error(
          `standard order ${body.standardOrderId} version ${String(body.version)} is not waiting for approval`,
        )
      end(body.standardOrderId, body.version, happenedAtMs)
      derived.standardOrder.put({ ...version, approved_by: actorId, approved_at_ms: happenedAtMs })
    },
    'standard-order-withdrawn': ({ body, happenedAtMs }) => {
      end(body.standardOrderId, Infinity, happenedAtMs)
    },
  }
}
