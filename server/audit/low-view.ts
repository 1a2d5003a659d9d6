/** Turns a loaded low into the view of its pages. */
import { summarizeBefore } from '../../shared/audit/antecedents.ts'
import type { Antecedent } from '../../shared/audit/antecedent.ts'
import { lowRun, RECURRENCE, stepShown, verdictOn, type LowAudit } from '../../shared/audit/low-audit.ts'
import type { AuditedStep } from '../../shared/audit/low-steps.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { contains } from '../../shared/time/interval.ts'
import { HOUR_MS, MINUTE_MS } from '../../shared/time/span.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import type { AuditedLowView, ClockView, MarkView } from '../../views/audit/low-parts.ts'
import {
  formatDate,
  formatDateTime,
  formatMinutes,
  formatName,
  formatShortName,
  formatWhen,
} from '../../views/format.ts'
import { auditedStepName, LEVEL_WORD, ordinal, stepClock, VERDICT_MARK, verdictText } from '../../views/words/audit.ts'
import { patientStateText } from '../../views/words/happened.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import type { LoadedLow, RequestedPeriod } from './low-load.ts'
import { plotOfLow } from './low-plot.ts'
import { contextOf, happenedRow, listRows, listSpan, noteView, visible, wardName } from './low-rows.ts'
import { causeOf, firstValueText, storyOf } from './low-story.ts'

/**
 * The low's own page and its section in a shift's page. `window`: the period of its plot and list. Null: the event
 * itself.
 */
export function auditedLowView(
  ctx: RequestContext,
  loadedLow: LoadedLow,
  window: RequestedPeriod | null,
): AuditedLowView {
  const { low, stay, policy, audit } = loadedLow
  const { zone } = policy
  const { steps, startMs } = audit
  const before = visible(loadedLow.before, loadedLow)
  const { told, left } = summarizeBefore(before)
  const rowsOf = (all: readonly Antecedent[]): AuditedLowView['told'] => {
    const context = contextOf(ctx, loadedLow, all)
    return all.map((one) => happenedRow(one, context, { lowId: low.lowId, firstValueMs: startMs }))
  }
  const shown = window ?? {
    span: listSpan(loadedLow, ctx.nowMs),
    facts: loadedLow.facts,
    visibility: loadedLow.visibility,
  }
  const notes = ctx.store.auditNotes(ctx.scope, low.lowId)
  const bed = bedThen(ctx, loadedLow)
  return {
    lowId: low.lowId,
    stayId: stay.stayId,
    bed,
    patient: formatName(stay),
    identifiers: `born ${formatDate(stay.bornOn)}, wristband ${stay.wristband}`,
    when: formatDateTime(startMs, zone),
    whenShort: formatDateTime(startMs, zone).replace(/ \d{4},/, ','),
    level: audit.level === null ? { shape: '–', word: 'no low value counts', tone: 'calm' } : LEVEL_WORD[audit.level],
    first: firstValueText(loadedLow),
    lowest: audit.lowest === null ? '–' : formatGlucose(audit.lowest),
    ...storyOf(ctx, loadedLow),
    state: stateText(ctx, loadedLow),
    ...causeOf(ctx, loadedLow),
    treated: clockOf(steps, 'treat', 'not treated'),
    rechecked: clockOf(steps, 'recheck', 'not rechecked'),
    recovered: {
      says: audit.times.toRecovery === null ? 'not recovered' : `${took(audit.times.toRecovery)} after the first value`,
      mark: null,
      which: null,
    },
    prescriberTold: clockOf(steps, 'tell-prescriber', 'not told'),
    recurrence: recurrenceText(loadedLow),
    run: runText(loadedLow, bed),
    standing: patientStateText(loadedLow.patientState),
    told: rowsOf(told),
    left: leftText(left),
    before: rowsOf(before),
    wholeQuery: new URLSearchParams({
      from: localDateTime(startMs - 24 * HOUR_MS, zone),
      to: localDateTime(startMs + MINUTE_MS, zone),
    }).toString(),
    steps: steps.map((step) => ({
      name: auditedStepName(step),
      due: formatWhen(step.dueMs, startMs, zone),
      done: step.doneMs === null ? 'not done' : formatWhen(step.doneMs, startMs, zone),
      clock: step.doneMs === null ? null : stepTook(step),
      mark: markOf(step),
    })),
    list: {
      caption: `Everything charted from ${formatDateTime(shown.span.fromMs, zone)} up to ${formatDateTime(shown.span.toMs, zone)}`,
      rows: listRows(ctx, loadedLow, shown),
    },
    notes: notes.map((note) => noteView(ctx, note, zone)),
    reviewedBy: [...new Set(notes.map(({ byId }) => formatShortName(nameOf(ctx, byId))))],
    plot: plotOfLow({ loadedLow, window, bed }),
  }
}

/** "12 min". Less than a minute has its own wording. */
function byText(ms: number): string | null {
  return ms === 0 ? null : ms < MINUTE_MS ? 'under 1 min' : took(ms)
}

function took(ms: number): string {
  return formatMinutes(ms / MINUTE_MS)
}

function markOf({ verdict, byMs }: AuditedStep): MarkView {
  return { ...VERDICT_MARK[verdict], word: verdictText(verdict, byText(byMs)) }
}

/** "16 min after treatment (limit 15 min)" */
function stepTook(step: AuditedStep): string {
  return stepClock(step, took((step.doneMs ?? step.fromMs) - step.fromMs), took(step.dueMs - step.fromMs))
}

/** The time of the steps of one kind: that of the worst of them, with its verdict. */
function clockOf(steps: readonly AuditedStep[], kind: AuditedStep['kind'], none: string): ClockView {
  const step = stepShown(steps, kind)
  if (step === null) return { says: none, mark: null, which: null }
  const own = steps.filter((one) => one.kind === kind)
  const says = step.doneMs === null ? none : stepTook(step)
  if (own.length === 1) return { says, mark: markOf(step), which: null }
  const isAll = verdictOn(steps, kind) === 'kept'
  return {
    says,
    mark: isAll ? { ...markOf(step), word: `all ${String(own.length)} kept` } : markOf(step),
    which: isAll ? 'the slowest' : `${ordinal(step.number)} of ${String(own.length)}`,
  }
}

function recurrenceText({
  audit: {
    recurrence: { within24h, earlierInStay },
    relapses,
  },
}: {
  readonly audit: LowAudit
}): readonly string[] {
  return [
    earlierInStay === 0 ? 'first low of this stay' : `${ordinal(earlierInStay + 1)} low of this stay`,
    ...(within24h === null
      ? []
      : [`repeat low in ${String(RECURRENCE.toMs / HOUR_MS)} h: ${took(within24h.afterMs)} after the last one`]),
    ...(relapses === 0
      ? []
      : [`low again after recovery, before closing: ${relapses === 1 ? 'once' : `${String(relapses)} times`}`]),
  ]
}

/** "Bed 13: 5 lows in 5 days" */
function runText({ low, facts, audit, policy: { zone } }: LoadedLow, bed: string): string | null {
  const run = audit.isLow ? lowRun(low, facts.lows, zone) : null
  return run === null
    ? null
    : `${bed}: ${String(run.count)} lows in ${run.days === 1 ? '1 day' : `${String(run.days)} days`}`
}

/** What the short list leaves out, by kind. Null: nothing. */
function leftText(left: readonly Antecedent[]): string | null {
  const readings = left.filter(({ fact }) => fact.kind === 'reading').length
  const others = left.length - readings
  const parts = [
    ...(readings === 0 ? [] : [readings === 1 ? '1 other reading' : `${String(readings)} other readings`]),
    ...(others === 0
      ? []
      : [
          `${String(others)} ${others === 1 ? 'line' : 'lines'} about check plans, verified orders, calls and closed lows`,
        ]),
  ]
  return parts.length === 0 ? null : `Left out here: ${parts.join(' and ')}.`
}

function stateText(ctx: RequestContext, { low, stay, audit, policy: { zone } }: LoadedLow): string {
  const { closing } = low.charted
  const after = stay.dischargedAtMs === null ? '' : `; discharged ${formatDateTime(stay.dischargedAtMs, zone)}`
  if (low.closedAtMs === null || closing === null)
    return `open, ${audit.recoveredAtMs === null ? 'not recovered' : 'recovered'}${after}`
  return `closed ${formatDateTime(low.closedAtMs, zone)} by ${nameOf(ctx, closing.byId)}${after}`
}

/** The bed at the first value. */
function bedThen(ctx: RequestContext, { facts, audit, stay }: LoadedLow): string {
  const span = facts.beds.find(({ fromMs, toMs }) =>
    contains({ fromMs, toMs: toMs ?? Number.POSITIVE_INFINITY }, audit.startMs),
  )
  const bed = `Bed ${span?.bed ?? stay.bed}`
  return span === undefined || span.wardId === stay.wardId
    ? bed
    : `${bed} (now ${wardName(ctx, stay.wardId)}, bed ${stay.bed})`
}
