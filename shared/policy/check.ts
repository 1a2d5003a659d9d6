/** What must hold across the settings of a ward policy, whoever wrote it. */
import { OCCASIONS } from '../check/check.ts'
import type { InsulinClass } from '../order/order.ts'
import { refuse, type Refused } from '../outcome.ts'
import { readSetting, typedSetting, type FieldRefusal } from './field.ts'
import { FIELDS } from './settings.ts'
import { exists, settingOf, type WardPolicy, type WindowMinutes } from './ward-policy.ts'

export type CrossRefusal =
  | 'level2-not-below-low'
  | 'recovered-below-low'
  | 'recovered-not-below-critical-high'
  | 'critical-low-not-below-low'
  | 'critical-high-not-above-low'
  | 'window-opens-after-due'
  | 'window-closes-before-due'
  | 'window-late-after-closing'
  | 'rounds-out-of-order'
  | 'time-outside-its-round'
  | 'recheck-before-it-counts'
  | 'level2-grams-below-level1'
  | 'no-finger'
  | 'no-second-checker'
  | 'charge-nurse-cannot-check'
  | 'shifts-alike'
  | 'shifts-out-of-order'
  | 'ask-above-stop'
  | 'spare-not-below-age'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'time-outside-its-round': { from: string; to: string }
  }
}

/** A refusal with the setting it is about. */
export type PolicyFault = Refused<FieldRefusal | CrossRefusal> & { readonly name: string }

/**
 * Every fault of the policy, each with the setting it stands beside; an empty list: it may be set. Each setting is in
 * its own range (settings.ts). Level 2 < low ≤ recovered < critical high; critical low < low. A window opens before its
 * check is due, is late no later than it closes, and closes after it is due. Rounds start in the order of the day from
 * overnight on, and each meal, bedtime and overnight time lies in its own round. No recheck is due before it would
 * count. An asking limit is at most its stop, and a reading stays fresh longer than its spare minutes. Level 2 gets no less carbohydrate than level 1. At least one finger, at least one shift; shifts differ in name
 * and start and stand in the order of the day. At least one role may give a second check, and the charge nurse is one
 * of them, because she is called in when answers differ.
 */
export function checkPolicy(policy: WardPolicy): readonly PolicyFault[] {
  return [
    ...settingFaults(policy),
    ...limitFaults(policy),
    ...windowFaults(policy),
    ...dayFaults(policy),
    ...lowFaults(policy),
    ...doseFaults(policy),
    ...peopleFaults(policy),
  ]
}

/** Each setting by its own descriptor: what a form could not say is no setting. */
function settingFaults(policy: WardPolicy): readonly PolicyFault[] {
  return FIELDS.filter((field) => exists(field, policy)).flatMap((field): readonly PolicyFault[] => {
    const setting = settingOf(policy, field.name)
    if (setting === undefined) return [{ ...refuse('setting-missing'), name: field.name }]
    const read = readSetting(field, typedSetting(field, setting, policy.unit), policy.unit)
    return read.ok ? [] : [{ ...read, name: field.name }]
  })
}

function limitFaults({
  limits: { low, level2, recovered, criticalLow, criticalHigh },
}: WardPolicy): readonly PolicyFault[] {
  return [
    ...when(level2 >= low, 'limits.level2', 'level2-not-below-low'),
    ...when(recovered < low, 'limits.recovered', 'recovered-below-low'),
    ...when(recovered >= low && recovered >= criticalHigh, 'limits.recovered', 'recovered-not-below-critical-high'),
    ...when(criticalLow >= low, 'limits.criticalLow', 'critical-low-not-below-low'),
    ...when(criticalHigh <= low, 'limits.criticalHigh', 'critical-high-not-above-low'),
  ]
}

function windowFaults({ windows }: WardPolicy): readonly PolicyFault[] {
  return (Object.keys(windows) as readonly (keyof WardPolicy['windows'])[]).flatMap((name) => {
    const { opensBefore, dueBefore, lateAfter, closesAfter }: WindowMinutes = windows[name]
    return [
      ...when(opensBefore <= dueBefore, `windows.${name}.opensBefore`, 'window-opens-after-due'),
      ...when(dueBefore + closesAfter === 0, `windows.${name}.closesAfter`, 'window-closes-before-due'),
      ...when(lateAfter > closesAfter, `windows.${name}.lateAfter`, 'window-late-after-closing'),
    ]
  })
}

/** The day's rounds by their start. */
const ORDER = ['overnight', ...OCCASIONS.filter((occasion) => occasion !== 'overnight')] as const

function dayFaults({ roundStarts, mealTimes, bedtime, overnight }: WardPolicy): readonly PolicyFault[] {
  // HH:MM compares as text
  const late = ORDER.slice(1).filter(
    (occasion, index) => roundStarts[occasion] <= roundStarts[ORDER[index] ?? 'overnight'],
  )
  const within = (name: string, time: string, from: string, to: string): readonly PolicyFault[] =>
    time < from || time >= to ? [outside(name, from, to)] : []
  return [
    ...late.map((occasion) => fault(`roundStarts.${occasion}`, 'rounds-out-of-order')),
    ...within('mealTimes.breakfast', mealTimes.breakfast, roundStarts['before-breakfast'], roundStarts['before-lunch']),
    ...within('mealTimes.lunch', mealTimes.lunch, roundStarts['before-lunch'], roundStarts['before-supper']),
    ...within('mealTimes.supper', mealTimes.supper, roundStarts['before-supper'], roundStarts.bedtime),
    // the bedtime round runs past midnight, up to the overnight round
    ...(bedtime < roundStarts.bedtime && bedtime >= roundStarts.overnight
      ? [outside('bedtime', roundStarts.bedtime, roundStarts.overnight)]
      : []),
    ...within('overnight', overnight, roundStarts.overnight, roundStarts['before-breakfast']),
  ]
}

function outside(name: string, from: string, to: string): PolicyFault {
  return { ...refuse('time-outside-its-round', { from, to }), name }
}

function lowFaults({ low }: WardPolicy): readonly PolicyFault[] {
  return [
    ...when(low.recheckNotBeforeMin > low.recheckMin, 'low.recheckNotBeforeMin', 'recheck-before-it-counts'),
    ...when(low.fastGramsLevel2 < low.fastGrams, 'low.fastGramsLevel2', 'level2-grams-below-level1'),
  ]
}

function doseFaults({ dose }: WardPolicy): readonly PolicyFault[] {
  const classes = Object.keys(dose.classLimits) as readonly InsulinClass[]
  return [
    ...classes.flatMap((kind) =>
      when(dose.classLimits[kind].ask > dose.classLimits[kind].stop, `dose.classLimits.${kind}.ask`, 'ask-above-stop'),
    ),
    ...when(dose.mealGramsAsk > dose.mealGramsStop, 'dose.mealGramsAsk', 'ask-above-stop'),
    ...when(dose.readingSpareMin >= dose.readingAgeMaxMin, 'dose.readingSpareMin', 'spare-not-below-age'),
  ]
}

function peopleFaults({ fingers, secondCheck: { roles }, shifts }: WardPolicy): readonly PolicyFault[] {
  const alike =
    new Set(shifts.map(({ name }) => name.toLowerCase())).size < shifts.length ||
    new Set(shifts.map(({ starts }) => starts)).size < shifts.length
  return [
    ...when(fingers.length === 0, 'fingers', 'no-finger'),
    ...when(roles.length === 0, 'secondCheck.roles', 'no-second-checker'),
    ...when(roles.length > 0 && !roles.includes('charge-nurse'), 'secondCheck.roles', 'charge-nurse-cannot-check'),
    ...when(alike, 'shifts', 'shifts-alike'),
    ...when(
      !alike && shifts.some(({ starts }, index) => index > 0 && starts < (shifts[index - 1]?.starts ?? '')),
      'shifts',
      'shifts-out-of-order',
    ),
  ]
}

function when(wrong: boolean, name: string, reason: PlainRefusal): readonly PolicyFault[] {
  return wrong ? [fault(name, reason)] : []
}

/** Of those that need no details. */
type PlainRefusal = Exclude<CrossRefusal, 'time-outside-its-round'>

function fault(name: string, reason: PlainRefusal): PolicyFault {
  return { ...refuse(reason), name }
}
