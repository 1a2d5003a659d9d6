/** GET and POST /readings/:id/direction: a prescriber's direction, and the dose that follows from it. */
import { criticalConfirmed } from '../../shared/critical/confirm.ts'
import { recordDirection } from '../../shared/dose/direction.ts'
import type { Direction } from '../../shared/dose/dose.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { inputsFromReading } from '../../shared/order/inputs.ts'
import { proposeDose, type DoseFacts } from '../../shared/order/propose.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { isEffective } from '../../shared/reading/reading.ts'
import { directionPage } from '../../views/dose/direction.ts'
import { maskedPage } from '../../views/dose/propose.ts'
import { formatTime } from '../../views/format.ts'
import { DIRECTION_SENTENCES } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access.ts'
import type { Decided, FormSpec, FormState, PageView, Visit } from '../http/visit.ts'
import { doseProposed, headOf } from './facts.ts'
import { DirectionForm, INSULINS, type DirectionFields } from './forms.ts'
import { readingContext, stayAtNow, type ReadingContext } from './load.ts'
import { doseStopped, orderForReading, refuseUnaccounted, stopping } from './propose.ts'
import { slotOf, slotSettled } from './slot.ts'

type Refusal = keyof typeof DIRECTION_SENTENCES

export const directionSpec: FormSpec<DirectionFields, Refusal> = {
  name: 'direction',
  schema: DirectionForm,
  initial: (visit) => ({ slot: slotFromQuery(visit) }),
  draw: drawDirection,
  decide: decideDirection,
  sentences: DIRECTION_SENTENCES,
  fieldOf: {
    'direction-not-read-back': 'readBack',
    'direction-prescriber-missing': 'prescriber',
    'direction-why-missing': 'why',
    'direction-units-not-deliverable': 'units',
    'direction-above-ward-limit': 'units',
  },
  statusOf: { 'reading-gone': 409, stopped: 409, 'signed-dose-open': 409, 'slot-settled': 409, 'not-the-taker': 403 },
  keep: (reason, { insulin, units }, visit) => {
    const context = reason === 'stopped' ? readingContext(visit) : undefined
    if (context === undefined) return []
    const stops = stopping(proposeDose(directedFacts(visit, context, { directionId: 'not-recorded', units, insulin })))
    return doseStopped(
      visit,
      context.facts,
      { readingId: context.reading.readingId, slotKey: null, orderId: null },
      stops,
    )
  },
}

/** The scheduled time that the direction answers, when it was opened from one. */
function slotFromQuery(visit: Visit): string {
  const query = visit.request.query as Readonly<Record<string, unknown>>
  const slot = query['slot']
  return typeof slot === 'string' && /^\d{4}-\d{2}-\d{2}\.\d{4}$/.test(slot) ? slot : ''
}

function decideDirection(fields: DirectionFields, visit: Visit): Outcome<Decided, Refusal> {
  const context = readingContext(visit)
  if (context === undefined) return refuse('reading-gone')
  if (context.masked) return refuse('not-the-taker')
  if (!isEffective(context.reading)) return refuse('reading-gone')
  const { facts, reading } = context
  const slot = fields.slot === undefined || fields.slot === '' ? null : slotOf(facts, fields.slot)
  if (slot === undefined || (slot !== null && slotSettled(facts, slot.slotKey))) return refuse('slot-settled')
  const unaccounted = refuseUnaccounted(facts, fields.insulin, visit.nowMs)
  if (unaccounted !== null) return unaccounted
  const recorded = recordDirection({
    directionId: visit.services.newId(),
    reading,
    prescriber: fields.prescriber,
    readBack: fields.readBack === 'yes',
    why: fields.why,
    insulin: fields.insulin,
    units: fields.units,
    byId: visit.actor.staffId,
    nowMs: visit.nowMs,
    policy: facts.policy.policy,
  })
  if (!recorded.ok) return recorded
  const direction = recorded.value
  const doseFacts = directedFacts(visit, context, direction)
  const proposal = proposeDose(doseFacts)
  if (proposal.kind === 'stopped') return refuse('stopped')
  const { dose, event } = doseProposed(visit, facts.stay, doseFacts, proposal, {
    kind: 'by-direction',
    slotKey: slot?.slotKey ?? null,
  })
  return accept({
    events: [{ ...headOf(visit, facts.stay), type: 'direction-recorded', body: { direction } }, event],
    location: `/doses/${dose.doseId}`,
  })
}

function directedFacts(
  visit: Visit,
  context: ReadingContext,
  direction: Pick<Direction, 'directionId' | 'units' | 'insulin'>,
): DoseFacts {
  const { facts, reading } = context
  const { policy, version } = facts.policy
  const found = orderForReading(context, visit.nowMs)
  const order = found === 'several' ? null : found
  const asked = {
    meal: null,
    elsewhereAsked: facts.elsewhereKnown,
    criticalConfirmed: criticalConfirmed(reading, {
      readings: facts.readings,
      lows: facts.lows,
      policy,
      nowMs: visit.nowMs,
    }),
  }
  const inputs = inputsFromReading(stayAtNow(facts, visit.nowMs), reading, order, asked, {
    directionId: direction.directionId,
    units: direction.units,
  })
  return { order, insulin: direction.insulin, policy, policyVersion: version, reading, inputs }
}

function drawDirection(visit: Visit, state: FormState): PageView | undefined {
  const context = readingContext(visit)
  if (context === undefined) return undefined
  const { facts, reading, zone } = context
  recordPatientRead(visit, reading.stayId)
  if (context.masked)
    return { title: 'Awaiting second check', body: maskedPage({ patient: facts.stay, secondCheckPath: null }) }
  // whatever is directed, these stop: shown before the prescriber is asked
  const stopped = stopping(
    proposeDose(directedFacts(visit, context, { directionId: 'shown-before-asking', units: 0, insulin: INSULINS[0] })),
  )
  return {
    title: 'Prescriber’s direction',
    body: directionPage({
      patient: facts.stay,
      action: `readings/${reading.readingId}/direction`,
      basis: `Reading ${formatGlucose(reading.glucose)} at ${formatTime(reading.takenAtMs, zone)}.`,
      insulins: INSULINS,
      stopped,
      zone,
      values: state.values,
      errors: state.errors,
      problem: state.problem,
    }),
  }
}
