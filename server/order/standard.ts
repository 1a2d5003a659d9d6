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
import { parameter } from '../check/load.ts'
import { newFormKey } from '../http/forms.ts'
import type { Decided, FormSpec, FormState, PageView, Visit } from '../http/visit.ts'
import { nameOf } from '../reading/load.ts'
import type { Ward } from '../store/contract.ts'

/** Those who may look at a ward's standard orders in setup. */
export const STANDARD_READERS: readonly Role[] = ['charge-nurse', 'administrator']

type StandardContext = {
  readonly ward: Ward
  readonly policy: WardPolicy
  /** newest first */ readonly versions: readonly StandardOrder[]
}

/** The policy that counts on the ward now, for whoever may set it up. */
function policyOf(visit: Visit, wardId: string): WardPolicy | undefined {
  const versions = visit.store.policyVersions(visit.scope, wardId)
  return (versions.find(({ fromMs }) => fromMs <= visit.nowMs) ?? versions.at(-1))?.policy
}

/** The standard order of the address; undefined when it is not there, or not of a ward that this person may see. */
function standardContext(visit: Visit): StandardContext | undefined {
  const standardOrderId = parameter(visit, 'id')
  for (const ward of visit.store.setUpWards(visit.scope)) {
    const versions = visit.store
      .standardOrders(visit.scope, ward.wardId)
      .filter((one) => one.standardOrderId === standardOrderId)
      .sort((a, b) => b.version - a.version)
    const policy = versions.length === 0 ? undefined : policyOf(visit, ward.wardId)
    if (policy !== undefined) return { ward, policy, versions }
  }
  return undefined
}

const byWhen = (visit: Visit, byId: string, atMs: number, zone: string): string =>
  `${nameOf(visit, byId)}, ${formatWhen(atMs, visit.nowMs, zone)}`

/** The newest version of each, by ward. */
export function standardListPage(visit: Visit): PageView {
  const wards = visit.store.setUpWards(visit.scope).map((ward) => {
    const every = visit.store.standardOrders(visit.scope, ward.wardId)
    const zone = policyOf(visit, ward.wardId)?.zone ?? 'UTC'
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
            visit.nowMs,
          )
        ],
        written: byWhen(visit, one.writtenById, one.writtenAtMs, zone),
        approved: one.approved === null ? '–' : byWhen(visit, one.approved.byId, one.approved.atMs, zone),
      })),
    }
  })
  return { title: 'Standard orders', body: standardList({ wards }) }
}

function isAdministrator(visit: Visit): boolean {
  return visit.actor.role === 'administrator'
}

const APPROVE = 'standard-order-approve'
const WITHDRAW = 'standard-order-withdraw'

/** The page of the standard order of the address with the forms that this person may use; undefined: not there. */
export function standardOrderPage(
  visit: Visit,
  sent: { readonly form: typeof APPROVE | typeof WITHDRAW; readonly state: FormState } | null = null,
): PageView | undefined {
  const context = standardContext(visit)
  const newest = context?.versions[0]
  if (context === undefined || newest === undefined) return undefined
  const { ward, policy, versions } = context
  const state = (standard: StandardOrder): ReturnType<typeof standardState> =>
    standardState(standard, versions, visit.nowMs)
  const keyOf = (form: string): string =>
    sent?.form === form ? (sent.state.values['key'] ?? '') : newFormKey(visit, form)
  const isOpen = versions.some((one) => state(one) === 'approved' || state(one) === 'waits-for-approval')
  const view: StandardPageView = {
    standardOrderId: newest.standardOrderId,
    name: newest.name,
    wardName: ward.name,
    versions: versions.map((one) => ({
      title: `${one.name}, version ${String(one.version)}`,
      mark: STANDARD_MARK[state(one)],
      facts: [
        { name: 'Written', value: byWhen(visit, one.writtenById, one.writtenAtMs, policy.zone) },
        {
          name: 'Approved',
          value: one.approved === null ? 'by nobody' : byWhen(visit, one.approved.byId, one.approved.atMs, policy.zone),
        },
        ...(one.endedAtMs === null
          ? []
          : [{ name: 'Ended', value: formatWhen(one.endedAtMs, visit.nowMs, policy.zone) }]),
      ],
      table: standardOrderTable(one.order, policy.zone),
    })),
    approve:
      isAdministrator(visit) && state(newest) === 'waits-for-approval'
        ? approveView(visit, newest, keyOf(APPROVE))
        : null,
    withdraw:
      isAdministrator(visit) && isOpen
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

function approveView(visit: Visit, newest: StandardOrder, key: string): StandardPageView['approve'] {
  return newest.writtenById === visit.actor.staffId
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

export const approveSpec: FormSpec<Version, ApproveRefusal> = {
  name: APPROVE,
  schema: ApproveForm,
  initial: () => ({}),
  draw: (visit, state) => standardOrderPage(visit, { form: APPROVE, state }),
  decide: (fields, visit) =>
    decideOn(visit, ({ versions, policy }) => {
      const standard = versions.find(({ version }) => version === fields.version)
      return standard === undefined
        ? refuse('standard-gone')
        : approveStandard(visit.actor.staffId, { standard, versions, policy, nowMs: visit.nowMs })
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

export const withdrawSpec: FormSpec<z.output<typeof WithdrawForm>, WithdrawRefusal> = {
  name: WITHDRAW,
  schema: WithdrawForm,
  initial: () => ({}),
  draw: (visit, state) => standardOrderPage(visit, { form: WITHDRAW, state }),
  decide: ({ reason }, visit) =>
    decideOn(visit, ({ versions }) =>
      withdrawStandard({ byId: visit.actor.staffId, reason }, { versions, nowMs: visit.nowMs }),
    ),
  sentences: STANDARD_SENTENCES,
  fieldOf: {},
  statusOf: { 'standard-gone': 404, 'standard-withdrawn': 409 },
}

function decideOn<R extends string>(
  visit: Visit,
  decide: (context: StandardContext) => Outcome<readonly LedgerEvent[], R | 'standard-gone'>,
): Outcome<Decided, R | 'standard-gone'> {
  const context = standardContext(visit)
  const standardOrderId = context?.versions[0]?.standardOrderId
  if (context === undefined || standardOrderId === undefined) return refuse('standard-gone')
  const decision = decide(context)
  return decision.ok
    ? { ok: true, value: { events: decision.value, location: `/setup/standard-orders/${standardOrderId}` } }
    : decision
}
