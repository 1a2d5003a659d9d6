/** Loads the facts for the pages about one reading, and whether this person may see it yet. */
import type { Reading } from '../../shared/reading/reading.ts'
import type { StayFacts } from '../store/contract.ts'
import { stayFactsNow } from './facts-now.ts'
import { isMasked } from './masking.ts'
import type { ReadingRequest } from '../http/parameters.ts'

export type ReadingContext = {
  readonly reading: Reading
  readonly facts: StayFacts
  readonly zone: string
  readonly masked: boolean
}

/** The reading in the path with its stay. Undefined: it does not exist, or is on no ward of this person's. */
export function readingContext(ctx: ReadingRequest): ReadingContext | undefined {
  const reading = ctx.store.readingById(ctx.scope, ctx.params.id)
  const facts = reading === undefined ? undefined : stayFactsNow(ctx, reading.stayId)
  if (reading === undefined || facts === undefined) return undefined
  return { reading, facts, zone: facts.policy.policy.zone, masked: isMasked(ctx, reading, facts) }
}
