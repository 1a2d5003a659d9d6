/** Invented facts for tests: each maker returns a complete, valid fact and accepts changes. */
import type { Dose, ProposalInputs, Working } from '../../shared/dose/dose.ts'
import type { Glucose } from '../../shared/glucose/value.ts'
import type { EventBodies, EventHead, EventType, LedgerEvent, Role } from '../../shared/ledger/events.ts'
import type { InsulinOrder } from '../../shared/order/order.ts'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { BedsideFacts } from '../../shared/stay/stay.ts'
import type { Scope } from '../../server/store/contract.ts'

export const MINUTE = 60_000
export const HOUR = 60 * MINUTE
/** 2026-03-02 12:20 UTC, which is 07:20 on the invented ward in New York. */
export const NOW = Date.UTC(2026, 2, 2, 12, 20)
export const TODAY = '2026-03-02'
export const ZONE = 'America/New_York'

/** Sixteen characters like real ids, distinct by their beginning; a name must not end in a 0. */
export function idOf(name: string): string {
  return name
    .toLowerCase()
    .replace(/[^a-z0-9]/g, '')
    .padEnd(16, '0')
    .slice(0, 16)
}

export const WARD = idOf('ward')
export const OTHER_WARD = idOf('otherward')
export const STAY = idOf('stay')
export const NURSE = idOf('nurse')
export const SECOND_NURSE = idOf('secondnurse')

/** An event of any type about the invented ward and stay, by the invented nurse, now. */
export function anEvent<T extends EventType>(
  type: T,
  body: EventBodies[T],
  head: Partial<EventHead> = {},
): LedgerEvent {
  const happenedAtMs = head.happenedAtMs ?? NOW
  return {
    type,
    body,
    wardId: WARD,
    stayId: STAY,
    actorId: NURSE,
    chartedAtMs: happenedAtMs,
    ...head,
    happenedAtMs,
  } as LedgerEvent
}

export function aScope(wardIds: readonly string[] = [WARD], role: Role = 'floor-nurse'): Scope {
  return { staffId: NURSE, role, wardIds }
}

export function someFacts(over: Partial<BedsideFacts> = {}): BedsideFacts {
  return {
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
    weightKg: 80,
    ...over,
  }
}

export function mgPerDl(value: number | 'LO' | 'HI'): Glucose {
  return { unit: 'mg/dL', value }
}

export function aReading(over: Partial<Reading> = {}): Reading {
  const takenAtMs = over.takenAtMs ?? NOW
  return {
    readingId: idOf('reading'),
    stayId: STAY,
    wardId: WARD,
    wardDate: TODAY,
    checkKey: null,
    glucose: mgPerDl(182),
    source: 'capillary',
    chartedAtMs: takenAtMs,
    byId: NURSE,
    site: { hand: 'left', finger: 'ring' },
    meterId: null,
    stripLot: null,
    doubts: [],
    lateReason: null,
    extraReason: null,
    supersedes: null,
    supersededBy: null,
    voided: null,
    ...over,
    takenAtMs,
  }
}

/** A correction by a scale, before meals and at bedtime; the figures are invented. */
export function anOrder(over: Partial<InsulinOrder> = {}): InsulinOrder {
  return {
    insulin: 'insulin lispro',
    concentration: 'U-100',
    route: 'subcutaneous',
    unit: 'mg/dL',
    occasions: ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'],
    correction: {
      kind: 'scale',
      scale: {
        unit: 'mg/dL',
        steps: [
          { atLeast: 150, answer: 2, also: null },
          { atLeast: 200, answer: 4, also: null },
          { atLeast: 351, answer: 'call', also: 'Call the prescriber' },
        ],
      },
    },
    meal: null,
    mealTiming: 'before',
    bedtime: { kind: 'same' },
    scheduled: [],
    rounding: { to: 1, ties: 'down' },
    maxSingleDose: 20,
    correctionIntervalMin: null,
    stackingStopsAtOccasions: false,
    prescriber: 'Dr. Amara Holm',
    received: 'written',
    startsAtMs: NOW - 24 * HOUR,
    stopsAtMs: null,
    ...over,
  }
}

export function someWorking(over: Partial<Working> = {}): Working {
  return {
    rules: 1,
    orderId: idOf('order'),
    orderVersion: 1,
    policyVersion: 1,
    readingId: idOf('reading'),
    glucose: mgPerDl(182),
    occasion: 'before-breakfast',
    terms: [
      {
        part: 'correction-scale',
        atLeast: 150,
        below: 200,
        also: null,
        halved: false,
        amount: { numerator: 2, denominator: 1 },
        held: false,
      },
    ],
    sum: { numerator: 2, denominator: 1 },
    rounding: { to: 1, ties: 'down' },
    units: 2,
    guards: [],
    also: [],
    ...over,
  }
}

export function someInputs(over: Partial<ProposalInputs> = {}): ProposalInputs {
  return {
    nowMs: NOW,
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
    readingTakenAtMs: NOW,
    readingEffective: true,
    newerReadingAtMs: null,
    orderInForce: true,
    orderVerified: true,
    mealAlreadyGiven: false,
    correctionAlreadyGiven: false,
    wardUnit: 'mg/dL',
    ...over,
  }
}

/** 2 units of insulin lispro proposed from the invented reading, waiting for its second check. */
export function aDose(over: Partial<Dose> = {}): Dose {
  return {
    doseId: idOf('dose'),
    stayId: STAY,
    wardId: WARD,
    kind: 'from-reading',
    readingId: idOf('reading'),
    slotKey: null,
    insulin: 'insulin lispro',
    units: 2,
    working: someWorking(),
    inputs: someInputs(),
    proposedById: NURSE,
    proposedAtMs: NOW,
    secondCheckRequired: true,
    answers: [],
    restarts: [],
    product: null,
    outcome: null,
    voided: null,
    ...over,
  }
}

export type Admission = {
  readonly stayId?: string
  readonly wardId?: string
  readonly bed?: string
  readonly wristband?: string
  readonly facts?: BedsideFacts
  readonly atMs?: number
}

/** One invented patient's admission, two days ago unless said otherwise. */
export function anAdmission({
  stayId = STAY,
  wardId = WARD,
  bed = '1',
  wristband = `W-${stayId}`,
  facts = someFacts(),
  atMs = NOW - 48 * HOUR,
}: Admission = {}): LedgerEvent {
  return anEvent(
    'stay-admitted',
    { bed, wristband, familyName: 'Okafor', givenName: 'Ines', bornOn: '1951-07-14', facts },
    { stayId, wardId, happenedAtMs: atMs },
  )
}

/** A ward with its policy. Opened a week ago. */
export function aWardOpened(
  wardId: string = WARD,
  policy: WardPolicy = defaultPolicy('mg/dL', ZONE),
): readonly LedgerEvent[] {
  const head = { wardId, stayId: null, happenedAtMs: NOW - 168 * HOUR }
  return [
    anEvent('ward-opened', { name: `Ward ${wardId}`, beds: ['1', '2', '3', '4', '5', '6', '7', '8'] }, head),
    anEvent('policy-set', { version: 1, policy }, head),
  ]
}

export function aPersonAdded(
  staffId: string = NURSE,
  role: Role = 'floor-nurse',
  wardIds: readonly string[] = [WARD],
): LedgerEvent {
  return anEvent(
    'staff-added',
    { staffId, badge: `B-${staffId}`, name: `Nurse ${staffId}`, role, wardIds },
    { wardId: null, stayId: null, happenedAtMs: NOW - 168 * HOUR },
  )
}

/** Ward, two nurses, a meter with its control done, a strip lot and one patient with an AC & HS plan. */
export function aSmallWard(): readonly LedgerEvent[] {
  const dayAgo = { happenedAtMs: NOW - 24 * HOUR, stayId: null }
  return [
    ...aWardOpened(),
    aPersonAdded(),
    aPersonAdded(SECOND_NURSE),
    anEvent('meter-added', { meterId: idOf('meter'), serial: 'M-1', unit: 'mg/dL' }, dayAgo),
    anEvent('meter-controlled', { meterId: idOf('meter'), passed: true }, { stayId: null, happenedAtMs: NOW - HOUR }),
    anEvent('strip-lot-added', { lot: 'LOT-1', expiresOn: '2027-01-31' }, dayAgo),
    anAdmission(),
    anEvent('plan-set', { version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null }, { happenedAtMs: NOW - 48 * HOUR }),
  ]
}

/** The invented order, written by one nurse and verified by the other. */
export function anOrderInForce(
  order: InsulinOrder = anOrder(),
  orderId: string = idOf('order'),
): readonly LedgerEvent[] {
  return [
    anEvent('order-written', { orderId, version: 1, order }, { happenedAtMs: NOW - 24 * HOUR }),
    anEvent('order-verified', { orderId, version: 1 }, { happenedAtMs: NOW - 23 * HOUR, actorId: SECOND_NURSE }),
  ]
}
