/** An invented ward for the faults: as many beds and nurses as a part needs, every patient with a verified order. */
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { EventBodies, EventType, LedgerEvent, Role } from '../../shared/ledger/events.ts'
import { localToUtc, wardDate } from '../../shared/time/zone.ts'
import { ALDER_SCALE, scaleOrder } from '../support/wards.ts'

export const ZONE = 'America/Chicago'
export const WARD = 'wardrowan0000001'
export const METER = 'meterrowan000001'
export const LOT = 'L7001'
/** One PIN for all, so that one hash is enough. */
export const PIN = '385027'

const numbered = (kind: string, number: number): string => `${kind}${String(number).padStart(16 - kind.length, '0')}`

export type Patient = { readonly stayId: string; readonly bed: string; readonly wristband: string }

/** The patient of bed `number`, from 1. */
export function patientOf(number: number): Patient {
  return { stayId: numbered('stayrowan', number), bed: String(number), wristband: `W${String(6000 + number)}` }
}

export const badgeOf = (number: number): string => `F${String(1000 + number)}`
export const staffIdOf = (number: number): string => numbered('staffrowan', number)

const FACTS = {
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
  weightKg: 80,
} as const

/** The instant of a time on the ward, "2026-03-10T07:20". */
export function wardInstant(local: string): number {
  const [date = '', time = ''] = local.split('T')
  return localToUtc(date, time, ZONE)
}

export type WardOf = {
  readonly beds: number
  readonly nurses: number
  /** by number; the others are floor nurses, and the first a charge nurse unless said otherwise */ readonly roles?: Readonly<
    Record<number, Role>
  >
}

/** The events for an empty database: charted a day before `atMs`, the meter's control today. */
export function wardEvents({
  atMs,
  beds,
  nurses,
  roles = { 1: 'charge-nurse' },
}: WardOf & { readonly atMs: number }): readonly LedgerEvent[] {
  const startMs = atMs - 26 * 3_600_000
  const event = <T extends EventType>(
    type: T,
    wardId: string | null,
    stayId: string | null,
    body: EventBodies[T],
    at = startMs,
    actorId = 'loader',
  ): LedgerEvent => ({ type, wardId, stayId, actorId, happenedAtMs: at, chartedAtMs: at, body }) as LedgerEvent
  const numbers = (count: number): readonly number[] => Array.from({ length: count }, (_, at) => at + 1)
  return [
    event('ward-opened', WARD, null, { name: 'Rowan', beds: numbers(beds).map(String) }),
    event('policy-set', WARD, null, { version: 1, policy: defaultPolicy('mg/dL', ZONE) }),
    ...numbers(nurses).map((number) =>
      event('staff-added', null, null, {
        staffId: staffIdOf(number),
        badge: badgeOf(number),
        name: `Nurse ${String(number)}`,
        role: roles[number] ?? 'floor-nurse',
        wardIds: roles[number] === 'administrator' ? [] : [WARD],
      }),
    ),
    event('meter-added', WARD, null, { meterId: METER, serial: 'M-7001', unit: 'mg/dL' }),
    event('strip-lot-added', WARD, null, { lot: LOT, expiresOn: '2099-12-31' }),
    ...numbers(beds).flatMap((number) => {
      const { stayId, bed, wristband } = patientOf(number)
      const orderId = numbered('orderrowan', number)
      return [
        event('stay-admitted', WARD, stayId, {
          bed,
          wristband,
          familyName: `Rowan ${String(number)}`,
          givenName: 'Kit',
          bornOn: '1950-05-05',
          facts: FACTS,
        }),
        event('plan-set', WARD, stayId, { version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null }),
        event(
          'order-written',
          WARD,
          stayId,
          { orderId, version: 1, order: scaleOrder(ALDER_SCALE, startMs) },
          startMs,
          staffIdOf(1),
        ),
        event('order-verified', WARD, stayId, { orderId, version: 1 }, startMs, staffIdOf(2)),
      ]
    }),
    controlPassed(localToUtc(wardDate(atMs, ZONE), '00:00', ZONE)),
  ]
}

/** The charge nurse has run the controls of the ward's meter. */
export function controlPassed(atMs: number): LedgerEvent {
  return {
    type: 'meter-controlled',
    wardId: WARD,
    stayId: null,
    actorId: staffIdOf(1),
    happenedAtMs: atMs,
    chartedAtMs: atMs,
    body: { meterId: METER, passed: true },
  }
}
