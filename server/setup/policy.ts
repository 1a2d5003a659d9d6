/** A ward's policy: everybody of the ward may read it, administrators may change it. */
import { z } from 'zod'
import { isChangeable, PARTS } from '../../shared/policy/parts.ts'
import { exists } from '../../shared/policy/ward-policy.ts'
import { formatDateTime } from '../../views/format.ts'
import { policyPage, type PartView, type VersionView } from '../../views/setup/policy.ts'
import { formRoute } from '../http/forms.ts'
import { messageResponse, page, type PageResponse } from '../http/page.ts'
import { ADMINISTRATORS, EVERYBODY } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { type WardRequest, WARD_ADDRESS } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { PolicyRecord } from '../store/contract.ts'
import {
  CHANGE_ADDRESS,
  defaultOf,
  nameOfStaff,
  policyContext,
  said,
  waitingView,
  type PolicyContext,
} from './policy-load.ts'
import { changeSpec } from './policy-change.ts'
import { PART_ADDRESS, partSpec } from './policy-part.ts'

/** `version`: the one to show; none: the one in force. Sent twice, it names none that is there. */
const POLICY_QUERY = z.object({ version: z.string().optional().catch('') })
type PolicyRequest = RequestContext<WardRequest['params'], z.output<typeof POLICY_QUERY>>

export function registerPolicy(server: Server): void {
  route(
    server,
    { method: 'GET', url: '/setup/wards/:wardId/policy', roles: EVERYBODY, params: WARD_ADDRESS, query: POLICY_QUERY },
    showPolicy,
  )
  formRoute(server, {
    url: '/setup/wards/:wardId/policy/:part',
    roles: ADMINISTRATORS,
    params: PART_ADDRESS,
    spec: partSpec,
  })
  formRoute(server, {
    url: '/setup/policy-changes/:changeId',
    roles: ADMINISTRATORS,
    params: CHANGE_ADDRESS,
    spec: changeSpec,
  })
}

/** GET: the version in force, or the one named in the query string. */
function showPolicy(ctx: PolicyRequest): PageResponse {
  const context = policyContext(ctx)
  const shown = context === undefined ? undefined : versionAsked(ctx, context)
  if (context === undefined || shown === undefined) return messageResponse(ctx, 404, 'not-found')
  const mayChange = ADMINISTRATORS.includes(ctx.actor.role)
  return page(ctx, 200, {
    title: 'Ward policy',
    body: policyPage({
      wardId: context.ward.wardId,
      wardName: context.ward.name,
      shown: versionView(ctx, context, shown),
      // a change is based on the newest version, so it is offered only beside the version in force
      parts: partViews(shown, mayChange && shown === context.inForce),
      versions: context.versions.map((version) => versionView(ctx, context, version)),
      waiting: context.waiting.map((change) => waitingView(ctx, context, change)),
      mayAnswer: mayChange,
    }),
  })
}

function versionAsked(
  { query: { version } }: PolicyRequest,
  { versions, inForce }: PolicyContext,
): PolicyRecord | undefined {
  return version === undefined ? inForce : versions.find((one) => String(one.version) === version)
}

function partViews({ policy }: PolicyRecord, mayChange: boolean): readonly PartView[] {
  return PARTS.map((part) => ({
    id: part.id,
    title: part.title,
    about: part.about,
    mayChange: mayChange && isChangeable(part),
    settings: part.fields
      .filter((field) => exists(field, policy))
      .map((field) => {
        const [value, byDefault] = [said(field, policy), defaultOf(field, policy)]
        return {
          label: field.label,
          value,
          default: value === byDefault ? null : byDefault,
          source: field.source,
          touchesDose: field.touchesDose,
        }
      }),
  }))
}

function versionView(
  ctx: RequestContext,
  { versions, inForce, newest }: PolicyContext,
  record: PolicyRecord,
): VersionView {
  const writerId = record.changeId === null ? null : ctx.store.policyChange(ctx.scope, record.changeId)?.writtenById
  const by = nameOfStaff(ctx, record.byId)
  return {
    version: record.version,
    from: formatDateTime(record.fromMs, newest.policy.zone),
    by: writerId === null || writerId === undefined ? by : `${nameOfStaff(ctx, writerId)}, approved by ${by}`,
    note: record.note,
    state: record === inForce ? 'in-force' : stateOf(record, versions, ctx.nowMs),
  }
}

/** The state of a version not in force now. One that a later version replaced before its start never applies. */
function stateOf(
  { version, fromMs }: PolicyRecord,
  versions: readonly PolicyRecord[],
  nowMs: number,
): VersionView['state'] {
  if (versions.some((later) => later.version > version && later.fromMs <= fromMs)) return 'never'
  return fromMs > nowMs ? 'to-come' : 'past'
}
