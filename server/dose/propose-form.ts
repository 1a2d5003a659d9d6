/** GET and POST /readings/:id/dose */
import { isClosedByTakingBack } from '../../shared/care/taken-back.ts'
import { accept, refuse, sentenceOf, type Outcome } from '../../shared/outcome.ts'
import { isEffective } from '../../shared/reading/reading.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { trayTimeMs } from '../../shared/check/plan.ts'
import { MEAL_OF } from '../../shared/check/check.ts'
import { occasionOfReading } from '../../shared/order/occasion.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import { doseKind } from '../../shared/order/parts.ts'
import type { GuardFinding } from '../../shared/dose/dose.ts'
import { maskedPage, proposePage, type ProposeView } from '../../views/dose/propose.ts'
import { formatTime, OCCASION_NAME } from '../../views/format.ts'
import { PROPOSE_SENTENCES, type ProposeRefusal } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { ReadingRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import { insulinGivenView } from './insulin-given.ts'
import { doseProposed } from './facts.ts'
import { readingContext, type ReadingContext } from '../bedside/reading-context.ts'
import {
  doseStopped,
  inProgress,
  orderForReading,
  questionsFor,
  refuseUnaccounted,
  stoppedAnyway,
  elsewhereUnknown,
  stopping,
  unanswered,
  workOut,
  ProposeForm,
  type ProposeFields,
  type Unanswered,
} from './propose.ts'

type Refusal = ProposeRefusal | `unanswered-${Unanswered}`

export const proposeSpec: FormSpec<ProposeFields, Refusal, ReadingRequest> = {
  name: 'dose',
  schema: ProposeForm,
  initial: () => ({}),
  draw: drawPropose,
  decide: decidePropose,
  sentences: {
    ...PROPOSE_SENTENCES,
    'unanswered-willEat': PROPOSE_SENTENCES['question-unanswered'],
    'unanswered-share': PROPOSE_SENTENCES['question-unanswered'],
    'unanswered-grams': PROPOSE_SENTENCES['question-unanswered'],
    'unanswered-tray': PROPOSE_SENTENCES['question-unanswered'],
    'unanswered-elsewhere': PROPOSE_SENTENCES['question-unanswered'],
  },
  fieldOf: {
    'unanswered-willEat': 'willEat',
    'unanswered-share': 'share',
    'unanswered-grams': 'grams',
    'unanswered-tray': 'tray',
    'unanswered-elsewhere': 'elsewhere',
    'insulin-given-elsewhere': 'elsewhere',
    'insulin-elsewhere-unknown': 'elsewhere',
  },
  statusOf: {
    'reading-gone': 409,
    'no-order': 409,
    'several-orders': 409,
    'dose-in-progress': 409,
    'signed-dose-open': 409,
    'taken-back-closed': 409,
    stopped: 409,
    'not-the-taker': 403,
  },
  keep: (reason, fields, ctx) => {
    if (reason === 'insulin-elsewhere-unknown') return keepUnknown(ctx)
    return reason === 'stopped' ? keepStopped(fields, ctx) : []
  },
}

/** Nobody can find out: the prescriber is owed a call, whatever becomes of this form. */
function keepUnknown(ctx: ReadingRequest): readonly LedgerEvent[] {
  const context = readingContext(ctx)
  const order = context === undefined ? null : orderForReading(context, ctx.nowMs)
  if (context === undefined || order === null || order === 'several') return []
  return elsewhereUnknown(ctx, context.facts, order.orderId)
}

function keepStopped(fields: ProposeFields, ctx: ReadingRequest): readonly LedgerEvent[] {
  const context = readingContext(ctx)
  const order = context === undefined ? null : orderForReading(context, ctx.nowMs)
  if (context === undefined || order === null || order === 'several') return []
  const anyway = stoppedAnyway(ctx, context, order)
  const stops = anyway.length > 0 ? anyway : stopping(workOut(ctx, context, order, fields).proposal)
  return doseStopped(
    ctx,
    context.facts,
    { readingId: context.reading.readingId, slotKey: null, orderId: order.orderId },
    stops,
  )
}

function decidePropose(fields: ProposeFields, ctx: ReadingRequest): Outcome<FormDecision, Refusal> {
  const context = readingContext(ctx)
  if (context === undefined) return refuse('reading-gone')
  if (context.masked) return refuse('not-the-taker')
  if (!isEffective(context.reading)) return refuse('reading-gone')
  const order = orderForReading(context, ctx.nowMs)
  if (order === null) return refuse('no-order')
  if (order === 'several') return refuse('several-orders')
  if (isClosedByTakingBack(context.facts.doses, context.reading.readingId)) return refuse('taken-back-closed')
  if (inProgress(context, ctx.nowMs)) return refuse('dose-in-progress')
  const unaccounted = refuseUnaccounted(context.facts, order.order.insulin, ctx.nowMs)
  if (unaccounted !== null) return unaccounted
  if (stoppedAnyway(ctx, context, order).length > 0) return refuse('stopped')
  const missing = unanswered(questionsFor(context, order, ctx.nowMs), fields)
  if (missing !== null) return refuse(`unanswered-${missing}`)
  if (fields.elsewhere === 'given' && !context.facts.elsewhereKnown) return refuse('insulin-given-elsewhere')
  if (fields.elsewhere === 'unknown' && !context.facts.elsewhereKnown) return refuse('insulin-elsewhere-unknown')
  const { facts, proposal, trayEvents } = workOut(ctx, context, order, fields)
  if (proposal.kind === 'stopped') return refuse('stopped')
  const { dose, event } = doseProposed(ctx, context.facts.stay, facts, proposal, {
    kind: doseKind(order.order, facts.inputs),
    slotKey: null,
  })
  return accept({ events: [...trayEvents, event], location: `/doses/${dose.doseId}` })
}

function drawPropose(ctx: ReadingRequest, state: FormState): PageView | undefined {
  const context = readingContext(ctx)
  if (context === undefined) return undefined
  const { facts, reading, zone } = context
  recordPatientRead(ctx, reading.stayId)
  if (context.masked) {
    const waiting = facts.doses.find((dose) => dose.readingId === reading.readingId && dose.voided === null)
    return {
      title: 'Awaiting second check',
      body: maskedPage({
        patient: facts.stay,
        secondCheckPath: waiting === undefined ? null : `doses/${waiting.doseId}/second-check`,
      }),
    }
  }
  const order = orderForReading(context, ctx.nowMs)
  const known = order === 'several' ? null : order
  const stopped = known === null ? [] : stoppedFor(ctx, context, known, state)
  const anyway = known !== null && stopped.length > 0 && stoppedAnyway(ctx, context, known).length > 0
  const at = occasionOfReading(reading, facts.policy.policy, facts.trayDelays)
  const problem = state.problem ?? noFormSentence(ctx, context, order)
  return {
    title: 'Dose',
    body: proposePage({
      patient: facts.stay,
      action: `readings/${reading.readingId}/dose`,
      heading: 'Work out the dose',
      basis: `Reading ${formatGlucose(reading.glucose)} at ${formatTime(reading.takenAtMs, zone)}, ${OCCASION_NAME[at.occasion].toLowerCase()}.`,
      orderName: known === null ? null : orderName(known),
      given: insulinGivenView(facts, ctx.nowMs),
      questions:
        known === null
          ? { willEat: false, grams: false, share: false, tray: false, elsewhere: false }
          : questionsFor(context, known, ctx.nowMs),
      trayText: trayText(context),
      stopped,
      zone,
      values: state.values,
      errors: state.errors,
      problem,
      directionPath: isEffective(reading) ? `readings/${reading.readingId}/direction` : null,
      freshReadingPath: `stays/${reading.stayId}/extra`,
      trayPath: `stays/${reading.stayId}/tray`,
      outsidePath: `stays/${reading.stayId}/outside-dose`,
      again: againFor(stopped),
      canAsk: known !== null && !anyway && noFormSentence(ctx, context, order) === null,
    }),
  }
}

/** What the form asks to be typed again. */
export function againFor(stopped: readonly GuardFinding[]): ProposeView['again'] {
  return {
    units: stopped.some(({ guard }) => guard === 'large-dose'),
    grams: stopped.some((one) => one.guard === 'large-meal' && one.details.kind === 'ask'),
  }
}

/** "Insulin lispro by Dr. …, version 2" */
export function orderName(version: OrderVersion): string {
  return `Order for ${version.order.insulin} by ${version.order.prescriber}, version ${String(version.version)}`
}

function stoppedFor(
  ctx: ReadingRequest,
  context: ReadingContext,
  order: OrderVersion,
  state: FormState,
): ReturnType<typeof stoppedAnyway> {
  const anyway = stoppedAnyway(ctx, context, order)
  if (anyway.length > 0 || state.problem === null) return anyway
  const { key: _key, ...typed } = state.values
  const parsed = ProposeForm.safeParse(typed)
  if (!parsed.success || unanswered(questionsFor(context, order, ctx.nowMs), parsed.data) !== null) return []
  return parsed.data.elsewhere === 'given' || parsed.data.elsewhere === 'unknown'
    ? []
    : stopping(workOut(ctx, context, order, parsed.data).proposal)
}

function noFormSentence(
  ctx: ReadingRequest,
  context: ReadingContext,
  order: OrderVersion | null | 'several',
): string | null {
  if (!isEffective(context.reading)) return PROPOSE_SENTENCES['reading-gone']({})
  if (order === null) return PROPOSE_SENTENCES['no-order']({})
  if (order === 'several') return PROPOSE_SENTENCES['several-orders']({})
  if (inProgress(context, ctx.nowMs)) return PROPOSE_SENTENCES['dose-in-progress']({})
  const unaccounted = refuseUnaccounted(context.facts, order.order.insulin, ctx.nowMs)
  return unaccounted === null ? null : sentenceOf(PROPOSE_SENTENCES, unaccounted)
}

function trayText(context: ReadingContext): string | null {
  const { policy } = context.facts.policy
  const at = occasionOfReading(context.reading, policy, context.facts.trayDelays)
  const meal = MEAL_OF[at.occasion]
  return meal === null
    ? null
    : `Is still to come (expected ${formatTime(trayTimeMs(at.date, meal, policy, context.facts.trayDelays), policy.zone)})`
}
