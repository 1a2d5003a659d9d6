/** Every route of insulin orders: entering them, and reading, verifying and stopping them. */
import type { Server } from '../http/route.ts'
import { registerOrderEntry } from './entry-routes.ts'
import { registerOrderReading } from './reading-routes.ts'

export function registerOrder(server: Server): void {
  registerOrderEntry(server)
  registerOrderReading(server)
}
