/** The forms of a policy: changing one part, and a second administrator's answer to a change. */
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { typedSetting } from '../../shared/policy/field.ts'
import { isChangeable, partById, type Part } from '../../shared/policy/parts.ts'
import { approveChange, changePart, refuseChange } from '../../shared/policy/set.ts'
import { settingOf } from '../../shared/policy/ward-policy.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { parseLocalDateTime } from '../../shared/time/zone.ts'
import { formatDateTime } from '../../views/format.ts'
import { changePage } from '../../views/setup/policy-change.ts'
import { partForm } from '../../views/setup/policy-form.ts'
import { CHANGE_SENTENCES, SET_SENTENCES } from '../../views/words/policy.ts'
import { z } from 'zod'
import { text, WARD_ADDRESS } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { headOf } from '../bedside/event-head.ts'
import { CHANGE_FORM, partSchema, type ChangeFields, type PartFields } from './policy-forms.ts'
import {
  changeContext,
  defaultOf,
  nameOfStaff,
  policyContext,
  said,
  waitingView,
  type ChangeRequest,
  type PolicyContext,
} from './policy-load.ts'

/** `part`: of the policy (shared/policy/parts.ts). */
export const PART_ADDRESS = WARD_ADDRESS.extend({ part: text })
type PartRequest = RequestContext<z.output<typeof PART_ADDRESS>>

type PartContext = { readonly context: PolicyContext; readonly part: Part }

function partContext(ctx: PartRequest): PartContext | undefined {
  const context = policyContext(ctx)
  const part = partById(ctx.params.part)
  return context === undefined || part === undefined || !isChangeable(part) ? undefined : { context, part }
}

type PartRefusal = keyof typeof SET_SENTENCES

export const partSpec: FormSpec<PartFields, PartRefusal, PartRequest> = {
  name: 'policy-part',
  schema: (ctx) => {
    const found = partContext(ctx)
    // without a ward or part nothing is rendered or accepted
    return found === undefined ? z.never() : partSchema(found.part, found.context.newest.policy)
  },
  initial: (ctx) => {
    const found = partContext(ctx)
    if (found === undefined) return {}
    const {
      part,
      context: { newest },
    } = found
    const typed = part.fields.map((field) =>
      typedSetting(field, settingOf(newest.policy, field.name), newest.policy.unit),
    )
    return { ...(Object.assign({}, ...typed) as Readonly<Record<string, string>>), shown: String(newest.version) }
  },
  draw: drawPart,
  decide: decidePart,
  sentences: SET_SENTENCES,
  fieldOf: { 'from-not-a-time': 'from', 'from-in-past': 'from', 'from-too-far': 'from', 'from-before-newest': 'from' },
  statusOf: { 'ward-gone': 404, 'policy-moved-on': 409, 'same-change-waits': 409 },
}

function drawPart(ctx: PartRequest, state: FormState): PageView | undefined {
  const found = partContext(ctx)
  if (found === undefined) return undefined
  const {
    part,
    context: { ward, newest },
  } = found
  const { policy } = newest
  return {
    title: 'Change policy',
    body: partForm({
      wardId: ward.wardId,
      wardName: ward.name,
      partId: part.id,
      title: part.title,
      about: part.about,
      unit: policy.unit,
      settings: part.fields.map((field) => ({ field, now: said(field, policy), default: defaultOf(field, policy) })),
      version: newest.version,
      laterFrom: newest.fromMs > ctx.nowMs ? formatDateTime(newest.fromMs, policy.zone) : null,
      ...state,
    }),
  }
}

function decidePart(fields: PartFields, ctx: PartRequest): Outcome<FormDecision, PartRefusal> {
  const found = partContext(ctx)
  if (found === undefined) return refuse('ward-gone')
  const {
    part,
    context: { ward, newest, waiting },
  } = found
  const fromMs = fields.from === '' ? null : parseLocalDateTime(fields.from, newest.policy.zone, ctx.nowMs)
  if (fields.from !== '' && fromMs === null) return refuse('from-not-a-time')
  const decided = changePart({
    newest,
    shown: fields.shown,
    part,
    settings: fields.settings,
    fromMs,
    waiting,
    nowMs: ctx.nowMs,
  })
  if (!decided.ok) return decided
  const { kind, policy, fromMs: counts } = decided.value
  const head = headOf(ctx, { wardId: ward.wardId })
  if (kind === 'set') {
    const set: LedgerEvent = {
      ...head,
      type: 'policy-set-from',
      body: { version: newest.version + 1, policy, fromMs: counts, changeId: null, note: fields.note },
    }
    return accept({ events: [set], location: `/setup/wards/${ward.wardId}/policy` })
  }
  const changeId = ctx.services.newId()
  const written: LedgerEvent = {
    ...head,
    type: 'policy-change-written',
    body: { changeId, basedOn: newest.version, policy, fromMs: counts, note: fields.note },
  }
  return accept({ events: [written], location: `/setup/policy-changes/${changeId}` })
}

type AnswerRefusal = keyof typeof CHANGE_SENTENCES

export const changeSpec: FormSpec<ChangeFields, AnswerRefusal, ChangeRequest> = {
  name: 'policy-change',
  schema: CHANGE_FORM,
  initial: () => ({}),
  draw: drawChange,
  decide: decideChange,
  sentences: CHANGE_SENTENCES,
  fieldOf: { 'reason-missing': 'reason' },
  statusOf: { 'change-gone': 404, 'change-settled': 409, 'change-is-own': 403, 'policy-moved-on': 409 },
}

function decideChange(fields: ChangeFields, ctx: ChangeRequest): Outcome<FormDecision, AnswerRefusal> {
  const found = changeContext(ctx)
  if (found === undefined) return refuse('change-gone')
  const {
    change,
    context: { newest },
  } = found
  const head = headOf(ctx, { wardId: change.wardId })
  if (fields.answer === 'refuse') {
    const refused = refuseChange(change, fields.reason)
    return refused.ok
      ? accept({
          events: [{ ...head, type: 'policy-change-refused', body: refused.value }],
          location: `/setup/policy-changes/${change.changeId}`,
        })
      : refused
  }
  const approved = approveChange({ change, newest, byId: ctx.actor.staffId, nowMs: ctx.nowMs })
  return approved.ok
    ? accept({
        events: [{ ...head, type: 'policy-set-from', body: approved.value }],
        location: `/setup/wards/${change.wardId}/policy`,
      })
    : approved
}

function drawChange(ctx: ChangeRequest, state: FormState): PageView | undefined {
  const found = changeContext(ctx)
  if (found === undefined) return undefined
  const { change, context } = found
  const { outcome } = change
  const settled =
    outcome === null
      ? null
      : {
          word: outcome.kind === 'approved' ? 'Approved' : 'Refused',
          by: `By ${nameOfStaff(ctx, outcome.byId)}, ${formatDateTime(outcome.atMs, context.newest.policy.zone)}${outcome.reason === null ? '' : `: ${outcome.reason}`}`,
        }
  return {
    title: 'Change of policy',
    body: changePage({ change: waitingView(ctx, context, change), wardId: change.wardId, settled, ...state }),
  }
}
