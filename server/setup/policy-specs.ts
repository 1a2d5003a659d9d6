/** The forms of a policy: one part changed, and a change answered by a second administrator. */
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { typedSetting, settingOf } from '../../shared/policy/field.ts'
import { isChangeable, partById, type Part } from '../../shared/policy/parts.ts'
import { approveChange, changePart, refuseChange } from '../../shared/policy/set.ts'
import type { EventHead, LedgerEvent } from '../../shared/ledger/events.ts'
import { parseLocalDateTime } from '../../shared/time/zone.ts'
import { formatDateTime } from '../../views/format.ts'
import { changePage } from '../../views/setup/policy-change.ts'
import { partForm } from '../../views/setup/policy-form.ts'
import { CHANGE_SENTENCES, SET_SENTENCES } from '../../views/words/policy.ts'
import { z } from 'zod'
import { parameter } from '../check/load.ts'
import type { Decided, FormSpec, FormState, PageView, Visit } from '../http/visit.ts'
import { CHANGE_FORM, partSchema, type ChangeFields, type PartFields } from './policy-forms.ts'
import {
  changeContext,
  defaultOf,
  nameOfStaff,
  policyContext,
  said,
  waitingView,
  type PolicyContext,
} from './policy-load.ts'

type PartContext = { readonly context: PolicyContext; readonly part: Part }

function partContext(visit: Visit): PartContext | undefined {
  const context = policyContext(visit)
  const part = partById(parameter(visit, 'part'))
  return context === undefined || part === undefined || !isChangeable(part) ? undefined : { context, part }
}

/** About the ward, by the person signed in, now. */
export function wardHead(visit: Visit, wardId: string): EventHead {
  return { wardId, stayId: null, actorId: visit.actor.staffId, happenedAtMs: visit.nowMs, chartedAtMs: visit.nowMs }
}

type PartRefusal = keyof typeof SET_SENTENCES

export const partSpec: FormSpec<PartFields, PartRefusal> = {
  name: 'policy-part',
  schema: (visit) => {
    const found = partContext(visit)
    // without a ward or part nothing is drawn and nothing accepted
    return found === undefined ? z.never() : partSchema(found.part, found.context.newest.policy)
  },
  initial: (visit) => {
    const found = partContext(visit)
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

function drawPart(visit: Visit, state: FormState): PageView | undefined {
  const found = partContext(visit)
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
      laterFrom: newest.fromMs > visit.nowMs ? formatDateTime(newest.fromMs, policy.zone) : null,
      ...state,
    }),
  }
}

function decidePart(fields: PartFields, visit: Visit): Outcome<Decided, PartRefusal> {
  const found = partContext(visit)
  if (found === undefined) return refuse('ward-gone')
  const {
    part,
    context: { ward, newest, waiting },
  } = found
  const fromMs = fields.from === '' ? null : parseLocalDateTime(fields.from, newest.policy.zone, visit.nowMs)
  if (fields.from !== '' && fromMs === null) return refuse('from-not-a-time')
  const decided = changePart({
    newest,
    shown: fields.shown,
    part,
    settings: fields.settings,
    fromMs,
    waiting,
    nowMs: visit.nowMs,
  })
  if (!decided.ok) return decided
  const { kind, policy, fromMs: counts } = decided.value
  const head = wardHead(visit, ward.wardId)
  if (kind === 'set') {
    const set: LedgerEvent = {
      ...head,
      type: 'policy-set-from',
      body: { version: newest.version + 1, policy, fromMs: counts, changeId: null, note: fields.note },
    }
    return accept({ events: [set], location: `/setup/wards/${ward.wardId}/policy` })
  }
  const changeId = visit.services.newId()
  const written: LedgerEvent = {
    ...head,
    type: 'policy-change-written',
    body: { changeId, basedOn: newest.version, policy, fromMs: counts, note: fields.note },
  }
  return accept({ events: [written], location: `/setup/policy-changes/${changeId}` })
}

type AnswerRefusal = keyof typeof CHANGE_SENTENCES

export const changeSpec: FormSpec<ChangeFields, AnswerRefusal> = {
  name: 'policy-change',
  schema: CHANGE_FORM,
  initial: () => ({}),
  draw: drawChange,
  decide: decideChange,
  sentences: CHANGE_SENTENCES,
  fieldOf: { 'reason-missing': 'reason' },
  statusOf: { 'change-gone': 404, 'change-settled': 409, 'change-is-own': 403, 'policy-moved-on': 409 },
}

function decideChange(fields: ChangeFields, visit: Visit): Outcome<Decided, AnswerRefusal> {
  const found = changeContext(visit)
  if (found === undefined) return refuse('change-gone')
  const {
    change,
    context: { newest },
  } = found
  const head = wardHead(visit, change.wardId)
  if (fields.answer === 'refuse') {
    const refused = refuseChange(change, fields.reason)
    return refused.ok
      ? accept({
          events: [{ ...head, type: 'policy-change-refused', body: refused.value }],
          location: `/setup/policy-changes/${change.changeId}`,
        })
      : refused
  }
  const approved = approveChange({ change, newest, byId: visit.actor.staffId, nowMs: visit.nowMs })
  return approved.ok
    ? accept({
        events: [{ ...head, type: 'policy-set-from', body: approved.value }],
        location: `/setup/wards/${change.wardId}/policy`,
      })
    : approved
}

function drawChange(visit: Visit, state: FormState): PageView | undefined {
  const found = changeContext(visit)
  if (found === undefined) return undefined
  const { change, context } = found
  const { outcome } = change
  const settled =
    outcome === null
      ? null
      : {
          word: outcome.kind === 'approved' ? 'Approved' : 'Refused',
          by: `By ${nameOfStaff(visit, outcome.byId)}, ${formatDateTime(outcome.atMs, context.newest.policy.zone)}${outcome.reason === null ? '' : `: ${outcome.reason}`}`,
        }
  return {
    title: 'Change of policy',
    body: changePage({ change: waitingView(visit, context, change), wardId: change.wardId, settled, ...state }),
  }
}
