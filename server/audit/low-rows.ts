/** From one low as it was loaded to what its pages show. */
import { happenedIn, tellingOf, type Antecedent, type AntecedentFacts } from '../../shared/audit/antecedents.ts'
import { RECURRENCE, verdictOn, type LowAudit } from '../../shared/audit/low-audit.ts'
import type { AuditedStep } from '../../shared/audit/low-steps.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { lowLine, type LineEntry } from '../../shared/low/line.ts'
import { contains } from '../../shared/time/interval.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import type { AuditedLowView, AuditLineView, ClockView, HappenedRowView, MarkView, NoteView } from '../../views/audit/low-parts.ts'
import { formatDate, formatDateTime, formatMinutes, formatName, formatWhen } from '../../views/format.ts'
import { auditedStepName, LEVEL_WORD, VERDICT_MARK, verdictText } from '../../views/words/audit.ts'
import { happenedText, standingText, type HappenedContext } from '../../views/words/happened.ts'
import { LOW_CAUSE, lineText } from '../../views/words/low.ts'
import type { Visit } from '../http/visit.ts'
import { elapsed } from '../low/page.ts'
import { nameOf } from '../reading/load.ts'
import type { AuditNote } from '../store/contract.ts'
import { inUnit, type LowInLook, type Window } from './low-load.ts'
import { plotOfLow } from './low-plot.ts'

/** The low's own page and its section in a shift's. `window`: what its plot shows; null: the event itself. */
export function auditedLowView(visit: Visit, look: LowInLook, window: Window | null): AuditedLowView {
  const { low, stay, policy, audit, line } = look
  const { zone } = policy
  const { steps, times, startMs } = audit
  const clock = (tookMs: number | null, none: string, kind: AuditedStep['kind'] | null): ClockView => ({ took: tookMs === null ? none : formatMinutes(tookMs / MINUTE_MS), ...(kind === null ? NO_STEP : worstOf(steps, kind)) })
  const before = visible(look.before, look)
  const context = contextOf(visit, look)
  return {
    lowId: low.lowId,
    stayId: stay.stayId,
    bed: bedThen(visit, look),
    patient: formatName(stay),
    identifiers: `born ${formatDate(stay.bornOn)}, wristband ${stay.wristband}`,
    when: formatDateTime(startMs, zone),
    whenShort: formatDateTime(startMs, zone).replace(/ \d{4},/, ','),
    level: audit.level === null ? { shape: '–', word: 'no low value counts', tone: 'calm' } : LEVEL_WORD[audit.level],
    lowest: audit.lowest === null ? '–' : formatGlucose(audit.lowest),
    state: stateText(visit, look),
    treated: clock(times.toTreatment, 'not treated', 'treat'),
    rechecked: clock(times.toRecheck, 'not rechecked', 'recheck'),
    recovered: clock(times.toRecovery, 'not recovered', null),
    told: clock(times.toTold, 'not told', 'tell-prescriber'),
    recurrence: recurrenceText(audit),
    again: againText(audit),
    standing: standingText(look.standing),
    telling: tellingOf(before).map((one) => happenedRow(one, context, { firstValueMs: startMs })),
    steps: steps.map((step) => ({
      name: auditedStepName(step), due: formatWhen(step.dueMs, startMs, zone), done: step.doneMs === null ? 'not done' : formatWhen(step.doneMs, startMs, zone),
      mark: markOf(step),
    })),
    line: line.map((entry) => lineRow(visit, entry, look)),
    before: before.map((one) => happenedRow(one, context, { firstValueMs: startMs })),
    notes: visit.store.auditNotes(visit.scope, low.lowId).map((note) => noteView(visit, note, zone)),
    plot: plotOfLow({ look, window, bed: bedThen(visit, look) }),
  }
}

/** "12 min"; less than a whole one is said so. */
function byText(ms: number): string | null {
  return ms === 0 ? null : ms < MINUTE_MS ? 'under 1 min' : formatMinutes(ms / MINUTE_MS)
}

function markOf({ verdict, byMs }: AuditedStep): MarkView {
  return { ...VERDICT_MARK[verdict], word: verdictText(verdict, byText(byMs)) }
}

const NO_STEP: Omit<ClockView, 'took'> = { mark: null, which: null }

/** What became of the steps of one kind, by the worst of them, and which it was where there are several. */
function worstOf(steps: readonly AuditedStep[], kind: AuditedStep['kind']): Omit<ClockView, 'took'> {
  const verdict = verdictOn(steps, kind)
  const own = steps.filter((step) => step.kind === kind)
  const worst = own.filter((step) => step.verdict === verdict).reduce<AuditedStep | null>((most, step) => (most === null || step.byMs > most.byMs ? step : most), null)
  if (worst === null) return NO_STEP
  const mark = markOf(worst)
  if (own.length === 1) return { mark, which: null }
  return verdict === 'kept' ? { mark: { ...mark, word: `all ${String(own.length)} kept` }, which: null } : { mark, which: `${String(worst.number)} of ${String(own.length)}` }
}

/** In a word or two, for one line a low. */
function againText({ recurrence: { within24h, earlierInStay } }: LowAudit): string {
  if (within24h !== null) return 'within 24 h'
  return earlierInStay === 0 ? 'first of the stay' : `number ${String(earlierInStay + 1)} of the stay`
}

function recurrenceText({ recurrence: { within24h, earlierInStay }, relapses }: LowAudit): readonly string[] {
  return [
    within24h === null ? `no low in the ${String(RECURRENCE.toMs / (60 * MINUTE_MS))} h before` : `within 24 h: ${formatMinutes(within24h.afterMs / MINUTE_MS)} after the last one`,
    earlierInStay === 0 ? 'first of the stay' : `${String(earlierInStay)} earlier in the stay`,
    ...(relapses === 0 ? [] : [`came back ${relapses === 1 ? 'once' : `${String(relapses)} times`} within the event`]),
  ]
}

function stateText(visit: Visit, { low, stay, audit, policy: { zone } }: LowInLook): string {
  const { closing } = low.charted
  const after = stay.dischargedAtMs === null ? '' : `; discharged ${formatDateTime(stay.dischargedAtMs, zone)}`
  if (low.closedAtMs === null || closing === null) return `open, ${audit.recoveredAtMs === null ? 'not recovered' : 'recovered'}${after}`
  return `closed ${formatDateTime(low.closedAtMs, zone)} by ${nameOf(visit, closing.byId)}: ${LOW_CAUSE[closing.cause].toLowerCase()}${closing.note === '' ? '' : ` (${closing.note})`}${after}`
}

/** The bed at the first value. */
function bedThen(visit: Visit, { facts, audit, stay }: LowInLook): string {
  const span = facts.beds.find(({ fromMs, toMs }) => contains({ fromMs, toMs: toMs ?? Number.POSITIVE_INFINITY }, audit.startMs))
  const bed = `Bed ${span?.bed ?? stay.bed}`
  return span === undefined || span.wardId === stay.wardId ? bed : `${bed} (now ${wardName(visit, stay.wardId)}, bed ${stay.bed})`
}

function wardName(visit: Visit, wardId: string): string {
  return visit.store.wards(visit.scope).find((ward) => ward.wardId === wardId)?.name ?? 'another ward'
}

function lineRow(visit: Visit, { atMs, chartedAtMs, byId, fact, afterMs, late }: LineEntry, { facts, policy: { zone }, audit, sight }: LowInLook): AuditLineView {
  const reading = fact.kind === 'reading' ? facts.readings.find(({ readingId }) => readingId === fact.readingId) : undefined
  return {
    when: formatWhen(atMs, audit.startMs, zone),
    after: afterMs === 0 ? '' : `+ ${elapsed(afterMs)}`,
    ...lineText(fact, reading === undefined ? null : sight.valueOf(reading)),
    late: late ? lateText(chartedAtMs - atMs) : null,
    by: nameOf(visit, byId),
    path: reading === undefined ? null : `readings/${reading.readingId}`,
  }
}

function lateText(ms: number): string {
  return `charted ${formatMinutes(ms / MINUTE_MS)} later`
}

function contextOf(visit: Visit, { policy, sight }: Pick<LowInLook, 'policy' | 'sight'>): HappenedContext {
  return { policy, nowMs: visit.nowMs, nameOf: (staffId) => personName(visit, staffId), wardName: (wardId) => wardName(visit, wardId), ...sight }
}

/** What came with the load file was charted by nobody here. */
function personName(visit: Visit, staffId: string): string {
  return staffId === 'loader' ? 'Load file' : nameOf(visit, staffId)
}

/** Beside a masked value a call would say that it is critical. */
function visible(all: readonly Antecedent[], { facts, sight }: { readonly facts: Pick<AntecedentFacts, 'readings'>; readonly sight: LowInLook['sight'] }): readonly Antecedent[] {
  return all.filter(({ fact }) => {
    const reading = fact.kind === 'critical-told' ? facts.readings.find(({ readingId }) => readingId === fact.call.readingId) : undefined
    return reading === undefined || sight.valueOf(reading) !== null
  })
}

/** Told by how long before the low's first value it was, or by the clock alone in a window that begins at an instant. */
function happenedRow(one: Antecedent, context: HappenedContext, by: { readonly firstValueMs: number } | { readonly wholeOf: number }): HappenedRowView {
  const { atMs, chartedAtMs, byId } = one
  const { zone } = context.policy
  const { what, value, detail, flagged, path } = happenedText(one, context)
  const late = chartedAtMs !== null && chartedAtMs - atMs > context.policy.lateEntryReasonAfterMin * MINUTE_MS ? lateText(chartedAtMs - atMs) : null
  return {
    when: formatWhen(atMs, 'firstValueMs' in by ? by.firstValueMs : by.wholeOf, zone),
    before: 'firstValueMs' in by ? `${formatMinutes((by.firstValueMs - atMs) / MINUTE_MS)} before` : '',
    what, value, detail, late, flagged, path, by: byId === null ? '' : context.nameOf(byId),
  }
}

/** Everything charted about the stay in the window, in order: what was measured, given, done in its lows, changed and noted. */
export function windowRows(visit: Visit, { low, policy }: LowInLook, { span, facts, sight }: Window): readonly HappenedRowView[] {
  const { zone } = policy
  const notes = visit.store.auditNotes(visit.scope, low.lowId)
  const context = contextOf(visit, { policy, sight })
  const dated = visible(happenedIn(facts, span, policy), { facts, sight }).map((one) => ({ atMs: one.atMs, row: happenedRow(one, context, { wholeOf: span.fromMs }) }))
  // readings, and opening and closing, stand in the list already
  const done = facts.lows.flatMap((low) => lowLine(low, inUnit(facts.readings, policy), policy)).filter(({ fact, atMs }) => fact.kind !== 'reading' && fact.kind !== 'closed' && contains(span, atMs)).map(({ atMs, chartedAtMs, byId, fact, late }) => {
    const { what, detail } = lineText(fact, null)
    const row: HappenedRowView = { when: formatWhen(atMs, span.fromMs, zone), before: '', what, value: '', detail: detail === '' ? [] : [detail], late: late ? lateText(chartedAtMs - atMs) : null, by: nameOf(visit, byId), flagged: false, path: null }
    return { atMs, row }
  })
  const noted = notes.filter(({ atMs }) => contains(span, atMs)).map(({ atMs, byId, finding, followUp }) => {
    const row: HappenedRowView = { when: formatWhen(atMs, span.fromMs, zone), before: '', what: 'Educator’s note', value: finding, detail: followUp === '' ? [] : [`follow-up: ${followUp}`], late: null, by: nameOf(visit, byId), flagged: false, path: null }
    return { atMs, row }
  })
  return [...dated, ...done, ...noted].sort((a, b) => a.atMs - b.atMs).map(({ row }) => row)
}

export function noteView(visit: Visit, { atMs, byId, finding, followUp }: AuditNote, zone: string): NoteView {
  return { when: formatDateTime(atMs, zone), by: nameOf(visit, byId), finding, followUp }
}

