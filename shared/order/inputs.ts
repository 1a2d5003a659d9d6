/** Collects the facts of one instant as the inputs that are stored with a dose. */
import type { StayEntry } from '../care/entries.ts'
import { holdOf, leftUnasked, unitsInstead, type DirectionGiven } from '../care/insulin-words.ts'
import { runningWays } from '../care/other-insulin.ts'
import { slotAddress } from '../check/scheduled.ts'
import { MEAL_OF, type Meal, type TrayDelay } from '../check/check.ts'
import { trayTimeMs } from '../check/plan.ts'
import type {
  Dose,
  EarlierDose,
  LowAnswer,
  LowForDose,
  MealAnswer,
  MealtimeFood,
  ProposalInputs,
  TrayFact,
} from '../dose/dose.ts'
import { meterFailedSince, type FailedControls } from '../meter/control.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { isNilByMouth, type BedsideFacts } from '../stay/stay.ts'
import { localToUtc } from '../time/zone.ts'
import { occasionOfReading, type ReadingOccasion } from './occasion.ts'
import { isBasal, isInForce, type InsulinName, type OrderVersion } from './order.ts'
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../time/span.ts'

/** Facts of one stay at one instant, as the store returns them. */
export type StayAtNow = {
  readonly nowMs: number
  readonly policy: WardPolicy
  readonly facts: BedsideFacts
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly earlierDoses: readonly EarlierDose[]
  /** All insulin given, long-acting included. A scheduled dose is checked against it. */
  readonly insulinGiven: readonly EarlierDose[]
  readonly trays: readonly TrayFact[]
  readonly trayDelays: readonly TrayDelay[]
  readonly low: LowForDose
  readonly lowAnswer?: LowAnswer
  /** A low waits for its treatment now. */
  readonly lowTreatmentOwed?: boolean
  readonly failedControls: FailedControls
  /** Entries of the stay and the prescriber's directions: her word about an insulin after a low. */
  readonly entries?: readonly StayEntry[]
  readonly directions?: readonly DirectionGiven[]
  /** True while the question about insulin after an open low waits for its answer. */
  readonly questionOpen?: boolean
  /** Since when the tube or parenteral feed is stopped; null: it runs, or there is none. */
  readonly feedStoppedSinceMs?: number | null
}

export type DoseRequest = {
  readonly meal: MealAnswer | null
  /** Whether insulin was given elsewhere: asked now or already known. */
  readonly elsewhereAsked: boolean
  /** Whether a repeat confirmed the reading. Null: it is not critical. */
  readonly criticalConfirmed: boolean | null
  /** What the nurse typed again above an asking limit. */
  readonly again?: { readonly units?: number; readonly grams?: number }
}

export type Directed = { readonly directionId: string; readonly units: number; readonly insulin: InsulinName }

/**
 * Every version that answers readings and is in force now. Without one, the version that ended last. Empty: there is no
 * order.
 */
export function ordersForReading(orders: readonly OrderVersion[], nowMs: number): readonly OrderVersion[] {
  const bearing = orders.filter(({ order }) => order.correction !== null || order.meal !== null)
  const inForce = bearing.filter((version) => isInForce(version, nowMs))
  if (inForce.length > 0) return inForce
  const started = bearing
    .filter((version) => version.order.startsAtMs <= nowMs)
    .sort((a, b) => b.version - a.version || b.writtenAtMs - a.writtenAtMs)
  return started.slice(0, 1)
}

/** Inputs of a dose from a reading: before or after a meal, or by direction. */
export function inputsFromReading(
  stay: StayAtNow,
  reading: Reading,
  order: OrderVersion | null,
  request: DoseRequest,
  directed: Directed | null,
): ProposalInputs {
  const at = occasionOfReading(reading, stay.policy, stay.trayDelays)
  const meal = MEAL_OF[at.occasion]
  const tray = stay.trays.find((fact) => fact.date === at.date && fact.meal === meal)
  return {
    ...common(stay, order, request),
    ...meterFact(stay, reading),
    trayServedAtMs: tray?.servedAtMs ?? null,
    trayExpectedAtMs: meal === null ? null : trayTimeMs(at.date, meal, stay.policy, stay.trayDelays),
    occasion: at.occasion,
    atOrderOccasion: at.own && order !== null && order.order.occasions.includes(at.occasion),
    readingTakenAtMs: reading.takenAtMs,
    readingEffective: isEffective(reading),
    newerReadingAtMs: newerThan(reading, stay.readings)?.takenAtMs ?? null,
    criticalConfirmed: request.criticalConfirmed,
    mealAlreadyGiven: mealGiven(stay, reading, at),
    correctionAlreadyGiven: givenDosesAt(stay, (other) => other.date === at.date && other.slot === at.slot).some(
      (dose) => hasPart(dose, 'correction'),
    ),
    scheduledTime: null,
    scheduledDueMs: null,
    ...(directed === null ? {} : basalFact(stay, null)),
    ...wordFacts(stay, directed?.insulin ?? order?.order.insulin ?? null, []),
    directionId: directed?.directionId ?? null,
    directedUnits: directed?.units ?? null,
  }
}

/**
 * Inputs of a scheduled dose. `date` is the ward-local date of its slot, `time` HH:MM. The order's hold uses the newest
 * reading.
 */
export function inputsForSchedule(
  stay: StayAtNow,
  order: OrderVersion,
  slot: { readonly date: string; readonly time: string },
  elsewhereAsked: boolean,
  again: DoseRequest['again'] = {},
): ProposalInputs {
  const reading = newestReading(stay.readings)
  const dueMs = localToUtc(slot.date, slot.time, stay.policy.zone)
  return {
    ...common(stay, order, { meal: null, elsewhereAsked, criticalConfirmed: null, again }),
    ...(reading === null ? {} : meterFact(stay, reading)),
    ...(reading !== null && reading.doubts.length > 0 ? { holdReadingInDoubt: true as const } : {}),
    earlierDoses: stay.insulinGiven.filter((dose) => dose.givenAtMs >= stay.nowMs - DAY_MS),
    trayServedAtMs: null,
    trayExpectedAtMs: null,
    occasion: null,
    atOrderOccasion: true,
    readingTakenAtMs: reading?.takenAtMs ?? null,
    readingEffective: true,
    newerReadingAtMs: null,
    criticalConfirmed: null,
    mealAlreadyGiven: false,
    correctionAlreadyGiven: false,
    ...basalFact(stay, order),
    // a hold over the time of a mealtime dose stays for it, also after the hold has ended
    ...wordFacts(stay, order.order.insulin, isBasal(order.order.insulin) ? [] : [dueMs]),
    ...insteadFact(stay, order, slot),
    ...(order.order.inAddition === true ? { inAddition: true as const } : {}),
    ...(isBasal(order.order.insulin) ? {} : { food: mealtimeFood(stay, slot.date, dueMs) }),
    scheduledTime: slot.time,
    scheduledDueMs: dueMs,
    directionId: null,
    directedUnits: null,
  }
}

/**
 * Basal insulin of the last 24 hours that counts against a dose of this order, or against a direction. Insulin in addition
 * to another one counts against its own order alone.
 */
function basalFact(stay: StayAtNow, order: OrderVersion | null): Pick<ProposalInputs, 'basalGiven'> {
  const isAddition = order?.order.inAddition === true
  const basalGiven = stay.insulinGiven.filter(
    (dose) =>
      isBasal(dose.insulin) &&
      dose.givenAtMs >= stay.nowMs - DAY_MS &&
      (isAddition || dose.inAddition === true ? dose.orderId === order?.orderId : true),
  )
  return basalGiven.length === 0 ? {} : { basalGiven }
}

/** The prescriber's word about the insulin now, and at the instants `also`. */
function wordFacts(
  stay: StayAtNow,
  insulin: InsulinName | null,
  also: readonly number[],
): Pick<ProposalInputs, 'held' | 'questionOpen' | 'otherWay'> {
  if (insulin === null) return {}
  const { entries = [], directions = [], nowMs } = stay
  const [hold] = [nowMs, ...also.filter((atMs) => atMs < nowMs)].flatMap(
    (atMs) => holdOf(entries, directions, insulin, atMs) ?? [],
  )
  const isLeft = leftUnasked(entries, directions).some(({ insulins }) => insulins.includes(insulin))
  const [running] = [...runningWays(entries, nowMs)].sort((a) => (a.fact.way === 'infusion' ? -1 : 1))
  const way = running?.fact.way
  return {
    ...(running === undefined || (way !== 'infusion' && way !== 'pump')
      ? {}
      : { otherWay: { way, sinceMs: running.atMs } }),
    ...(hold === undefined ? {} : { held: { told: hold.fact.told, saidMs: hold.atMs, untilMs: hold.fact.untilMs } }),
    ...(isLeft || stay.questionOpen === true ? { questionOpen: true as const } : {}),
  }
}

function insteadFact(
  stay: StayAtNow,
  order: OrderVersion,
  slot: { readonly date: string; readonly time: string },
): Pick<ProposalInputs, 'instead'> {
  const slotKey = `${order.stayId}.${slotAddress(slot.date, slot.time, order.orderId)}`
  const word = unitsInstead(stay.entries ?? [], slotKey)
  return word === null || word.fact.units === null
    ? {}
    : { instead: { units: word.fact.units, told: word.fact.told, saidMs: word.atMs } }
}

/** A meal is a scheduled dose's when its tray is planned within this of the dose. */
const MEAL_NEAR_MS = 2 * HOUR_MS

/** What feeds the patient around the scheduled dose: the feed, or the meal whose tray is planned nearest to it. */
function mealtimeFood(stay: StayAtNow, date: string, dueMs: number): MealtimeFood {
  if (stay.facts.feeding !== 'oral') return { by: 'feed', stoppedSinceMs: stay.feedStoppedSinceMs ?? null }
  const [near] = MEALS.map((meal) => ({ meal, expectedAtMs: trayTimeMs(date, meal, stay.policy, stay.trayDelays) }))
    .filter(({ expectedAtMs }) => Math.abs(expectedAtMs - dueMs) <= MEAL_NEAR_MS)
    .sort((a, b) => Math.abs(a.expectedAtMs - dueMs) - Math.abs(b.expectedAtMs - dueMs))
  if (near === undefined) return { by: 'mouth', servedAtMs: null, expectedAtMs: null, mealFromMs: null }
  const tray = stay.trays.find((fact) => fact.date === date && fact.meal === near.meal)
  return {
    by: 'mouth',
    servedAtMs: tray?.servedAtMs ?? null,
    expectedAtMs: near.expectedAtMs,
    mealFromMs: near.expectedAtMs - stay.policy.windows.beforeMeal.opensBefore * MINUTE_MS,
  }
}

const MEALS: readonly Meal[] = ['breakfast', 'lunch', 'supper']

/** The newest effective reading by time taken. Null: there is none. */
export function newestReading(readings: readonly Reading[]): Reading | null {
  return readings
    .filter(isEffective)
    .reduce<Reading | null>((best, reading) => (best === null || isLater(reading, best) ? reading : best), null)
}

function isLater(a: Reading, b: Reading): boolean {
  return a.takenAtMs > b.takenAtMs || (a.takenAtMs === b.takenAtMs && a.chartedAtMs > b.chartedAtMs)
}

function newerThan(reading: Reading, readings: readonly Reading[]): Reading | null {
  const newest = newestReading(readings)
  return newest !== null && newest.readingId !== reading.readingId && isLater(newest, reading) ? newest : null
}

function common(
  stay: StayAtNow,
  order: OrderVersion | null,
  request: DoseRequest,
): Pick<
  ProposalInputs,
  | 'nowMs'
  | 'meal'
  | 'earlierDoses'
  | 'elsewhereAsked'
  | 'low'
  | 'nilByMouth'
  | 'orderInForce'
  | 'orderVerified'
  | 'wardUnit'
  | 'lowAnswer'
  | 'unitsAgain'
  | 'gramsAgain'
  | 'weightKg'
  | 'dayUnits'
  | 'lowTreatmentOwed'
> {
  return {
    nowMs: stay.nowMs,
    meal: request.meal,
    earlierDoses: stay.earlierDoses,
    elsewhereAsked: request.elsewhereAsked,
    low: stay.low,
    nilByMouth: isNilByMouth(stay.facts, stay.nowMs),
    orderInForce: order !== null && isInForce(order, stay.nowMs),
    orderVerified: order !== null && order.verified !== null && order.verified.atMs <= stay.nowMs,
    wardUnit: stay.policy.unit,
    ...(stay.lowAnswer === undefined ? {} : { lowAnswer: stay.lowAnswer }),
    ...(request.again?.units === undefined ? {} : { unitsAgain: request.again.units }),
    ...(request.again?.grams === undefined ? {} : { gramsAgain: request.again.grams }),
    ...(stay.facts.weightKg === null ? {} : { weightKg: stay.facts.weightKg }),
    dayUnits: stay.insulinGiven
      .filter(({ givenAtMs }) => givenAtMs > stay.nowMs - DAY_MS)
      .reduce((sum, { units }) => sum + units, 0),
    ...(stay.lowTreatmentOwed === true ? { lowTreatmentOwed: true as const } : {}),
  }
}

function meterFact({ failedControls }: StayAtNow, reading: Reading): Pick<ProposalInputs, 'meterFailedAtMs'> {
  const meterFailedAtMs = meterFailedSince(reading, failedControls)
  return meterFailedAtMs === null ? {} : { meterFailedAtMs }
}

/**
 * True when the meal part was given. It counts by occasion and date, so that two checks of one round never cover the
 * same meal twice. Insulin from outside since the reading may have covered it.
 */
function mealGiven(stay: StayAtNow, reading: Reading, at: ReadingOccasion): boolean {
  const here = givenDosesAt(stay, (other) => other.date === at.date && other.occasion === at.occasion).some((dose) =>
    hasPart(dose, 'meal'),
  )
  return here || stay.earlierDoses.some((dose) => dose.source !== 'here' && dose.givenAtMs >= reading.takenAtMs)
}

function givenDosesAt(stay: StayAtNow, matches: (at: ReadingOccasion) => boolean): readonly Dose[] {
  return stay.doses.filter((dose) => {
    const reading = stay.readings.find((one) => one.readingId === dose.readingId)
    if (dose.outcome?.kind !== 'given' || reading === undefined) return false
    const at = occasionOfReading(reading, stay.policy, stay.trayDelays)
    // the occasion used for the dose counts, even if a tray delay has moved the windows since
    return matches({ ...at, occasion: dose.inputs.occasion ?? at.occasion })
  })
}

/** A direction may have covered either part, so it counts as both. */
function hasPart(dose: Dose, part: 'meal' | 'correction'): boolean {
  return dose.working.terms.some(
    (term) => !term.held && term.amount.numerator > 0 && (term.part.startsWith(part) || term.part === 'direction'),
  )
}
