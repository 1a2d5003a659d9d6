/** GET and POST /readings/:id/critical-call: the prescriber is told of a critical result. */
import { openLows } from '../../shared/low/current.ts'
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { criticalKind } from '../../shared/critical/confirm.ts'
import { criticalClock, tellCritical, type CallRefusal } from '../../shared/critical/call.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { formatTime, formatWhen } from '../../views/format.ts'
import type { ClockView } from '../../views/low/page.ts'
import { callForm } from '../../views/reading/change.ts'
import { CALL_SENTENCES } from '../../views/words/reading.ts'
import { headOf } from '../bedside/event-head.ts'
import { readingContext, type ReadingContext } from '../bedside/reading-context.ts'
import type { ReadingRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { drawFor, GONE, shortForm, TICK, type GoneRefusal } from './form.ts'

const CALL_FORM = z.strictObject({
  told: z
    .string({ error: 'Type who was told.' })
    .trim()
    .min(1, { error: 'Type who was told.' })
    .max(100, { error: 'A name has at most 100 characters.' }),
  readBack: TICK,
  ordered: z.string().trim().max(500, { error: 'At most 500 characters.' }).default(''),
})

type CallFields = ReturnType<(typeof CALL_FORM)['parse']>

export const callSpec: FormSpec<CallFields, CallRefusal | GoneRefusal | 'call-masked', ReadingRequest> = {
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

/** Telling a critical low tells of the open low events: the prescriber is not called twice for one. */
function tellsLow(ctx: ReadingRequest, { reading, facts }: ReadingContext, fields: CallFields): readonly LedgerEvent[] {
  const lows = openLows(facts.lows)
  const low = lows[0]
  if (
    low === undefined ||
    criticalKind(reading.glucose, facts.policy.policy) !== 'low' ||
    reading.takenAtMs < low.openedAtMs
  )
    return []
  return lows.map((one): LedgerEvent => ({
    ...headOf(ctx, one),
    type: 'low-told',
    body: { lowId: one.lowId, told: fields.told, readBack: true, ordered: fields.ordered },
  }))
}
