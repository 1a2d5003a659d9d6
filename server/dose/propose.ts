/** Working out a dose from a reading: what has to be asked, what the order yields, what stops it. */
import { z } from 'zod'
import { elsewhereTasks } from '../../shared/care/elsewhere.ts'
import { MEAL_OF } from '../../shared/check/check.ts'
import { criticalConfirmed } from '../../shared/critical/confirm.ts'
import type { GuardFinding, GuardName, GuardResult, MealAnswer } from '../../shared/dose/dose.ts'
import { isUnsettled, doseState, unaccountedDose } from '../../shared/dose/state.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { inputsFromReading, ordersForReading } from '../../shared/order/inputs.ts'
import { occasionOfReading } from '../../shared/order/occasion.ts'
import type { InsulinName, OrderVersion } from '../../shared/order/order.ts'
import { refuse, type Refused } from '../../shared/outcome.ts'
import { asksEating, hasMealPart, hasNotEatingRule } from '../../shared/order/parts.ts'
import { proposeDose, type DoseFacts, type Proposal } from '../../shared/order/propose.ts'
import { isNilByMouth } from '../../shared/stay/stay.ts'
import type { Questions } from '../../views/dose/propose.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'
import { careFactsOf } from '../bedside/tasks.ts'
import { headOf } from '../bedside/event-head.ts'
import type { Share } from '../bedside/fields.ts'
import type { ReadingContext } from '../bedside/reading-context.ts'
import { stayAtNow } from './load.ts'
import { unitsAgainField } from './fields.ts'

const gramsField = z
  .string()
  .trim()
  .regex(/^(?:\d{1,3}(?:\.\d)?)?$/, 'Grams as a number, at most 999.')
  .transform((text) => (text === '' ? null : Number(text)))
  .optional()

/** What the form of a proposal sends: the answers to its questions. */
export const ProposeForm = z.strictObject({
  willEat: z.enum(['yes', 'no', 'unsure'], 'Ask the patient, then choose.').optional(),
  grams: gramsField,
  share: z.enum(['not-yet', '0', '25', '50', '75', '100'], 'Choose the share eaten.').optional(),
  tray: z.enum(['here', 'expected'], 'Is the tray here?').optional(),
  elsewhere: z.enum(['none', 'given', 'unknown'], 'Ask, then choose.').optional(),
  unitsAgain: unitsAgainField,
  gramsAgain: gramsField,
})
export type ProposeFields = z.output<typeof ProposeForm>

/** The one order that answers the reading; null: none; 'several': more than one is in force at once. */
export function orderForReading(context: ReadingContext, nowMs: number): OrderVersion | null | 'several' {
  const orders = ordersForReading(context.facts.orders, nowMs)
  return orders.length > 1 ? 'several' : (orders[0] ?? null)
}

/** Only what the order needs and nobody has answered yet. */
export function questionsFor(context: ReadingContext, order: OrderVersion, nowMs: number): Questions {
  const { facts, reading } = context
  const { policy } = facts.policy
  const at = occasionOfReading(reading, policy, facts.trayDelays)
  const mealPart = at.own && hasMealPart(order.order, at.occasion)
  const before = order.order.mealTiming === 'before'
  const tray = facts.trays.find((fact) => fact.date === at.date && fact.meal === MEAL_OF[at.occasion])
  const eats = mealPart && !isNilByMouth(facts.stay.facts, nowMs)
  return {
    willEat:
      (eats && before) || (at.own && asksEating(order.order, at.occasion) && !isNilByMouth(facts.stay.facts, nowMs)),
    grams: (before ? eats : mealPart) && order.order.meal?.kind === 'ratio',
    share: mealPart && !before,
    tray: eats && before && (tray?.servedAtMs ?? null) === null,
    elsewhere: !facts.elsewhereKnown,
  }
}

export type Unanswered = 'willEat' | 'share' | 'grams' | 'tray' | 'elsewhere'

/** The questions left open, by field: the first sentence a nurse should see is beside the one she missed. */
export function unanswered(questions: Questions, fields: ProposeFields): Unanswered | null {
  // of a meal already eaten nobody asks whether it will be
  if (questions.willEat && fields.willEat === undefined && (fields.share ?? 'not-yet') === 'not-yet') return 'willEat'
  if (questions.share && fields.share === undefined) return 'share'
  const eats = questions.share ? fields.share !== 'not-yet' : fields.willEat !== 'no'
  if (questions.grams && eats && (fields.grams ?? null) === null) return 'grams'
  if (questions.tray && fields.tray === undefined && fields.willEat !== 'no') return 'tray'
  return questions.elsewhere && fields.elsewhere === undefined ? 'elsewhere' : null
}

/** The meal as answered; null when the order asks nothing of it. */
function mealAnswer(questions: Questions, fields: ProposeFields): MealAnswer | null {
  if (!questions.willEat && !questions.share) return null
  const share =
    questions.share && fields.share !== undefined && fields.share !== 'not-yet' ? (Number(fields.share) as Share) : null
  return {
    willEat: questions.willEat ? (fields.willEat ?? (share === null ? 'unsure' : 'yes')) : 'yes',
    carbohydrateGrams: fields.grams ?? null,
    shareEatenPercent: share,
  }
}

export type DoseCalculation = {
  readonly facts: DoseFacts
  readonly proposal: Proposal
  readonly trayEvents: readonly LedgerEvent[]
}

/** What the order yields for the answers given. A tray answered "here now" is charted with the dose. */
export function workOut(
  ctx: RequestContext,
  context: ReadingContext,
  order: OrderVersion,
  fields: ProposeFields,
): DoseCalculation {
  const { facts, reading } = context
  const { policy, version } = facts.policy
  const questions = questionsFor(context, order, ctx.nowMs)
  const at = occasionOfReading(reading, policy, facts.trayDelays)
  const meal = MEAL_OF[at.occasion]
  const served = questions.tray && fields.tray === 'here' && meal !== null
  const stay = stayAtNow(facts, ctx.nowMs)
  const trays = served
    ? [
        ...stay.trays.filter((fact) => fact.date !== at.date || fact.meal !== meal),
        { stayId: reading.stayId, date: at.date, meal, servedAtMs: ctx.nowMs, shareEatenPercent: null },
      ]
    : stay.trays
  const asked = {
    meal: mealAnswer(questions, fields),
    elsewhereAsked: facts.elsewhereKnown || fields.elsewhere === 'none',
    criticalConfirmed: criticalConfirmed(reading, {
      readings: facts.readings,
      lows: facts.lows,
      policy,
      nowMs: ctx.nowMs,
    }),
    again: {
      ...(fields.unitsAgain === undefined ? {} : { units: fields.unitsAgain }),
      ...(fields.gramsAgain == null ? {} : { grams: fields.gramsAgain }),
    },
  }
  const doseFacts: DoseFacts = {
    order,
    insulin: order.order.insulin,
    policy,
    policyVersion: version,
    reading,
    inputs: inputsFromReading({ ...stay, trays }, reading, order, asked, null),
  }
  const trayEvents: readonly LedgerEvent[] = served
    ? [{ ...headOf(ctx, facts.stay), type: 'tray-charted', body: { date: at.date, meal, servedAtMs: ctx.nowMs } }]
    : []
  return { facts: doseFacts, proposal: proposeDose(doseFacts), trayEvents }
}

/** Guards that an answer on the form can still release. */
const ANSWERABLE: ReadonlySet<GuardName> = new Set([
  'insulin-elsewhere-asked',
  'carbohydrate-needed',
  'not-eating',
  'single-dose-limit',
  'large-dose',
  'large-meal',
])

/** What stops the dose whatever is answered on the form: shown before anything is asked. */
export function stoppedAnyway(
  ctx: RequestContext,
  context: ReadingContext,
  order: OrderVersion,
): readonly GuardFinding[] {
  const questions = questionsFor(context, order, ctx.nowMs)
  const shares: readonly ProposeFields['share'][] = questions.share ? ['not-yet', '100'] : [undefined]
  // for a patient who does not eat the order may hold the correction or use another scale
  const eating: readonly ProposeFields['willEat'][] =
    questions.willEat && hasNotEatingRule(order.order) ? ['yes', 'no'] : ['yes']
  const trays: readonly ProposeFields['tray'][] = ['here', 'expected']
  const attempts = shares.flatMap((share) =>
    trays.flatMap((tray) =>
      eating.map((willEat) =>
        stopping(workOut(ctx, context, order, { willEat, grams: 0, share, tray, elsewhere: 'none' }).proposal),
      ),
    ),
  )
  const [first = []] = attempts
  return attempts.some((stops) => stops.every((guard) => ANSWERABLE.has(guard.guard))) ? [] : first
}

function isStop(guard: GuardResult): guard is GuardFinding {
  return guard.outcome === 'stops'
}

/** The guards that stop. */
export function stopping(proposal: Proposal): readonly GuardFinding[] {
  return proposal.kind === 'dose' ? [] : proposal.guards.filter(isStop)
}

/** The near miss of a dose that guards stopped: what it was asked for from, and which guards; nothing when none did. */
export function doseStopped(
  ctx: RequestContext,
  facts: StayFacts,
  about: { readonly readingId: string | null; readonly slotKey: string | null; readonly orderId: string | null },
  stops: readonly GuardResult[],
): readonly LedgerEvent[] {
  return stops.length === 0
    ? []
    : [
        {
          ...headOf(ctx, facts.stay),
          type: 'dose-stopped',
          body: { ...about, guards: stops.map(({ guard }) => guard) },
        },
      ]
}

/** Nobody can find out whether insulin was given elsewhere: one open call, however often the form is sent. */
export function elsewhereUnknown(ctx: RequestContext, facts: StayFacts, orderId: string): readonly LedgerEvent[] {
  const care = careFactsOf(facts, ctx.nowMs)
  if (elsewhereTasks(care).length > 0) return []
  return [
    {
      ...headOf(ctx, facts.stay),
      type: 'entry-charted',
      body: { entryId: ctx.services.newId(), kind: 'elsewhere-unknown', fact: { orderId } },
    },
  ]
}

/** A signed dose that nobody accounted for stands in the way of another one (see `unaccountedDose`). */
export function refuseUnaccounted(
  facts: StayFacts,
  insulin: InsulinName,
  nowMs: number,
): Refused<'signed-dose-open'> | null {
  const dose = unaccountedDose(facts.doses, insulin, facts.policy.policy, nowMs)
  return dose === null ? null : refuse('signed-dose-open', { units: dose.units, insulin: dose.insulin })
}

/** True when a dose from this reading is already on its way. */
export function inProgress(context: ReadingContext, nowMs: number): boolean {
  const { policy } = context.facts.policy
  return context.facts.doses.some(
    (dose) => dose.readingId === context.reading.readingId && isUnsettled(doseState(dose, policy, nowMs)),
  )
}
