/** GET and POST /setup/policy-changes/:changeId: a second administrator's answer to a change of policy. */
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { approveChange, refuseChange } from '../../shared/policy/set.ts'
import { formatDateTime } from '../../views/format.ts'
import { changePage } from '../../views/setup/policy-change.ts'
import { CHANGE_SENTENCES } from '../../views/words/policy.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import { headOf } from '../bedside/event-head.ts'
import { changeContext, nameOfStaff, waitingView, type ChangeRequest } from './policy-load.ts'

const CHANGE_FORM = z.strictObject({
  answer: z.enum(['approve', 'refuse'], 'Choose one.'),
  reason: z.string().trim().max(200, 'At most 200 characters.').default(''),
})
type ChangeFields = z.output<typeof CHANGE_FORM>

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
