/** A ward's standard orders in setup: the list, one of them with all its versions, its approval and its withdrawal. */
import { z } from 'zod'
import type { LedgerEvent, Role } from '../../shared/ledger/events.ts'
import { refuse, type Outcome } from '../../shared/outcome.ts'
import {
  approveStandard,
  standardState,
  withdrawStandard,
  type ApproveRefusal,
  type StandardOrder,
  type WithdrawRefusal,
} from '../../shared/order/standard.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { standardOrderTable } from '../../views/dose/order-table.ts'
import { formatWhen } from '../../views/format.ts'
import { standardList, standardPage, type StandardPageView } from '../../views/order/standard.ts'
import { ORDER_SENTENCES } from '../../views/words/order.ts'
import { STANDARD_MARK, STANDARD_SENTENCES } from '../../views/words/verification.ts'
import { newFormKey } from '../http/forms.ts'
import { id } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import type { Ward } from '../store/contract.ts'
import { policyToSetUp } from './entry.ts'

/** Those who may look at a ward's standard orders in setup. */
export const STANDARD_READERS: readonly Role[] = ['charge-nurse', 'administrator']

export const STANDARD_ADDRESS = z.object({ id })
export type StandardRequest = RequestContext<z.output<typeof STANDARD_ADDRESS>>

type StandardContext = {
  readonly ward: Ward
  readonly policy: WardPolicy
  /** newest first */ readonly versions: readonly StandardOrder[]
}

/** The standard order of the address; undefined when it is not there, or not of a ward that this person may see. */
function standardContext(ctx: StandardRequest): StandardContext | undefined {
  const standardOrderId = ctx.params.id
  for (const ward of ctx.store.setUpWards(ctx.scope)) {
    const versions = ctx.store
      .standardOrders(ctx.scope, ward.wardId)
      .filter((one) => one.standardOrderId === standardOrderId)
      .sort((a, b) => b.version - a.version)
    const policy = versions.length === 0 ? undefined : policyToSetUp(ctx, ward.wardId)
    if (policy !== undefined) return { ward, policy, versions }
  }
  return undefined
}

const byWhen = (ctx: RequestContext, byId: string, atMs: number, zone: string): string =>
  `${nameOf(ctx, byId)}, ${formatWhen(atMs, ctx.nowMs, zone)}`

/** The newest version of each, by ward. */
export function standardListPage(ctx: RequestContext): PageView {
  const wards = ctx.store.setUpWards(ctx.scope).map((ward) => {
    const every = ctx.store.standardOrders(ctx.scope, ward.wardId)
    const zone = policyToSetUp(ctx, ward.wardId)?.zone ?? 'UTC'
    const newest = every.filter(
      (one) => !every.some((other) => other.standardOrderId === one.standardOrderId && other.version > one.version),
    )
    return {
      name: ward.name,
      rows: newest.map((one) => ({
        path: `setup/standard-orders/${one.standardOrderId}`,
        name: one.name,
        version: String(one.version),
        mark: STANDARD_MARK[
          standardState(
            one,
            every.filter(({ standardOrderId }) => standardOrderId === one.standardOrderId),
            ctx.nowMs,
          )
        ],
        written: byWhen(ctx, one.writtenById, one.writtenAtMs, zone),
        approved: one.approved === null ? '–' : byWhen(ctx, one.approved.byId, one.approved.atMs, zone),
      })),
    }
  })
  return { title: 'Standard orders', body: standardList({ wards }) }
}

function isAdministrator(ctx: RequestContext): boolean {
  return ctx.actor.role === 'administrator'
}

const APPROVE = 'standard-order-approve'
const WITHDRAW = 'standard-order-withdraw'

/** The page of the standard order of the address with the forms that this person may use; undefined: not there. */
export function standardOrderPage(
  ctx: StandardRequest,
  sent: { readonly form: typeof APPROVE | typeof WITHDRAW; readonly state: FormState } | null = null,
): PageView | undefined {
  const context = standardContext(ctx)
  const newest = context?.versions[0]
  if (context === undefined || newest === undefined) return undefined
  const { ward, policy, versions } = context
  const state = (standard: StandardOrder): ReturnType<typeof standardState> =>
    standardState(standard, versions, ctx.nowMs)
  const keyOf = (form: string): string =>
    sent?.form === form ? (sent.state.values['key'] ?? '') : newFormKey(ctx, form)
  const isOpen = versions.some((one) => state(one) === 'approved' || state(one) === 'waits-for-approval')
  const view: StandardPageView = {
    standardOrderId: newest.standardOrderId,
    name: newest.name,
    wardName: ward.name,
    versions: versions.map((one) => ({
      title: `${one.name}, version ${String(one.version)}`,
      mark: STANDARD_MARK[state(one)],
      facts: [
        { name: 'Written', value: byWhen(ctx, one.writtenById, one.writtenAtMs, policy.zone) },
        {
          name: 'Approved',
          value: one.approved === null ? 'by nobody' : byWhen(ctx, one.approved.byId, one.approved.atMs, policy.zone),
        },
        ...(one.endedAtMs === null
          ? []
          : [{ name: 'Ended', value: formatWhen(one.endedAtMs, ctx.nowMs, policy.zone) }]),
      ],
      table: standardOrderTable(one.order, policy.zone),
    })),
    approve:
      isAdministrator(ctx) && state(newest) === 'waits-for-approval' ? approveView(ctx, newest, keyOf(APPROVE)) : null,
    withdraw:
      isAdministrator(ctx) && isOpen
        ? {
            key: keyOf(WITHDRAW),
            reason: sent?.state.values['reason'] ?? '',
            error: sent?.state.errors['reason'] ?? null,
          }
        : null,
    problem: sent?.state.problem ?? null,
  }
  return { title: 'Standard order', body: standardPage(view) }
}

function approveView(ctx: RequestContext, newest: StandardOrder, key: string): StandardPageView['approve'] {
  return newest.writtenById === ctx.actor.staffId
    ? { sentence: STANDARD_SENTENCES['approver-wrote-it']({}) }
    : { key, version: String(newest.version) }
}

type Version = { readonly version: number }
const ApproveForm = z.strictObject({
  version: z
    .string()
    .regex(/^[1-9]\d{0,4}$/, 'The version that was looked at.')
    .transform(Number),
})

export const approveSpec: FormSpec<Version, ApproveRefusal, StandardRequest> = {
  name: APPROVE,
  schema: ApproveForm,
  initial: () => ({}),
  draw: (ctx, state) => standardOrderPage(ctx, { form: APPROVE, state }),
  decide: (fields, ctx) =>
    decideOn(ctx, ({ versions, policy }) => {
      const standard = versions.find(({ version }) => version === fields.version)
      return standard === undefined
        ? refuse('standard-gone')
        : approveStandard(ctx.actor.staffId, { standard, versions, policy, nowMs: ctx.nowMs })
    }),
  sentences: { ...ORDER_SENTENCES, ...STANDARD_SENTENCES },
  fieldOf: {},
  statusOf: {
    'standard-gone': 404,
    'standard-not-newest': 409,
    'standard-approved-already': 409,
    'standard-withdrawn': 409,
    'approver-wrote-it': 403,
  },
}

const REASON = 'Say why it is withdrawn.'
const WithdrawForm = z.strictObject({
  reason: z.string(REASON).trim().min(1, REASON).max(200, 'At most 200 characters.'),
})

export const withdrawSpec: FormSpec<z.output<typeof WithdrawForm>, WithdrawRefusal, StandardRequest> = {
  name: WITHDRAW,
  schema: WithdrawForm,
  initial: () => ({}),
  draw: (ctx, state) => standardOrderPage(ctx, { form: WITHDRAW, state }),
  decide: ({ reason }, ctx) =>
    decideOn(ctx, ({ versions }) =>
      withdrawStandard({ byId: ctx.actor.staffId, reason }, { versions, nowMs: ctx.nowMs }),
    ),
  sentences: STANDARD_SENTENCES,
  fieldOf: {},
  statusOf: { 'standard-gone': 404, 'standard-withdrawn': 409 },
}

function decideOn<R extends string>(
  ctx: StandardRequest,
  decide: (context: StandardContext) => Outcome<readonly LedgerEvent[], R | 'standard-gone'>,
): Outcome<FormDecision, R | 'standard-gone'> {
  const context = standardContext(ctx)
  const standardOrderId = context?.versions[0]?.standardOrderId
  if (context === undefined || standardOrderId === undefined) return refuse('standard-gone')
  const decision = decide(context)
  return decision.ok
    ? { ok: true, value: { events: decision.value, location: `/setup/standard-orders/${standardOrderId}` } }
    : decision
}
