/** The charting forms of a low event: what is parsed, decided and drawn for each. */
import type { z } from 'zod'
import { refuse, type Outcome, type Sentences } from '../../shared/outcome.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import {
  answerAtBedside,
  callEmergency,
  findLevelThree,
  giveFood,
  tellPrescriber,
  treatLow,
  type LowChartRefusal,
} from '../../shared/low/chart.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import type { LowArm } from '../../shared/low/low.ts'
import {
  emergencyForm,
  findingForm,
  foodForm,
  toldForm,
  treatmentForm,
  type LowFormView,
  type Option,
} from '../../views/low/forms.ts'
import { questionsPage } from '../../views/low/page.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { formatMinutes, formatTime, formatWhen } from '../../views/format.ts'
import { ARM, LEVEL_THREE, LOW_CHART_SENTENCES } from '../../views/words/low.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { ANSWERS_FORM, EMERGENCY_FORM, FINDING_FORM, FOOD_FORM, TOLD_FORM, TREATMENT_FORM } from './forms.ts'
import { criticalsWaiting, lowContext } from './load.ts'
import type { LowContext } from './context.ts'
import { asksTube } from './page.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'

export type LowRefusal = LowChartRefusal | TakenAtRefusal | 'low-gone'

export const GONE_SENTENCE = { 'low-gone': (): string => 'This low event is not on a ward of yours any more.' } as const

const SENTENCES: Sentences<LowRefusal> = {
  ...LOW_CHART_SENTENCES,
  ...GONE_SENTENCE,
  'time-not-read': READING_SENTENCES['time-not-read'],
}
const STATUS = { 'low-closed': 409, 'low-answers-missing': 409, 'low-arm-changed': 409, 'low-gone': 404 } as const
const FIELDS = {
  'low-time-in-future': 'at',
  'low-time-before-low': 'at',
  'time-not-read': 'at',
  'low-tube-not-asked': 'tube',
  'low-what-missing': 'what',
  'low-direction-missing': 'directedBy',
  'low-direction-not-read-back': 'readBack',
  'low-told-missing': 'told',
  'low-not-read-back': 'readBack',
  'low-food-grams': 'grams',
} as const

/** What every form of an event shows: the patient, and which low it is about. */
export function lowForm(ctx: LowRequest, context: LowContext, state: FormState): LowFormView {
  const {
    facts,
    lowFacts: { low },
    state: { lowest, course },
    zone,
  } = context
  return {
    lowId: low.lowId,
    patient: bannerOf(facts, ctx.nowMs, true),
    about: `Low of ${formatWhen(course.startMs, ctx.nowMs, zone)}${lowest === null ? '' : `, lowest ${formatGlucose(lowest)}`}.`,
    ...state,
  }
}

/** Draws a form of the event; undefined when it is not there. */
export function drawLow(
  ctx: LowRequest,
  title: string,
  body: (context: LowContext) => PageView['body'],
): PageView | undefined {
  const context = lowContext(ctx)
  if (context === undefined) return undefined
  recordPatientRead(ctx, context.facts.stay.stayId)
  return { title, body: body(context) }
}

/** Loads and decides; what is accepted leads back to the treatment page. */
function decideLow(
  ctx: LowRequest,
  decide: (context: LowContext) => Outcome<LedgerEvent[], LowRefusal>,
): Outcome<FormDecision, LowRefusal> {
  const context = lowContext(ctx)
  if (context === undefined) return refuse('low-gone')
  const decision = decide(context)
  return decision.ok
    ? { ok: true, value: { events: decision.value, location: `/lows/${context.lowFacts.low.lowId}` } }
    : decision
}

/** A typed time; null when none was typed: now. */
function timeOf(typed: string, ctx: LowRequest, { zone }: LowContext): Outcome<number | null, TakenAtRefusal> {
  return typed === '' ? { ok: true, value: null } : parseTakenAt(typed, zone, ctx.nowMs)
}

/** When it was done, on a form that means "now" by nothing typed. */
const DONE_AT = { field: 'at', zone: (ctx: LowRequest): string | undefined => lowContext(ctx)?.zone }

export const answersSpec: FormSpec<z.output<typeof ANSWERS_FORM>, LowRefusal, LowRequest> = {
  name: 'low-answers',
  schema: ANSWERS_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Look at the patient', (context) => {
      const { lowId, patient } = lowForm(ctx, context, state)
      return questionsPage({
        lowId,
        patient,
        problem: state.problem,
        form: {
          key: state.values['key'] ?? '',
          asksTube: asksTube(context),
          values: state.values,
          errors: state.errors,
        },
      })
    }),
  decide: (fields, ctx) =>
    decideLow(ctx, ({ lowFacts }) => {
      const tubeUsable =
        fields.tube === undefined || lowFacts.bedside.feeding !== 'tube' ? null : fields.tube === 'usable'
      return answerAtBedside(
        {
          byId: ctx.actor.staffId,
          answers: { swallowing: fields.swallowing, ivWorking: fields.iv === 'working', tubeUsable },
        },
        lowFacts,
      )
    }),
  sentences: SENTENCES,
  fieldOf: FIELDS,
  statusOf: STATUS,
}

const ARMS: readonly Option[] = (Object.keys(ARM) as readonly LowArm[]).map((arm) => ({ value: arm, label: ARM[arm] }))

export const treatmentSpec: FormSpec<z.output<typeof TREATMENT_FORM>, LowRefusal, LowRequest> = {
  name: 'low-treatment',
  schema: TREATMENT_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'What was given', (context) =>
      treatmentForm({ ...lowForm(ctx, context, state), arms: ARMS, signed: signedText(context) }),
    ),
  decide: (fields, ctx) =>
    decideLow(ctx, (context) => {
      const at = timeOf(fields.at, ctx, context)
      if (!at.ok) return at
      const { arm, what, directedBy, readBack } = fields
      return treatLow(
        { byId: ctx.actor.staffId, shown: fields.shown ?? null, arm, what, directedBy, readBack, atMs: at.value },
        context.lowFacts,
      )
    }),
  emptyIsNow: DONE_AT,
  sentences: SENTENCES,
  fieldOf: FIELDS,
  statusOf: STATUS,
}

function signedText({
  lowFacts: {
    policy: {
      low: {
        standingOrders: { dextrose, glucagon },
      },
    },
  },
}: LowContext): string {
  if (dextrose && glucagon) return 'Dextrose into the vein and glucagon are covered by this ward’s standing orders.'
  if (!dextrose && !glucagon)
    return 'No standing order is signed for dextrose into the vein or glucagon: each needs who directed it.'
  return dextrose
    ? 'Dextrose into the vein is covered by a standing order; glucagon needs who directed it.'
    : 'Glucagon is covered by a standing order; dextrose into the vein needs who directed it.'
}

export const findingSpec: FormSpec<z.output<typeof FINDING_FORM>, LowRefusal, LowRequest> = {
  name: 'low-finding',
  schema: FINDING_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Level 3', (context) =>
      findingForm({
        ...lowForm(ctx, context, state),
        findings: Object.entries(LEVEL_THREE).map(([value, label]) => ({ value, label })),
      }),
    ),
  decide: (fields, ctx) =>
    decideLow(ctx, ({ lowFacts }) => findLevelThree({ byId: ctx.actor.staffId, finding: fields.finding }, lowFacts)),
  sentences: SENTENCES,
  fieldOf: FIELDS,
  statusOf: STATUS,
}

export const emergencySpec: FormSpec<z.output<typeof EMERGENCY_FORM>, LowRefusal, LowRequest> = {
  name: 'low-emergency',
  schema: EMERGENCY_FORM,
  initial: () => ({}),
  draw: (ctx, state) => drawLow(ctx, 'Emergency call', (context) => emergencyForm(lowForm(ctx, context, state))),
  decide: (_fields, ctx) => decideLow(ctx, ({ lowFacts }) => callEmergency({ byId: ctx.actor.staffId }, lowFacts)),
  sentences: SENTENCES,
  fieldOf: FIELDS,
  statusOf: STATUS,
}

export const toldSpec: FormSpec<z.output<typeof TOLD_FORM>, LowRefusal, LowRequest> = {
  name: 'low-told',
  schema: TOLD_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Tell the prescriber', (context) => {
      const waiting = criticalsWaiting(ctx, context).length
      return toldForm({
        ...lowForm(ctx, context, state),
        deadline: tellDeadline(ctx, context),
        alsoCritical: waiting === 0 ? null : 'This call tells the critical result as well.',
      })
    }),
  decide: (fields, ctx) =>
    decideLow(ctx, (context) => {
      const at = timeOf(fields.at, ctx, context)
      if (!at.ok) return at
      const { told, readBack, ordered } = fields
      return tellPrescriber(
        { byId: ctx.actor.staffId, told, readBack, ordered, atMs: at.value },
        context.lowFacts,
        criticalsWaiting(ctx, context),
      )
    }),
  emptyIsNow: DONE_AT,
  sentences: SENTENCES,
  fieldOf: FIELDS,
  statusOf: STATUS,
}

function tellDeadline(ctx: LowRequest, { state, zone }: LowContext): string {
  const step = state.steps.find(({ kind }) => kind === 'escalate' || kind === 'tell-prescriber')
  if (step === undefined) return 'The prescriber was told. Chart another call when there is one.'
  const minutes = (step.deadlineMs - ctx.nowMs) / MINUTE_MS
  const clock =
    minutes >= 0
      ? `by ${formatTime(step.deadlineMs, zone)}, ${formatMinutes(Math.ceil(minutes))} left`
      : `was due ${formatTime(step.deadlineMs, zone)}, ${formatMinutes(-minutes)} ago`
  return step.kind === 'escalate'
    ? `Escalate now: not recovered after the protocol’s cycles or time (${clock}).`
    : `Tell the prescriber ${clock}.`
}

export const foodSpec: FormSpec<z.output<typeof FOOD_FORM>, LowRefusal, LowRequest> = {
  name: 'low-food',
  schema: FOOD_FORM,
  initial: (ctx) => {
    const lasting = lowContext(ctx)?.state.lasting
    return lasting?.kind === 'grams' ? { grams: String(lasting.grams) } : {}
  },
  draw: (ctx, state) => drawLow(ctx, 'Longer-acting carbohydrate', (context) => foodForm(lowForm(ctx, context, state))),
  decide: (fields, ctx) =>
    decideLow(ctx, (context) => {
      const at = timeOf(fields.at, ctx, context)
      if (!at.ok) return at
      return giveFood(
        { byId: ctx.actor.staffId, grams: fields.grams, what: fields.what, atMs: at.value },
        context.lowFacts,
        context.state,
      )
    }),
  emptyIsNow: DONE_AT,
  sentences: SENTENCES,
  fieldOf: FIELDS,
  statusOf: { ...STATUS, 'low-food-before-recovery': 409 },
}
