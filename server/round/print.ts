/** The facts of the printed sheets. They are read at printing, patient by patient. */
import { currentLow } from '../../shared/low/current.ts'
import { watchesOf } from '../../shared/care/watch.ts'
import { plannedChecks } from '../../shared/check/plan.ts'
import type { PatientNow } from '../../shared/check/round-model.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { nextRecheck } from '../../shared/low/recheck.ts'
import { isInForce, type OrderVersion } from '../../shared/order/order.ts'
import { maskedFor } from '../../shared/reading/mask.ts'
import { isEffective } from '../../shared/reading/reading.ts'
import { HOUR_MS } from '../../shared/time/span.ts'
import { checkName } from '../../views/words/check-name.ts'
import { orderTable } from '../../views/dose/order-table.ts'
import { formatDateTime, formatTime, formatWhen } from '../../views/format.ts'
import type { PrintOrderView, PrintPatientView, PrintRoundView } from '../../views/round/print.ts'
import { hiddenText } from '../../views/words/round.ts'
import { careFactsOf } from '../bedside/tasks.ts'
import { knowOf, patientHeadOf } from '../bedside/banner.ts'
import type { RoundSnapshot } from '../bedside/ward-now.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'
import { renderedRound } from './render.ts'

/** How far ahead the sheet lists what is due: a shift. */
const AHEAD_MS = 12 * HOUR_MS
/** Number of last values shown for each patient. */
const LAST_VALUES = 4

/** The downtime sheet of the whole ward, in walking order. Each patient's page counts as read. */
export function printRoundView(ctx: RequestContext, snapshot: RoundSnapshot): PrintRoundView {
  const { facts, model } = snapshot
  const { policy } = facts.policy
  const patients = [...model.patients.values()].sort((a, b) => a.bedIndex - b.bedIndex)
  return {
    wardName: facts.ward.name,
    heading: renderedRound(snapshot).heading,
    printed: formatDateTime(ctx.nowMs, policy.zone),
    printedBy: ctx.actor.name,
    unit: policy.unit,
    patients: patients.flatMap((patient) => {
      const stayFacts = ctx.store.stayFacts(ctx.scope, patient.stay.stayId, ctx.nowMs)
      if (stayFacts === undefined) return []
      recordPatientRead(ctx, patient.stay.stayId)
      return [patientView(ctx, snapshot, patient, stayFacts)]
    }),
  }
}

function patientView(
  ctx: RequestContext,
  { facts, staysWithOrder }: RoundSnapshot,
  patient: PatientNow,
  stay: StayFacts,
): PrintPatientView {
  const { policy } = facts.policy
  const { nowMs } = ctx
  const at = { policy, nowMs }
  const hasApplicableOrder = staysWithOrder.has(patient.stay.stayId)
  const lastValues = stay.readings
    .filter(isEffective)
    .slice(0, LAST_VALUES)
    .map((reading) => {
      const masked = maskedFor(ctx.actor, reading, stay.doses, { nowMs, policy, hasApplicableOrder })
      return `${masked ? hiddenText(stay.doses.some(({ readingId, voided }) => readingId === reading.readingId && voided === null) ? 'waits' : 'none') : formatGlucose(reading.glucose)} (${formatWhen(reading.takenAtMs, nowMs, policy.zone)})`
    })
  const orders = stay.orders.filter((version) => isInForce(version, nowMs))
  return {
    patient: patientHeadOf(patient.stay),
    know: knowOf(patient, at),
    lastValues,
    orders: orders.map((version) => orderView(version, policy.zone, nowMs)),
    due: dueLines(ctx, stay),
  }
}

function orderView(version: OrderVersion, zone: string, nowMs: number): PrintOrderView {
  const { order, verified } = version
  return {
    title: `${order.insulin} ${order.concentration}, order version ${String(version.version)}, ${order.prescriber}`,
    state:
      verified === null
        ? 'NOT VERIFIED by a second person: not to be used'
        : `Verified ${formatWhen(verified.atMs, nowMs, zone)}`,
    verified: verified !== null,
    table: orderTable(order, zone),
  }
}

/** Rechecks, planned checks and scheduled doses from now (including open ones) to the end of the next hours. */
function dueLines(ctx: RequestContext, stay: StayFacts): readonly string[] {
  const { policy } = stay.policy
  const { zone } = policy
  const { nowMs } = ctx
  const lines: { ms: number; text: string }[] = []
  const low = currentLow(stay.lows)
  const recheck = low === undefined ? null : nextRecheck(low, stay.readings, policy)
  if (recheck !== null) lines.push({ ms: recheck.dueMs, text: `Recheck after low, ${formatTime(recheck.dueMs, zone)}` })
  const checks = plannedChecks({
    plans: stay.plans,
    policy,
    trayDelays: stay.trayDelays,
    outcomes: stay.outcomes,
    watches: watchesOf(careFactsOf(stay, nowMs), nowMs),
    fromMs: nowMs - 4 * HOUR_MS,
    toMs: nowMs + AHEAD_MS,
    stay: stay.stay,
  })
  for (const check of checks) {
    if (check.closesMs > nowMs && !stay.outcomes.has(check.key))
      lines.push({ ms: check.dueMs, text: `${checkName(check)}, ${formatTime(check.dueMs, zone)}` })
  }
  return lines.sort((a, b) => a.ms - b.ms).map(({ text }) => text)
}
