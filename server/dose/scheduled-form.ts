/** GET and POST /stays/:stayId/scheduled/:slot: a scheduled dose without a scale, with the same second check. */
import { z } from 'zod'
import { unitsInstead } from '../../shared/care/insulin-words.ts'
import type { GuardDetails, GuardFinding } from '../../shared/dose/dose.ts'
import { doseState, isUnsettled } from '../../shared/dose/state.ts'
import { inputsForSchedule, newestReading } from '../../shared/order/inputs.ts'
import { proposeDose, type DoseFacts } from '../../shared/order/propose.ts'
import { accept, refuse, sentenceOf, type Outcome } from '../../shared/outcome.ts'
import { proposePage } from '../../views/dose/propose.ts'
import { formatInsulin, formatWhen } from '../../views/format.ts'
import { PROPOSE_SENTENCES, type ProposeRefusal } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { STAY_ADDRESS, text } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'
import { insulinGivenView } from './insulin-given.ts'
import { doseProposed } from './facts.ts'
import { isMasked } from '../bedside/masking.ts'
import { stayAtNow } from './load.ts'
import { stayContext } from '../bedside/facts-now.ts'
import { doseStopped, elsewhereUnknown, refuseUnaccounted, stopping } from './propose.ts'
import { againFor, orderName } from './propose-form.ts'
import { slotOf, slotSettled, type Slot } from './slot.ts'
import { unitsAgainField } from './fields.ts'

/** `slot`: date and time of the scheduled dose (slotOf). */
export const SLOT_ADDRESS = STAY_ADDRESS.extend({ slot: text })
type SlotRequest = RequestContext<z.output<typeof SLOT_ADDRESS>>

const ScheduledForm = z.strictObject({
  elsewhere: z.enum(['none', 'given', 'unknown'], 'Ask, then choose.').optional(),
  unitsAgain: unitsAgainField,
})
type ScheduledFields = z.output<typeof ScheduledForm>

export const scheduledSpec: FormSpec<ScheduledFields, ProposeRefusal, SlotRequest> = {
  name: 'scheduled',
  schema: ScheduledForm,
  initial: () => ({}),
  draw: drawScheduled,
  decide: decideScheduled,
  sentences: PROPOSE_SENTENCES,
  fieldOf: {
    'question-unanswered': 'elsewhere',
    'insulin-given-elsewhere': 'elsewhere',
    'insulin-elsewhere-unknown': 'elsewhere',
  },
  statusOf: { 'no-order': 404, 'slot-settled': 409, 'dose-in-progress': 409, 'signed-dose-open': 409, stopped: 409 },
  keep: (reason, _fields, ctx) => {
    const isKept = reason === 'stopped' || reason === 'insulin-elsewhere-unknown'
    const context = isKept ? contextOf(ctx) : undefined
    if (context === undefined) return []
    const { facts, slot } = context
    if (reason === 'insulin-elsewhere-unknown') return elsewhereUnknown(ctx, facts, slot.order.orderId)
    return doseStopped(
      ctx,
      facts,
      { readingId: null, slotKey: slot.slotKey, orderId: slot.order.orderId },
      stoppedAnyway(ctx, facts, slot),
    )
  },
}

function contextOf(ctx: SlotRequest): { readonly facts: StayFacts; readonly slot: Slot } | undefined {
  const facts = stayContext(ctx)
  const slot = facts === undefined ? undefined : slotOf(facts, ctx.params.slot)
  return facts === undefined || slot === undefined ? undefined : { facts, slot }
}

function factsFor(ctx: RequestContext, facts: StayFacts, slot: Slot, unitsAgain?: number): DoseFacts {
  const { policy, version } = facts.policy
  return {
    order: slot.order,
    insulin: slot.order.order.insulin,
    policy,
    policyVersion: version,
    reading: newestReading(facts.readings),
    inputs: inputsForSchedule(
      stayAtNow(facts, ctx.nowMs),
      slot.order,
      slot,
      true,
      unitsAgain === undefined ? {} : { units: unitsAgain },
    ),
  }
}

function inProgress(ctx: RequestContext, facts: StayFacts, slot: Slot): boolean {
  return facts.doses.some(
    (dose) => dose.slotKey === slot.slotKey && isUnsettled(doseState(dose, facts.policy.policy, ctx.nowMs)),
  )
}

function decideScheduled(fields: ScheduledFields, ctx: SlotRequest): Outcome<FormDecision, ProposeRefusal> {
  const context = contextOf(ctx)
  if (context === undefined) return refuse('no-order')
  const { facts, slot } = context
  if (slotSettled(facts, slot.slotKey)) return refuse('slot-settled')
  if (inProgress(ctx, facts, slot)) return refuse('dose-in-progress')
  const unaccounted = refuseUnaccounted(facts, slot.order.order.insulin, ctx.nowMs)
  if (unaccounted !== null) return unaccounted
  if (stoppedAnyway(ctx, facts, slot).length > 0) return refuse('stopped')
  if (!facts.elsewhereKnown && fields.elsewhere === undefined) return refuse('question-unanswered')
  if (!facts.elsewhereKnown && fields.elsewhere === 'given') return refuse('insulin-given-elsewhere')
  if (!facts.elsewhereKnown && fields.elsewhere === 'unknown') return refuse('insulin-elsewhere-unknown')
  const doseFacts = factsFor(ctx, facts, slot, fields.unitsAgain)
  const proposal = proposeDose(doseFacts)
  if (proposal.kind === 'stopped') return refuse('stopped')
  const { dose, event } = doseProposed(ctx, facts.stay, doseFacts, proposal, {
    kind: 'scheduled',
    slotKey: slot.slotKey,
  })
  return accept({ events: [event], location: `/doses/${dose.doseId}` })
}

/** Every guard that stops before the units are typed again. */
function allStops(ctx: RequestContext, facts: StayFacts, slot: Slot): readonly GuardFinding[] {
  return stopping(proposeDose(factsFor(ctx, facts, slot)))
}

function stoppedAnyway(ctx: RequestContext, facts: StayFacts, slot: Slot): readonly GuardFinding[] {
  return allStops(ctx, facts, slot).filter(({ guard }) => guard !== 'large-dose')
}

function drawScheduled(ctx: SlotRequest, state: FormState): PageView | undefined {
  const context = contextOf(ctx)
  if (context === undefined) return undefined
  const { facts, slot } = context
  const { policy } = facts.policy
  recordPatientRead(ctx, facts.stay.stayId)
  const newest = newestReading(facts.readings)
  const settled = slotSettled(facts, slot.slotKey)
  const busy = inProgress(ctx, facts, slot)
  const ordered = slot.order.order.scheduled.find((dose) => dose.time === slot.time)?.units ?? 0
  // the prescriber may have said other units for this dose alone
  const units = unitsInstead(facts.entries, slot.slotKey)?.fact.units ?? ordered
  // a guard's words may name the newest value: not to somebody who may be its second checker
  const masked = newest !== null && isMasked(ctx, newest, facts)
  const anyway = settled ? [] : stoppedAnyway(ctx, facts, slot)
  const again = againFor(settled ? [] : allStops(ctx, facts, slot))
  const stopped = (again.units && !settled ? allStops(ctx, facts, slot) : anyway).map((guard) =>
    masked && guard.guard === 'scheduled-hold' ? { ...guard, details: maskedHold(guard.details) } : guard,
  )
  const unaccounted = refuseUnaccounted(facts, slot.order.order.insulin, ctx.nowMs)
  const said = settled
    ? PROPOSE_SENTENCES['slot-settled']({})
    : busy
      ? PROPOSE_SENTENCES['dose-in-progress']({})
      : unaccounted === null
        ? null
        : sentenceOf(PROPOSE_SENTENCES, unaccounted)
  return {
    title: 'Scheduled insulin',
    body: proposePage({
      patient: facts.stay,
      action: `stays/${facts.stay.stayId}/scheduled/${slot.slot}`,
      heading: 'Scheduled insulin',
      basis: `${formatInsulin(units, slot.order.order.insulin)}, due ${formatWhen(slot.dueMs, ctx.nowMs, policy.zone)}.`,
      orderName: orderName(slot.order),
      given: insulinGivenView(facts, ctx.nowMs),
      questions: { willEat: false, grams: false, share: false, tray: false, elsewhere: !facts.elsewhereKnown },
      trayText: null,
      stopped,
      zone: policy.zone,
      values: state.values,
      errors: state.errors,
      problem: state.problem ?? said,
      directionPath: newest === null || settled ? null : `readings/${newest.readingId}/direction?slot=${slot.slot}`,
      freshReadingPath: `stays/${facts.stay.stayId}/extra`,
      trayPath: `stays/${facts.stay.stayId}/tray`,
      outsidePath: `stays/${facts.stay.stayId}/outside-dose`,
      again,
      canAsk: said === null && anyway.length === 0,
    }),
  }
}

/** Of a doubt, the value's age and the value: a second checker is told the limit and the doubt only. */
function maskedHold(details: GuardDetails['scheduled-hold']): GuardDetails['scheduled-hold'] {
  return details.ageMin === undefined ? { ...details, found: 'masked' } : { ...details, found: 'masked' }
}
