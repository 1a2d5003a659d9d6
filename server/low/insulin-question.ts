/** GET and POST /lows/:lowId/insulin-question: what the prescriber says about insulin after the low. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import {
  answerInsulinQuestion,
  askByMs,
  insulinsAskedAbout,
  type InsulinAnswerRefusal,
} from '../../shared/low/insulin.ts'
import type { InsulinDecision } from '../../shared/low/low.ts'
import { newestReading } from '../../shared/order/inputs.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { insulinForm } from '../../views/low/forms.ts'
import { formatMinutes, formatTime } from '../../views/format.ts'
import { INSULIN_ANSWER_SENTENCES, INSULIN_DECISION } from '../../views/words/low.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import type { LowContext } from './context.ts'
import { ORDERED, TICK, TOLD } from './fields.ts'
import { drawLow, GONE_SENTENCE, lowForm } from './form.ts'
import { isInsulinAsked, lowContext } from './load.ts'

const DECISIONS: readonly InsulinDecision[] = ['as-ordered', 'changed', 'hold']

const INSULIN_FORM = z.strictObject({
  decision: z.enum(DECISIONS, { error: 'Choose what the prescriber said.' }),
  told: TOLD,
  readBack: TICK,
  ordered: ORDERED,
})

type InsulinFields = ReturnType<(typeof INSULIN_FORM)['parse']>

export const insulinSpec: FormSpec<InsulinFields, InsulinAnswerRefusal | 'low-gone', LowRequest> = {
  name: 'low-insulin',
  schema: INSULIN_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Insulin after the low', (context) => {
      const newest = newestReading(context.facts.readings)
      return insulinForm({
        ...lowForm(ctx, context, state),
        deadline: askDeadline(ctx, context),
        insulins: insulinsAskedAbout(context.facts.orders, ctx.nowMs).join(', ') || 'meal and long-acting insulin',
        decisions: (Object.keys(INSULIN_DECISION) as readonly InsulinDecision[]).map((value) => ({
          value,
          label: INSULIN_DECISION[value],
        })),
        directionPath: newest === null ? null : `readings/${newest.readingId}/direction`,
      })
    }),
  decide: (fields, ctx) => {
    const context = lowContext(ctx)
    if (context === undefined) return refuse('low-gone')
    const { low } = context.lowFacts
    const decision = answerInsulinQuestion(
      { ...fields, byId: ctx.actor.staffId },
      { low, isOpen: isInsulinAsked(context), nowMs: ctx.nowMs },
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/lows/${low.lowId}` } } : decision
  },
  sentences: { ...INSULIN_ANSWER_SENTENCES, ...GONE_SENTENCE },
  fieldOf: {
    'insulin-told-missing': 'told',
    'insulin-not-read-back': 'readBack',
    'insulin-decision-missing': 'decision',
    'insulin-ordered-missing': 'ordered',
  },
  statusOf: { 'insulin-question-not-open': 409, 'low-gone': 404 },
}

function askDeadline(ctx: LowRequest, context: LowContext): string {
  if (!isInsulinAsked(context)) return 'This question is answered, or nothing was asked.'
  const {
    lowFacts: { low, policy },
    zone,
  } = context
  const byMs = askByMs(low, policy)
  const minutes = (byMs - ctx.nowMs) / MINUTE_MS
  return minutes >= 0
    ? `Ask by ${formatTime(byMs, zone)}, ${formatMinutes(Math.ceil(minutes))} left.`
    : `Was to be asked by ${formatTime(byMs, zone)}, ${formatMinutes(-minutes)} ago.`
}
