/** What was charted around a low, as rows: the 24 h before it in short and in full, and a whole period as one list. */
import { antecedentsIn, type AntecedentFacts } from '../../shared/audit/antecedents.ts'
import type { Antecedent } from '../../shared/audit/antecedent.ts'
import { auditLevel } from '../../shared/audit/low-audit.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { lowLine } from '../../shared/low/line.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import { contains, type Interval } from '../../shared/time/interval.ts'
import { HOUR_MS, MINUTE_MS } from '../../shared/time/span.ts'
import type { HappenedRowView, NoteView } from '../../views/audit/low-parts.ts'
import { formatDateTime, formatMinutes, formatWhen } from '../../views/format.ts'
import { happenedText, type HappenedContext } from '../../views/words/happened.ts'
import { lineText, READING_PART } from '../../views/words/low.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import type { AuditNote } from '../store/contract.ts'
import { inUnit, type LoadedLow, type RequestedPeriod } from './low-load.ts'

function lateText(ms: number): string {
  return `charted ${formatMinutes(ms / MINUTE_MS)} later`
}

/**
 * From an hour before the first value to the closing, or to now while it is open. Whole minutes, the last one included.
 */
export function listSpan({ low, audit: { startMs } }: Pick<LoadedLow, 'low' | 'audit'>, nowMs: number): Interval {
  const minute = (ms: number): number => Math.floor(ms / MINUTE_MS) * MINUTE_MS
  return { fromMs: minute(startMs - HOUR_MS), toMs: minute(low.closedAtMs ?? nowMs) + MINUTE_MS }
}

/** How to word the rows of one list. */
export function contextOf(
  ctx: RequestContext,
  { policy, visibility, facts }: Pick<LoadedLow, 'policy' | 'visibility' | 'facts'>,
  listed: readonly Antecedent[],
): HappenedContext {
  const readings = inUnit(facts.readings, policy)
  const parts = new Map(
    facts.lows
      .flatMap((low) => lowCourse(low, readings, policy).parts)
      .map(({ reading, part }) => [reading.readingId, READING_PART[part]]),
  )
  const doses = new Set(listed.flatMap(({ fact }) => (fact.kind === 'dose' ? [fact.dose.doseId] : [])))
  const lowText = (low: LowEvent): string => {
    const { lowest } = lowCourse(low, readings, policy)
    const level = auditLevel(low, lowest, policy)
    return lowest === null || level === null ? '' : `level ${String(level)}, lowest ${formatGlucose(lowest)}`
  }
  return {
    policy,
    nowMs: ctx.nowMs,
    nameOf: (staffId) => personName(ctx, staffId),
    wardName: (wardId) => wardName(ctx, wardId),
    ...visibility,
    lowText,
    partOf: ({ readingId }) => parts.get(readingId) ?? null,
    isListed: (doseId) => doses.has(doseId),
  }
}

export function wardName(ctx: RequestContext, wardId: string): string {
  return ctx.store.wards(ctx.scope).find((ward) => ward.wardId === wardId)?.name ?? 'another ward'
}

/** Nobody here charted what came with the load file. */
function personName(ctx: RequestContext, staffId: string): string {
  return staffId === 'loader' ? 'Load file' : nameOf(ctx, staffId)
}

/** Beside a masked value a call would reveal that it is critical. */
export function visible(
  all: readonly Antecedent[],
  {
    facts,
    visibility,
  }: { readonly facts: Pick<AntecedentFacts, 'readings'>; readonly visibility: LoadedLow['visibility'] },
): readonly Antecedent[] {
  return all.filter(({ fact }) => {
    const reading =
      fact.kind === 'critical-told'
        ? facts.readings.find(({ readingId }) => readingId === fact.call.readingId)
        : undefined
    return reading === undefined || visibility.valueOf(reading) !== null
  })
}

/** "5 h 20 min before", "+4 min". Empty for the first value itself. */
function fromFirst(atMs: number, firstValueMs: number): string {
  if (atMs === firstValueMs) return ''
  const text = formatMinutes(Math.abs(atMs - firstValueMs) / MINUTE_MS)
  return atMs < firstValueMs ? `${text} before` : `+${text}`
}

/** A row, timed before or after the low's first value. A reading's page links back to this low. */
export function happenedRow(
  one: Antecedent,
  context: HappenedContext,
  { lowId, firstValueMs }: { readonly lowId: string; readonly firstValueMs: number },
): HappenedRowView {
  const { atMs, chartedAtMs, byId } = one
  const { what, value, detail, path } = happenedText(one, context)
  const late =
    chartedAtMs !== null && chartedAtMs - atMs > context.policy.lateEntryReasonAfterMin * MINUTE_MS
      ? lateText(chartedAtMs - atMs)
      : null
  return {
    when: formatWhen(atMs, firstValueMs, context.policy.zone),
    before: fromFirst(atMs, firstValueMs),
    what,
    value,
    detail,
    late,
    path: path?.startsWith('readings/') === true ? `${path}?low=${lowId}` : path,
    by: byId === null ? '' : context.nameOf(byId),
  }
}

/**
 * Everything charted about the stay in the period, in order: measurements, insulin, steps of its lows, changes and
 * notes.
 */
export function listRows(
  ctx: RequestContext,
  { low, policy, audit }: LoadedLow,
  { span, facts, visibility }: RequestedPeriod,
): readonly HappenedRowView[] {
  const { zone } = policy
  const about = { lowId: low.lowId, firstValueMs: audit.startMs }
  // the first value shows that this low was opened; the closing with its cause shows that it was closed
  const happened = visible(antecedentsIn(facts, span, policy), { facts, visibility }).filter(
    ({ fact }) => fact.kind !== 'low' || (fact.opened && fact.low.lowId !== low.lowId),
  )
  const context = contextOf(ctx, { policy, visibility, facts }, happened)
  const plainRow = (
    atMs: number,
    byId: string,
    row: Pick<HappenedRowView, 'what' | 'value' | 'detail' | 'late'>,
  ): { readonly atMs: number; readonly row: HappenedRowView } => ({
    atMs,
    row: {
      when: formatWhen(atMs, audit.startMs, zone),
      before: fromFirst(atMs, audit.startMs),
      by: nameOf(ctx, byId),
      path: null,
      ...row,
    },
  })
  const done = facts.lows
    .flatMap((one) => lowLine(one, inUnit(facts.readings, policy), policy))
    .filter(({ fact, atMs }) => fact.kind !== 'reading' && contains(span, atMs))
    .map(({ atMs, chartedAtMs, byId, fact, late }) => {
      const { what, detail } = lineText(fact, null)
      return plainRow(atMs, byId, {
        what,
        value: '',
        detail: detail === '' ? [] : [detail],
        late: late ? lateText(chartedAtMs - atMs) : null,
      })
    })
  const noted = ctx.store
    .auditNotes(ctx.scope, low.lowId)
    .filter(({ atMs }) => contains(span, atMs))
    .map(({ atMs, byId, finding, followUp }) =>
      plainRow(atMs, byId, {
        what: 'Educator’s note',
        value: finding,
        detail: followUp === '' ? [] : [`follow-up: ${followUp}`],
        late: null,
      }),
    )
  const dated = happened.map((one) => ({ atMs: one.atMs, row: happenedRow(one, context, about) }))
  return [...dated, ...done, ...noted].sort((a, b) => a.atMs - b.atMs).map(({ row }) => row)
}

export function noteView(ctx: RequestContext, { atMs, byId, finding, followUp }: AuditNote, zone: string): NoteView {
  return { when: formatDateTime(atMs, zone), by: nameOf(ctx, byId), finding, followUp }
}
