/**
 * The current Round of a ward. It is derived once for each state of the ward's data and cached until a write or the
 * clock changes it. What depends on the viewer (masking, own beds) is chosen when a page is rendered.
 */
import { roundModel, type RoundModel } from '../../shared/check/round-model.ts'
import { nextInWalk } from '../../shared/check/round-order.ts'
import { isInForce } from '../../shared/order/order.ts'
import { takersOf } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { Store, WardFacts } from '../store/contract.ts'
import { bedsTakenBy } from './beds-taken.ts'
import { withPolicyVoids } from './facts-now.ts'

/** One derivation. It is valid for one data version of the ward, from its instant to `validUntilMs` (excluded). */
export type RoundSnapshot = {
  readonly dataVersion: number
  readonly madeAtMs: number
  readonly validUntilMs: number
  readonly facts: WardFacts
  readonly model: RoundModel
  /** Stays with an order in force that can turn a reading into a dose. */
  readonly staysWithOrder: ReadonlySet<string>
  /** Who took the critical results that wait for their call, by stay. Only these people already know of them. */
  readonly criticalTakers: ReadonlyMap<string, ReadonlySet<string>>
}

/**
 * Who requests the round, and when: a request, or the board, which requests it for every viewer of the ward at once.
 */
type RoundRequest = Pick<RequestContext, 'store' | 'scope' | 'nowMs'>

/** Keyed by store, so that two applications in one process never share patient data. */
const kept = new WeakMap<Store, Map<string, RoundSnapshot>>()

/**
 * The ward's round, from the cache while no write has touched the ward and it is still valid. Ages and countdowns are
 * shown in whole minutes, so it is derived again at least every minute. Undefined: the ward does not exist, or is
 * outside the person's scope. The store checks that on every call, also for a cached round.
 */
export function roundSnapshot(ctx: RoundRequest, wardId: string): RoundSnapshot | undefined {
  const { store, scope, nowMs } = ctx
  const dataVersion = store.wardVersion(scope, wardId)
  if (dataVersion === undefined) return undefined
  const snapshots = kept.get(store) ?? new Map<string, RoundSnapshot>()
  kept.set(store, snapshots)
  const known = snapshots.get(wardId)
  if (known?.dataVersion === dataVersion && nowMs >= known.madeAtMs && nowMs < known.validUntilMs) return known
  const facts = store.wardFacts(scope, wardId, nowMs)
  if (facts === undefined) return undefined
  const snapshot = derive(ctx, facts, dataVersion, known)
  snapshots.set(wardId, snapshot)
  return snapshot
}

/**
 * The next bed of the round: among this person's own beds if they have taken some, otherwise on the ward. Null: nothing
 * else is due now.
 */
export function nextOnRound(
  ctx: RequestContext,
  bed: string,
): { readonly bed: string; readonly checkKey: string } | null {
  const snapshot = ctx.wardId === null ? undefined : roundSnapshot(ctx, ctx.wardId)
  if (snapshot === undefined) return null
  const { model, facts } = snapshot
  const own = bedsTakenBy(ctx, facts)
  const bedOf = (stayId: string): string => model.patients.get(stayId)?.stay.bed ?? ''
  const lines = own.size === 0 ? model.lines : model.lines.filter(({ stayId }) => own.has(bedOf(stayId)))
  const next = nextInWalk(lines, ctx.nowMs, facts.ward.beds.indexOf(bed))
  return next === null || next.check === null ? null : { bed: bedOf(next.stayId), checkKey: next.check.key }
}

function derive(
  ctx: RoundRequest,
  facts: WardFacts,
  dataVersion: number,
  earlier: RoundSnapshot | undefined,
): RoundSnapshot {
  const { nowMs } = ctx
  const readingsOfLows = new Map<string, readonly Reading[]>()
  for (const low of facts.lows) {
    if (low.closedAtMs === null)
      readingsOfLows.set(low.stayId, ctx.store.stayFacts(ctx.scope, low.stayId, nowMs)?.readings ?? [])
  }
  const openDoses = withPolicyVoids(ctx, facts.openDoses, facts.policy)
  const model = roundModel(
    { ...facts, openDoses, beds: facts.ward.beds, policy: facts.policy.policy, readingsOfLows },
    nowMs,
    earlier?.model,
  )
  const staysWithOrder = new Set(
    facts.orders
      .filter(
        (version) => isInForce(version, nowMs) && (version.order.correction !== null || version.order.meal !== null),
      )
      .map(({ stayId }) => stayId),
  )
  return {
    dataVersion,
    madeAtMs: nowMs,
    validUntilMs: Math.min(model.validUntilMs, (Math.floor(nowMs / MINUTE_MS) + 1) * MINUTE_MS),
    facts,
    model,
    staysWithOrder,
    criticalTakers: criticalTakers(ctx, facts),
  }
}

function criticalTakers(ctx: RoundRequest, { openItems }: WardFacts): ReadonlyMap<string, ReadonlySet<string>> {
  const waiting = new Map<string, Reading[]>()
  for (const { kind, stayId, subjectId } of openItems) {
    const reading = kind === 'critical' ? ctx.store.readingById(ctx.scope, subjectId) : undefined
    if (reading !== undefined) waiting.set(stayId, [...(waiting.get(stayId) ?? []), reading])
  }
  return new Map([...waiting].map(([stayId, readings]) => [stayId, takersOf(readings)]))
}
