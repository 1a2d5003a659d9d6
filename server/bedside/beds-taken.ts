/** The beds that a person has taken, and the beds on their page. */
import { z } from 'zod'
import type { Beds } from '../../views/round/page.ts'
import { queryText } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { WardFacts } from '../store/contract.ts'

/** The beds this person has taken on the ward. May be empty. */
export function bedsTakenBy(ctx: RequestContext, facts: WardFacts): ReadonlySet<string> {
  return new Set(facts.bedsTaken.find(({ staffId }) => staffId === ctx.actor.staffId)?.beds ?? [])
}

/** `beds`: "all", or nothing for her own. */
export const BEDS_QUERY = z.object({ beds: queryText })
export type BedsRequest = RequestContext<object, z.output<typeof BEDS_QUERY>>

/** The requested beds: from the query string, otherwise this person's own if they have taken some. */
export function requestedBeds({ query }: BedsRequest, own: ReadonlySet<string>): Beds {
  if (query.beds === 'all' || own.size === 0) return 'all'
  return 'mine'
}
