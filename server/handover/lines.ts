/** The lists of one bed on the handover sheet: insulin, what is due, orders, and open items. */
import { plannedChecks } from '../../shared/check/plan.ts'
import { slotsAhead } from '../../shared/check/scheduled.ts'
import { doseState } from '../../shared/dose/state.ts'
import { isInForce } from '../../shared/order/order.ts'
import { isRunning } from '../../shared/order/stop.ts'
import { maskedDose, takersOf } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Course } from '../../shared/stay/course.ts'
import { glucoseDigits } from '../../shared/glucose/value.ts'
import { checkName } from '../../views/words/check-name.ts'
import { formatInsulin, formatWhen } from '../../views/format.ts'
import type { SheetLine } from '../../views/handover/bed.ts'
import { CHECK_STATE_MARK } from '../../views/words/check.ts'
import { doseInWords } from '../../views/words/course.ts'
import {
  DOSE_MARK,
  LATE_DOSE_MARK,
  OPEN_MARK,
  ORDER_UNVERIFIED_MARK,
  ORDER_VERIFIED_MARK,
  UNVERIFIED_SAYS,
} from '../../views/words/handover.ts'
import { DOSE_STATE } from '../../views/words/next.ts'
import { orderShort } from '../../views/words/order-short.ts'
import type { RequestContext } from '../http/request-context.ts'
import { lineView } from '../round/views.ts'
import { alertsOf } from '../bedside/alerts.ts'
import type { BedFacts } from './bed-facts.ts'
import { sheetWhen } from './when.ts'

type Dated = { readonly atMs: number; readonly line: SheetLine }

function inTime(all: readonly Dated[]): readonly SheetLine[] {
  return [...all].sort((a, b) => a.atMs - b.atMs).map(({ line }) => line)
}

/** Insulin given, doses calculated but not given, and doses withheld or refused with the reason, oldest first. */
export function doseLines(
  ctx: RequestContext,
  { snapshot: { facts }, doses, fromMs }: BedFacts,
  course: Course,
): readonly SheetLine[] {
  const { policy } = facts.policy
  const { nowMs, actor } = ctx
  const when = (ms: number): string => sheetWhen(ms, nowMs, policy.zone)
  return inTime([
    ...course.doses.map((dose): Dated => {
      const { what, value } = doseInWords(dose)
      const mark = dose.standing === 'not-yet' || dose.standing === 'uncertain' ? DOSE_MARK[dose.standing] : null
      return {
        atMs: dose.atMs,
        line: {
          text: `${when(dose.atMs)} ${what}: ${value}`,
          mark,
          path: dose.standing === 'outside' ? null : `doses/${dose.doseId}`,
        },
      }
    }),
    ...doses.flatMap((dose): Dated[] => {
      const { outcome } = dose
      if (
        (outcome?.kind !== 'withheld' && outcome?.kind !== 'refused') ||
        outcome.atMs < fromMs ||
        maskedDose(actor, dose, { nowMs, policy })
      )
        return []
      const text = `${when(outcome.atMs)} ${formatInsulin(dose.units, dose.insulin)} ${DOSE_STATE[doseState(dose, policy, nowMs)]}: ${outcome.reason}`
      return [{ atMs: outcome.atMs, line: { text, mark: null, path: `doses/${dose.doseId}` } }]
    }),
  ])
}

/**
 * Checks and scheduled doses from now to the end of the next shift. An open check is shown with its state. A late one
 * is an open item (openLines).
 */
export function dueLines(
  ctx: RequestContext,
  { snapshot: { facts, model }, patient, untilMs }: BedFacts,
): readonly SheetLine[] {
  const { policy } = facts.policy
  const { nowMs } = ctx
  const { stay } = patient
  const at = { policy, nowMs }
  const when = (ms: number): string => sheetWhen(ms, nowMs, policy.zone)
  const waiting = model.lines.filter(
    (line) =>
      line.stayId === stay.stayId &&
      line.check !== null &&
      line.outcome === null &&
      line.state !== 'upcoming' &&
      !(line.standing.kind === 'check' && line.state === 'late'),
  )
  const known = new Set(waiting.map(({ check }) => check?.key))
  const planned = plannedChecks({
    stay,
    policy,
    plans: facts.plans.filter(({ stayId }) => stayId === stay.stayId),
    trayDelays: facts.trayDelays,
    outcomes: facts.outcomes,
    watches: patient.watches,
    fromMs: nowMs,
    toMs: untilMs,
  })
  return inTime([
    ...waiting.map((line): Dated => {
      const view = lineView(line, at)
      return {
        atMs: line.check?.dueMs ?? nowMs,
        line: { text: `${view.what}: ${view.when}`, mark: view.mark, path: view.action?.path ?? null },
      }
    }),
    ...planned
      .filter(({ key }) => !facts.outcomes.has(key) && !known.has(key))
      .map((check): Dated => ({
        atMs: check.dueMs,
        line: { text: `${checkName(check)}, ${when(check.dueMs)}`, mark: null, path: null },
      })),
    ...facts.orders
      .filter(({ stayId }) => stayId === stay.stayId)
      .flatMap((version) =>
        slotsAhead(version, { zone: policy.zone, settled: facts.settledSlots }, { fromMs: nowMs, toMs: untilMs }).map(
          ({ dueMs, units, holdBelow }): Dated => {
            const hold =
              holdBelow === null
                ? ''
                : `, held below ${glucoseDigits({ unit: version.order.unit, value: holdBelow })} ${version.order.unit}`
            return {
              atMs: dueMs,
              line: {
                text: `Scheduled, ${when(dueMs)}: ${formatInsulin(units, version.order.insulin)}${hold}${version.verified === null ? ' (order not verified)' : ''}`,
                mark: null,
                path: null,
              },
            }
          },
        ),
      ),
  ])
}

/** Orders in force and those still to start, each with its verification. */
export function orderLines(
  ctx: RequestContext,
  { snapshot: { facts }, patient: { stay } }: BedFacts,
): readonly SheetLine[] {
  const { nowMs } = ctx
  const { zone } = facts.policy.policy
  return facts.orders
    .filter((version) => version.stayId === stay.stayId && isRunning(version, nowMs))
    .map((version) => {
      const starts = isInForce(version, nowMs) ? '' : `from ${formatWhen(version.order.startsAtMs, nowMs, zone)}: `
      return {
        text: `${starts}${orderShort(version.order)}`,
        mark: version.verified === null ? ORDER_UNVERIFIED_MARK : ORDER_VERIFIED_MARK,
        path: `orders/${version.orderId}/${String(version.version)}`,
      }
    })
}

/**
 * Everything that a person must still settle: food after insulin, lows, doses, criticals, questions and flags. Also
 * late and missed checks, late scheduled doses, and orders.
 */
export function openLines(
  ctx: RequestContext,
  bed: BedFacts,
  isHidden: (ctx: RequestContext, bed: BedFacts, reading: Reading) => boolean,
): readonly SheetLine[] {
  const {
    snapshot: { facts, model },
    patient,
  } = bed
  const { policy } = facts.policy
  const { nowMs } = ctx
  const { stayId } = patient.stay
  const when = (ms: number): string => sheetWhen(ms, nowMs, policy.zone)
  const isMasked = patient.lastReading !== null && isHidden(ctx, bed, patient.lastReading)
  const criticals = patient.items.flatMap(({ kind, subjectId }) => {
    const reading =
      kind === 'critical'
        ? (bed.readings.find(({ readingId }) => readingId === subjectId) ?? ctx.store.readingById(ctx.scope, subjectId))
        : undefined
    return reading === undefined ? [] : [reading]
  })
  const late = model.lines
    .filter((line) => line.stayId === stayId && line.standing.kind === 'check' && line.state === 'late')
    .map((line) => lineView(line, { policy, nowMs }))
  const noTray = model.lines
    .filter((line) => line.stayId === stayId && line.standing.kind === 'insulin-no-tray')
    .map((line) => lineView(line, { policy, nowMs }))
  return [
    ...late.map(({ what, when: since, mark, action }) => ({
      text: `${what}: ${since}`,
      mark,
      path: action?.path ?? null,
    })),
    ...noTray.map(({ what, when: since, mark, action }) => ({
      text: `${what}: ${since}`,
      mark,
      path: action?.path ?? null,
    })),
    ...alertsOf(patient, { policy, nowMs }, { criticals: !isMasked || takersOf(criticals).has(ctx.actor.staffId) }).map(
      ({ text, path }) => ({ text, mark: OPEN_MARK, path }),
    ),
    ...model.missed
      .filter((one) => one.stayId === stayId)
      .map(({ check }) => ({
        text: `${checkName(check)}, due ${when(check.dueMs)}: needs a reason`,
        mark: CHECK_STATE_MARK.missed,
        path: `checks/${check.key}/excuse`,
      })),
    ...model.scheduled
      .filter((slot) => slot.stayId === stayId && slot.state !== 'settled' && slot.dueMs < nowMs)
      .map((slot) => {
        const insulin =
          facts.orders.find(({ orderId, version }) => orderId === slot.orderId && version === slot.orderVersion)?.order
            .insulin ?? 'insulin'
        return {
          text: `Scheduled ${insulin}, ${when(slot.dueMs)}: not accounted for`,
          mark: slot.state === 'late' ? LATE_DOSE_MARK : OPEN_MARK,
          path: `stays/${stayId}/scheduled/${slot.slot}`,
        }
      }),
    ...facts.orders
      .filter((version) => version.stayId === stayId && version.verified === null && isRunning(version, nowMs))
      .map(({ orderId, version, order }) => ({
        text: `${UNVERIFIED_SAYS}: ${order.insulin}`,
        mark: OPEN_MARK,
        path: `orders/${orderId}/${String(version)}`,
      })),
  ]
}
