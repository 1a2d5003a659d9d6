/** GET and POST /lows/:lowId/close: the likely cause, and the end of the low event. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { questionLeft } from '../../shared/care/insulin-words.ts'
import { insulinsAskedAbout } from '../../shared/low/insulin.ts'
import { closeLow, LOW_CAUSES, type CloseRefusal } from '../../shared/low/close.ts'
import { closeForm } from '../../views/low/forms.ts'
import { CLOSE_SENTENCES, LOW_CAUSE, MISSING } from '../../views/words/low.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { LONG_MOST } from './fields.ts'
import { drawLow, GONE_SENTENCE, lowForm } from './form.ts'
import { isInsulinAsked, lowContext } from './load.ts'

const CLOSE_FORM = z.strictObject({
  cause: z.enum(LOW_CAUSES, { error: 'Choose the likely cause.' }),
  note: z.string().trim().max(500, LONG_MOST).default(''),
})

type CloseFields = ReturnType<(typeof CLOSE_FORM)['parse']>

export const closeSpec: FormSpec<CloseFields, CloseRefusal | 'low-gone', LowRequest> = {
  name: 'low-close',
  schema: CLOSE_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Close the low event', (context) =>
      closeForm({
        ...lowForm(ctx, context, state),
        causes: LOW_CAUSES.map((value) => ({ value, label: LOW_CAUSE[value] })),
        missing: context.state.missing.filter((one) => one !== 'cause').map((one) => MISSING[one]),
      }),
    ),
  decide: (fields, ctx) => {
    const context = lowContext(ctx)
    if (context === undefined) return refuse('low-gone')
    const decision = closeLow({ cause: fields.cause, note: fields.note, byId: ctx.actor.staffId }, context.lowFacts)
    // an unanswered question about insulin outlives the low
    const left = isInsulinAsked(context)
      ? questionLeft(context.lowFacts.low, insulinsAskedAbout(context.facts.orders, ctx.nowMs), {
          entryId: ctx.services.newId(),
          byId: ctx.actor.staffId,
          nowMs: ctx.nowMs,
        })
      : []
    return decision.ok
      ? { ok: true, value: { events: [...decision.value, ...left], location: `/lows/${context.lowFacts.low.lowId}` } }
      : decision
  },
  sentences: { ...CLOSE_SENTENCES, ...GONE_SENTENCE },
  fieldOf: { 'close-cause-missing': 'cause', 'close-note-missing': 'note' },
  statusOf: {
    'close-already': 409,
    'close-not-recovered': 409,
    'close-follow-up-missing': 409,
    'close-not-told': 409,
    'low-gone': 404,
  },
}
