/** From the round's facts to what its pages show: words, times and numbers with their units, nothing else. */
import type { Check } from '../../shared/check/check.ts'
import { parseCheckKey } from '../../shared/check/plan.ts'
import { kitList, meterFitness } from '../../shared/check/kit.ts'
import { callByMs } from '../../shared/critical/call.ts'
import type { PatientNow, RoundLine, RoundModel } from '../../shared/check/round-model.ts'
import type { ScheduledSlot } from '../../shared/check/scheduled.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { isInForce } from '../../shared/order/order.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { wardDate } from '../../shared/time/zone.ts'
import {
  formatAgo,
  formatDate,
  formatMinutes,
  formatName,
  formatTime,
  formatWhen,
  OCCASION_NAME,
} from '../../views/format.ts'
import type { KitView } from '../../views/round/page.ts'
import type { AlertView, LastReadingView, MarkView, PatientHead, RoundRowView } from '../../views/round/row.ts'
import {
  CHECK_STATE_MARK,
  EXCUSE_REASON,
  ISOLATION,
  KIT_ITEM,
  METER_FITNESS,
  MISSED_REASON,
  RESTRICTION,
} from '../../views/words/check.ts'
import {
  DOSE_TO_WORK_OUT,
  DOSE_TO_WORK_OUT_MARK,
  DOSE_WAITS,
  hiddenText,
  ITEM_WAITS,
  lateText,
  laboratoryWaits,
  LOW_GOES_ON,
  LOW_MARK,
  LOW_WAITS,
  NO_TRAY_MARK,
  SLOT_MARK,
  UNACCOUNTED_WAITS,
} from '../../views/words/round.ts'
import type { WardFacts } from '../store/contract.ts'
import { HOUR_MS, MINUTE_MS } from '../../shared/time/span.ts'

/** A low is named beside the bed as long as recurrence within 24 h is a question (design 4.6). */
const LOW_NAMED_MS = 24 * HOUR_MS

/** The instant that a page is drawn for, with the ward's policy. */
export type At = { readonly policy: WardPolicy; readonly nowMs: number }

export function patientHeadOf(stay: Stay): PatientHead {
  return {
    stayId: stay.stayId,
    bed: stay.bed,
    name: formatName(stay),
    wristband: stay.wristband,
    born: formatDate(stay.bornOn),
  }
}

/** What to know before going in: short, the same words everywhere. `lowSaid`: the line itself is about the low. */
export function knowOf(
  patient: Pick<PatientNow, 'stay' | 'nilByMouth' | 'lastLow' | 'openLow'>,
  { policy, nowMs }: At,
  lowSaid = false,
): readonly string[] {
  const { facts } = patient.stay
  const know: string[] = []
  if (patient.nilByMouth) {
    const until = facts.nilByMouth?.untilMs ?? null
    know.push(until === null ? 'Nil by mouth' : `Nil by mouth until ${formatWhen(until, nowMs, policy.zone)}`)
  }
  if (!facts.swallowsSafely) know.push('Does not swallow safely')
  if (facts.feeding !== 'oral') know.push(facts.feeding === 'tube' ? 'Tube-fed' : 'Fed by vein')
  know.push(...facts.restrictedHands.map(({ hand, reason }) => `Not the ${hand} hand: ${RESTRICTION[reason]}`))
  if (facts.isolation !== 'none') know.push(ISOLATION[facts.isolation])
  const { lastLow, openLow } = patient
  if (lowSaid) return know
  if (openLow !== null && openLow.phase === 'followed-up') know.push('Low followed up, event still to be closed')
  else if (openLow !== null)
    know.push(`Low event open since ${formatWhen(lastLow?.openedAtMs ?? nowMs, nowMs, policy.zone)}`)
  else if (lastLow !== null && nowMs - lastLow.openedAtMs < LOW_NAMED_MS)
    know.push(`Last low ${formatWhen(lastLow.openedAtMs, nowMs, policy.zone)}`)
  return know
}

/** Who is shown the alerts: with the critical results that wait for their call, or (masked) only once that time has passed. */
export type AlertsFor = { readonly criticals: boolean }

/** What waits for a person at this bed besides the check, each with its way and its clock. No number: second checks are blind. */
export function alertsOf(patient: PatientNow, at: At, { criticals }: AlertsFor): readonly AlertView[] {
  const alerts = [...lowAlerts(patient.openLow, at), ...dosesWaiting(patient, at)]
  const critical = patient.items.find(({ kind }) => kind === 'critical')
  if (critical !== undefined) {
    // one call tells every critical result of the patient, so it is asked for once, by the earliest
    const dueMs = callByMs(critical.sinceMs, at.policy)
    if (criticals || at.nowMs > dueMs) alerts.push(clocked(ITEM_WAITS.critical, itemPath(critical), dueMs, at))
  }
  if (patient.laboratory !== null)
    alerts.push(
      clocked(
        laboratoryWaits(patient.laboratory.which),
        `stays/${patient.stay.stayId}/lab-value`,
        patient.laboratory.byMs,
        at,
      ),
    )
  return [
    ...alerts,
    ...patient.items.flatMap((item): AlertView[] => {
      const text = ITEM_WAITS[item.kind]
      if (text === null || item.kind === 'critical') return []
      const dueMs =
        item.kind === 'insulin-question' ? item.sinceMs + at.policy.low.insulinQuestionMin * MINUTE_MS : null
      return [dueMs === null ? { text, path: itemPath(item), dueMs } : clocked(text, itemPath(item), dueMs, at)]
    }),
  ]
}

function clocked(text: string, path: string, dueMs: number, { policy, nowMs }: At): AlertView {
  return { text: `${text}, by ${formatWhen(dueMs, nowMs, policy.zone)}`, path, dueMs }
}

/** A low's own line has the recheck's clock; beside it stands everything else that it waits for. */
function lowAlerts(low: PatientNow['openLow'], at: At): AlertView[] {
  if (low === null) return []
  const path = `lows/${low.lowId}`
  const owed = low.steps.flatMap((step): AlertView[] => {
    if (step.kind === 'recheck' || step.kind === 'follow-up') return []
    const calls = step.kind === 'tell-prescriber' || step.kind === 'escalate'
    return [clocked(LOW_WAITS[step.kind], calls ? `${path}/prescriber-calls` : path, step.deadlineMs, at)]
  })
  return owed.length > 0 ? owed : [{ text: LOW_GOES_ON, path, dueMs: null }]
}

function unaccountedAlerts({ unaccounted }: PatientNow): AlertView[] {
  return unaccounted.map((doseId) => ({ text: UNACCOUNTED_WAITS, path: `doses/${doseId}`, dueMs: null }))
}

function doseAlerts({ openDoses }: PatientNow): AlertView[] {
  return openDoses.flatMap(({ doseId, state }): AlertView[] => {
    const text = DOSE_WAITS[state]
    return text === null ? [] : [{ text, path: `doses/${doseId}`, dueMs: null }]
  })
}

/** What the patient's doses wait for: nothing of their numbers, second checks are blind. */
export function dosesWaiting(patient: PatientNow, at: At): readonly AlertView[] {
  return [...unaccountedAlerts(patient), ...doseAlerts(patient), ...workOutAlerts(patient, at)]
}

function workOutAlerts({ doseToWorkOut: owed }: PatientNow, at: At): AlertView[] {
  if (owed === null) return []
  const path = `readings/${owed.readingId}`
  return [
    owed.tooOld
      ? { text: DOSE_TO_WORK_OUT['too-old'], path, dueMs: null }
      : clocked(DOSE_TO_WORK_OUT.fresh, path, owed.dueMs, at),
  ]
}

export function itemPath(item: {
  readonly kind: string
  readonly itemId: string
  readonly subjectId: string
  readonly stayId: string
}): string {
  if (item.kind === 'critical') return `readings/${item.subjectId}/critical-call`
  if (item.kind === 'low') return `lows/${item.subjectId}`
  if (item.kind === 'insulin-question') return `lows/${item.subjectId}/insulin-question`
  return item.kind === 'flag' ? `flags/${item.itemId}` : `stays/${item.stayId}`
}

/** `doseWaits`: a dose of the reading stands, and waits for its second check where it is masked. */
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

/** A line of the round without its reading, alerts and know list, which belong to the patient. */
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
    what: OCCASION_NAME[check.occasion],
    mark: line.doseToWorkOut === null ? CHECK_STATE_MARK[state] : DOSE_TO_WORK_OUT_MARK,
    dueMs: null,
    when: checkWhen(line, check, at, minutesSince, minutesTo),
    action: checkAction(line, path),
  }
}

/** The treatment page of the low event that a recheck belongs to. */
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

/** "12 of 18 done, tray in 24 min" */
export function progressText(
  progress: { readonly accounted: number; readonly excused: number; readonly total: number },
  trayMs: number | null,
  { policy, nowMs }: At,
): string {
  const done =
    progress.total === 0
      ? 'No planned checks in this round'
      : `${String(progress.accounted)} of ${String(progress.total)} done${progress.excused === 0 ? '' : ` (${String(progress.excused)} excused)`}`
  if (trayMs === null) return done
  return trayMs > nowMs
    ? `${done}, tray in ${formatMinutes(Math.ceil((trayMs - nowMs) / MINUTE_MS))}`
    : `${done}, tray since ${formatTime(trayMs, policy.zone)}`
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

/** The kit for the checks of this round that are left, on the beds given. */
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
