/** GET and POST /doses/:id/give and /doses/:id/not-given. */
import { z } from 'zod'
import { asksFood, giveDose, notGiven, orderStopsAtMs } from '../../shared/dose/give.ts'
import { INJECTION_SITES, suggestInjectionSite } from '../../shared/dose/injection-site.ts'
import type { InjectionSite } from '../../shared/dose/dose.ts'
import { hasMealTerm, validUntilMs } from '../../shared/dose/state.ts'
import { MEAL_OF } from '../../shared/check/check.ts'
import { trayTimeMs } from '../../shared/check/plan.ts'
import { occasionOfReading } from '../../shared/order/occasion.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { localDateTime, parseLocalDateTime } from '../../shared/time/zone.ts'
import { notGivenPage } from '../../views/dose/dose.ts'
import { givePage } from '../../views/dose/give.ts'
import { maskedPage } from '../../views/dose/propose.ts'
import { formatInjectionSite, formatTime } from '../../views/format.ts'
import { GIVE_SENTENCES, NOT_GIVEN_SENTENCES, VOID_WORDS } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { DoseRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import { headOf } from '../bedside/event-head.ts'
import { mismatchEvent, refuseWristband } from '../bedside/near-misses.ts'
import { lineField, whenField } from '../bedside/fields.ts'
import { wristbandField } from './fields.ts'
import { doseContext, type DoseContext } from './load.ts'

const SITE_VALUES = INJECTION_SITES.map((site) => `${site.side}.${site.area}`) as [string, ...string[]]

const GiveForm = z.strictObject({
  wristband: wristbandField,
  food: z.enum(['tray-here', 'tray-coming', 'not-with-a-meal'], 'Is food here or coming?').optional(),
  trayInMin: z
    .string()
    .trim()
    .regex(/^\d{0,3}$/, 'Whole minutes.')
    .transform((text) => (text === '' ? null : Number(text)))
    .optional(),
  willEat: z.enum(['yes', 'no'], 'Ask the patient, then choose.').optional(),
  site: z.enum(SITE_VALUES, 'Choose the body site.'),
  at: whenField,
  alreadyGiven: z.literal('yes').optional(),
  deviationNote: z.string().trim().max(200, 'At most 200 characters.').default(''),
})
type GiveFields = z.output<typeof GiveForm>

type Refusal = keyof typeof GIVE_SENTENCES

export const giveSpec: FormSpec<GiveFields, Refusal, DoseRequest> = {
  name: 'give',
  schema: GiveForm,
  initial: (ctx) => {
    const context = doseContext(ctx)
    return context === undefined
      ? {}
      : { site: siteValue(suggestion(ctx, context).site), at: localDateTime(ctx.nowMs, context.zone) }
  },
  draw: drawGive,
  decide: decideGive,
  sentences: GIVE_SENTENCES,
  fieldOf: {
    'given-in-future': 'at',
    'given-before-signed': 'at',
    'time-not-a-time': 'at',
    'food-not-coming': 'food',
    'patient-not-eating': 'willEat',
    'worked-out-for-eating': 'willEat',
    'tray-too-far': 'trayInMin',
    'tray-minutes-missing': 'trayInMin',
    'tray-delayed': 'food',
    'deviation-note-missing': 'deviationNote',
    'food-unanswered': 'food',
    'eating-unanswered': 'willEat',
  },
  statusOf: {
    'dose-void': 409,
    'dose-lapsed': 409,
    'dose-settled': 409,
    'dose-not-verified': 409,
    'wristband-wrong': 409,
    'order-ended': 409,
  },
  keep: (reason, fields, ctx): readonly LedgerEvent[] => {
    const context = reason === 'wristband-wrong' ? doseContext(ctx) : undefined
    return context === undefined ? [] : [mismatchEvent(ctx, context.facts, fields.wristband, 'give')]
  },
}

function decideGive(fields: GiveFields, ctx: DoseRequest): Outcome<FormDecision, Refusal> {
  const context = doseContext(ctx)
  if (context === undefined) return refuse('dose-void')
  const { dose, facts, zone } = context
  const { policy } = facts.policy
  const atMs = parseLocalDateTime(fields.at, zone, ctx.nowMs)
  if (atMs === null) return refuse('time-not-a-time')
  const site = INJECTION_SITES.find((one) => siteValue(one) === fields.site)
  if (site === undefined) throw new Error('a body site that the form lists is not known')
  const given = giveDose({
    dose,
    policy,
    nowMs: ctx.nowMs,
    atMs,
    wristband: fields.wristband,
    patient: facts.stay,
    site,
    said: { food: fields.food ?? null, trayInMin: fields.trayInMin ?? null, willEat: fields.willEat ?? null },
    order: context.order?.order ?? null,
    bedside: facts.stay.facts,
    trayDelayedToMs: delayedTray(context),
    alreadyGiven: fields.alreadyGiven === 'yes' ? { note: fields.deviationNote } : null,
  })
  if (!given.ok) return given.reason === 'wristband-wrong' ? refuseWristband(ctx, facts, fields.wristband) : given
  return accept({
    events: [
      {
        ...headOf(ctx, dose, given.value.atMs),
        type: 'dose-given',
        body: {
          doseId: dose.doseId,
          site,
          food: given.value.food,
          ...(given.value.deviation === null ? {} : { deviation: given.value.deviation }),
        },
      },
      ...(given.value.trayArrivedNow ? trayFacts(ctx, context, given.value.atMs) : []),
    ],
    location: `/doses/${dose.doseId}`,
  })
}

/** When the dose's tray comes after a charted delay; null: no delay is charted. */
function delayedTray({ facts, reading }: DoseContext): number | null {
  if (reading === null) return null
  const { policy } = facts.policy
  const { occasion, date } = occasionOfReading(reading, policy, facts.trayDelays)
  const meal = MEAL_OF[occasion]
  const isDelayed = facts.trayDelays.some((delay) => delay.date === date && delay.meal === meal)
  return meal === null || !isDelayed ? null : trayTimeMs(date, meal, policy, facts.trayDelays)
}

/** "The tray is here" is charted as a fact of the meal too, unless it was before. */
function trayFacts(ctx: DoseRequest, { dose, facts, reading }: DoseContext, atMs: number): readonly LedgerEvent[] {
  if (reading === null) return []
  const at = occasionOfReading(reading, facts.policy.policy, facts.trayDelays)
  const meal = MEAL_OF[at.occasion]
  const charted = facts.trays.some((tray) => tray.date === at.date && tray.meal === meal && tray.servedAtMs !== null)
  return meal === null || charted
    ? []
    : [{ ...headOf(ctx, dose, atMs), type: 'tray-charted', body: { date: at.date, meal, servedAtMs: atMs } }]
}

function siteValue(site: InjectionSite): string {
  return `${site.side}.${site.area}`
}

/** By rotation over the whole stay. */
function suggestion(ctx: DoseRequest, { facts: { stay } }: DoseContext): ReturnType<typeof suggestInjectionSite> {
  return suggestInjectionSite(ctx.store.sitesUsed(ctx.scope, stay.stayId).injections, stay.facts.restrictedHands)
}

const SITE_REASON = { 'never-used': 'suggested: not used yet', 'least-recent': 'suggested: used longest ago' } as const

function drawGive(ctx: DoseRequest, state: FormState): PageView | undefined {
  const context = doseContext(ctx)
  if (context === undefined) return undefined
  const { dose, facts, zone } = context
  const { policy } = facts.policy
  recordPatientRead(ctx, dose.stayId)
  if (context.masked)
    return {
      title: 'Awaiting second check',
      body: maskedPage({ patient: facts.stay, secondCheckPath: `doses/${dose.doseId}/second-check` }),
    }
  return {
    title: 'Give',
    body: givePage({
      doseId: dose.doseId,
      patient: facts.stay,
      insulin: dose.insulin,
      units: dose.units,
      sites: INJECTION_SITES.map((site) => ({ value: siteValue(site), label: formatInjectionSite(site) })),
      siteReason: SITE_REASON[suggestion(ctx, context).reason],
      asksFood: asksFood(dose),
      hasMealPart: hasMealTerm(dose),
      trayLimitMin: policy.dose.trayWithinMin,
      validUntil: dose.product === null ? null : formatTime(validUntilMs(dose, policy), zone),
      closed: closedBecause(context),
      stop: stopBecause(ctx, context),
      values: state.values,
      errors: state.errors,
      problem: state.problem,
    }),
  }
}

/** What must stop the hand before it gives: the form below is then only for what was given before. */
function stopBecause(ctx: DoseRequest, context: DoseContext): string | null {
  const { dose, state, zone } = context
  if (dose.voided !== null)
    return `STOP. ${VOID_WORDS[dose.voided.reason]} Do not give this dose now. Use this form only if it was injected already.`
  if (state === 'lapsed')
    return `STOP. This dose has lapsed. Do not give it now. It was to be given by ${formatTime(validUntilMs(dose, context.facts.policy.policy), zone)}. Use this form only if it was injected already.`
  const stopsAtMs = orderStopsAtMs(dose, context.order?.order ?? null)
  return stopsAtMs !== null && ctx.nowMs >= stopsAtMs ? GIVE_SENTENCES['order-ended']({}) : null
}

/** A lapsed or void dose that was signed can still be charted as given in its time. */
function closedBecause({ dose }: DoseContext): string | null {
  if (dose.outcome !== null) return GIVE_SENTENCES['dose-settled']({})
  if (dose.product !== null) return null
  return dose.voided === null ? GIVE_SENTENCES['dose-not-verified']({}) : GIVE_SENTENCES['dose-void']({})
}

type NotGivenRefusals = keyof typeof NOT_GIVEN_SENTENCES

const NotGivenForm = z.strictObject({
  kind: z.enum(['withheld', 'refused'], 'Withheld, or refused by the patient?'),
  reason: lineField(200, 'Say why it was not given.'),
})
type NotGivenFields = z.output<typeof NotGivenForm>

export const notGivenSpec: FormSpec<NotGivenFields, NotGivenRefusals, DoseRequest> = {
  name: 'not-given',
  schema: NotGivenForm,
  initial: () => ({}),
  draw: (ctx, state) => {
    const context = doseContext(ctx)
    if (context === undefined) return undefined
    const { dose, facts } = context
    recordPatientRead(ctx, dose.stayId)
    if (context.masked)
      return {
        title: 'Awaiting second check',
        body: maskedPage({ patient: facts.stay, secondCheckPath: `doses/${dose.doseId}/second-check` }),
      }
    return {
      title: 'Not given',
      body: notGivenPage({
        doseId: dose.doseId,
        patient: facts.stay,
        values: state.values,
        errors: state.errors,
        problem: state.problem,
      }),
    }
  },
  decide: (fields, ctx) => {
    const context = doseContext(ctx)
    if (context === undefined) return refuse('dose-void')
    if (context.masked) return refuse('not-given-masked')
    const decided = notGiven(context.dose, fields.kind, fields.reason)
    if (!decided.ok) return decided
    return accept({
      events: [{ ...headOf(ctx, context.dose), type: 'dose-not-given', body: decided.value }],
      location: `/doses/${context.dose.doseId}`,
    })
  },
  sentences: NOT_GIVEN_SENTENCES,
  fieldOf: { 'not-given-reason-missing': 'reason' },
  statusOf: { 'dose-settled': 409, 'dose-void': 409, 'not-given-masked': 403 },
}
