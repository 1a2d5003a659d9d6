/** From a reading and its stay's facts to the result page. */
import { formatGlucose } from '../../shared/glucose/value.ts'
import { z } from 'zod'
import { occasionOfReading } from '../../shared/order/occasion.ts'
import { glucoseDigits, isNumeric } from '../../shared/glucose/value.ts'
import { asOrderedAnswer } from '../../shared/low/insulin.ts'
import { meterFailedSince } from '../../shared/meter/control.ts'
import { whatNext } from '../../shared/reading/next.ts'
import { formatFinger, formatWhen } from '../../views/format.ts'
import type { ResultView } from '../../views/reading/result.ts'
import { sayStep } from '../../views/words/next.ts'
import { EXTRA_REASON, LATE_REASON, METER_DOUBT } from '../../views/words/reading.ts'
import { isId } from '../http/ids.ts'
import { isNurse } from '../http/page.ts'
import { AUDITORS } from '../http/roles.ts'
import { queryText } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nextOnRound } from '../bedside/ward-now.ts'
import { bannerOf } from '../bedside/banner.ts'
import { type ReadingContext } from '../bedside/reading-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { whatReading } from '../bedside/reading-name.ts'

/** `low`: the low whose audit the page was opened from. */
export const RESULT_QUERY = z.object({ low: queryText })
type ResultRequest = RequestContext<object, z.output<typeof RESULT_QUERY>>

export function resultView(ctx: ResultRequest, context: ReadingContext): ResultView {
  const { reading, facts, masked } = context
  const { stay } = facts
  const next = isNurse(ctx.actor) && ctx.wardId === stay.wardId ? nextOnRound(ctx, stay.bed) : null
  return {
    readingId: reading.readingId,
    stayId: stay.stayId,
    patient: bannerOf(facts, ctx.nowMs, true),
    what: whatReading(reading, context),
    shown: masked
      ? null
      : {
          digits: glucoseDigits(reading.glucose),
          unit: isNumeric(reading.glucose) ? reading.glucose.unit : null,
          struck: reading.supersededBy !== null || reading.voided !== null,
          steps: stepsOf(ctx, context),
        },
    how: howTaken(ctx, context),
    // that it repeats a critical value would tell a possible second checker what to expect
    notes: masked ? [] : notesOf(ctx, context),
    mayChange: isNurse(ctx.actor) && reading.supersededBy === null && reading.voided === null,
    next: next === null ? null : { bed: next.bed, path: `checks/${next.checkKey}` },
    back: auditedLow(ctx, stay.stayId),
  }
}

/** The low of this stay whose audit the address says it was opened from. */
function auditedLow(ctx: ResultRequest, stayId: string): ResultView['back'] {
  const { low: lowId } = ctx.query
  if (
    !isId(lowId) ||
    !AUDITORS.includes(ctx.actor.role) ||
    ctx.store.auditedLow(ctx.scope, lowId)?.stay.stayId !== stayId
  )
    return null
  return { path: `audit/lows/${lowId}`, label: 'Back to the low in the audit' }
}

function stepsOf(
  ctx: RequestContext,
  { reading, facts, zone }: ReadingContext,
): NonNullable<ResultView['shown']>['steps'] {
  const { policy } = facts.policy
  const steps = whatNext({
    reading,
    readings: facts.readings,
    lows: facts.lows,
    orders: facts.orders,
    doses: facts.doses,
    policy,
    diabetes: facts.stay.facts.diabetes,
    occasion: occasionOfReading(reading, policy, facts.trayDelays).occasion,
    lowAnswer: asOrderedAnswer({
      lows: facts.lows,
      readings: facts.readings,
      directions: facts.directions,
      policy,
      nowMs: ctx.nowMs,
    }),
    criticalTold: !facts.openItems.some(
      ({ kind, subjectId }) => kind === 'critical' && subjectId === reading.readingId,
    ),
    meterFailedAtMs: meterFailedSince(reading, facts.failedControls),
    nowMs: ctx.nowMs,
  })
  return steps.map((step) =>
    sayStep(step, {
      stayId: facts.stay.stayId,
      readingId: reading.readingId,
      glucose: reading.glucose,
      zone,
      nowMs: ctx.nowMs,
    }),
  )
}

function howTaken(ctx: RequestContext, { reading, zone }: ReadingContext): string {
  const serial = reading.meterId === null ? undefined : ctx.store.meterSerial(reading.meterId)
  const parts = [
    `Taken ${formatWhen(reading.takenAtMs, ctx.nowMs, zone)} by ${nameOf(ctx, reading.byId)}`,
    reading.site === null ? null : formatFinger(reading.site),
    serial === undefined ? null : `meter ${serial}`,
    reading.stripLot === null ? null : `strips ${reading.stripLot}`,
  ]
  return `${parts.filter((part) => part !== null).join(', ')}.`
}

function notesOf(ctx: RequestContext, { reading, facts, zone }: ReadingContext): readonly string[] {
  const notes: string[] = []
  for (const call of facts.criticalCalls) {
    if (call.readingId === reading.readingId)
      notes.push(
        `Told ${call.told} at ${formatWhen(call.atMs, ctx.nowMs, zone)}, read back, by ${nameOf(ctx, call.byId)}.${call.ordered === '' ? '' : ` Ordered: ${call.ordered}.`}`,
      )
  }
  if (reading.extraReason !== null) notes.push(`Extra check: ${EXTRA_REASON[reading.extraReason].toLowerCase()}.`)
  if (reading.lateReason !== null)
    notes.push(
      `Charted late, at ${formatWhen(reading.chartedAtMs, ctx.nowMs, zone)}: ${LATE_REASON[reading.lateReason].toLowerCase()}.`,
    )
  if (reading.doubts.length > 0)
    notes.push(`In doubt: ${reading.doubts.map((doubt) => METER_DOUBT[doubt]).join(', ')}.`)
  const failedAtMs = meterFailedSince(reading, facts.failedControls)
  if (failedAtMs !== null)
    notes.push(
      `In doubt: its meter failed a control at ${formatWhen(failedAtMs, ctx.nowMs, zone)}, after this reading.`,
    )
  if (reading.reported !== undefined && reading.reported.unit !== reading.glucose.unit)
    notes.push(`Reported by the laboratory as ${formatGlucose(reading.reported)}.`)
  if (reading.supersedes !== null) notes.push(`Corrects an earlier value: ${reading.supersedes.reason}`)
  if (reading.voided !== null)
    notes.push(
      `Entered in error, by ${nameOf(ctx, reading.voided.byId)} at ${formatWhen(reading.voided.atMs, ctx.nowMs, zone)}: ${reading.voided.reason}`,
    )
  return notes
}
