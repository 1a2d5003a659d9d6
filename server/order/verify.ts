/** GET and POST /orders/:orderId/:version/verify: a second nurse answers the questions off the original document. */
import { createHmac } from 'node:crypto'
import { z } from 'zod'
import { refuse, type Outcome } from '../../shared/outcome.ts'
import { verificationQuestions, type VerificationQuestion } from '../../shared/order/verification.ts'
import {
  readAnswers,
  verifyBlock,
  verifyOrder,
  type VerifyFacts,
  type VerifyRefusal,
} from '../../shared/order/verify.ts'
import type { InsulinOrder } from '../../shared/order/order.ts'
import { formatDateTime } from '../../views/format.ts'
import { verifyForm, type QuestionView } from '../../views/order/verify.ts'
import { questionText, RECEIVED, VERIFY_SENTENCES } from '../../views/words/verification.ts'
import { INSULINS } from '../bedside/fields.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { OrderVersionRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { orderContext, orderPath, transcribedText, type OrderContext } from './reading-load.ts'

const ticked = (missing: string) => z.literal('yes', missing)
/** What an amount or a glucose can look like at all; what it means depends on the question. */
const answer = z
  .string()
  .trim()
  .max(5, 'At most 5 characters.')
  .regex(/^(?:\d{1,3}(?:\.\d)?)?$/, 'Type a number, as in 4, 2.5 or 140.')
  .optional()
  .transform((text) => text ?? '')
const beside = z
  .literal('yes', 'Tick it or leave it.')
  .optional()
  .transform((value) => value === 'yes')

export const VerifyForm = z.strictObject({
  identifiers: ticked('Compare the identifiers on the paper with the patient. Do not verify while they differ.'),
  signature: ticked('Look for the signature. Do not verify an order that nobody signed.'),
  insulin: z.enum(INSULINS, 'Choose the insulin that stands on the paper.'),
  answer1: answer,
  tick1: beside,
  answer2: answer,
  tick2: beside,
  answer3: answer,
  tick3: beside,
  rest: ticked('Compare every other line with the paper, then tick this.'),
})
type Fields = z.output<typeof VerifyForm>

export const verifySpec: FormSpec<Fields, VerifyRefusal, OrderVersionRequest> = {
  name: 'order-verify',
  schema: VerifyForm,
  initial: () => ({}),
  draw: drawVerify,
  decide: decideVerify,
  sentences: VERIFY_SENTENCES,
  fieldOf: { 'answer-1': 'answer1', 'answer-2': 'answer2', 'answer-3': 'answer3' },
  statusOf: {
    'order-gone': 404,
    'verifier-transcribed': 403,
    'stay-discharged': 409,
    'verified-already': 409,
    'verification-differed': 409,
    'order-ended': 409,
  },
}

/**
 * Picked by a secret of this database, the version, the verifier and how often the order was verified before: the same
 * when the form is opened and when it is sent, and nobody can choose or foresee them.
 */
export function questionsFor(
  ctx: OrderVersionRequest,
  { version: { orderId, version, order }, verifications }: OrderContext,
): readonly VerificationQuestion[] {
  const seed = createHmac('sha256', ctx.store.secret('order-verification'))
    .update(JSON.stringify([orderId, version, ctx.actor.staffId, verifications.length]))
    .digest('hex')
  return verificationQuestions(order, seed)
}

function factsOf({ version, state, facts: { stay } }: OrderContext, nowMs: number): VerifyFacts {
  return { version, differed: state === 'differed', wardId: stay.wardId, dischargedAtMs: stay.dischargedAtMs, nowMs }
}

function drawVerify(ctx: OrderVersionRequest, state: FormState): PageView | undefined {
  const context = orderContext(ctx)
  if (context === undefined) return undefined
  const { facts, version, zone } = context
  const { order } = version
  recordPatientRead(ctx, version.stayId)
  const block = verifyBlock(factsOf(context, ctx.nowMs), ctx.actor.staffId)
  return {
    title: 'Verify an order',
    body: verifyForm({
      orderId: version.orderId,
      version: version.version,
      patient: bannerOf(facts, ctx.nowMs, true),
      // what the order says of insulin and doses is asked, and stands nowhere on this page
      facts: [
        { name: 'Order', value: `${partsText(order)}, version ${String(version.version)}` },
        { name: 'Prescriber', value: `${order.prescriber}, ${RECEIVED[order.received]}` },
        { name: 'From', value: formatDateTime(order.startsAtMs, zone) },
        { name: 'Until', value: order.stopsAtMs === null ? 'further notice' : formatDateTime(order.stopsAtMs, zone) },
        { name: 'Transcribed', value: transcribedText(ctx, version, zone) },
      ],
      questions:
        block === null ? questionsFor(ctx, context).map((question, index) => questionView(question, index, order)) : [],
      insulins: INSULINS.map((value) => ({ value, label: value })),
      blocked: block === null ? null : VERIFY_SENTENCES[block]({}),
      ...state,
    }),
  }
}

/** Which of a patient's orders it is, without a number or the insulin. */
function partsText({ correction, meal, scheduled }: InsulinOrder): string {
  const parts = [
    correction === null ? null : correction.kind === 'scale' ? 'correction by scale' : 'correction by factor',
    meal === null ? null : 'meal doses',
    scheduled.length === 0 ? null : 'doses at listed times',
  ]
  return parts.filter((part) => part !== null).join(', ')
}

function questionView(question: VerificationQuestion, index: number, { unit }: InsulinOrder): QuestionView {
  const isHold = question.kind === 'scheduled-hold'
  return {
    number: String(index + 1),
    text: questionText(question, unit),
    unit: isHold ? unit : 'units',
    hint: isHold ? 'As the paper prints it.' : 'As the paper says; 0 where it gives nothing.',
    tick: isHold ? 'The paper never holds this dose' : 'The paper says: no dose, call the prescriber',
  }
}

function decideVerify(fields: Fields, ctx: OrderVersionRequest): Outcome<FormDecision, VerifyRefusal> {
  const context = orderContext(ctx)
  if (context === undefined) return refuse('order-gone')
  const facts = factsOf(context, ctx.nowMs)
  const byId = ctx.actor.staffId
  const block = verifyBlock(facts, byId)
  if (block !== null) return refuse(block)
  const questions = questionsFor(ctx, context)
  const typed = [
    { text: fields.answer1, ticked: fields.tick1 },
    { text: fields.answer2, ticked: fields.tick2 },
    { text: fields.answer3, ticked: fields.tick3 },
  ]
  const entered = readAnswers(context.version.order, questions, typed)
  if (!entered.ok) return entered
  const decision = verifyOrder({ byId, insulin: fields.insulin, questions, entered: entered.value }, facts)
  return decision.ok
    ? { ok: true, value: { events: decision.value, location: `/${orderPath(context.version)}` } }
    : decision
}
