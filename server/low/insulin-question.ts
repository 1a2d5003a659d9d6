/** GET and POST /lows/:lowId/insulin-question: what the prescriber says about insulin after the low. */
import { z } from 'zod'
import { chartWords, type WordRefusal } from '../../shared/care/insulin-words.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
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
import { formatMinutes, formatTime, formatWhen } from '../../views/format.ts'
import { INSULIN_ANSWER_SENTENCES, INSULIN_DECISION } from '../../views/words/low.ts'
import { WORD_SENTENCES } from '../../views/words/insulin-word.ts'
import { nextSlotsOf, saidFrom, untilOf, WORD_FIELDS, wordRows, type SaidRefusal } from '../bedside/insulin-words.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import type { LowContext } from './context.ts'
import { ORDERED, TICK, TOLD } from './fields.ts'
import { drawLow, GONE_SENTENCE, lowForm } from './form.ts'
import { isInsulinAsked, lowContext } from './load.ts'

const DECISIONS: readonly InsulinDecision[] = ['as-ordered', 'changed', 'hold']

const INSULIN_FORM = z.strictObject({
  ...WORD_FIELDS,
  until: z.string().trim().max(30, { error: 'At most 30 characters.' }).default(''),
  decision: z.enum(DECISIONS, { error: 'Choose what the prescriber said.' }),
  told: TOLD,
  readBack: TICK,
  ordered: ORDERED,
})

type InsulinFields = z.output<typeof INSULIN_FORM>
type Refusal = InsulinAnswerRefusal | WordRefusal | SaidRefusal | 'low-gone'

export const insulinSpec: FormSpec<InsulinFields, Refusal, LowRequest> = {
  name: 'low-insulin',
  schema: INSULIN_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Insulin after the low', (context) => {
      const newest = newestReading(context.facts.readings)
      return insulinForm({
        ...lowForm(ctx, context, state),
        rows: wordRows(context.facts, insulinsAskedAbout(context.facts.orders, ctx.nowMs), ctx.nowMs, (ms) =>
          formatWhen(ms, ctx.nowMs, context.zone),
        ),
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
    if (!decision.ok) return decision
    const words = wordsFor(fields, ctx, context)
    if (!words.ok) return words
    return { ok: true, value: { events: [...decision.value, ...words.value], location: `/lows/${low.lowId}` } }
  },
  sentences: { ...INSULIN_ANSWER_SENTENCES, ...WORD_SENTENCES, ...GONE_SENTENCE },
  fieldOf: {
    'insulin-told-missing': 'told',
    'insulin-not-read-back': 'readBack',
    'insulin-decision-missing': 'decision',
    'insulin-ordered-missing': 'ordered',
    'word-until-past': 'until',
  },
  statusOf: { 'insulin-question-not-open': 409, 'low-gone': 404 },
}

/** The word about each insulin asked about: the same for all, or with "changed" one for each. */
function wordsFor(
  fields: InsulinFields,
  ctx: LowRequest,
  { facts, lowFacts: { low }, zone }: LowContext,
): Outcome<readonly LedgerEvent[], WordRefusal | SaidRefusal> {
  const insulins = insulinsAskedAbout(facts.orders, ctx.nowMs)
  if (insulins.length === 0) return accept([])
  const untilMs = untilOf(fields.until, zone, ctx.nowMs)
  const { decision } = fields
  if (decision === 'hold' && untilMs === undefined)
    return refuse('word-until-not-read', { insulin: insulins.join(', '), field: 'until' })
  const said =
    decision === 'changed'
      ? saidFrom(fields, insulins, zone, ctx.nowMs)
      : accept(insulins.map((insulin) => ({ insulin, word: decision, untilMs: untilMs ?? null, units: null })))
  if (!said.ok) return said
  return chartWords(
    said.value,
    { lowId: low.lowId, told: fields.told, ordered: fields.ordered, byId: ctx.actor.staffId },
    { stay: facts.stay, slots: nextSlotsOf(facts, ctx.nowMs), newId: ctx.services.newId, nowMs: ctx.nowMs },
  )
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
