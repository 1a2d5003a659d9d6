/** GET and POST /checks/:key/excuse: why a check was not done. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { checkState } from '../../shared/check/state.ts'
import {
  EXCUSE_REASONS,
  excuseCheck,
  MISSED_REASONS,
  reasonsFor,
  type ExcuseRefusal,
} from '../../shared/reading/excuse.ts'
import { alreadyCharted } from '../../views/check/charted.ts'
import { excuseForm } from '../../views/check/excuse.ts'
import { EXCUSE_REASON, MISSED_REASON } from '../../views/words/check.ts'
import { EXCUSE_SENTENCES, READING_SENTENCES } from '../../views/words/reading.ts'
import { bannerOf } from '../bedside/banner.ts'
import { NOTE } from '../bedside/fields.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { CheckRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView } from '../http/request-context.ts'
import { happenedText, whatCheck, whenCheck } from './form.ts'
import { checkContext } from './load.ts'

const EXCUSE_FORM = z.strictObject({
  reason: z.enum([...new Set([...EXCUSE_REASONS, ...MISSED_REASONS])], { error: 'Choose a reason.' }),
  note: NOTE,
})

type ExcuseFields = ReturnType<(typeof EXCUSE_FORM)['parse']>

export const excuseSpec: FormSpec<ExcuseFields, ExcuseRefusal | 'check-unknown', CheckRequest> = {
  name: 'excuse',
  schema: EXCUSE_FORM,
  initial: () => ({}),
  draw: drawExcuse,
  decide: (fields, ctx) => {
    const context = checkContext(ctx, ctx.params.key)
    if (context === undefined) return refuse('check-unknown')
    const decision = excuseCheck(
      { reason: fields.reason, note: fields.note, byId: ctx.actor.staffId },
      { check: context.check, outcome: context.outcome, wardId: context.facts.stay.wardId },
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: '/round' } } : decision
  },
  sentences: { ...EXCUSE_SENTENCES, 'check-unknown': READING_SENTENCES['check-unknown'] },
  fieldOf: { 'excuse-reason-wrong': 'reason', 'excuse-note-missing': 'note' },
  statusOf: {
    'excuse-already-done': 409,
    'excuse-already-excused': 409,
    'excuse-recheck': 409,
    'excuse-extra': 409,
    'check-unknown': 404,
  },
}

function drawExcuse(ctx: CheckRequest, state: FormState): PageView | undefined {
  const context = checkContext(ctx, ctx.params.key)
  if (context === undefined) return undefined
  const { check, outcome, facts } = context
  recordPatientRead(ctx, facts.stay.stayId)
  const patient = bannerOf(facts, ctx.nowMs, true)
  const what = whatCheck(check)
  if (outcome !== undefined) {
    const readingId = outcome.kind === 'done' ? outcome.readingId : null
    return {
      title: what,
      body: alreadyCharted({
        what,
        patient,
        stayId: facts.stay.stayId,
        problem: state.problem,
        happened: happenedText(ctx, context, outcome),
        readingId,
        notCharted: null,
      }),
    }
  }
  const checkStateNow = checkState(check, undefined, ctx.nowMs)
  const words: Readonly<Record<string, string>> = checkStateNow === 'missed' ? MISSED_REASON : EXCUSE_REASON
  const reasons = reasonsFor(checkStateNow).map((reason) => ({ value: reason, label: words[reason] ?? reason }))
  return {
    title: what,
    body: excuseForm({
      checkKey: check.key,
      what,
      when: whenCheck(context, ctx.nowMs),
      isMissed: checkStateNow === 'missed',
      patient,
      ...state,
      reasons,
    }),
  }
}
