/** What happened in the last 72 h of a stay, newest first, as rows of its page. It includes everything charted. */
import { OUTSIDE_SOURCE, TAKEN_BACK_WHY } from '../../views/words/dose.ts'
import { doseState } from '../../shared/dose/state.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import { meterFailedSince } from '../../shared/meter/control.ts'
import { lowProgress } from '../../shared/low/recheck.ts'
import { maskedDose } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { formatFinger, formatInjectionSite, formatInsulin, formatWhen } from '../../views/format.ts'
import type { TimelineRowView } from '../../views/stay/page.ts'
import { EXCUSE_REASON, MISSED_REASON } from '../../views/words/check.ts'
import { readingInWords } from '../../views/words/course.ts'
import { LOW_PHASE } from '../../views/words/low.ts'
import { DOSE_STATE } from '../../views/words/next.ts'
import { EXTRA_REASON, LATE_REASON, METER_DOUBT } from '../../views/words/reading.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { isMasked } from '../bedside/masking.ts'
import { whatReading } from '../bedside/reading-name.ts'
import type { StayFacts } from '../store/contract.ts'

type Dated = { readonly atMs: number; readonly row: TimelineRowView }
const MASKED = 'awaiting second check'

export function timelineOf(ctx: RequestContext, facts: StayFacts): readonly TimelineRowView[] {
  const dated: Dated[] = [
    ...facts.readings.map((reading) => readingRow(ctx, facts, reading)),
    ...facts.doses.map((dose) => doseRow(ctx, facts, dose)),
    ...facts.insulinGiven
      .filter(({ source }) => source !== 'here')
      .map((dose): Dated => ({
        atMs: dose.givenAtMs,
        row: row(ctx, facts, dose.givenAtMs, {
          what: 'Dose from outside',
          value: formatInsulin(dose.units, dose.insulin),
          detail: OUTSIDE_SOURCE[dose.source],
        }),
      })),
    ...facts.lows.map((low): Dated => ({
      atMs: low.openedAtMs,
      row: row(ctx, facts, low.openedAtMs, {
        what: 'Low event',
        value: low.closedAtMs === null ? 'open' : 'closed',
        detail: low.closedAtMs === null ? LOW_PHASE[lowProgress(low, facts.readings, facts.policy.policy).phase] : '',
        path: `lows/${low.lowId}`,
      }),
    })),
    ...facts.symptoms.map((one): Dated => ({
      atMs: one.atMs,
      row: row(ctx, facts, one.atMs, {
        what: 'Symptoms, no low value',
        value: one.what,
        detail: `${one.symptoms}, by ${nameOf(ctx, one.byId)}`,
      }),
    })),
    // beside a masked value the call would reveal a critical high, and its orders could reveal the dose
    ...facts.criticalCalls
      .filter((call) => !isMaskedId(ctx, facts, call.readingId))
      .map((call): Dated => ({
        atMs: call.atMs,
        row: row(ctx, facts, call.atMs, {
          what: 'Critical result told',
          value: call.told,
          detail: `read back${call.ordered === '' ? '' : `; ordered: ${call.ordered}`}, by ${nameOf(ctx, call.byId)}`,
          path: `readings/${call.readingId}`,
        }),
      })),
    ...[...facts.outcomes.values()].flatMap((outcome): Dated[] =>
      outcome.kind === 'done'
        ? []
        : [
            {
              atMs: outcome.atMs,
              row: row(ctx, facts, outcome.atMs, {
                what: 'Check not done',
                value: { ...EXCUSE_REASON, ...MISSED_REASON }[outcome.reason],
                detail: [`by ${nameOf(ctx, outcome.byId)}`, outcome.note].filter((part) => part !== '').join(', '),
              }),
            },
          ],
    ),
  ]
  return dated.sort((a, b) => b.atMs - a.atMs).map((one) => one.row)
}

function row(
  ctx: RequestContext,
  facts: StayFacts,
  atMs: number,
  parts: {
    readonly what: string
    readonly value: string
    readonly detail: string
    readonly struck?: boolean
    readonly path?: string
  },
): TimelineRowView {
  const { what, value, detail, struck = false, path = null } = parts
  return { when: formatWhen(atMs, ctx.nowMs, facts.policy.policy.zone), what, value, struck, detail, path }
}

function isMaskedId(ctx: RequestContext, facts: StayFacts, readingId: string): boolean {
  const reading = facts.readings.find((one) => one.readingId === readingId)
  return reading !== undefined && isMasked(ctx, reading, facts)
}

function readingRow(ctx: RequestContext, facts: StayFacts, reading: Reading): Dated {
  const masked = isMasked(ctx, reading, facts)
  const details = [`by ${nameOf(ctx, reading.byId)}`]
  if (reading.site !== null) details.push(formatFinger(reading.site))
  if (reading.lateReason !== null) details.push(`charted late: ${LATE_REASON[reading.lateReason].toLowerCase()}`)
  if (reading.extraReason !== null && !masked) details.push(EXTRA_REASON[reading.extraReason].toLowerCase())
  details.push(...reading.doubts.map((doubt) => METER_DOUBT[doubt]))
  if (meterFailedSince(reading, facts.failedControls) !== null) details.push('its meter failed a control since')
  // the typed reason may contain the value
  if (reading.supersededBy !== null) details.push(masked ? 'corrected' : correctedText(facts, reading))
  if (reading.voided !== null) details.push(masked ? 'entered in error' : `entered in error: ${reading.voided.reason}`)
  return {
    atMs: reading.takenAtMs,
    row: row(ctx, facts, reading.takenAtMs, {
      what: whatReading(reading, { facts }),
      value: readingInWords({
        glucose: masked ? null : reading.glucose,
        hasDose: facts.doses.some((dose) => dose.readingId === reading.readingId && dose.voided === null),
      }),
      detail: details.join(', '),
      struck: reading.supersededBy !== null || reading.voided !== null,
      path: `readings/${reading.readingId}`,
    }),
  }
}

function correctedText(facts: StayFacts, reading: Reading): string {
  const by = facts.readings.find(({ readingId }) => readingId === reading.supersededBy)
  const reason = by?.supersedes?.reason
  return reason === undefined ? 'corrected' : `corrected: ${reason}`
}

function doseRow(ctx: RequestContext, facts: StayFacts, dose: Dose): Dated {
  const { policy } = facts.policy
  const { outcome } = dose
  const masked = maskedDose(ctx.actor, dose, { nowMs: ctx.nowMs, policy })
  const atMs = outcome?.atMs ?? dose.proposedAtMs
  const state = doseState(dose, policy, ctx.nowMs)
  const details = [DOSE_STATE[state]]
  if (outcome?.kind === 'given') details.push(`by ${nameOf(ctx, outcome.byId)}, ${formatInjectionSite(outcome.site)}`)
  if (outcome?.kind === 'withheld' || outcome?.kind === 'refused') details.push(outcome.reason)
  if (outcome?.kind === 'taken-back') details.push(TAKEN_BACK_WHY[outcome.why], outcome.note)
  const checked = dose.answers.find((answer) => answer.agreed)
  if (checked !== undefined) details.push(`checked by ${nameOf(ctx, checked.byId)}`)
  return {
    atMs,
    row: row(ctx, facts, atMs, {
      what: 'Dose',
      value: masked ? MASKED : formatInsulin(dose.units, dose.insulin),
      detail: details.join(', '),
      struck: dose.voided !== null || outcome?.kind === 'taken-back',
      path: `doses/${dose.doseId}`,
    }),
  }
}
