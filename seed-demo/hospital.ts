/**
 * The invented hospital as load files, each with the time at which it is loaded. A real ward is set up the same way.
 */
import { LOAD_FORMAT, type LoadFileInput } from '../server/load/schema.ts'
import { addDays, localDateTime, localToUtc } from '../shared/time/zone.ts'
import { EAST_PATIENTS } from './east.ts'
import { GONE_PATIENTS } from './gone.ts'
import type { DemoOrder } from './orders.ts'
import type { DemoPatient } from './patients.ts'
import { EAST, METERS, NURSES, PEOPLE, WEST, ZONE } from './people.ts'
import { WEST_PATIENTS } from './west.ts'
import { MINUTE_MS } from '../shared/time/span.ts'

/** The wards open this many days before the demo's morning. */
export const DAYS_OF_HISTORY = 7
export const PATIENTS: readonly DemoPatient[] = [...EAST_PATIENTS, ...WEST_PATIENTS, ...GONE_PATIENTS]

/** Both wards have signed standing orders for the low protocol, so that the demo shows amounts. */
const SIGNED = { dextrose: true, glucagon: true }

export type Stage = { readonly atMs: number; readonly file: LoadFileInput }

/** When the wards open. Nothing in the demo is earlier. `today` is the ward-local date of the demo's morning. */
export function opensAtMs(today: string): number {
  return localToUtc(addDays(today, -DAYS_OF_HISTORY), '06:00', ZONE)
}

/** Everything to load, in order of time: first the hospital, then each patient with the orders. */
export function stages(today: string): readonly Stage[] {
  const arrivals = PATIENTS.map((patient) => arrival(patient, today)).sort((a, b) => a.atMs - b.atMs)
  return [{ atMs: opensAtMs(today), file: house(today) }, ...arrivals]
}

function house(today: string): LoadFileInput {
  return {
    format: LOAD_FORMAT,
    wards: [
      { name: EAST, unit: 'mg/dL', zone: ZONE, beds: numbered(1, 18), policy: { low: { standingOrders: SIGNED } } },
      {
        name: WEST,
        unit: 'mmol/L',
        zone: ZONE,
        beds: numbered(21, 30),
        policy: { mealTimes: { breakfast: '08:10', lunch: '12:30', supper: '17:45' }, low: { standingOrders: SIGNED } },
      },
    ],
    staff: PEOPLE.map((person) => ({ ...person, wards: [...person.wards] })),
    meters: METERS.map(({ ward, serial }) => ({ ward, serial })),
    stripLots: [
      { ward: EAST, lot: 'TS-5521', expiresOn: addDays(today, 210) },
      { ward: WEST, lot: 'TS-7310', expiresOn: addDays(today, 150) },
    ],
  }
}

function numbered(first: number, last: number): string[] {
  return Array.from({ length: last - first + 1 }, (_, index) => String(first + index))
}

/** Admission, first assessment, then orders copied from paper and compared by a second nurse: 40 minutes in all. */
function arrival(patient: DemoPatient, today: string): Stage {
  const date = addDays(today, -patient.daysAgo)
  // no admission before the ward opens
  const admittedAtMs = Math.max(localToUtc(date, patient.at, ZONE), opensAtMs(today) + 5 * MINUTE_MS)
  const after = (minutes: number): string => localDateTime(admittedAtMs + minutes * MINUTE_MS, ZONE)
  const [transcriber = '', verifier = ''] = NURSES[patient.ward] ?? []
  const written = (order: DemoOrder, isVerified: boolean) => ({
    ...order,
    writtenAt: after(20),
    startsAt: after(20),
    stopsAt: null,
    transcribedBy: transcriber,
    verified: isVerified ? { by: verifier, at: after(35) } : null,
  })
  const nil = patient.nilByMouth
  return {
    atMs: admittedAtMs + 40 * MINUTE_MS,
    file: {
      format: LOAD_FORMAT,
      stays: [
        {
          ward: patient.ward,
          bed: patient.bed,
          wristband: patient.wristband,
          familyName: patient.familyName,
          givenName: patient.givenName,
          bornOn: patient.bornOn,
          admittedAt: after(0),
          facts: {
            ...patient.facts,
            nilByMouth: nil === null ? null : { from: `${addDays(today, -nil.daysAgo)}T${nil.at}`, until: null },
          },
          plan: patient.plan,
          orders: [
            ...patient.orders.map((order) => written(order, true)),
            ...patient.unverified.map((order) => written(order, false)),
          ],
        },
      ],
    },
  }
}
