/** Readings, low events, doses and facts of one invented stay, for the tests of the rules. */
import type { Dose } from '../../shared/dose/dose.ts'
import type { Glucose, GlucoseUnit } from '../../shared/glucose/value.ts'
import { NOTHING_CHARTED, type LowEvent } from '../../shared/low/low.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { ReadingFacts } from '../../shared/reading/facts.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { ReadingEntry } from '../../shared/reading/record.ts'
import { localToUtc, wardDate } from '../../shared/time/zone.ts'
import { ALDER_SCALE, scaleOrder } from './wards.ts'

export const ZONE = 'America/Chicago'
export const POLICY = defaultPolicy('mg/dL', ZONE)
export const MMOL_POLICY = defaultPolicy('mmol/L', 'Europe/London')
export const MINUTE = 60_000

/** An instant of 10 March 2026 on the ward: at('07:20'). */
export function at(time: string, date = '2026-03-10'): number {
  return localToUtc(date, time, ZONE)
}

/** 112, 'LO' or 'HI' in mg/dL; with a unit, whole mg/dL or tenths of mmol/L. */
export function glucose(value: Glucose['value'], unit: GlucoseUnit = 'mg/dL'): Glucose {
  return { unit, value }
}

export function reading(value: Glucose['value'], takenAtMs: number, parts: Partial<Reading> = {}): Reading {
  return {
    readingId: `r${String(value).toLowerCase()}x${String(takenAtMs)}`,
    stayId: 'stay1',
    wardId: 'ward1',
    wardDate: wardDate(takenAtMs, ZONE),
    checkKey: null,
    glucose: glucose(value),
    source: 'capillary',
    takenAtMs,
    chartedAtMs: takenAtMs,
    byId: 'nurse-a',
    site: { hand: 'left', finger: 'ring' },
    meterId: 'meter1',
    stripLot: 'L1',
    doubts: [],
    lateReason: null,
    extraReason: null,
    supersedes: null,
    supersededBy: null,
    voided: null,
    ...parts,
  }
}

export function lowEvent(first: Reading, parts: Partial<LowEvent> = {}): LowEvent {
  return {
    lowId: 'low1',
    stayId: 'stay1',
    wardId: 'ward1',
    openedByReadingId: first.readingId,
    openedAtMs: first.takenAtMs,
    treatments: [],
    charted: NOTHING_CHARTED,
    closedAtMs: null,
    previousLowId: null,
    previousClosedAtMs: null,
    ...parts,
  }
}

export function treatment(atMs: number): LowEvent['treatments'][number] {
  return {
    lowId: 'low1',
    atMs,
    chartedAtMs: atMs,
    byId: 'nurse-a',
    arm: 'by-mouth',
    amount: { kind: 'grams', grams: 15 },
    what: 'juice',
    directedBy: null,
  }
}

/** Alder's scale, verified, in force from the day before. */
export function orderVersion(
  parts: Partial<OrderVersion> = {},
  order: Parameters<typeof scaleOrder>[2] = {},
): OrderVersion {
  const startsAtMs = at('00:00', '2026-03-09')
  return {
    orderId: 'order1',
    version: 1,
    stayId: 'stay1',
    order: scaleOrder(ALDER_SCALE, startsAtMs, order),
    writtenAtMs: startsAtMs,
    transcribedById: 'nurse-a',
    verified: { byId: 'nurse-b', atMs: startsAtMs },
    endedAtMs: null,
    ...parts,
  }
}

/** A dose of 4 units from a reading, proposed by nurse-a when it was taken and waiting for its second check. */
export function doseOf(from: Reading, parts: Partial<Dose> = {}): Dose {
  return {
    doseId: 'dose1',
    stayId: 'stay1',
    wardId: 'ward1',
    kind: 'from-reading',
    readingId: from.readingId,
    slotKey: null,
    insulin: 'insulin lispro',
    units: 4,
    working: {
      rules: 1,
      orderId: 'order1',
      orderVersion: 1,
      policyVersion: 1,
      readingId: from.readingId,
      glucose: from.glucose,
      occasion: 'before-breakfast',
      terms: [],
      sum: { numerator: 4, denominator: 1 },
      rounding: { to: 1, ties: 'down' },
      units: 4,
      guards: [],
      also: [],
    },
    inputs: {
      nowMs: from.takenAtMs,
      meal: null,
      trayServedAtMs: null,
      trayExpectedAtMs: null,
      earlierDoses: [],
      elsewhereAsked: true,
      low: 'none',
      criticalConfirmed: null,
      scheduledTime: null,
      directionId: null,
      directedUnits: null,
      scheduledDueMs: null,
      occasion: 'before-breakfast',
      atOrderOccasion: true,
      nilByMouth: false,
      readingTakenAtMs: from.takenAtMs,
      readingEffective: true,
      newerReadingAtMs: null,
      orderInForce: true,
      orderVerified: true,
      mealAlreadyGiven: false,
      correctionAlreadyGiven: false,
      wardUnit: 'mg/dL',
    },
    proposedById: 'nurse-a',
    proposedAtMs: from.takenAtMs,
    secondCheckRequired: true,
    answers: [],
    restarts: [],
    product: null,
    outcome: null,
    voided: null,
    ...parts,
  }
}

/** The stay on its ward: AC & HS, one meter controlled today, one lot in date and one expired. */
export function readingFacts(parts: Partial<ReadingFacts> = {}): ReadingFacts {
  const admittedAtMs = at('12:00', '2026-03-09')
  return {
    ward: { wardId: 'ward1' },
    policy: { policy: POLICY },
    stay: {
      stayId: 'stay1',
      wardId: 'ward1',
      bed: '7',
      wristband: 'W100',
      familyName: 'Ashby',
      givenName: 'Ruth',
      bornOn: '1948-02-17',
      admittedAtMs,
      dischargedAtMs: null,
      facts: {
        diabetes: 'type-2',
        swallowsSafely: true,
        nilByMouth: null,
        feeding: 'oral',
        ivAccess: false,
        restrictedHands: [],
        isolation: 'none',
        renalImpairment: false,
        onSteroid: false,
        otherGlucoseLowering: [],
        weightKg: null,
      },
    },
    plans: [
      { stayId: 'stay1', version: 1, plan: { kind: 'ac-and-hs' }, fromMs: admittedAtMs, untilMs: null, overlay: false },
    ],
    trayDelays: [],
    readings: [],
    outcomes: new Map(),
    lows: [],
    meters: [
      { meterId: 'meter1', wardId: 'ward1', unit: 'mg/dL', controlWhenTaken: { passed: true, atMs: at('05:00') } },
      { meterId: 'meter2', wardId: 'ward1', unit: 'mg/dL', controlWhenTaken: null },
      { meterId: 'meter3', wardId: 'ward1', unit: 'mmol/L', controlWhenTaken: { passed: true, atMs: at('05:00') } },
      { meterId: 'meter4', wardId: 'ward9', unit: 'mg/dL', controlWhenTaken: { passed: true, atMs: at('05:00') } },
      { meterId: 'meter5', wardId: 'ward1', unit: 'mg/dL', controlWhenTaken: { passed: false, atMs: at('05:00') } },
    ],
    stripLots: [
      { lot: 'L1', expiresOn: '2026-03-10' },
      { lot: 'L0', expiresOn: '2026-03-09' },
    ],
    ...parts,
  }
}

/** A valid entry for the before-breakfast check of that day, taken at 07:20. */
export function entry(value: Glucose['value'], parts: Partial<ReadingEntry> = {}): ReadingEntry {
  return {
    readingId: 'reading1',
    newLowId: 'newlow1',
    checkKey: 'stay1.2026-03-10.before-breakfast',
    wristband: 'W100',
    glucose: glucose(value),
    takenAtMs: at('07:20'),
    meterId: 'meter1',
    stripLot: 'L1',
    site: { hand: 'left', finger: 'middle' },
    lateReason: null,
    extraReason: null,
    source: 'capillary',
    byId: 'nurse-a',
    ...parts,
  }
}
