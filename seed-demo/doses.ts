/** Doses of the demo's week. One nurse proposes, another recalculates and signs. The dose is given with the tray. */
import type { Check } from '../shared/check/check.ts'
import type { Dose, MealAnswer } from '../shared/dose/dose.ts'
import { notGiven } from '../shared/dose/give.ts'
import { ordersForReading } from '../shared/order/inputs.ts'
import { isInForce, type OrderVersion } from '../shared/order/order.ts'
import { hasMealPart } from '../shared/order/parts.ts'
import type { Reading } from '../shared/reading/reading.ts'
import { addDays, localToUtc, wardDate } from '../shared/time/zone.ts'
import { chart, factsOf, give, propose, secondCheck, startOver, verify } from './acts.ts'
import { ZONE } from './people.ts'
import { trayOf, type PatientSimulation } from './simulation.ts'
import { MINUTE_MS } from '../shared/time/span.ts'

/** How often a second check differs in the week, and how often a patient declines. */
const DIFFERS = 0.04
const DECLINES = 0.02

/** Plans the dose that follows from a reading, if an order yields one. */
export function planDoses(simulation: PatientSimulation, reading: Reading, check: Check, nowMs: number): void {
  const { line, place, stayId, nursesAt, random } = simulation
  const trayMs = trayOf(simulation, check)
  for (const { orderId, order } of ordersForReading(factsOf(place, stayId, nowMs).orders, nowMs)) {
    if (!order.occasions.includes(check.occasion)) continue
    const withMeal = hasMealPart(order, check.occasion) && trayMs !== null
    const meal: MealAnswer | null = withMeal
      ? {
          willEat: 'yes',
          carbohydrateGrams: order.meal?.kind === 'ratio' ? random.integer(9, 15) * 5 : null,
          shareEatenPercent: null,
        }
      : null
    // a meal part waits until 15 minutes before the tray
    const proposeMs = withMeal ? Math.max(nowMs + 3 * MINUTE_MS, trayMs - 14 * MINUTE_MS) : nowMs + 3 * MINUTE_MS
    line.at(proposeMs, (ms) => {
      const facts = factsOf(place, stayId, ms)
      const version = facts.orders.find((one) => one.orderId === orderId && isInForce(one, ms))
      const current = facts.readings.find((one) => one.readingId === reading.readingId)
      if (version === undefined || current === undefined) return
      const dose = propose(
        place,
        { facts, order: version, reading: current, slot: null, meal, byId: nursesAt(ms)[0].staffId },
        ms,
      )
      if (dose !== null && dose.secondCheckRequired)
        planGiving(simulation, dose, withMeal ? trayMs + MINUTE_MS : null, ms)
    })
  }
}

/** Plans the scheduled insulin of a patient's orders for every day of the stay. */
export function planScheduled(simulation: PatientSimulation, orders: readonly OrderVersion[], nowMs: number): void {
  const { line, place, stayId, random, nursesAt, today } = simulation
  for (const { orderId, order } of orders) {
    for (const { time } of order.scheduled) {
      for (let date = wardDate(nowMs, ZONE); date <= today; date = addDays(date, 1)) {
        const dueMs = localToUtc(date, time, ZONE)
        if (dueMs < nowMs) continue
        line.at(dueMs + random.integer(2, 24) * MINUTE_MS, (ms) => {
          const facts = factsOf(place, stayId, ms)
          const version = facts.orders.find((one) => one.orderId === orderId && isInForce(one, ms))
          if (version === undefined) return
          const dose = propose(
            place,
            { facts, order: version, reading: null, slot: { date, time }, meal: null, byId: nursesAt(ms)[0].staffId },
            ms,
          )
          if (dose !== null) planGiving(simulation, dose, null, ms)
        })
      }
    }
  }
}

/** Plans the second check, the product check and the injection. `notBeforeMs`: when the tray arrives. */
function planGiving(simulation: PatientSimulation, dose: Dose, notBeforeMs: number | null, nowMs: number): void {
  const { line, place, random, nursesAt } = simulation
  const [, second] = nursesAt(nowMs)
  const [differs, declines] = [random.withProbability(DIFFERS), random.withProbability(DECLINES)]
  let atMs = nowMs + random.integer(2, 4) * MINUTE_MS
  if (differs) {
    const wrong = dose.units > 4 ? dose.units - 2 : dose.units + 2
    line.at(atMs, (ms) => {
      secondCheck(place, dose.doseId, second, wrong, ms)
    })
    line.at(atMs + MINUTE_MS, (ms) => {
      startOver(place, dose.doseId, ms)
    })
    atMs += 2 * MINUTE_MS
  }
  line.at(atMs, (ms) => {
    if (!secondCheck(place, dose.doseId, second, dose.units, ms)) return
    line.at(ms + 2 * MINUTE_MS, (readMs) => {
      verify(place, dose.doseId, second.staffId, readMs)
    })
    line.at(Math.max(ms + 4 * MINUTE_MS, notBeforeMs ?? 0), (giveMs) => {
      if (declines) decline(simulation, dose.doseId, giveMs)
      else give(place, dose.doseId, giveMs)
    })
  })
}

function decline({ place, stayId, nursesAt }: PatientSimulation, doseId: string, nowMs: number): void {
  const dose = place.store.doseById(place.scope, doseId)
  const decided =
    dose === undefined ? null : notGiven(dose, 'refused', 'Patient declined the injection; prescriber told.')
  if (decided?.ok === true)
    chart(place, factsOf(place, stayId, nowMs), {
      type: 'dose-not-given',
      body: decided.value,
      byId: nursesAt(nowMs)[0].staffId,
      nowMs,
    })
}
