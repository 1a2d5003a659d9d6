/** Which beds a person has taken, and which beds her page shows. */
import type { Beds } from '../../views/round/page.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { WardFacts } from '../store/contract.ts'

/** The beds this person has taken on the ward; none when she has taken none. */
export function bedsTakenBy(ctx: RequestContext, facts: WardFacts): ReadonlySet<string> {
  return new Set(facts.bedsTaken.find(({ staffId }) => staffId === ctx.actor.staffId)?.beds ?? [])
}

/** Which beds are asked for: by the address, else her own when she has taken some. */
export function bedsAsked(ctx: RequestContext, own: ReadonlySet<string>): Beds {
  const { beds } = ctx.request.query as Readonly<Record<string, unknown>>
  if (beds === 'all' || own.size === 0) return 'all'
  return 'mine'
}
