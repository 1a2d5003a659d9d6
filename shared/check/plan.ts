/**
 * Planned checks, derived on each read from plan versions, ward policy and tray delays. Nothing is stored here, and the
 * same facts always give the same checks. Only outcomes are stored, by check key.
 */
import type { WatchTime } from '../care/watch-time.ts'
import type { LowEvent } from '../low/low.ts'
import type { WardPolicy, WindowMinutes } from '../policy/ward-policy.ts'
import type { Stay } from '../stay/stay.ts'
import { contains, containsOpen } from '../time/interval.ts'
import { addWardDays, isCalendarDate, localToUtc, wardDate, wardTime } from '../time/zone.ts'
import {
  MEAL_OF,
  OCCASIONS,
  type Check,
  type CheckPlan,
  type Occasion,
  type PlanVersion,
  type TrayDelay,
} from './check.ts'
import { roundOf, trayDelayMin } from './round.ts'
import { MINUTE_MS } from '../time/span.ts'

export { currentRound, roundOf, trayTimeMs, type Round } from './round.ts'

/** The last instant that ECMAScript can represent. A recheck closes only with its reading, never by time. */
export const NEVER_MS = 8_640_000_000_000_000

const EVERY_4_H = ['00:00', '04:00', '08:00', '12:00', '16:00', '20:00'] as const
const EVERY_6_H = ['00:00', '06:00', '12:00', '18:00'] as const
const BEFORE_MEALS = ['before-breakfast', 'before-lunch', 'before-supper'] as const

/** One line of a plan's day: its key's slot, its ward-local anchor time and the window around it. */
type Slot = {
  readonly slot: string
  readonly time: string
  readonly window: WindowMinutes
  readonly occasion: Occasion | null
}

export type PlanFacts = {
  readonly plans: readonly PlanVersion[]
  readonly policy: WardPolicy
  readonly trayDelays: readonly TrayDelay[]
  /** Outcomes by check key. A done or excused check stays, even if the plan changed since. */
  readonly outcomes?: ReadonlyMap<string, unknown>
  /** Checks due from this instant (included) to `toMs` (excluded). */
  readonly fromMs: number
  readonly toMs: number
  /** Watch checks of the stay (shared/care/watch.ts). */
  readonly watches?: readonly WatchTime[]
  readonly stay: Pick<Stay, 'stayId' | 'admittedAtMs' | 'dischargedAtMs'>
}

/**
 * All planned checks of one stay that are due in [fromMs, toMs), by due time and then by key.
 *
 * Checks before meals are anchored on the tray and move with its delay. Bedtime follows the policy's bedtime. Every 4 h
 * means 00, 04, 08, 12, 16 and 20, and every 6 h means 00, 06, 12 and 18, ward-local. Listed times stand as listed,
 * once at its instant, overnight at the policy's time each night.
 *
 * A day that the zone skips has no check (addWardDays). A check exists when its time without delays lies in its plan version (from included, until excluded) and in the stay.
 * A check due before admission, or at or after discharge, does not exist. Delays move the four instants but never the
 * key, so charting a delay adds and removes no check.
 *
 * Of several versions in force, an overlay takes precedence, and of two alike the newer one. "once" and "overnight" are
 * additions: they hide no check, and no plan hides them. A check with an outcome stays as it was, so a plan change
 * never removes done work.
 *
 * The watch checks given are added.
 */
export function plannedChecks(facts: PlanFacts): Check[] {
  const { policy, fromMs, toMs } = facts
  const found = new Map<string, Found>()
  const firstDate = addWardDays(wardDate(fromMs, policy.zone), -1, policy.zone)
  const lastDate = addWardDays(wardDate(toMs, policy.zone), 1, policy.zone)
  for (const version of facts.plans) {
    const slots = slotsOf(version.plan, policy)
    const [from, to] =
      version.plan.kind === 'once' ? sameDay(wardDate(version.plan.atMs, policy.zone)) : [firstDate, lastDate]
    for (let date = from; date <= to; date = addWardDays(date, 1, policy.zone)) {
      for (const slot of slots) {
        const one = checkOf(version, slot, date, facts)
        if (one === null || !contains({ fromMs, toMs }, one.check.dueMs)) continue
        const known = found.get(one.check.key)
        if (known === undefined || outranks(one, known)) found.set(one.check.key, one)
      }
    }
  }
  const planned = [...found.values()].map(({ check }) => check)
  return [...planned, ...watchChecks(facts, planned)].sort((a, b) => a.dueMs - b.dueMs || (a.key < b.key ? -1 : 1))
}

/** A watch check this close to a planned one is that check: two pricks in half an hour tell no more than one. */
const ONE_CHECK_MS = 30 * MINUTE_MS

/** The watch checks due in the span. One beside a planned check is left out, unless it has an outcome. */
function watchChecks(facts: PlanFacts, planned: readonly Check[]): readonly Check[] {
  const { stay, policy, fromMs, toMs, outcomes } = facts
  return (facts.watches ?? []).flatMap(({ id, dueMs, reason }): readonly Check[] => {
    const key = `watch.${stay.stayId}.${id}`
    if (!contains({ fromMs, toMs }, dueMs)) return []
    if (!containsOpen({ fromMs: stay.admittedAtMs, untilMs: stay.dischargedAtMs }, dueMs)) return []
    const isBeside = planned.some((check) => Math.abs(check.dueMs - dueMs) <= ONE_CHECK_MS)
    if (isBeside && outcomes?.has(key) !== true) return []
    const { timed } = policy.windows
    return [
      {
        key,
        stayId: stay.stayId,
        kind: 'watch',
        occasion: roundOf(dueMs, policy).occasion,
        date: wardDate(dueMs, policy.zone),
        opensMs: dueMs - timed.opensBefore * MINUTE_MS,
        dueMs,
        lateAfterMs: dueMs + timed.lateAfter * MINUTE_MS,
        closesMs: dueMs + timed.closesAfter * MINUTE_MS,
        watch: reason,
      },
    ]
  })
}

/** A check with the version that plans it. `inForce` false: it is listed only because it has an outcome. */
type Found = { readonly check: Check; readonly version: PlanVersion; readonly inForce: boolean }

/**
 * True when the first of two versions of the same check sets its window. A version in force wins, then one that is not
 * an addition, then the newer one.
 */
function outranks(one: Found, other: Found): boolean {
  if (one.inForce !== other.inForce) return one.inForce
  const [added, otherAdded] = [isAddition(one.version.plan), isAddition(other.version.plan)]
  return added === otherAdded ? beats(one.version, other.version) : otherAdded
}

/** True for a plan that adds to the one in force. It hides no other plan, and no plan hides it. */
export function isAddition(plan: CheckPlan): boolean {
  return plan.kind === 'once' || plan.kind === 'overnight'
}

function beats(one: PlanVersion, other: PlanVersion): boolean {
  return one.overlay === other.overlay ? one.version > other.version : one.overlay
}

function sameDay(date: string): readonly [string, string] {
  return [date, date]
}

function slotsOf(plan: CheckPlan, policy: WardPolicy): readonly Slot[] {
  const { windows } = policy
  switch (plan.kind) {
    case 'ac-and-hs':
      return [
        ...mealSlots(policy),
        { slot: 'bedtime', time: policy.bedtime, window: windows.bedtime, occasion: 'bedtime' },
      ]
    case 'before-meals':
      return mealSlots(policy)
    case 'every-4-h':
      return EVERY_4_H.map((time) => clockSlot(time, windows.every4h))
    case 'every-6-h':
      return EVERY_6_H.map((time) => clockSlot(time, windows.every6h))
    case 'listed-times':
      return plan.times.map((time) => clockSlot(time, windows.timed))
    case 'once':
      return [clockSlot(wardTime(plan.atMs, policy.zone), windows.timed)]
    case 'overnight':
      return [{ slot: 'overnight', time: policy.overnight, window: windows.timed, occasion: 'overnight' }]
  }
}

function mealSlots(policy: WardPolicy): readonly Slot[] {
  return BEFORE_MEALS.map((occasion) => ({
    slot: occasion,
    time: policy.mealTimes[MEAL_OF[occasion] ?? 'breakfast'],
    window: policy.windows.beforeMeal,
    occasion,
  }))
}

function clockSlot(time: string, window: WindowMinutes): Slot {
  return { slot: `t${time.replace(':', '')}`, time, window, occasion: null }
}

/** Null when the check does not exist: it is outside its version or the stay, or another version takes precedence. */
function checkOf(version: PlanVersion, slot: Slot, date: string, facts: PlanFacts): Found | null {
  const { policy, stay } = facts
  // "once" keeps the exact instant ordered, even in the second of two repeated hours
  const plannedMs = version.plan.kind === 'once' ? version.plan.atMs : localToUtc(date, slot.time, policy.zone)
  const plannedDueMs = plannedMs - slot.window.dueBefore * MINUTE_MS
  if (!containsOpen({ fromMs: stay.admittedAtMs, untilMs: stay.dischargedAtMs }, plannedDueMs)) return null
  const key = `${stay.stayId}.${date}.${slot.slot}`
  const inForce = containsOpen(version, plannedDueMs) && !isHidden(version, plannedDueMs, facts.plans)
  if (!inForce && facts.outcomes?.has(key) !== true) return null
  const meal = slot.occasion === null ? null : MEAL_OF[slot.occasion]
  const anchorMs = plannedMs + (meal === null ? 0 : trayDelayMin(date, meal, facts.trayDelays) * MINUTE_MS)
  const check: Check = {
    key,
    stayId: stay.stayId,
    kind: 'planned',
    occasion: slot.occasion ?? roundOf(plannedMs, policy).occasion,
    date,
    opensMs: anchorMs - slot.window.opensBefore * MINUTE_MS,
    dueMs: anchorMs - slot.window.dueBefore * MINUTE_MS,
    lateAfterMs: anchorMs + slot.window.lateAfter * MINUTE_MS,
    closesMs: anchorMs + slot.window.closesAfter * MINUTE_MS,
  }
  return { check, version, inForce }
}

function isHidden(version: PlanVersion, plannedDueMs: number, plans: readonly PlanVersion[]): boolean {
  if (isAddition(version.plan)) return false
  return plans.some(
    (other) =>
      other !== version && !isAddition(other.plan) && beats(other, version) && containsOpen(other, plannedDueMs),
  )
}

/**
 * The recheck of a low event. It opens at the low, so nobody has to wait to look again. It is due at `dueMs`, late from
 * the same instant, and never closes by time alone.
 */
export function recheckCheck(
  low: Pick<LowEvent, 'lowId' | 'stayId' | 'openedAtMs'>,
  cycle: number,
  dueMs: number,
  policy: WardPolicy,
): Check {
  return {
    key: `low.${low.lowId}.${String(cycle)}`,
    stayId: low.stayId,
    kind: 'recheck',
    occasion: roundOf(dueMs, policy).occasion,
    date: wardDate(dueMs, policy.zone),
    opensMs: low.openedAtMs,
    dueMs,
    lateAfterMs: dueMs,
    closesMs: NEVER_MS,
  }
}

/** An unplanned check, open and due now, with the windows of a timed one. */
export function extraCheck(stayId: string, id: string, nowMs: number, policy: WardPolicy): Check {
  return {
    key: `extra.${stayId}.${id}`,
    stayId,
    kind: 'extra',
    occasion: roundOf(nowMs, policy).occasion,
    date: wardDate(nowMs, policy.zone),
    opensMs: nowMs,
    dueMs: nowMs,
    lateAfterMs: nowMs + policy.windows.timed.lateAfter * MINUTE_MS,
    closesMs: nowMs + policy.windows.timed.closesAfter * MINUTE_MS,
  }
}

export type ParsedCheckKey =
  | { readonly kind: 'planned'; readonly stayId: string; readonly date: string; readonly slot: string }
  | { readonly kind: 'recheck'; readonly lowId: string; readonly cycle: number }
  | { readonly kind: 'extra' | 'watch'; readonly stayId: string; readonly id: string }

const ID = /^[a-z0-9]{1,32}$/
const CLOCK_SLOT = /^t(?:[01]\d|2[0-3])[0-5]\d$/

/** Parses a check's key. Null: it is not one. Only the plan can tell whether the check exists. */
export function parseCheckKey(key: string): ParsedCheckKey | null {
  const [first = '', second = '', third = '', ...more] = key.split('.')
  if (more.length > 0) return null
  if (first === 'low')
    return ID.test(second) && /^[1-9]\d{0,2}$/.test(third)
      ? { kind: 'recheck', lowId: second, cycle: Number(third) }
      : null
  if (first === 'extra' || first === 'watch')
    return ID.test(second) && ID.test(third) ? { kind: first, stayId: second, id: third } : null
  if (!ID.test(first) || !isCalendarDate(second)) return null
  if (!CLOCK_SLOT.test(third) && !OCCASIONS.some((occasion) => occasion === third)) return null
  return { kind: 'planned', stayId: first, date: second, slot: third }
}
