/** A route's method, address and roles, as the route table holds them. */
import type { Role } from '../../shared/ledger/events.ts'

export type RouteSpec = {
  readonly method: 'GET' | 'POST'
  readonly url: string
  /** Roles that may use it; 'anyone' needs no login. Checked before the handler; the table is tested. */
  readonly roles: readonly Role[] | 'anyone'
}
