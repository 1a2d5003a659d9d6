/** Facts of one invented patient at one instant, for the rules of orders and doses. */
import type { Dose, ProposalInputs, Working } from '../../shared/dose/dose.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import { scaleFromRows } from '../../shared/order/rows.ts'
import type { InsulinOrder, OrderVersion, Scale, ScaleAnswer } from '../../shared/order/order.ts'
import { proposeDose, type DoseFacts, type Proposal } from '../../shared/order/propose.ts'
import { doseKind } from '../../shared/order/parts.ts'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'

export const MINUTE_MS = 60_000
/** 10 March 2026, 12:45 UTC: 07:45 in Chicago, 15 minutes before the trays. */
export const NOW_MS = Date.UTC(2026, 2, 10, 12, 45)
export const TRAY_MS = NOW_MS + 15 * MINUTE_MS
export const minutes = (count: number): number => count * MINUTE_MS

export const POLICY: WardPolicy = defaultPolicy('mg/dL', 'America/Chicago')
export const MMOL_POLICY: WardPolicy = defaultPolicy('mmol/L', 'Europe/London')

type Row = readonly [from: number | null, to: number | null, answer: ScaleAnswer, also?: string]

/** A scale from rows; throws when they are invalid. A closed last row is closed with "call". */
export function scaleOf(rows: readonly Row[], unit: GlucoseUnit = 'mg/dL'): Scale {
  const made = scaleFromRows({
    unit,
    rows: rows.map(([from, to, answer, also]) => ({ from, to, answer, also: also ?? null })),
    afterLast: rows.at(-1)?.[1] === null ? null : 'call',
    answered: {},
    lowLimit: unit === 'mg/dL' ? 70 : 39,
    maxSingleDose: 20,
  })
  if (!made.ok) throw new Error(`${made.reason} ${JSON.stringify(made.details)}`)
  return made.value
}

/** The usual column of scale 2a. */
export const USUAL = scaleOf([
  [null, 140, 0],
  [141, 180, 4],
  [181, 220, 6],
  [221, 260, 8],
  [261, 300, 10],
  [301, 350, 12],
  [351, 400, 14],
  [401, null, 16],
])

export function order(parts: Partial<InsulinOrder> = {}): InsulinOrder {
  return {
    insulin: 'insulin lispro',
    concentration: 'U-100',
    route: 'subcutaneous',
    unit: 'mg/dL',
    occasions: ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'],
    correction: { kind: 'scale', scale: USUAL },
    meal: null,
    mealTiming: 'before',
    bedtime: { kind: 'same' },
    scheduled: [],
    rounding: { to: 1, ties: 'down' },
    maxSingleDose: 20,
    correctionIntervalMin: null,
    stackingStopsAtOccasions: false,
    prescriber: 'Dr. Vera Kim',
    received: 'written',
    startsAtMs: NOW_MS - minutes(2000),
    stopsAtMs: null,
    ...parts,
  }
}

export function version(parts: Partial<InsulinOrder> = {}, change: Partial<OrderVersion> = {}): OrderVersion {
  return {
    orderId: 'order00000000001',
    version: 3,
    stayId: 'stay000000000001',
    order: order(parts),
    writtenAtMs: NOW_MS - minutes(2000),
    transcribedById: 'nurse00000000009',
    verified: { byId: 'nurse00000000008', atMs: NOW_MS - minutes(1900) },
    endedAtMs: null,
    ...change,
  }
}

export function reading(value: number | 'LO' | 'HI', parts: Partial<Reading> = {}): Reading {
  return {
    readingId: 'reading000000001',
    stayId: 'stay000000000001',
    wardId: 'ward000000000001',
    wardDate: '2026-03-10',
    checkKey: 'stay000000000001.2026-03-10.before-breakfast',
    glucose: { unit: 'mg/dL', value },
    source: 'capillary',
    takenAtMs: NOW_MS - minutes(5),
    chartedAtMs: NOW_MS - minutes(4),
    byId: 'nurse00000000001',
    site: { hand: 'left', finger: 'middle' },
    meterId: 'meter00000000001',
    stripLot: 'LOT1',
    doubts: [],
    lateReason: null,
    extraReason: null,
    supersedes: null,
    supersededBy: null,
    voided: null,
    ...parts,
  }
}

export function inputs(parts: Partial<ProposalInputs> = {}): ProposalInputs {
  return {
    nowMs: NOW_MS,
    meal: { willEat: 'yes', carbohydrateGrams: null, shareEatenPercent: null },
    trayServedAtMs: null,
    trayExpectedAtMs: TRAY_MS,
    earlierDoses: [],
    elsewhereAsked: true,
    low: 'none',
    criticalConfirmed: null,
    scheduledTime: null,
    scheduledDueMs: null,
    directionId: null,
    directedUnits: null,
    occasion: 'before-breakfast',
    atOrderOccasion: true,
    nilByMouth: false,
    readingTakenAtMs: NOW_MS - minutes(5),
    readingEffective: true,
    newerReadingAtMs: null,
    orderInForce: true,
    orderVerified: true,
    mealAlreadyGiven: false,
    correctionAlreadyGiven: false,
    wardUnit: 'mg/dL',
    ...parts,
  }
}

export type Given = {
  readonly glucose?: number | 'LO' | 'HI' | null
  readonly order?: Partial<InsulinOrder>
  readonly inputs?: Partial<ProposalInputs>
  readonly reading?: Partial<Reading>
  readonly policy?: WardPolicy
}

/** The facts of a proposal that no guard stops, unless changed. */
export function facts({
  glucose = 200,
  order: parts = {},
  inputs: changed = {},
  reading: changedReading = {},
  policy = POLICY,
}: Given = {}): DoseFacts {
  const ordered = version(parts)
  return {
    order: ordered,
    insulin: ordered.order.insulin,
    policy,
    policyVersion: 1,
    reading: glucose === null ? null : reading(glucose, changedReading),
    inputs: inputs(changed),
  }
}

export function propose(given: Given = {}): Proposal {
  return proposeDose(facts(given))
}

/** The units of a proposal, or the names of the guards that stopped it. */
export function unitsOf(given: Given = {}): number | string {
  const proposal = propose(given)
  return proposal.kind === 'dose'
    ? proposal.working.units
    : proposal.guards
        .filter((guard) => guard.outcome === 'stops')
        .map((guard) => guard.guard)
        .join(' ')
}

export function workingOf(given: Given = {}): Working {
  return propose(given).working
}

/** A dose as stored when no guard stopped it. */
export function doseOf(given: Given = {}, parts: Partial<Dose> = {}): Dose {
  const made = facts(given)
  const { working } = proposeDose(made)
  return {
    doseId: 'dose000000000001',
    stayId: 'stay000000000001',
    wardId: 'ward000000000001',
    kind: doseKind(made.order?.order ?? null, made.inputs),
    readingId: working.readingId,
    slotKey: null,
    insulin: made.insulin,
    units: working.units,
    working,
    inputs: made.inputs,
    proposedById: 'nurse00000000001',
    proposedAtMs: made.inputs.nowMs,
    secondCheckRequired: true,
    answers: [],
    restarts: [],
    product: null,
    outcome: null,
    voided: null,
    ...parts,
  }
}
