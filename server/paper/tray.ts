/** GET and POST /stays/:stayId/tray */
import { z } from 'zod'
import { insulinForMeal, isCancelled } from '../../shared/care/food.ts'
import { trayTimeMs } from '../../shared/check/plan.ts'
import type { Meal } from '../../shared/check/check.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { trayPage } from '../../views/paper/tray.ts'
import { formatTime } from '../../views/format.ts'
import { TRAY_SENTENCES } from '../../views/words/paper.ts'
import { headOf } from '../bedside/event-head.ts'
import type { Share } from '../bedside/fields.ts'
import { stayContext } from '../bedside/facts-now.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { queryText, type StayRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'

const TrayForm = z.strictObject({
  meal: z.enum(['breakfast', 'lunch', 'supper'], 'Choose the meal.'),
  what: z.enum(['served', 'cancelled', '0', '25', '50', '75', '100'], 'Tap what is to be charted.'),
})
type TrayFields = z.output<typeof TrayForm>

type Refusal = keyof typeof TRAY_SENTENCES

/** `meal`: the meal that the page was opened for. */
export const TRAY_QUERY = z.object({ meal: queryText })
type TrayRequest = RequestContext<StayRequest['params'], z.output<typeof TRAY_QUERY>>

export const traySpec: FormSpec<TrayFields, Refusal, TrayRequest> = {
  name: 'tray',
  schema: TrayForm,
  initial: () => ({}),
  draw: drawTray,
  decide: decideTray,
  sentences: TRAY_SENTENCES,
  fieldOf: {},
  statusOf: { 'stay-gone': 404, 'tray-already-charted': 409, 'tray-not-charted': 409 },
}

const MEALS: readonly { readonly meal: Meal; readonly label: string }[] = [
  { meal: 'breakfast', label: 'Breakfast' },
  { meal: 'lunch', label: 'Lunch' },
  { meal: 'supper', label: 'Supper' },
]

function decideTray(fields: TrayFields, ctx: TrayRequest): Outcome<FormDecision, Refusal> {
  const facts = stayContext(ctx)
  if (facts === undefined) return refuse('stay-gone')
  const date = wardDate(ctx.nowMs, facts.policy.policy.zone)
  const tray = facts.trays.find((fact) => fact.date === date && fact.meal === fields.meal)
  const served = (tray?.servedAtMs ?? null) !== null
  if ((fields.what === 'served' || fields.what === 'cancelled') && served) return refuse('tray-already-charted')
  if (fields.what !== 'served' && fields.what !== 'cancelled' && !served) return refuse('tray-not-charted')
  const head = headOf(ctx, facts.stay)
  const little = tooLittle(fields, ctx, facts, { date, meal: fields.meal, servedAtMs: tray?.servedAtMs ?? null })
  if (fields.what === 'cancelled') {
    if (isCancelled(facts.entries, date, fields.meal)) return refuse('tray-already-charted')
    return accept({ events: little, location: `/stays/${facts.stay.stayId}` })
  }
  const event: LedgerEvent =
    fields.what === 'served'
      ? { ...head, type: 'tray-charted', body: { date, meal: fields.meal, servedAtMs: ctx.nowMs } }
      : {
          ...head,
          type: 'share-eaten-charted',
          body: { date, meal: fields.meal, percent: Number(fields.what) as Share },
        }
  return accept({ events: [event, ...little], location: `/stays/${facts.stay.stayId}` })
}

/** After mealtime insulin: too little eaten, or no tray at all, asks for food, a call and checks. */
function tooLittle(
  { what, meal }: TrayFields,
  ctx: TrayRequest,
  facts: StayFacts,
  tray: { readonly date: string; readonly meal: Meal; readonly servedAtMs: number | null },
): readonly LedgerEvent[] {
  const share = what === '0' ? 0 : what === '25' ? 25 : what === 'cancelled' ? what : null
  if (share === null) return []
  const hasInsulin = insulinForMeal(facts.insulinGiven, tray, facts.policy.policy).length > 0
  // a cancelled tray is a fact of its own; of a share the tray's own event keeps it
  if (!hasInsulin && share !== 'cancelled') return []
  return [
    {
      ...headOf(ctx, facts.stay),
      type: 'entry-charted',
      body: {
        entryId: ctx.services.newId(),
        kind: 'ate-too-little',
        fact: { date: tray.date, meal, share },
      },
    },
  ]
}

function drawTray(ctx: TrayRequest, state: FormState): PageView | undefined {
  const facts = stayContext(ctx)
  if (facts === undefined) return undefined
  recordPatientRead(ctx, facts.stay.stayId)
  const { policy } = facts.policy
  const date = wardDate(ctx.nowMs, policy.zone)
  const meal = chosenMeal(ctx, facts, state, date)
  const tray = facts.trays.find((fact) => fact.date === date && fact.meal === meal)
  const servedAtMs = tray?.servedAtMs ?? null
  return {
    title: 'Tray',
    body: trayPage({
      patient: facts.stay,
      meal,
      meals: MEALS,
      servedAt: servedAtMs === null ? null : formatTime(servedAtMs, policy.zone),
      expectedAt: formatTime(trayTimeMs(date, meal, policy, facts.trayDelays), policy.zone),
      shareEaten: tray?.shareEatenPercent ?? null,
      values: state.values,
      errors: state.errors,
      problem: state.problem,
    }),
  }
}

/** The meal that was asked for; else the one whose tray time is nearest. */
function chosenMeal(ctx: TrayRequest, facts: StayFacts, state: FormState, date: string): Meal {
  const asked = state.values['meal'] ?? ctx.query.meal
  const named = MEALS.find(({ meal }) => meal === asked)
  if (named !== undefined) return named.meal
  const away = (meal: Meal): number =>
    Math.abs(trayTimeMs(date, meal, facts.policy.policy, facts.trayDelays) - ctx.nowMs)
  return MEALS.map(({ meal }) => meal).reduce((best, meal) => (away(meal) < away(best) ? meal : best))
}
