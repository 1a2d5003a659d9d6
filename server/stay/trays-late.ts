/**
 * GET and POST /round/trays-late: charts that the ward's trays of one meal are late. The windows of the round move with
 * them.
 */
import { z } from 'zod'
import {
  delayTrays,
  DELAY_MIN,
  mealsToCome,
  mealWindows,
  type CallableMeal,
  type TrayDelayFacts,
  type TrayDelayRefusal,
} from '../../shared/check/tray-delay.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { refuse } from '../../shared/outcome.ts'
import { formatTime, formatWhen } from '../../views/format.ts'
import { html } from '../../views/html.ts'
import { traysLateForm, windowsMoved, type MovedView, type WindowsView } from '../../views/stay/trays-late.ts'
import { MEAL_NAME } from '../../views/words/stay.ts'
import { TRAY_DELAY_SENTENCES } from '../../views/words/stay-refusals.ts'
import { fragment, type PageResponse } from '../http/page.ts'
import { queryText } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'

const MINUTES = {
  error: `Type whole minutes from ${String(DELAY_MIN.least)} to ${String(DELAY_MIN.most)}, or 0 to take a delay back.`,
}
const MEAL = { error: 'Choose the meal.' }
const TRAYS_FORM = z.strictObject({
  meal: z.string(MEAL).regex(/^\d{4}-\d{2}-\d{2}\.(breakfast|lunch|supper)$/, MEAL),
  minutes: z
    .string(MINUTES)
    .trim()
    .regex(/^\d{1,3}$/, MINUTES)
    .transform(Number),
})
type Fields = z.output<typeof TRAYS_FORM>

function factsOf(ctx: RequestContext): TrayDelayFacts | undefined {
  const facts = ctx.wardId === null ? undefined : ctx.store.wardFacts(ctx.scope, ctx.wardId, ctx.nowMs)
  return facts === undefined
    ? undefined
    : { wardId: facts.ward.wardId, policy: facts.policy.policy, trayDelays: facts.trayDelays, nowMs: ctx.nowMs }
}

const valueOf = ({ date, meal }: Pick<CallableMeal, 'date' | 'meal'>): string => `${date}.${meal}`

export const traysLateSpec: FormSpec<Fields, TrayDelayRefusal | 'ward-gone'> = {
  name: 'trays-late',
  schema: TRAYS_FORM,
  initial: () => ({}),
  draw,
  decide: ({ meal: chosen, minutes }, ctx) => {
    const facts = factsOf(ctx)
    if (facts === undefined) return refuse('ward-gone')
    const known = mealsToCome(facts).find((one) => valueOf(one) === chosen)
    if (known === undefined) return refuse('delay-meal-over')
    const decision = delayTrays({ date: known.date, meal: known.meal, minutes, byId: ctx.actor.staffId }, facts)
    return decision.ok ? { ok: true, value: { events: decision.value, location: '/round' } } : decision
  },
  sentences: { ...TRAY_DELAY_SENTENCES, 'ward-gone': () => 'Choose your ward first.' },
  fieldOf: {
    'delay-meal-over': 'meal',
    'delay-minutes': 'minutes',
    'delay-none-to-take-back': 'minutes',
    'delay-same': 'minutes',
  },
  statusOf: { 'delay-meal-over': 409, 'ward-gone': 404 },
}

function draw(ctx: RequestContext, state: FormState): PageView | undefined {
  const facts = factsOf(ctx)
  if (facts === undefined) return undefined
  const meals = mealsToCome(facts)
  return {
    title: 'Trays late',
    body: traysLateForm({
      ...state,
      meals: meals.map((one) => ({ value: valueOf(one), label: mealText(one, ctx, facts.policy) })),
      now: meals.map((one) => ({
        meal: mealText(one, ctx, facts.policy),
        late: one.minutes,
        windows: windowsView(one.windows, facts.policy),
      })),
      moved: movedView(ctx, facts, state.values['meal'] ?? '', state.values['minutes'] ?? ''),
    }),
  }
}

/** The form's fields as they stand. */
export const MOVES_QUERY = z.object({ meal: queryText, minutes: queryText })

/** GET /round/trays-late/moves: a preview of the change, updated as the form is filled in. Writes nothing. */
export function traysLateMoves(ctx: RequestContext<object, z.output<typeof MOVES_QUERY>>): PageResponse {
  const { meal, minutes } = ctx.query
  const facts = factsOf(ctx)
  const moved = windowsMoved(facts === undefined ? null : movedView(ctx, facts, meal, minutes))
  return fragment(ctx, 200, html`${moved}`)
}

function movedView(ctx: RequestContext, facts: TrayDelayFacts, chosen: string, typed: string): MovedView | null {
  const one = mealsToCome(facts).find((meal) => valueOf(meal) === chosen)
  const minutes = /^\d{1,3}$/.test(typed.trim()) ? Number(typed.trim()) : null
  if (
    one === undefined ||
    minutes === null ||
    (minutes !== 0 && (minutes < DELAY_MIN.least || minutes > DELAY_MIN.most))
  )
    return null
  return {
    meal: mealText(one, ctx, facts.policy),
    before: windowsView(one.windows, facts.policy),
    after: windowsView(mealWindows(one.date, one.meal, facts.policy, minutes), facts.policy),
  }
}

/** "Lunch", with its day if that is not today. */
function mealText({ meal, windows }: CallableMeal, { nowMs }: RequestContext, { zone }: WardPolicy): string {
  const when = formatWhen(windows.trayMs, nowMs, zone)
  return `${MEAL_NAME[meal]}, trays ${when}`
}

function windowsView({ opensMs, dueMs, trayMs, closesMs }: CallableMeal['windows'], { zone }: WardPolicy): WindowsView {
  return {
    opens: formatTime(opensMs, zone),
    due: formatTime(dueMs, zone),
    late: formatTime(trayMs, zone),
    closes: formatTime(closesMs, zone),
  }
}
