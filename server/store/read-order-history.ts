/** Every version of an order, its verifications and its stops, ended ones included, and a ward's standard orders. */
import { desc, eq, getTableColumns, sql } from 'drizzle-orm'
import type { EventBodies } from '../../shared/ledger/events.ts'
import type { OrderStop } from '../../shared/order/stop.ts'
import type { Connection } from './connection.ts'
import type { Scope, Store } from './contract.ts'
import { standardOrderOf, verificationOf } from './facts.ts'
import { orderReadsOf } from './read-orders.ts'
import { maySee, maySetUp } from './scope.ts'
import { order_verification, standard_order } from './tables-setup.ts'

type Reads = Pick<Store, 'orderVersions' | 'orderVersion' | 'orderVerifications' | 'orderStops' | 'standardOrders'>
type StopRow = { readonly body: string; readonly actor_id: string; readonly happened_at_ms: number }

export function orderHistoryReadsOf(connection: Connection): Reads {
  const { raw, orm } = connection
  const orders = orderReadsOf(connection)
  const wardOfStay = raw.prepare<[string], { ward_id: string }>('SELECT ward_id FROM stay WHERE stay_id = ?')
  const stayOfOrder = raw.prepare<[string], { stay_id: string }>(
    'SELECT stay_id FROM order_version WHERE order_id = ? LIMIT 1',
  )
  const verifications = orm
    .select(getTableColumns(order_verification))
    .from(order_verification)
    .where(eq(order_verification.order_id, sql.placeholder('orderId')))
    .orderBy(desc(order_verification.at_ms), desc(order_verification.version), desc(order_verification.number))
    .prepare()
  // why an order stopped changes nothing that is derived: it is read where it was charted
  const stops = raw.prepare<[string], StopRow>(
    "SELECT body, actor_id, happened_at_ms FROM ledger WHERE stay_id = ? AND type = 'order-stopped' ORDER BY seq DESC",
  )
  const standard = orm
    .select()
    .from(standard_order)
    .where(eq(standard_order.ward_id, sql.placeholder('wardId')))
    .orderBy(desc(standard_order.written_at_ms), sql`${standard_order}.rowid desc`)
    .prepare()

  const seesStay = (scope: Scope, stayId: string | undefined): boolean => {
    const wardId = stayId === undefined ? undefined : wardOfStay.get(stayId)?.ward_id
    return wardId !== undefined && maySee(scope, wardId)
  }
  return {
    orderVersions: (scope, stayId) => (seesStay(scope, stayId) ? orders.everyOfStay(stayId) : []),
    orderVersion: (scope, orderId, version) => {
      const found = orders.one(orderId, version)
      return seesStay(scope, found?.stayId) ? found : undefined
    },
    orderVerifications: (scope, orderId) =>
      seesStay(scope, stayOfOrder.get(orderId)?.stay_id) ? verifications.all({ orderId }).map(verificationOf) : [],
    orderStops: (scope, stayId) => (seesStay(scope, stayId) ? stops.all(stayId).map(stopOf) : []),
    standardOrders: (scope, wardId) => (maySetUp(scope, wardId) ? standard.all({ wardId }).map(standardOrderOf) : []),
  }
}

function stopOf({ body, actor_id: byId, happened_at_ms: atMs }: StopRow): OrderStop {
  const { orderId, reason, orderedBy = null, received = null } = JSON.parse(body) as EventBodies['order-stopped']
  return { orderId, reason, orderedBy, received, byId, atMs }
}
