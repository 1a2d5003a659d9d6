/** Every order of one patient, every version, newest first. */
import { verifyBlock, versionState } from '../../shared/order/verify.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import { orderList, type OrderRowView } from '../../views/order/list.ts'
import { VERSION_MARK } from '../../views/words/verification.ts'
import { recordPatientRead } from '../http/access.ts'
import { isNurse } from '../http/page.ts'
import type { PageView, Visit } from '../http/visit.ts'
import { bannerOf } from '../stay/banner.ts'
import type { OrderVerification, StayFacts } from '../store/contract.ts'
import {
  hasDiffered,
  orderPath,
  runsText,
  stayOfAddress,
  titleOf,
  transcribedText,
  verifiedText,
} from './reading-load.ts'

/** The page of the stay of the address; undefined when it is not there, or not on a ward of this person's. */
export function listPage(visit: Visit): PageView | undefined {
  const facts = stayOfAddress(visit)
  if (facts === undefined) return undefined
  const { stay } = facts
  recordPatientRead(visit, stay.stayId)
  const versions = visit.store.orderVersions(visit.scope, stay.stayId)
  const verifications = new Map(
    [...new Set(versions.map(({ orderId }) => orderId))].map((orderId) => [
      orderId,
      visit.store.orderVerifications(visit.scope, orderId),
    ]),
  )
  const rows = versions.map((version) =>
    rowOf(visit, facts, version, {
      versions: versions.filter(({ orderId }) => orderId === version.orderId),
      verifications: verifications.get(version.orderId) ?? [],
    }),
  )
  return {
    title: 'Insulin orders',
    body: orderList({
      stayId: stay.stayId,
      patient: bannerOf(facts, visit.nowMs, true),
      rows,
      mayChart: isNurse(visit.actor) && stay.dischargedAtMs === null,
    }),
  }
}

function rowOf(
  visit: Visit,
  facts: StayFacts,
  version: OrderVersion,
  order: { readonly versions: readonly OrderVersion[]; readonly verifications: readonly OrderVerification[] },
): OrderRowView {
  const { zone } = facts.policy.policy
  const { nowMs, actor } = visit
  const differed = hasDiffered(version, order.verifications)
  const { wardId, dischargedAtMs } = facts.stay
  const mayVerify =
    isNurse(actor) && verifyBlock({ version, differed, wardId, dischargedAtMs, nowMs }, actor.staffId) === null
  return {
    path: orderPath(version),
    title: titleOf(version),
    mark: VERSION_MARK[versionState(version, { versions: order.versions, differed, nowMs })],
    transcribed: transcribedText(visit, version, zone),
    verified: verifiedText(visit, version, zone),
    runs: runsText(version, nowMs, zone),
    ways: mayVerify ? [{ path: `${orderPath(version)}/verify`, label: 'Verify' }] : [],
  }
}
