/** Loads the data of the pages about a ward's policy. */
import { z } from 'zod'
import type { PolicyChange } from '../../shared/policy/change.ts'
import type { PolicyField } from '../../shared/policy/entry.ts'
import { saySetting } from '../../shared/policy/field.ts'
import { changedSettings } from '../../shared/policy/parts.ts'
import { defaultPolicy, settingOf, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import { versionInForce } from '../../shared/policy/in-force.ts'
import { formatDateTime } from '../../views/format.ts'
import type { ChangeLineView, WaitingChangeView } from '../../views/setup/policy-change.ts'
import { NOBODY_SIGNED_IN } from '../../views/words/policy.ts'
import { id, type WardRequest } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { PolicyRecord, Ward } from '../store/contract.ts'

export type PolicyContext = {
  readonly ward: Ward
  /** Newest first; at least one. */
  readonly versions: readonly PolicyRecord[]
  readonly newest: PolicyRecord
  /** The version in force now. */
  readonly inForce: PolicyRecord
  /** Changes that wait for a second administrator, newest first. */
  readonly waiting: readonly PolicyChange[]
}

/** The ward in the path with its policy. Undefined: it does not exist, or is not one of this person's. */
export function policyContext(ctx: WardRequest): PolicyContext | undefined {
  return policyOfWard(ctx, ctx.params.wardId)
}

export function policyOfWard(ctx: RequestContext, wardId: string): PolicyContext | undefined {
  const { store, scope, nowMs } = ctx
  const ward = store.setUpWards(scope).find((one) => one.wardId === wardId)
  const versions = store.policyVersions(scope, wardId)
  const newest = versions[0]
  if (ward === undefined || newest === undefined) return undefined
  const inForce = versionInForce(versions, nowMs) ?? newest
  return {
    ward,
    versions,
    newest,
    inForce,
    waiting: store.policyChanges(scope, wardId).filter(({ outcome }) => outcome === null),
  }
}

export const CHANGE_ADDRESS = z.object({ changeId: id })
export type ChangeRequest = RequestContext<z.output<typeof CHANGE_ADDRESS>>

/** The change in the path with its ward's policy. Undefined: it does not exist, or the ward is not this person's. */
export function changeContext(
  ctx: ChangeRequest,
): { readonly change: PolicyChange; readonly context: PolicyContext } | undefined {
  const change = ctx.store.policyChange(ctx.scope, ctx.params.changeId)
  const context = change === undefined ? undefined : policyOfWard(ctx, change.wardId)
  return change === undefined || context === undefined ? undefined : { change, context }
}

export function nameOfStaff(ctx: RequestContext, staffId: string): string {
  return ctx.store.staffById(staffId)?.name ?? NOBODY_SIGNED_IN[staffId] ?? '–'
}

/** A setting of the policy in words. */
export function said(field: PolicyField, policy: WardPolicy): string {
  return saySetting(field, settingOf(policy, field.name), policy.unit)
}

/** The default of the setting for a new ward with this unit. */
export function defaultOf(field: PolicyField, { unit, zone }: WardPolicy): string {
  return said(field, defaultPolicy(unit, zone))
}

/** What differs, old and new value, line by line. */
export function changeLines(before: WardPolicy, after: WardPolicy): readonly ChangeLineView[] {
  return changedSettings(before, after).map(({ part, field }) => ({
    part: part.title,
    label: field.label,
    from: said(field, before),
    to: said(field, after),
    touchesDose: field.touchesDose,
  }))
}

/** A waiting change as a line: its differences from the version it is based on, who wrote it, why, and from when. */
export function waitingView(
  ctx: RequestContext,
  { ward, versions, newest }: PolicyContext,
  change: PolicyChange,
): WaitingChangeView {
  const base = versions.find(({ version }) => version === change.basedOn) ?? newest
  return {
    changeId: change.changeId,
    wardName: ward.name,
    lines: changeLines(base.policy, change.policy),
    writer: nameOfStaff(ctx, change.writtenById),
    writtenAt: formatDateTime(change.writtenAtMs, newest.policy.zone),
    from:
      change.fromMs <= (change.outcome?.atMs ?? ctx.nowMs)
        ? 'from its approval'
        : `from ${formatDateTime(change.fromMs, newest.policy.zone)}`,
    note: change.note,
    isOutdated: change.basedOn !== newest.version,
    isOwn: change.writtenById === ctx.actor.staffId,
  }
}
