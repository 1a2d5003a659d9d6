/** What the forms of a low event share: sentences, statuses, loading, deciding and drawing. */
import { refuse, type Outcome, type Sentences } from '../../shared/outcome.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { LowChartRefusal } from '../../shared/low/chart.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import type { LowFormView } from '../../views/low/forms.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { formatWhen } from '../../views/format.ts'
import { LOW_CHART_SENTENCES } from '../../views/words/low.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormDecision, FormState, PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { lowContext } from './load.ts'
import type { LowContext } from './context.ts'

export type LowRefusal = LowChartRefusal | TakenAtRefusal | 'low-gone'

export const GONE_SENTENCE = { 'low-gone': (): string => 'This low event is not on a ward of yours any more.' } as const

export const LOW_SENTENCES: Sentences<LowRefusal> = {
  ...LOW_CHART_SENTENCES,
  ...GONE_SENTENCE,
  'time-not-read': READING_SENTENCES['time-not-read'],
}
export const LOW_STATUS = {
  'low-closed': 409,
  'low-answers-missing': 409,
  'low-arm-changed': 409,
  'low-gone': 404,
} as const
export const LOW_FIELDS = {
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
export function decideLow(
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
export function timeOf(typed: string, ctx: LowRequest, { zone }: LowContext): Outcome<number | null, TakenAtRefusal> {
  return typed === '' ? { ok: true, value: null } : parseTakenAt(typed, zone, ctx.nowMs)
}

/** When it was done, on a form that means "now" by nothing typed. */
export const DONE_AT = { field: 'at', zone: (ctx: LowRequest): string | undefined => lowContext(ctx)?.zone }
