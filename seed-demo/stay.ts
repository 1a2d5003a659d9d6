/** One patient's week: planned checks, what follows each reading, scheduled insulin and food. */
import type { Check, Meal } from '../shared/check/check.ts'
import { plannedChecks, trayTimeMs } from '../shared/check/plan.ts'
import type { Signer } from '../shared/dose/second-check.ts'
import { isBelow } from '../shared/glucose/value.ts'
import { dischargeStay } from '../shared/stay/move.ts'
import { storeEvents } from '../server/store/store-events.ts'
import { isNilByMouth } from '../shared/stay/stay.ts'
import { addDays, localToUtc, wardDate } from '../shared/time/zone.ts'
import { chart, factsOf, measure } from './acts.ts'
import { courseOf } from './course.ts'
import { planDoses, planScheduled } from './doses.ts'
import { planLow } from './lows.ts'
import { ZONE } from './people.ts'
import { seededRandom, seedOf } from './random.ts'
import { HOUR_MS, MINUTE_MS } from '../shared/time/span.ts'
import type { PatientSetup, PatientSimulation, Ward } from './simulation.ts'

const MEALS: readonly Meal[] = ['breakfast', 'lunch', 'supper']
/** No routine check gives a low this close to the demo's start. The low on show is planned by hand. */
const QUIET_BEFORE_START_MS = 5 * HOUR_MS
/** The patient whose low of last night is on show. */
const LOW_LAST_NIGHT = { wristband: 'TW100529', at: '03:10' }
/** A check left open in the night: late when the demo begins at 07:20. */
const LEFT_LATE = { wristband: 'TW100502', slot: 't0600' }

/** Plans everything from `nowMs`, when the patient has been set up, to the demo's first instant. */
export function planStay(setup: PatientSetup, nowMs: number): void {
  const { place, patient, stayId, line, startMs, today } = setup
  const facts = factsOf(place, stayId, nowMs)
  const { policy } = facts.policy
  const random = seededRandom(seedOf(patient.wristband))
  const simulation: PatientSimulation = {
    ...setup,
    random,
    course: courseOf(patient.glucosePattern, policy.unit, random),
    nursesAt: (ms) => turns(setup.ward, Number(patient.bed), ms),
    trayAtMs: (date, meal) =>
      trayTimeMs(date, meal, policy, []) + (seedOf(`${patient.wristband}${date}${meal}`) % 11) * MINUTE_MS,
  }
  const checks = plannedChecks({
    plans: facts.plans,
    policy,
    trayDelays: [],
    fromMs: nowMs,
    toMs: patient.left === null ? startMs + 2 * HOUR_MS : startMs,
    stay: facts.stay,
  })
  for (const check of checks) planCheck(simulation, check, nowMs)
  planScheduled(simulation, facts.orders, nowMs)
  for (let date = wardDate(nowMs, ZONE); date <= today; date = addDays(date, 1)) planTrays(simulation, date, nowMs)
  const lowMs = localToUtc(today, LOW_LAST_NIGHT.at, ZONE)
  if (patient.wristband === LOW_LAST_NIGHT.wristband)
    line.at(lowMs, (ms) => {
      lowWithSymptoms(simulation, [55, 59], ms)
    })
  if (patient.left !== null)
    line.at(startMs, (ms) => {
      goHome(simulation, ms)
    })
  const { severeLow } = patient
  if (severeLow !== null)
    line.at(localToUtc(addDays(setup.morning, -severeLow.daysAgo), severeLow.at, ZONE), (ms) => {
      lowWithSymptoms(simulation, [34, 38], ms)
    })
}

/** Nurses take turns by shift (07, 15, 23) and by half of the ward. */
function turns({ nurses }: Ward, bed: number, ms: number): readonly [Signer, Signer] {
  const shift = Math.floor((ms - 7 * HOUR_MS) / (8 * HOUR_MS))
  const at = (shift * 2 + (bed % 20 > 9 ? 1 : 0)) % nurses.length
  const [first, second] = [nurses[at], nurses[(at + 1) % nurses.length]]
  if (first === undefined || second === undefined) throw new Error('a ward of the demo has fewer than two nurses')
  return [first, second]
}

function planCheck(simulation: PatientSimulation, check: Check, nowMs: number): void {
  const { random, line, startMs, patient } = simulation
  const underWay = check.opensMs <= startMs && startMs < check.closesMs
  const open = Math.max(check.opensMs, nowMs)
  const [spoilt, off] = [random.withProbability(0.03), random.withProbability(0.5)]
  const aroundDueMs = Math.max(open, check.dueMs + random.integer(-18, 14) * MINUTE_MS)
  if (underWay) {
    const isNight = check.dueMs < startMs - HOUR_MS
    const left = patient.wristband === LEFT_LATE.wristband && check.key.endsWith(LEFT_LATE.slot)
    // of the round under way a few checks are done and most are open; the night's checks are done
    if (left || (!isNight && !random.withProbability(0.22))) return
    const doneMs = isNight ? aroundDueMs : open + random.integer(2, 16) * MINUTE_MS
    if (doneMs < startMs)
      line.at(doneMs, (ms) => {
        doCheck(simulation, check, ms)
      })
    return
  }
  if (!spoilt)
    line.at(aroundDueMs, (ms) => {
      doCheck(simulation, check, ms)
    })
  else if (off)
    line.at(aroundDueMs, (ms) => {
      excuse(simulation, check, 'off-the-ward', 'Down for imaging.', ms)
    })
  else
    line.at(check.closesMs + 20 * MINUTE_MS, (ms) => {
      excuse(simulation, check, 'workload', 'Emergency in the next bay.', ms)
    })
}

function excuse(
  { place, stayId, nursesAt }: PatientSimulation,
  check: Check,
  reason: 'off-the-ward' | 'workload',
  note: string,
  nowMs: number,
): void {
  const [by] = nursesAt(nowMs)
  chart(place, factsOf(place, stayId, nowMs), {
    type: 'check-excused',
    body: { checkKey: check.key, reason, note },
    byId: by.staffId,
    nowMs,
  })
}

function doCheck(simulation: PatientSimulation, check: Check, nowMs: number): void {
  const { place, stayId, course, startMs, nursesAt } = simulation
  const mayBeLow = nowMs < startMs - QUIET_BEFORE_START_MS
  const [by] = nursesAt(nowMs)
  const measured = measure(
    place,
    {
      stayId,
      checkKey: check.key,
      glucose: course.next(check.occasion, mayBeLow),
      byId: by.staffId,
      extraReason: null,
    },
    nowMs,
  )
  if (measured === null) return
  const facts = factsOf(place, stayId, nowMs)
  if (isBelow(measured.reading.glucose, facts.policy.policy.limits.low)) planLow(simulation, measured.reading, nowMs)
  else planDoses(simulation, measured.reading, check, nowMs)
}

/**
 * A low with symptoms, between the two values in mg/dL, treated and followed up. The Round shows the one of last night.
 */
function lowWithSymptoms(simulation: PatientSimulation, [least, most]: readonly [number, number], nowMs: number): void {
  const { place, stayId, course, nursesAt } = simulation
  const [by] = nursesAt(nowMs)
  const measured = measure(
    place,
    {
      stayId,
      checkKey: `extra.${stayId}.${place.newId()}`,
      glucose: course.between(least, most),
      byId: by.staffId,
      extraReason: 'symptoms',
    },
    nowMs,
  )
  if (measured !== null) planLow(simulation, measured.reading, nowMs)
}

/** No item is open by then, so a refusal is a bug in the demo. */
function goHome({ place, stayId, nursesAt }: PatientSimulation, nowMs: number): void {
  const { stay, doses, openItems } = factsOf(place, stayId, nowMs)
  const decided = dischargeStay(
    { entryId: `${stayId}l`, atMs: nowMs, handover: null, to: '', byId: nursesAt(nowMs)[0].staffId },
    {
      stay,
      doses,
      nowMs,
      lastChartedMs: 0,
      leftOpen: openItems.flatMap(({ kind }) =>
        kind === 'low' || kind === 'critical' || kind === 'flag' ? [{ kind }] : [],
      ),
    },
  )
  if (!decided.ok) throw new Error(`a discharge of the demo was refused: ${decided.reason}`)
  storeEvents(place.store, decided.value)
}

function planTrays(simulation: PatientSimulation, date: string, nowMs: number): void {
  const { line, random, trayAtMs, place, stayId, nursesAt, patient, startMs } = simulation
  if (patient.facts.feeding !== 'oral') return
  for (const meal of MEALS) {
    const servedAtMs = trayAtMs(date, meal)
    if (servedAtMs < nowMs || (patient.left !== null && servedAtMs >= startMs)) continue
    const percent = ([50, 75, 75, 100, 100, 100] as const)[random.integer(0, 5)] ?? 100
    const eats = (ms: number): boolean => !isNilByMouth(factsOf(place, stayId, ms).stay.facts, ms)
    line.at(servedAtMs, (ms) => {
      if (eats(ms))
        chart(place, factsOf(place, stayId, ms), {
          type: 'tray-charted',
          body: { date, meal, servedAtMs },
          byId: nursesAt(ms)[0].staffId,
          nowMs: ms,
        })
    })
    line.at(servedAtMs + 40 * MINUTE_MS, (ms) => {
      if (eats(ms))
        chart(place, factsOf(place, stayId, ms), {
          type: 'share-eaten-charted',
          body: { date, meal, percent },
          byId: nursesAt(ms)[0].staffId,
          nowMs: ms,
        })
    })
  }
}
