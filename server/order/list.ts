/** Every order of one patient, every version, newest first. */
import { verifyBlock, versionState } from '../../shared/order/verify.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import { orderList, type OrderRowView } from '../../views/order/list.ts'
import { VERSION_MARK } from '../../views/words/verification.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { isNurse } from '../http/page.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import type { OrderVerification, StayFacts } from '../store/contract.ts'
import { hasDiffered, orderPath, runsText, titleOf, transcribedText, verifiedText } from './reading-load.ts'

/** The page of the stay of the address; undefined when it is not there, or not on a ward of this person's. */
export function listPage(ctx: StayRequest): PageView | undefined {
  const facts = stayOfAddress(ctx)
  if (facts === undefined) return undefined
  const { stay } = facts
  recordPatientRead(ctx, stay.stayId)
  const versions = ctx.store.orderVersions(ctx.scope, stay.stayId)
  const verifications = new Map(
    [...new Set(versions.map(({ orderId }) => orderId))].map((orderId) => [
      orderId,
      ctx.store.orderVerifications(ctx.scope, orderId),
    ]),
  )
  const rows = versions.map((version) =>
    rowOf(ctx, facts, version, {
      versions: versions.filter(({ orderId }) => orderId === version.orderId),
      verifications: verifications.get(version.orderId) ?? [],
    }),
  )
  return {
    title: 'Insulin orders',
    body: orderList({
      stayId: stay.stayId,
      patient: bannerOf(facts, ctx.nowMs, true),
      rows,
      mayChart: isNurse(ctx.actor) && stay.dischargedAtMs === null,
    }),
  }
}

function rowOf(
  ctx: StayRequest,
  facts: StayFacts,
  version: OrderVersion,
  order: { readonly versions: readonly OrderVersion[]; readonly verifications: readonly OrderVerification[] },
): OrderRowView {
  const { zone } = facts.policy.policy
  const { nowMs, actor } = ctx
  const differed = hasDiffered(version, order.verifications)
  const { wardId, dischargedAtMs } = facts.stay
  const mayVerify =
    isNurse(actor) && verifyBlock({ version, differed, wardId, dischargedAtMs, nowMs }, actor.staffId) === null
  return {
    path: orderPath(version),
    title: titleOf(version),
    mark: VERSION_MARK[versionState(version, { versions: order.versions, differed, nowMs })],
    transcribed: transcribedText(ctx, version, zone),
    verified: verifiedText(ctx, version, zone),
    runs: runsText(version, nowMs, zone),
    ways: mayVerify ? [{ path: `${orderPath(version)}/verify`, label: 'Verify' }] : [],
  }
}
