/** Two small invented wards as ledger events, for the HTTP tests. */
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import type { CheckPlan } from '../../shared/check/check.ts'
import type { InsulinOrder, Scale } from '../../shared/order/order.ts'
import type { BedsideFacts } from '../../shared/stay/stay.ts'
import { localToUtc, wardDate } from '../../shared/time/zone.ts'
import { ALDER, BIRCH, people } from './people.ts'

export const ALDER_ZONE = 'America/Chicago'
export const BIRCH_ZONE = 'Europe/London'

export type TestStay = {
  readonly stayId: string
  readonly wardId: string
  readonly bed: string
  readonly wristband: string
  readonly familyName: string
  readonly givenName: string
  readonly bornOn: string
  readonly orderId: string
}

const stay = (
  wardId: string,
  bed: string,
  wristband: string,
  familyName: string,
  givenName: string,
  bornOn: string,
): TestStay => ({
  stayId: `stay${wristband.toLowerCase()}`.padEnd(16, '0').slice(0, 16),
  wardId,
  bed,
  wristband,
  familyName,
  givenName,
  bornOn,
  orderId: `order${wristband.toLowerCase()}`.padEnd(16, '0').slice(0, 16),
})

/** The patients and their particular facts. */
export const stays = {
  /** Alder bed 1: AC & HS, correction by scale, verified */
  ruth: stay(ALDER, '1', 'W7301', 'Ashby', 'Ruth', '1948-02-17'),
  /** Alder bed 2: AC & HS, no insulin order */
  tomas: stay(ALDER, '2', 'W7302', 'Brandt', 'Tomas', '1961-09-03'),
  /** Alder bed 3: type 1, AC & HS, scale with a fixed meal part, verified */
  ines: stay(ALDER, '3', 'W7303', 'Calder', 'Ines', '1990-12-30'),
  /** Alder bed 4: left hand restricted, order not yet verified */
  yusuf: stay(ALDER, '4', 'W7304', 'Dunne', 'Yusuf', '1955-06-21'),
  /** Alder bed 5: nil by mouth, every 6 h, scale, verified */
  maud: stay(ALDER, '5', 'W7305', 'Ekström', 'Maud', '1937-04-08'),
  /** Alder bed 6: AC & HS, insulin glargine at 21:00 and nothing else */
  leo: stay(ALDER, '6', 'W7306', "O'Farrell", 'Leo', '1972-11-11'),
  /** Birch bed A: AC & HS, scale in tenths, verified */
  gwen: stay(BIRCH, 'A', 'W8801', 'Farrow', 'Gwen', '1950-01-25'),
  /** Birch bed B: before meals, no insulin order */
  ivor: stay(BIRCH, 'B', 'W8802', 'Galt', 'Ivor', '1968-07-14'),
} as const

export const meters = {
  /** Alder, control passed today */
  alder: { meterId: 'meteralder000001', serial: 'M-4401', wardId: ALDER },
  /** Alder, no control today */
  alderNoControl: { meterId: 'meteralder000002', serial: 'M-4402', wardId: ALDER },
  /** Birch, control passed today */
  birch: { meterId: 'meterbirch000001', serial: 'M-8801', wardId: BIRCH },
} as const

export const lots = { good: 'L5520', expired: 'L4410', birch: 'L8820' } as const

const FACTS: BedsideFacts = {
  diabetes: 'type-2',
  swallowsSafely: true,
  nilByMouth: null,
  feeding: 'oral',
  ivAccess: true,
  restrictedHands: [],
  isolation: 'none',
  renalImpairment: false,
  onSteroid: false,
  otherGlucoseLowering: [],
  weightKg: 78,
}

/** Invented for these tests. mg/dL: 2 units from 151, 4 from 201, 6 from 251, 8 from 301, 10 from 351, call from 401. */
export const ALDER_SCALE: Scale = {
  unit: 'mg/dL',
  steps: [
    { atLeast: 151, answer: 2, also: null },
    { atLeast: 201, answer: 4, also: null },
    { atLeast: 251, answer: 6, also: null },
    { atLeast: 301, answer: 8, also: null },
    { atLeast: 351, answer: 10, also: 'Repeat in 2 h' },
    { atLeast: 401, answer: 'call', also: 'Call the prescriber' },
  ],
}
/** Tenths of mmol/L: 2 units from 8.4, 4 from 11.2, 6 from 13.9, 8 from 16.7, call from 22.2. */
export const BIRCH_SCALE: Scale = {
  unit: 'mmol/L',
  steps: [
    { atLeast: 84, answer: 2, also: null },
    { atLeast: 112, answer: 4, also: null },
    { atLeast: 139, answer: 6, also: null },
    { atLeast: 167, answer: 8, also: null },
    { atLeast: 222, answer: 'call', also: 'Call the prescriber' },
  ],
}

/** A plain scale order; the given parts replace its own. */
export function scaleOrder(scale: Scale, startsAtMs: number, parts: Partial<InsulinOrder> = {}): InsulinOrder {
  return {
    insulin: 'insulin lispro',
    concentration: 'U-100',
    route: 'subcutaneous',
    unit: scale.unit,
    occasions: ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'],
    correction: { kind: 'scale', scale },
    meal: null,
    mealTiming: 'before',
    bedtime: { kind: 'same' },
    scheduled: [],
    rounding: { to: 1, ties: 'down' },
    maxSingleDose: 16,
    correctionIntervalMin: null,
    stackingStopsAtOccasions: false,
    prescriber: 'Dr Sanna Weir',
    received: 'written',
    startsAtMs,
    stopsAtMs: null,
    ...parts,
  }
}

export type SeedOptions = {
  readonly atMs: number
  readonly alderPolicy?: Partial<WardPolicy>
  readonly birchPolicy?: Partial<WardPolicy>
}

/** The events of both wards, in order: all charted a day before `atMs`, today's meter controls on the day itself. */
export function seedEvents({ atMs, alderPolicy = {}, birchPolicy = {} }: SeedOptions): readonly LedgerEvent[] {
  const startMs = atMs - 26 * 3_600_000
  const event = <T extends EventType>(
    type: T,
    wardId: string | null,
    stayId: string | null,
    body: EventBodies[T],
    at = startMs,
    actorId = 'loader',
  ): LedgerEvent => ({ type, wardId, stayId, actorId, happenedAtMs: at, chartedAtMs: at, body }) as LedgerEvent
  const admit = (
    who: TestStay,
    facts: Partial<BedsideFacts>,
    plan: CheckPlan,
    order: InsulinOrder | null,
    verified: boolean,
  ): LedgerEvent[] => [
    event('stay-admitted', who.wardId, who.stayId, {
      bed: who.bed,
      wristband: who.wristband,
      familyName: who.familyName,
      givenName: who.givenName,
      bornOn: who.bornOn,
      facts: { ...FACTS, ...facts },
    }),
    event('plan-set', who.wardId, who.stayId, { version: 1, plan, untilMs: null }),
    ...(order === null
      ? []
      : [
          event(
            'order-written',
            who.wardId,
            who.stayId,
            { orderId: who.orderId, version: 1, order },
            startMs,
            who.wardId === ALDER ? people.nora.staffId : people.bo.staffId,
          ),
        ]),
    ...(verified
      ? [
          event(
            'order-verified',
            who.wardId,
            who.stayId,
            { orderId: who.orderId, version: 1 },
            startMs,
            who.wardId === ALDER ? people.cora.staffId : people.carl.staffId,
          ),
        ]
      : []),
  ]
  const alderOrder = (parts: Partial<InsulinOrder> = {}): InsulinOrder => scaleOrder(ALDER_SCALE, startMs, parts)
  const today = (zone: string): string => wardDate(atMs, zone)
  const midnight = (zone: string): number => localToUtc(today(zone), '00:00', zone)
  const acHs: CheckPlan = { kind: 'ac-and-hs' }
  return [
    event('ward-opened', ALDER, null, { name: 'Alder', beds: ['1', '2', '3', '4', '5', '6', '7', '8'] }),
    event('policy-set', ALDER, null, { version: 1, policy: { ...defaultPolicy('mg/dL', ALDER_ZONE), ...alderPolicy } }),
    event('ward-opened', BIRCH, null, { name: 'Birch', beds: ['A', 'B', 'C', 'D'] }),
    event('policy-set', BIRCH, null, {
      version: 1,
      policy: { ...defaultPolicy('mmol/L', BIRCH_ZONE), ...birchPolicy },
    }),
    ...Object.values(people).map(({ staffId, badge, name, role, wardIds }) =>
      event('staff-added', null, null, { staffId, badge, name, role, wardIds }),
    ),
    ...Object.values(meters).map(({ meterId, serial, wardId }) =>
      event('meter-added', wardId, null, { meterId, serial, unit: wardId === ALDER ? 'mg/dL' : 'mmol/L' }),
    ),
    event('strip-lot-added', ALDER, null, { lot: lots.good, expiresOn: '2099-12-31' }),
    event('strip-lot-added', ALDER, null, { lot: lots.expired, expiresOn: '2020-01-31' }),
    event('strip-lot-added', BIRCH, null, { lot: lots.birch, expiresOn: '2099-12-31' }),
    ...admit(stays.ruth, {}, acHs, alderOrder(), true),
    ...admit(stays.tomas, {}, acHs, null, false),
    ...admit(
      stays.ines,
      { diabetes: 'type-1' },
      acHs,
      alderOrder({ meal: { kind: 'fixed', units: { 'before-breakfast': 4, 'before-lunch': 5, 'before-supper': 5 } } }),
      true,
    ),
    ...admit(stays.yusuf, { restrictedHands: [{ hand: 'left', reason: 'drip' }] }, acHs, alderOrder(), false),
    ...admit(
      stays.maud,
      { nilByMouth: { fromMs: startMs, untilMs: null } },
      { kind: 'every-6-h' },
      alderOrder({ occasions: ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime', 'overnight'] }),
      true,
    ),
    ...admit(
      stays.leo,
      {},
      acHs,
      alderOrder({
        insulin: 'insulin glargine',
        correction: null,
        occasions: [],
        scheduled: [{ time: '21:00', units: 18, holdBelow: null }],
        maxSingleDose: 30,
      }),
      true,
    ),
    ...admit(stays.gwen, {}, acHs, scaleOrder(BIRCH_SCALE, startMs), true),
    ...admit(stays.ivor, {}, { kind: 'before-meals' }, null, false),
    event(
      'meter-controlled',
      ALDER,
      null,
      { meterId: meters.alder.meterId, passed: true },
      midnight(ALDER_ZONE),
      people.cora.staffId,
    ),
    event(
      'meter-controlled',
      BIRCH,
      null,
      { meterId: meters.birch.meterId, passed: true },
      midnight(BIRCH_ZONE),
      people.carl.staffId,
    ),
  ].sort((a, b) => a.chartedAtMs - b.chartedAtMs)
}
