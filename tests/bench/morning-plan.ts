/**
 * The morning of a 1,000-bed hospital as a plan: who checks whom, when, and with what result. A function of its seed.
 *
 * The mix, and why:
 * - 25 wards of 40 beds, 8 nurses with 5 beds each: common practice; every bed has its check before breakfast.
 * - 1,000 checks in the 45 minutes before the trays, here in one minute. Their instants are independent and uniform, so
 *   they cluster more than the checks of real nurses.
 * - Half of the patients have an insulin order, and 35 in 100 checks lead to a dose that is given: common practice, beside
 *   32.0 % of patient-days above 180 mg/dL outside intensive care in 575 US hospitals (Endocr Pract 2011;17:853). The
 *   other values under an order are in its row for 0 units, which is worked out and charted too.
 * - 3 in 100 checks are low: common practice, beside 5.7 % of patient-days below 70 mg/dL in the same article, since a
 *   day has several checks. They begin early enough for the recheck 15 minutes later in the same morning.
 * - 25 boards and one list of all wards are open all the time; each nurse's Round is open and refreshes itself.
 */
export const BEDS = 40
export const NURSES = 8
export const BEDS_A_NURSE = BEDS / NURSES
export const WARDS_A_HOSPITAL = 25
/** The morning's length on the ward's clock, and the real seconds in which it is played. */
export const MORNING_MIN = 45
export const MORNING_SECONDS = 60
/** The ward clock's speed relative to real time. */
export const TIMES = (MORNING_MIN * 60) / MORNING_SECONDS
/** Real milliseconds of one minute on the ward. */
export const WARD_MINUTE_MS = 60_000 / TIMES

const LOW_SHARE = 0.03
const DOSE_SHARE = 0.35
/** The recheck and the steps before it, in ward minutes: a low begins at least this long before the end. */
const LOW_TAKES_MIN = 20

export type Outcome = 'in-range' | 'zero-units' | 'dose' | 'low'

export type PlannedCheck = {
  /** From the beginning, in real time. */
  readonly dueMs: number
  readonly ward: number
  /** From 0, in walking order. */
  readonly bed: number
  readonly nurse: number
  /** Another nurse of the ward, who does the second check. */
  readonly second: number
  readonly outcome: Outcome
  /** mg/dL */
  readonly value: number
  /** The dose of the order's scale; 0 where there is nothing to give. */
  readonly units: number
}

export type Asked = {
  readonly wards: number
  readonly seed: number
  /** Real seconds in which checks begin. The rate stays the morning's, so fewer seconds mean fewer beds. */
  readonly seconds: number
}

/** True for a bed whose patient has an insulin order. */
export function hasOrder(bed: number): boolean {
  return bed % 2 === 0
}

/** Numbers from 0 (included) to 1 (excluded), the same for the same seed. */
export function chanceOf(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296
  }
}

/** Every check by time. Each bed has one at most; the shares are exact for any seed. */
export function planMorning({ wards, seed, seconds }: Asked): readonly PlannedCheck[] {
  const chance = chanceOf(seed)
  const beds = shuffled(
    Array.from({ length: wards * BEDS }, (_, index) => ({ ward: Math.floor(index / BEDS), bed: index % BEDS })),
    chance,
  ).slice(0, Math.round((wards * BEDS * seconds) / MORNING_SECONDS))
  const left = { doses: Math.round(beds.length * DOSE_SHARE), lows: Math.round(beds.length * LOW_SHARE) }
  const spanMs = seconds * 1000
  return beds
    .map(({ ward, bed }): PlannedCheck => {
      const outcome = outcomeOf(bed, left)
      const nurse = Math.floor(bed / BEDS_A_NURSE)
      const value = valueOf(outcome, bed, chance)
      const beginsWithinMs = outcome === 'low' ? Math.max(spanMs / 2, spanMs - LOW_TAKES_MIN * WARD_MINUTE_MS) : spanMs
      return {
        dueMs: chance() * beginsWithinMs,
        ward,
        bed,
        nurse,
        second: (nurse + 1 + Math.floor(chance() * (NURSES - 1))) % NURSES,
        outcome,
        value,
        units: outcome === 'dose' ? unitsOn(value) : 0,
      }
    })
    .sort((a, b) => a.dueMs - b.dueMs)
}

/** The beds are shuffled, so the first that fit are taken. */
function outcomeOf(bed: number, left: { doses: number; lows: number }): Outcome {
  if (hasOrder(bed) && left.doses > 0) {
    left.doses--
    return 'dose'
  }
  if (left.lows > 0) {
    left.lows--
    return 'low'
  }
  return hasOrder(bed) ? 'zero-units' : 'in-range'
}

function valueOf(outcome: Outcome, bed: number, chance: () => number): number {
  const between = (from: number, to: number): number => from + Math.floor(chance() * (to - from + 1))
  switch (outcome) {
    case 'low':
      return between(54, 69)
    case 'dose':
      return between(151, 350)
    case 'zero-units':
      return between(90, 150)
    case 'in-range':
      return hasOrder(bed) ? between(90, 150) : between(80, 220)
  }
}

/** The scale of the invented order, read from its printed rows and not by the rules. */
function unitsOn(value: number): number {
  return value <= 200 ? 2 : value <= 250 ? 4 : value <= 300 ? 6 : 8
}

function shuffled<T>(list: readonly T[], chance: () => number): readonly T[] {
  return list
    .map((one) => ({ one, at: chance() }))
    .sort((a, b) => a.at - b.at)
    .map(({ one }) => one)
}
