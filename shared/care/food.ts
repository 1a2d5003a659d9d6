/** Food after mealtime insulin: what was eaten is asked, and too little eaten, a cancelled tray or a stopped feed is acted on. */
import type { Meal } from '../check/check.ts'
import type { EarlierDose } from '../dose/dose.ts'
import { isBelow, type GlucoseUnit } from '../glucose/value.ts'
import { INSULIN_CLASS, type InsulinName } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'
import { entriesOf, type EntryOf, type StayEntry } from './entries.ts'
import type { CareFacts } from './facts.ts'
import type { Task } from './task.ts'
import type { WatchTime } from './watch-time.ts'

/**
 * The longest that an insulin acts after its injection, in hours: the long end of AACE 2022, table 19 (PMC10200071; R).
 * Regular insulin in renal impairment: 12 (a US hospital's handbook; R).
 */
export const ACTS_HOURS: Readonly<Record<InsulinName, number>> = {
  'insulin lispro': 4.75,
  'insulin aspart': 5,
  'insulin glulisine': 5,
  'regular insulin': 8,
  'NPH insulin': 18,
  'insulin detemir': 24,
  'insulin glargine': 24,
  'insulin degludec': 42,
}
const REGULAR_RENAL_H = 12

/** Until when the dose acts at the longest. */
export function actsUntilMs(
  { insulin, givenAtMs }: Pick<EarlierDose, 'insulin' | 'givenAtMs'>,
  renal: boolean,
): number {
  const hours = insulin === 'regular insulin' && renal ? REGULAR_RENAL_H : ACTS_HOURS[insulin]
  return givenAtMs + hours * HOUR_MS
}

/** Insulin counts as a meal's when it is given from an hour before its tray to an hour and a half after it. */
const MEAL_BEFORE_MS = HOUR_MS
const MEAL_AFTER_MS = 90 * MINUTE_MS
const MEALS: readonly Meal[] = ['breakfast', 'lunch', 'supper']

/** Rapid and regular insulin given for the meal of the date. `servedAtMs`: when the tray came; null: as planned. */
export function insulinForMeal(
  given: readonly EarlierDose[],
  { date, meal, servedAtMs }: { readonly date: string; readonly meal: Meal; readonly servedAtMs: number | null },
  policy: WardPolicy,
): readonly EarlierDose[] {
  const trayMs = servedAtMs ?? localToUtc(date, policy.mealTimes[meal], policy.zone)
  return given.filter(
    ({ insulin, givenAtMs }) =>
      (INSULIN_CLASS[insulin] === 'rapid' || INSULIN_CLASS[insulin] === 'regular') &&
      givenAtMs >= trayMs - MEAL_BEFORE_MS &&
      givenAtMs <= trayMs + MEAL_AFTER_MS,
  )
}

/** Below this a patient who ate a quarter or more, and less than half, gets carbohydrate: 180 mg/dL, 10.0 mmol/L. */
const CARBOHYDRATE_BELOW: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 180, 'mmol/L': 100 }

/** Entries about too little eaten that still count: what was eaten has not been charted as half or more since. */
function ateTooLittle({ entries, trays, insulinGiven, policy }: CareFacts): readonly EntryOf<'ate-too-little'>[] {
  return entriesOf(entries, 'ate-too-little').filter(({ fact }) => {
    const tray = trays.find(({ date, meal }) => date === fact.date && meal === fact.meal)
    const share = tray?.shareEatenPercent ?? null
    const meal = { date: fact.date, meal: fact.meal, servedAtMs: tray?.servedAtMs ?? null }
    if (insulinForMeal(insulinGiven, meal, policy).length === 0) return false
    return fact.share === 'cancelled' || share === null || share < 50
  })
}

/** A day's meals that may still be asked about: today's and yesterday's. */
function recentMeals(policy: WardPolicy, nowMs: number): readonly { readonly date: string; readonly meal: Meal }[] {
  const today = wardDate(nowMs, policy.zone)
  return [addWardDays(today, -1, policy.zone), today].flatMap((date) => MEALS.map((meal) => ({ date, meal })))
}

/** How long what was eaten is asked about (the ward's own figure): longer than rapid insulin acts nobody remembers. */
const ASKED_FOR_MS = 6 * HOUR_MS

export function foodTasks(facts: CareFacts, nowMs: number): readonly Task[] {
  const { stay, policy, trays, entries, insulinGiven, readings } = facts
  const isFed = stay.facts.feeding !== 'oral'
  const shares = isFed
    ? []
    : recentMeals(policy, nowMs).flatMap(({ date, meal }): Task[] => {
        const tray = trays.find((one) => one.date === date && one.meal === meal)
        if ((tray?.shareEatenPercent ?? null) !== null || isCancelled(entries, date, meal)) return []
        const given = insulinForMeal(insulinGiven, { date, meal, servedAtMs: tray?.servedAtMs ?? null }, policy)
        const lastMs = Math.max(...given.map(({ givenAtMs }) => givenAtMs))
        const sinceMs = lastMs + policy.dose.shareAskedAfterMin * MINUTE_MS
        if (given.length === 0 || nowMs > sinceMs + ASKED_FOR_MS) return []
        return [
          {
            kind: 'share-to-chart',
            key: `share-to-chart.${date}.${meal}`,
            stayId: stay.stayId,
            subjectId: meal,
            detail: meal,
            sinceMs,
            dueMs: sinceMs + 30 * MINUTE_MS,
            chargeFromMs: sinceMs + HOUR_MS,
          },
        ]
      })
  const little = ateTooLittle(facts).flatMap((entry): Task[] => {
    const { entryId, atMs, fact } = entry
    const { glucose } = readings[0] ?? {}
    const needsFood = fact.share !== 25 || glucose === undefined || isBelow(glucose, CARBOHYDRATE_BELOW[policy.unit])
    const task = (kind: 'carbohydrate-now' | 'ate-too-little-call', dueMin: number): Task => ({
      kind,
      key: `${kind}.${entryId}`,
      stayId: stay.stayId,
      subjectId: entryId,
      detail: fact.meal,
      sinceMs: atMs,
      dueMs: atMs + dueMin * MINUTE_MS,
      chargeFromMs: atMs + 2 * dueMin * MINUTE_MS,
    })
    return [
      ...(needsFood ? [task('carbohydrate-now', 15)] : []),
      ...(fact.share === 25 ? [] : [task('ate-too-little-call', 30)]),
    ]
  })
  return [...shares, ...little, ...feedTasks(facts)]
}

/** True when the tray of the meal was charted as cancelled. */
export function isCancelled(entries: readonly StayEntry[], date: string, meal: Meal): boolean {
  return entriesOf(entries, 'ate-too-little').some(
    ({ fact }) => fact.share === 'cancelled' && fact.date === date && fact.meal === meal,
  )
}

/** A feed that stops with insulin on board is told after half an hour (JBDS 05, 2024; R). */
const FEED_STOPPED_MS = 30 * MINUTE_MS

function feedStopped({ stay, insulinGiven, feedStoppedSinceMs }: CareFacts): number | null {
  if (feedStoppedSinceMs === null) return null
  const acts = insulinGiven.some((dose) => actsUntilMs(dose, stay.facts.renalImpairment) > feedStoppedSinceMs)
  return acts ? feedStoppedSinceMs + FEED_STOPPED_MS : null
}

function feedTasks(facts: CareFacts): readonly Task[] {
  const sinceMs = feedStopped(facts)
  if (sinceMs === null) return []
  return [
    {
      kind: 'feed-stopped-call',
      key: `feed-stopped-call.${String(facts.feedStoppedSinceMs)}`,
      stayId: facts.stay.stayId,
      subjectId: facts.stay.stayId,
      detail: null,
      sinceMs,
      dueMs: sinceMs + FEED_STOPPED_MS,
      chargeFromMs: sinceMs + FEED_STOPPED_MS,
    },
  ]
}

/**
 * Checks after too little food: at 2 h where a quarter was eaten; otherwise at 1 h, 2 h and then every 2 h to the long end
 * of the insulin, every 4 h for NPH (no published interval; the ward's own). Hourly while a feed is stopped.
 */
export function foodWatches(facts: CareFacts, nowMs: number): readonly WatchTime[] {
  const { stay, insulinGiven, feedStoppedSinceMs } = facts
  const little = ateTooLittle(facts).flatMap(({ entryId, atMs, fact }): readonly WatchTime[] => {
    const at = (hours: number): WatchTime => ({
      id: `${entryId}h${String(hours)}`,
      dueMs: atMs + hours * HOUR_MS,
      reason: 'ate-too-little',
    })
    if (fact.share === 25) return [at(2)]
    const acting = insulinGiven.filter(({ givenAtMs }) => givenAtMs <= atMs)
    const shortUntilMs = Math.max(
      0,
      ...acting.filter(isShort).map((dose) => actsUntilMs(dose, stay.facts.renalImpairment)),
    )
    const longUntilMs = Math.max(
      0,
      ...acting.filter(isNph).map((dose) => actsUntilMs(dose, stay.facts.renalImpairment)),
    )
    const hours = [1, 2]
    for (let hour = 4; atMs + hour * HOUR_MS <= shortUntilMs; hour += 2) hours.push(hour)
    for (let hour = 4; atMs + hour * HOUR_MS <= longUntilMs; hour += 4) if (!hours.includes(hour)) hours.push(hour)
    return hours.map(at)
  })
  const sinceMs = feedStopped(facts)
  const hourly =
    sinceMs === null || feedStoppedSinceMs === null
      ? []
      : Array.from({ length: Math.max(1, Math.ceil((nowMs - sinceMs) / HOUR_MS) + 1) }, (_, index) => ({
          id: `feed${String(Math.floor(feedStoppedSinceMs / 1000)).slice(-9)}h${String(index)}`,
          dueMs: sinceMs + index * HOUR_MS,
          reason: 'feed-stopped' as const,
        })).slice(-26)
  return [...little, ...hourly]
}

function isShort({ insulin }: EarlierDose): boolean {
  return INSULIN_CLASS[insulin] === 'rapid' || INSULIN_CLASS[insulin] === 'regular'
}

function isNph({ insulin }: EarlierDose): boolean {
  return INSULIN_CLASS[insulin] === 'intermediate'
}
