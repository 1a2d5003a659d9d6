/** The board of a ward at an instant, from the Round's snapshot. */
import { boardOf, type Board } from '../../shared/board/board.ts'
import type { BoardInputs } from '../../shared/board/facts.ts'
import { isInForce } from '../../shared/order/order.ts'
import { isShutOut } from '../../shared/staff/person.ts'
import { NURSES } from '../http/roles.ts'
import type { RequestContext } from '../http/request-context.ts'
import { roundSnapshot, type RoundSnapshot } from '../bedside/ward-now.ts'

/** A request, or the board itself, which loads for every viewer of a ward at once. */
export type BoardRequest = Pick<RequestContext, 'store' | 'scope' | 'nowMs'>

export type WardBoard = { readonly snapshot: RoundSnapshot; readonly inputs: BoardInputs; readonly board: Board }

/** Derives the ward's board. Undefined: the ward does not exist or is outside the scope. */
export function loadBoard(request: BoardRequest, wardId: string): WardBoard | undefined {
  const snapshot = roundSnapshot(request, wardId)
  if (snapshot === undefined) return undefined
  const { facts, model } = snapshot
  const { nowMs } = request
  const staysWithOrder = new Set(
    facts.orders
      .filter(
        (version) => isInForce(version, nowMs) && (version.order.correction !== null || version.order.meal !== null),
      )
      .map(({ stayId }) => stayId),
  )
  const inputs: BoardInputs = {
    facts: {
      ...facts,
      beds: facts.ward.beds,
      policy: facts.policy.policy,
      staysWithOrder,
      handed: request.store.handedNeeds(request.scope, wardId),
      nurses: nursesOf(request, wardId),
    },
    // the Round's own model: time alone has not changed it, or it would have been derived again
    model,
    nowMs,
  }
  return { snapshot, inputs, board: boardOf(inputs) }
}

/** Nurses of the ward to whom a need can be assigned, by id, sorted by name. */
export function nursesOf({ store, scope }: BoardRequest, wardId: string): ReadonlyMap<string, string> {
  return new Map(
    store
      .staffList(scope)
      .filter((person) => NURSES.includes(person.role) && person.wardIds.includes(wardId) && !isShutOut(person))
      .map(({ staffId, name }) => [staffId, name]),
  )
}
