/** GET and POST /readings/:id/direction: a prescriber's direction, and the dose that follows from it. */
import { currentLow } from '../../shared/low/current.ts'
import { z } from 'zod'
import { questionLeft } from '../../shared/care/insulin-words.ts'
import { criticalConfirmed } from '../../shared/critical/confirm.ts'
import { bearingOn, recordDirection, type Bearing } from '../../shared/dose/direction.ts'
import type { Direction } from '../../shared/dose/dose.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { insulinsAskedAbout } from '../../shared/low/insulin.ts'
import { inputsFromReading } from '../../shared/order/inputs.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import { proposeDose, type DoseFacts, type Proposal } from '../../shared/order/propose.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { isEffective } from '../../shared/reading/reading.ts'
import { directionPage } from '../../views/dose/direction.ts'
import { maskedPage } from '../../views/dose/propose.ts'
import { formatInsulin, formatTime, formatWhen } from '../../views/format.ts'
import { DIRECTION_SENTENCES } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { ReadingRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { insulinGivenView } from './insulin-given.ts'
import { doseProposed } from './facts.ts'
import type { StayFacts } from '../store/contract.ts'
import { headOf } from '../bedside/event-head.ts'
import { INSULINS, lineField, unitsField } from '../bedside/fields.ts'
import { readingContext, type ReadingContext } from '../bedside/reading-context.ts'
import { stayAtNow } from './load.ts'
import { doseStopped, orderForReading, refuseUnaccounted, stopping } from './propose.ts'
import { slotOf, slotSettled } from './slot.ts'
import { unitsAgainField } from './fields.ts'

const DirectionForm = z.strictObject({
  prescriber: lineField(80, 'Who gave the direction?'),
  insulin: z.enum(INSULINS, 'Choose the insulin that was directed.'),
  units: unitsField,
  unitsAgain: unitsAgainField,
  toldOfEarlier: z.literal('yes', 'Tell the prescriber, then tick this.').optional(),
  why: lineField(200, 'Why is it given?'),
  readBack: z.literal('yes', 'Read the direction back to the prescriber, then tick this.').optional(),
  slot: z
    .string()
    .regex(/^(?:\d{4}-\d{2}-\d{2}\.\d{4}(?:\.[a-z0-9]{1,32})?)?$/, 'No such scheduled time.')
    .optional(),
})
type DirectionFields = z.output<typeof DirectionForm>

type Refusal = keyof typeof DIRECTION_SENTENCES

/** `slot`: the scheduled time that the direction answers, when it was opened from one; anything else is as if there were none. */
export const DIRECTION_QUERY = z.object({
  slot: z
    .string()
    .regex(/^\d{4}-\d{2}-\d{2}\.\d{4}(?:\.[a-z0-9]{1,32})?$/)
    .catch(''),
})

export const directionSpec: FormSpec<
  DirectionFields,
  Refusal,
  RequestContext<ReadingRequest['params'], z.output<typeof DIRECTION_QUERY>>
> = {
  name: 'direction',
  schema: DirectionForm,
  initial: ({ query }) => ({ slot: query.slot }),
  draw: drawDirection,
  decide: decideDirection,
  sentences: DIRECTION_SENTENCES,
  fieldOf: {
    'direction-not-read-back': 'readBack',
    'direction-prescriber-missing': 'prescriber',
    'direction-why-missing': 'why',
    'direction-units-not-deliverable': 'units',
    'direction-above-ward-limit': 'units',
    'direction-not-told-of-earlier': 'toldOfEarlier',
  },
  statusOf: { 'reading-gone': 409, stopped: 409, 'signed-dose-open': 409, 'slot-settled': 409, 'not-the-taker': 403 },
  keep: (reason, { insulin, units, unitsAgain }, ctx) => {
    const context = reason === 'stopped' ? readingContext(ctx) : undefined
    if (context === undefined) return []
    const stops = stopping(
      proposeDose(directedFacts(ctx, context, { directionId: 'not-recorded', units, insulin }, unitsAgain)),
    )
    return doseStopped(
      ctx,
      context.facts,
      { readingId: context.reading.readingId, slotKey: null, orderId: null },
      stops,
    )
  },
}

function decideDirection(fields: DirectionFields, ctx: ReadingRequest): Outcome<FormDecision, Refusal> {
  const context = readingContext(ctx)
  if (context === undefined) return refuse('reading-gone')
  if (context.masked) return refuse('not-the-taker')
  if (!isEffective(context.reading)) return refuse('reading-gone')
  const { facts, reading } = context
  const slot = fields.slot === undefined || fields.slot === '' ? null : slotOf(facts, fields.slot)
  if (slot === undefined || (slot !== null && slotSettled(facts, slot.slotKey))) return refuse('slot-settled')
  const unaccounted = refuseUnaccounted(facts, fields.insulin, ctx.nowMs)
  if (unaccounted !== null) return unaccounted
  const recorded = recordDirection({
    directionId: ctx.services.newId(),
    reading,
    prescriber: fields.prescriber,
    readBack: fields.readBack === 'yes',
    why: fields.why,
    insulin: fields.insulin,
    units: fields.units,
    byId: ctx.actor.staffId,
    nowMs: ctx.nowMs,
    policy: facts.policy.policy,
    earlier: bearing(ctx, context),
    toldOfEarlier: fields.toldOfEarlier === 'yes',
  })
  if (!recorded.ok) return recorded
  const direction = recorded.value
  const doseFacts = directedFacts(ctx, context, direction, fields.unitsAgain)
  const proposal = proposeDose(doseFacts)
  if (proposal.kind === 'stopped') return refuse('stopped')
  const { dose, event } = doseProposed(ctx, facts.stay, doseFacts, proposal, {
    kind: 'by-direction',
    slotKey: slot?.slotKey ?? null,
  })
  return accept({
    events: [
      { ...headOf(ctx, facts.stay), type: 'direction-recorded', body: { direction } },
      event,
      ...othersUnasked(ctx, facts, direction.insulin),
    ],
    location: `/doses/${dose.doseId}`,
  })
}

/** A direction answers the question about its own insulin: the others are still to be asked about. */
function othersUnasked(ctx: ReadingRequest, facts: StayFacts, insulin: InsulinName): readonly LedgerEvent[] {
  const question = facts.openItems.find(({ kind }) => kind === 'insulin-question')
  const low = facts.lows.find(({ lowId }) => lowId === question?.subjectId)
  if (low === undefined) return []
  const others = insulinsAskedAbout(facts.orders, ctx.nowMs).filter((one) => one !== insulin)
  return questionLeft(low, others, { entryId: ctx.services.newId(), byId: ctx.actor.staffId, nowMs: ctx.nowMs })
}

function directedFacts(
  ctx: ReadingRequest,
  context: ReadingContext,
  direction: Pick<Direction, 'directionId' | 'units' | 'insulin'>,
  unitsAgain?: number,
): DoseFacts {
  const { facts, reading } = context
  const { policy, version } = facts.policy
  const found = orderForReading(context, ctx.nowMs)
  const order = found === 'several' ? null : found
  const asked = {
    meal: null,
    elsewhereAsked: facts.elsewhereKnown,
    criticalConfirmed: criticalConfirmed(reading, {
      readings: facts.readings,
      lows: facts.lows,
      policy,
      nowMs: ctx.nowMs,
    }),
    again: unitsAgain === undefined ? {} : { units: unitsAgain },
  }
  const inputs = inputsFromReading(stayAtNow(facts, ctx.nowMs), reading, order, asked, {
    directionId: direction.directionId,
    units: direction.units,
    insulin: direction.insulin,
  })
  return { order, insulin: direction.insulin, policy, policyVersion: version, reading, inputs }
}

/** Of the typed direction; before anything is typed, of the smallest dose that least stands in the way of. */
function typedProposal(ctx: ReadingRequest, context: ReadingContext, { values }: FormState): Proposal {
  const units = Number(values['units'] ?? '')
  const insulin = INSULINS.find((name) => name === values['insulin'])
  return proposeDose(
    directedFacts(ctx, context, {
      directionId: 'not-recorded',
      units: Number.isFinite(units) && units > 0 ? units : 0.5,
      insulin: insulin ?? 'insulin glargine',
    }),
  )
}

function bearing(ctx: ReadingRequest, { facts }: ReadingContext): Bearing {
  const { insulinGiven, low, policy } = stayAtNow(facts, ctx.nowMs)
  return bearingOn(insulinGiven, low, policy, ctx.nowMs)
}

function toTell(ctx: ReadingRequest, context: ReadingContext): readonly string[] {
  const { doses, low } = bearing(ctx, context)
  const { readings, lows } = context.facts
  const open = currentLow(lows)
  const first = readings.find(({ readingId }) => readingId === open?.openedByReadingId)
  const value =
    first === undefined ? '' : ` of ${formatGlucose(first.glucose)} at ${formatTime(first.takenAtMs, context.zone)}`
  return [
    ...(low === 'none'
      ? []
      : [`A low${value}: ${low === 'open' ? 'not recovered yet' : 'recovered, follow-up to come'}.`]),
    ...doses.map(
      ({ units, insulin, givenAtMs, source }) =>
        `${formatInsulin(units, insulin)} at ${formatWhen(givenAtMs, ctx.nowMs, context.zone)}${source === 'here' ? '' : ', on paper or elsewhere'}.`,
    ),
  ]
}

function drawDirection(ctx: ReadingRequest, state: FormState): PageView | undefined {
  const context = readingContext(ctx)
  if (context === undefined) return undefined
  const { facts, reading, zone } = context
  recordPatientRead(ctx, reading.stayId)
  if (context.masked)
    return { title: 'Awaiting second check', body: maskedPage({ patient: facts.stay, secondCheckPath: null }) }
  const stopped = stopping(typedProposal(ctx, context, state))
  return {
    title: 'Prescriber’s direction',
    body: directionPage({
      patient: facts.stay,
      action: `readings/${reading.readingId}/direction`,
      basis: `Reading ${formatGlucose(reading.glucose)} at ${formatTime(reading.takenAtMs, zone)}.`,
      given: insulinGivenView(facts, ctx.nowMs),
      insulins: INSULINS,
      stopped,
      toTell: toTell(ctx, context),
      asksUnitsAgain: stopped.some(({ guard }) => guard === 'large-dose'),
      zone,
      values: state.values,
      errors: state.errors,
      problem: state.problem,
    }),
  }
}
