/** A reading's result, and what puts it right, tells it on or resolves what hung on it. */
import { z } from 'zod'
import { refuse, type Outcome } from '../../shared/outcome.ts'
import { formatGlucose, parseGlucose, type GlucoseRefusal } from '../../shared/glucose/value.ts'
import { parseLaboratoryGlucose } from '../../shared/glucose/laboratory.ts'
import { criticalKind } from '../../shared/critical/confirm.ts'
import { criticalClock, tellCritical, type CallRefusal } from '../../shared/critical/call.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { ClockView } from '../../views/low/page.ts'
import { correctReading, voidReading, type CorrectionRefusal, type VoidRefusal } from '../../shared/reading/correct.ts'
import { hasLowReading, resolveFlag, type FlagRefusal } from '../../shared/reading/flag.ts'
import { formatTime, formatWhen } from '../../views/format.ts'
import { callForm, correctForm, flagForm, voidForm, type ShortFormView } from '../../views/reading/change.ts'
import { resultPage } from '../../views/reading/result.ts'
import { GLUCOSE_SENTENCES } from '../../views/words/glucose.ts'
import { CALL_SENTENCES, CORRECTION_SENTENCES, FLAG_SENTENCES, VOID_SENTENCES } from '../../views/words/reading.ts'
import { GLUCOSE_FIELD } from '../bedside/fields.ts'
import { nearMissOf, refuseWristband } from '../bedside/near-misses.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { formRoute } from '../http/forms.ts'
import { messageResponse, page } from '../http/page.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { READING_ADDRESS, text, type ReadingRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import type { OpenItem, StayFacts } from '../store/contract.ts'
import { CALL_FORM, CORRECT_FORM, FLAG_FORM, VOID_FORM } from './forms.ts'
import { readingContext, type ReadingContext } from '../bedside/reading-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { headOf } from '../bedside/event-head.ts'
import { RESULT_QUERY, resultView } from './show.ts'

export function registerReading(server: Server): void {
  route(
    server,
    { method: 'GET', url: '/readings/:id', roles: READERS, params: READING_ADDRESS, query: RESULT_QUERY },
    (ctx) => {
      const context = readingContext(ctx)
      if (context === undefined) return messageResponse(ctx, 404, 'not-found')
      recordPatientRead(ctx, context.facts.stay.stayId)
      return page(ctx, 200, { title: 'Result', body: resultPage(resultView(ctx, context)) })
    },
  )
  formRoute(server, { url: '/readings/:id/correct', roles: NURSES, params: READING_ADDRESS, spec: CORRECT })
  formRoute(server, { url: '/readings/:id/void', roles: NURSES, params: READING_ADDRESS, spec: VOID })
  formRoute(server, { url: '/readings/:id/critical-call', roles: NURSES, params: READING_ADDRESS, spec: CALL })
  formRoute(server, { url: '/flags/:itemId', roles: NURSES, params: FLAG_ADDRESS, spec: FLAG })
}

type GoneRefusal = 'reading-gone'
const GONE = { 'reading-gone': (): string => 'This reading is not on a ward of yours any more.' } as const

/** The parts that every short form about a reading shows alike. */
function shortForm(
  ctx: ReadingRequest,
  { reading, facts, zone, masked }: ReadingContext,
  state: FormState,
): ShortFormView {
  const value = masked ? 'awaiting second check' : formatGlucose(reading.glucose)
  return {
    patient: bannerOf(facts, ctx.nowMs, false),
    ...state,
    about: `Reading of ${formatWhen(reading.takenAtMs, ctx.nowMs, zone)} by ${nameOf(ctx, reading.byId)}: ${value}.`,
  }
}

function drawFor(
  ctx: ReadingRequest,
  title: string,
  body: (context: ReadingContext) => PageView['body'],
): PageView | undefined {
  const context = readingContext(ctx)
  if (context === undefined) return undefined
  recordPatientRead(ctx, context.facts.stay.stayId)
  return { title, body: body(context) }
}

type CorrectFields = ReturnType<(typeof CORRECT_FORM)['parse']>

const CORRECT: FormSpec<CorrectFields, CorrectionRefusal | GlucoseRefusal | GoneRefusal, ReadingRequest> = {
  name: 'correct',
  schema: CORRECT_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawFor(ctx, 'Correct a reading', (context) =>
      correctForm({
        ...shortForm(ctx, context, state),
        readingId: context.reading.readingId,
        unit: context.reading.glucose.unit,
      }),
    ),
  decide: (fields, ctx) => {
    const context = readingContext(ctx)
    if (context === undefined) return refuse('reading-gone')
    const { reading, facts } = context
    if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
    const glucose = (reading.source === 'venous' ? parseLaboratoryGlucose : parseGlucose)(
      fields.glucose,
      reading.glucose.unit,
    )
    if (!glucose.ok) return glucose
    const readingId = ctx.services.newId()
    const entry = {
      readingId,
      newLowId: ctx.services.newId(),
      wristband: fields.wristband,
      glucose: glucose.value,
      reason: fields.reason,
      byId: ctx.actor.staffId,
    }
    const decision = correctReading(entry, reading, facts, ctx.nowMs)
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/readings/${readingId}` } } : decision
  },
  sentences: { ...GLUCOSE_SENTENCES, ...CORRECTION_SENTENCES, ...GONE },
  fieldOf: {
    ...GLUCOSE_FIELD,
    'reading-other-unit': 'glucose',
    'correction-same-value': 'glucose',
  },
  statusOf: {
    'wristband-wrong': 409,
    'stay-discharged': 409,
    'reading-already-corrected': 409,
    'reading-already-in-error': 409,
    'reading-gone': 404,
  },
  keep: (reason, { wristband }, ctx) =>
    nearMissOf(ctx, { reason, wristband, at: 'correction' }, () => readingContext(ctx)?.facts),
}

type VoidFields = ReturnType<(typeof VOID_FORM)['parse']>

const VOID: FormSpec<VoidFields, VoidRefusal | GoneRefusal, ReadingRequest> = {
  name: 'void',
  schema: VOID_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawFor(ctx, 'Entered in error', (context) =>
      voidForm({ ...shortForm(ctx, context, state), readingId: context.reading.readingId }),
    ),
  decide: (fields, ctx) => {
    const context = readingContext(ctx)
    if (context === undefined) return refuse('reading-gone')
    const decision = voidReading({ reason: fields.reason, byId: ctx.actor.staffId }, context.reading, ctx.nowMs)
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/readings/${context.reading.readingId}` } }
      : decision
  },
  sentences: { ...VOID_SENTENCES, ...GONE },
  fieldOf: {},
  statusOf: { 'reading-already-corrected': 409, 'reading-already-in-error': 409, 'reading-gone': 404 },
}

type CallFields = ReturnType<(typeof CALL_FORM)['parse']>

const CALL: FormSpec<CallFields, CallRefusal | GoneRefusal | 'call-masked', ReadingRequest> = {
  name: 'critical-call',
  schema: CALL_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawFor(ctx, 'Critical result', (context) => {
      const { reading, facts, zone, masked } = context
      const clock = criticalClock(reading, {
        readings: facts.readings,
        lows: facts.lows,
        policy: facts.policy.policy,
        calls: facts.criticalCalls,
        nowMs: ctx.nowMs,
      })
      const at = (dueMs: number): ClockView => ({ dueMs, due: formatTime(dueMs, zone), past: ctx.nowMs > dueMs })
      // whether it is critical at all would tell a possible second checker what to expect
      const shown = masked ? null : clock
      const deadline = masked
        ? 'Awaiting second check: the nurse who took it makes the call.'
        : clock === null
          ? 'This result is not critical by the ward’s limits.'
          : clock.call.made === null
            ? 'Tell the prescriber.'
            : `Told ${clock.call.made.told} at ${formatWhen(clock.call.made.atMs, ctx.nowMs, zone)}.`
      const clocks =
        shown === null
          ? []
          : [
              ...(shown.call.made === null
                ? [{ kind: 'call', text: 'Call', clock: at(shown.call.byMs), path: null }]
                : []),
              ...(shown.repeatByMs === null
                ? []
                : [
                    {
                      kind: 'repeat',
                      text: 'Repeat on another cleaned finger',
                      clock: at(shown.repeatByMs),
                      path: `stays/${reading.stayId}/extra`,
                    },
                  ]),
              ...(shown.laboratory === null || shown.laboratory.value !== null
                ? []
                : [
                    {
                      kind: 'laboratory',
                      text: 'Laboratory value',
                      clock: at(shown.laboratory.byMs),
                      path: `stays/${reading.stayId}/lab-value`,
                    },
                  ]),
            ]
      return callForm({
        ...shortForm(ctx, context, state),
        readingId: reading.readingId,
        deadline,
        nowMs: ctx.nowMs,
        clocks,
      })
    }),
  decide: (fields, ctx) => {
    const context = readingContext(ctx)
    if (context === undefined) return refuse('reading-gone')
    // whether the result waits for a call would say that it is critical
    if (context.masked) return refuse('call-masked')
    const { reading, facts } = context
    const isOpen = facts.openItems.some(({ kind, subjectId }) => kind === 'critical' && subjectId === reading.readingId)
    const decision = tellCritical(
      { ...fields, byId: ctx.actor.staffId },
      { reading, isOpen, alsoTold: alsoTold(context) },
      ctx.nowMs,
    )
    return decision.ok
      ? {
          ok: true,
          value: {
            events: [...decision.value, ...tellsLow(ctx, context, fields)],
            location: `/readings/${reading.readingId}`,
          },
        }
      : decision
  },
  sentences: {
    ...CALL_SENTENCES,
    ...GONE,
    'call-masked': () => 'This reading awaits its second check. The nurse who took it makes the call.',
  },
  fieldOf: { 'call-not-read-back': 'readBack', 'call-told-missing': 'told' },
  statusOf: { 'call-masked': 403, 'call-not-open': 409, 'call-reading-not-current': 409, 'reading-gone': 404 },
}

/** Critical results of the same kind that wait as well: the repeat that confirmed this one, say. One call tells them all. */
function alsoTold({ reading, facts }: ReadingContext): readonly Reading[] {
  const { policy } = facts.policy
  const waiting = new Set(facts.openItems.filter(({ kind }) => kind === 'critical').map(({ subjectId }) => subjectId))
  return facts.readings.filter(
    (other) =>
      other.readingId !== reading.readingId &&
      waiting.has(other.readingId) &&
      criticalKind(other.glucose, policy) === criticalKind(reading.glucose, policy),
  )
}

/** Telling a critical low tells of its low event: the prescriber is not called twice for one. */
function tellsLow(ctx: ReadingRequest, { reading, facts }: ReadingContext, fields: CallFields): readonly LedgerEvent[] {
  const low = facts.lows.find((one) => one.closedAtMs === null)
  if (
    low === undefined ||
    criticalKind(reading.glucose, facts.policy.policy) !== 'low' ||
    reading.takenAtMs < low.openedAtMs
  )
    return []
  return [
    {
      ...headOf(ctx, low),
      type: 'low-told',
      body: { lowId: low.lowId, told: fields.told, readBack: true, ordered: fields.ordered },
    },
  ]
}

/** Item ids are made of their kind and subject. */
const FLAG_ADDRESS = z.object({ itemId: text })
type FlagRequest = RequestContext<z.output<typeof FLAG_ADDRESS>>

type FlagContext = { readonly item: OpenItem; readonly facts: StayFacts }

function flagContext(ctx: FlagRequest): FlagContext | undefined {
  const item = ctx.store.openItem(ctx.scope, ctx.params.itemId)
  const facts = item?.kind === 'flag' ? ctx.store.stayFacts(ctx.scope, item.stayId, ctx.nowMs) : undefined
  return item === undefined || facts === undefined ? undefined : { item, facts }
}

type FlagFields = ReturnType<(typeof FLAG_FORM)['parse']>

const FLAG: FormSpec<FlagFields, FlagRefusal | 'flag-gone', FlagRequest> = {
  name: 'flag',
  schema: FLAG_FORM,
  initial: () => ({}),
  draw: drawFlag,
  decide: (fields, ctx): Outcome<FormDecision, FlagRefusal | 'flag-gone'> => {
    const context = flagContext(ctx)
    if (context === undefined) return refuse('flag-gone')
    const { item, facts } = context
    const decision = resolveFlag(
      { ...fields, byId: ctx.actor.staffId },
      {
        flagId: item.itemId,
        stayId: item.stayId,
        wardId: item.wardId,
        low: lowOf(context),
        readings: facts.readings,
        policy: facts.policy.policy,
      },
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/stays/${item.stayId}` } } : decision
  },
  sentences: { ...FLAG_SENTENCES, 'flag-gone': () => 'This was resolved in the meantime.' },
  fieldOf: { 'flag-note-missing': 'note', 'flag-low-still-low': 'closeLow' },
  statusOf: { 'flag-gone': 409 },
}

function lowOf({ item, facts }: FlagContext): StayFacts['lows'][number] | null {
  return facts.lows.find(({ lowId }) => lowId === item.subjectId) ?? null
}

function drawFlag(ctx: FlagRequest, state: FormState): PageView | undefined {
  const context = flagContext(ctx)
  if (context === undefined) return undefined
  const { item, facts } = context
  recordPatientRead(ctx, item.stayId)
  const low = lowOf(context)
  const what = low === null ? 'A dose was already charted on it' : 'A low event was opened by it'
  const why = item.detail.endsWith('reading-in-error') ? 'was marked entered in error' : 'was corrected'
  return {
    title: 'Look again',
    body: flagForm({
      patient: bannerOf(facts, ctx.nowMs, true),
      ...state,
      about: `A reading ${why} at ${formatWhen(item.sinceMs, ctx.nowMs, facts.policy.policy.zone)}. ${what}: look at what followed from it.`,
      itemId: item.itemId,
      stayId: item.stayId,
      mayCloseLow: low !== null && low.closedAtMs === null && !hasLowReading(low, facts.readings, facts.policy.policy),
      way: low === null ? { path: `doses/${item.subjectId}`, label: 'Open the dose' } : null,
    }),
  }
}
