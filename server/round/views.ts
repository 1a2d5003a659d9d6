/** Turns the round's facts into the content of its pages: texts, times and numbers with their units. */
import type { Check } from '../../shared/check/check.ts'
import { parseCheckKey } from '../../shared/check/plan.ts'
import { kitList, meterFitness } from '../../shared/check/kit.ts'
import type { RoundLine, RoundModel } from '../../shared/check/round-model.ts'
import type { ScheduledSlot } from '../../shared/check/scheduled.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { isInForce } from '../../shared/order/order.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { checkName } from '../../views/words/check-name.ts'
import { formatAgo, formatDate, formatMinutes, formatTime, formatWhen } from '../../views/format.ts'
import type { KitView } from '../../views/round/page.ts'
import type { LastReadingView, MarkView, RoundRowView } from '../../views/round/row.ts'
import { CHECK_STATE_MARK, EXCUSE_REASON, KIT_ITEM, METER_FITNESS, MISSED_REASON } from '../../views/words/check.ts'
import {
  DOSE_TO_WORK_OUT_MARK,
  hiddenText,
  lateText,
  LOW_MARK,
  NO_TRAY_MARK,
  SLOT_MARK,
} from '../../views/words/round.ts'
import type { WardFacts } from '../store/contract.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import type { At } from '../bedside/at.ts'

/** `doseWaits`: the reading has a dose, which waits for its second check where it is masked. */
export function readingView(
  reading: Reading | null,
  { masked, doseWaits }: { readonly masked: boolean; readonly doseWaits: boolean },
  { policy, nowMs }: At,
): LastReadingView {
  if (reading === null) return { kind: 'none' }
  const when = `${formatWhen(reading.takenAtMs, nowMs, policy.zone)}, ${formatAgo((nowMs - reading.takenAtMs) / MINUTE_MS)}`
  return masked
    ? { kind: 'masked', when, text: hiddenText(doseWaits ? 'waits' : 'none') }
    : { kind: 'shown', value: formatGlucose(reading.glucose), when }
}

/** A line of the round without its reading, alerts and notes, which belong to the patient. */
export function lineView(line: RoundLine, at: At): Pick<RoundRowView, 'what' | 'mark' | 'when' | 'dueMs' | 'action'> {
  const { standing, check, state } = line
  const { zone } = at.policy
  const minutesTo = (ms: number): string => formatMinutes(Math.ceil((ms - at.nowMs) / MINUTE_MS))
  const minutesSince = (ms: number): string => formatMinutes((at.nowMs - ms) / MINUTE_MS)
  if (standing.kind === 'insulin-no-tray') {
    return {
      what: 'Food',
      mark: NO_TRAY_MARK,
      when: `insulin given ${minutesSince(standing.sinceMs)} ago (${formatTime(standing.sinceMs, zone)})`,
      action: { path: `stays/${line.stayId}/tray`, label: 'Chart the tray', main: true },
      dueMs: null,
    }
  }
  if (check === null || state === null) throw new Error('a line of the round without its check')
  const path = `checks/${check.key}`
  if (standing.kind === 'low') {
    const due = standing.recheckDueMs
    const come = at.nowMs >= due
    const mark = !standing.treated ? LOW_MARK.untreated : come ? LOW_MARK['recheck-due'] : LOW_MARK['recheck-running']
    const when = come
      ? `recheck due since ${formatTime(due, zone)} (${minutesSince(due)})`
      : `recheck in ${minutesTo(due)} (${formatTime(due, zone)})`
    return {
      what: `Low at ${formatWhen(standing.openedAtMs, at.nowMs, zone)}`,
      mark,
      when,
      dueMs: due,
      action: standing.treated
        ? { path, label: 'Recheck', main: come }
        : { path: lowPath(check), label: 'Treat', main: true },
    }
  }
  return {
    what: checkName(check),
    mark: line.doseToWorkOut === null ? CHECK_STATE_MARK[state] : DOSE_TO_WORK_OUT_MARK,
    dueMs: null,
    when: checkWhen(line, check, at, minutesSince, minutesTo),
    action: checkAction(line, path),
  }
}

/** The treatment page of a recheck's low event. */
function lowPath(check: Check): string {
  const parsed = parseCheckKey(check.key)
  if (parsed?.kind !== 'recheck') throw new Error('a low on the round without its recheck')
  return `lows/${parsed.lowId}`
}

function checkWhen(
  line: RoundLine,
  check: Check,
  { policy, nowMs }: At,
  since: (ms: number) => string,
  to: (ms: number) => string,
): string {
  const { zone } = policy
  const due = `due ${formatWhen(check.dueMs, nowMs, zone)}`
  const { outcome } = line
  if (outcome?.kind === 'done') return `done ${formatWhen(outcome.atMs, nowMs, zone)}`
  if (outcome?.kind === 'excused') return { ...EXCUSE_REASON, ...MISSED_REASON }[outcome.reason]
  if (line.state === 'late')
    return `${lateText(formatWhen(check.dueMs, nowMs, zone), formatWhen(check.lateAfterMs, nowMs, zone))} (${since(check.lateAfterMs)})`
  if (line.state === 'upcoming') return `${due}, opens in ${to(check.opensMs)}`
  return nowMs < check.dueMs
    ? `${due}, in ${to(check.dueMs)}`
    : `${due}, late after ${formatTime(check.lateAfterMs, zone)}`
}

function checkAction(line: RoundLine, path: string): RoundRowView['action'] {
  if (line.outcome?.kind === 'done') return { path: `readings/${line.outcome.readingId}`, label: 'Result', main: false }
  if (line.outcome?.kind === 'excused') return null
  return { path, label: 'Check', main: line.state !== 'upcoming' }
}

export function slotView(
  slot: ScheduledSlot,
  facts: WardFacts,
  at: At,
): { readonly what: string; readonly mark: MarkView; readonly way: { readonly path: string; readonly label: string } } {
  const order = facts.orders.find(({ orderId, version }) => orderId === slot.orderId && version === slot.orderVersion)
  const what = `${order?.order.insulin ?? 'Insulin'}, ${formatWhen(slot.dueMs, at.nowMs, at.policy.zone)}`
  return {
    what,
    mark: SLOT_MARK[slot.state],
    way: { path: `stays/${slot.stayId}/scheduled/${slot.slot}`, label: slot.state === 'settled' ? 'See' : 'Work out' },
  }
}

/** The kit for the remaining checks of this round on the given beds. */
export function kitView(
  facts: WardFacts,
  model: RoundModel,
  beds: ReadonlySet<string> | null,
  { policy, nowMs }: At,
): KitView {
  const mine = (stayId: string): boolean => beds === null || beds.has(model.patients.get(stayId)?.stay.bed ?? '')
  const left = model.lines.filter((line) => mine(line.stayId) && line.check !== null && line.outcome === null)
  const withOrder = new Set(
    facts.orders
      .filter(
        (version) =>
          isInForce(version, nowMs) &&
          (version.order.occasions.includes(model.round.occasion) ||
            model.scheduled.some((slot) => slot.orderId === version.orderId && slot.state !== 'settled')),
      )
      .map(({ stayId }) => stayId)
      .filter(
        (stayId) =>
          mine(stayId) &&
          (left.some((line) => line.stayId === stayId) ||
            model.scheduled.some((slot) => slot.stayId === stayId && slot.state !== 'settled')),
      ),
  )
  const today = wardDate(nowMs, policy.zone)
  return {
    lines: kitList({ checks: left.length, patientsWithOrder: withOrder.size }).map(({ item, needed, spare }) => ({
      label: KIT_ITEM[item],
      needed,
      spare,
    })),
    meters: facts.meters.map((meter) => ({
      serial: meter.serial,
      mark: METER_FITNESS[meterFitness(meter, { unit: policy.unit, zone: policy.zone, nowMs })],
    })),
    lots: facts.stripLots.map(({ lot, expiresOn }) => ({
      lot,
      expires: formatDate(expiresOn),
      expired: expiresOn < today,
    })),
  }
}
