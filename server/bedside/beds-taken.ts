/** The beds that a person has taken, and the beds on their page. */
import type { Beds } from '../../views/round/page.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { WardFacts } from '../store/contract.ts'

/** The beds this person has taken on the ward. May be empty. */
export function bedsTakenBy(ctx: RequestContext, facts: WardFacts): ReadonlySet<string> {
  return new Set(facts.bedsTaken.find(({ staffId }) => staffId === ctx.actor.staffId)?.beds ?? [])
}

/** The requested beds: from the query string, otherwise this person's own if they have taken some. */
export function bedsAsked(ctx: RequestContext, own: ReadonlySet<string>): Beds {
  const { beds } = ctx.request.query as Readonly<Record<string, unknown>>
  if (beds === 'all' || own.size === 0) return 'all'
  return 'mine'
}
