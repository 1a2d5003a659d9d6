/** Loads orders with everything that their pages say of them. */
import { isRunning } from '../../shared/order/stop.ts'
import { INSULIN_CLASS, type OrderVersion } from '../../shared/order/order.ts'
import { singleDoseLimit } from '../../shared/order/validate.ts'
import { versionState, type VersionState } from '../../shared/order/verify.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { formatMinutes, formatUnits, formatWhen } from '../../views/format.ts'
import { RECEIVED } from '../../views/words/verification.ts'
import type { OrderRequest, OrderVersionRequest } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import type { OrderVerification, StayFacts } from '../store/contract.ts'

/** One version of an order, with its stay. */
export type OrderContext = {
  readonly facts: StayFacts
  readonly version: OrderVersion
  /** All of its order's, newest first. */
  readonly versions: readonly OrderVersion[]
  /** Of every version of its order, newest first. */
  readonly verifications: readonly OrderVerification[]
  readonly state: VersionState
  readonly zone: string
}

/** The order version of the address; undefined when it is not there, or not on a ward of this person's. */
export function orderContext(ctx: OrderVersionRequest): OrderContext | undefined {
  return contextOf(ctx, ctx.params.version)
}

/** The newest version of the order of the address; undefined as for `orderContext`. */
export function newestContext(ctx: OrderRequest): OrderContext | undefined {
  const first = contextOf(ctx, 1)
  const [newest] = first?.versions ?? []
  return newest === undefined ? undefined : contextOf(ctx, newest.version)
}

function contextOf(ctx: OrderRequest, number: number): OrderContext | undefined {
  const { store, scope, nowMs } = ctx
  const { orderId } = ctx.params
  const version = store.orderVersion(scope, orderId, number)
  const facts = version === undefined ? undefined : store.stayFacts(scope, version.stayId, nowMs)
  if (version === undefined || facts === undefined) return undefined
  const versions = store
    .orderVersions(scope, version.stayId)
    .filter((one) => one.orderId === orderId)
    .sort((a, b) => b.version - a.version)
  const verifications = store.orderVerifications(scope, orderId)
  return {
    facts,
    version,
    versions,
    verifications,
    state: versionState(version, { versions, differed: hasDiffered(version, verifications), nowMs }),
    zone: facts.policy.policy.zone,
  }
}

/** True when a verification of this version did not agree. */
export function hasDiffered({ version }: OrderVersion, verifications: readonly OrderVerification[]): boolean {
  return verifications.some((one) => one.version === version && !one.agreed)
}

/** "insulin lispro, version 2" */
export function titleOf({ order, version }: OrderVersion): string {
  return `${order.insulin}, version ${String(version)}`
}

export function orderPath({ orderId, version }: OrderVersion): string {
  return `orders/${orderId}/${String(version)}`
}

/** "by Nora Lind, Mon 9 Mar, 05:20" */
export function transcribedText(
  ctx: RequestContext,
  { transcribedById, writtenAtMs }: OrderVersion,
  zone: string,
): string {
  return `by ${nameOf(ctx, transcribedById)}, ${formatWhen(writtenAtMs, ctx.nowMs, zone)}`
}

/** The same of its verification; "nobody yet" where there is none. */
export function verifiedText(ctx: RequestContext, { verified }: OrderVersion, zone: string): string {
  return verified === null
    ? 'nobody yet'
    : `by ${nameOf(ctx, verified.byId)}, ${formatWhen(verified.atMs, ctx.nowMs, zone)}`
}

/** "from 05:20 until Wed 11 Mar, 08:00", by its own dates and by what ended it. */
export function runsText(
  { order: { startsAtMs, stopsAtMs }, endedAtMs }: OrderVersion,
  nowMs: number,
  zone: string,
): string {
  const at = (ms: number): string => formatWhen(ms, nowMs, zone)
  const ends = [stopsAtMs, endedAtMs].filter((ms): ms is number => ms !== null)
  if (endedAtMs !== null && endedAtMs <= startsAtMs) return `was to start ${at(startsAtMs)}, ended ${at(endedAtMs)}`
  return `from ${at(startsAtMs)} ${ends.length === 0 ? 'until further notice' : `until ${at(Math.min(...ends))}`}`
}

/** How the order was stopped, in one sentence; null where nobody stopped it, or a later stop is another version's. */
export function stoppedText(ctx: RequestContext, { version, state, zone }: OrderContext): string | null {
  if (state !== 'stopped') return null
  const stop = ctx.store
    .orderStops(ctx.scope, version.stayId)
    .find(({ orderId, atMs }) => orderId === version.orderId && atMs === version.endedAtMs)
  if (stop === undefined) return null
  const ordered =
    stop.orderedBy === null
      ? ''
      : `, ordered by ${stop.orderedBy}${stop.received === null ? '' : ` (${RECEIVED[stop.received]})`}`
  return `Stopped ${formatWhen(stop.atMs, ctx.nowMs, zone)} by ${nameOf(ctx, stop.byId)}${ordered}: ${stop.reason}`
}

/** What a dose worked out from the version is held to today: the order's limits and the ward's. */
export function limitsOf({
  version: { order },
  facts: {
    policy: { policy },
  },
}: OrderContext): readonly { readonly name: string; readonly value: string }[] {
  const limit = singleDoseLimit(order, policy)
  const interval =
    order.correctionIntervalMin ?? policy.dose.correctionIntervalMin[INSULIN_CLASS[order.insulin]] ?? null
  const whose = (own: boolean): string => (own ? 'by the order' : 'by ward policy')
  return [
    { name: 'Single dose', value: `at most ${formatUnits(limit)}, ${whose(limit === order.maxSingleDose)}` },
    ...(order.correction === null || interval === null
      ? []
      : [
          {
            name: 'Between two corrections',
            value: `${formatMinutes(interval)}, ${whose(order.correctionIntervalMin !== null)}`,
          },
        ]),
    ...(order.correction === null && order.meal === null
      ? []
      : [
          {
            name: 'Age of the reading',
            value: `at most ${formatMinutes(policy.dose.readingAgeMaxMin)}, by ward policy`,
          },
        ]),
    {
      name: 'Low',
      value: `below ${formatGlucose({ unit: policy.unit, value: policy.limits.low })}: treated first, no correction, by ward policy`,
    },
    ...(order.unit === policy.unit
      ? []
      : [
          {
            name: 'Unit',
            value: `the order counts in ${order.unit}, the ward in ${policy.unit}: no dose before it is transcribed again`,
          },
        ]),
  ]
}

/** True while the order has a version that is in force or still to start. */
export function hasRunning({ versions }: OrderContext, nowMs: number): boolean {
  return versions.some((one) => isRunning(one, nowMs))
}
