/** The load file of an invented full ward, as a real ward starts. */
import { LOAD_FORMAT, type LoadFileInput } from '../../server/load/schema.ts'

type StayInput = NonNullable<LoadFileInput['stays']>[number]
type OrderInput = StayInput['orders'][number]

export const WARD = 'Ward 4 East'
export const ZONE = 'America/Chicago'
export const PIN = '246813'

export const PEOPLE = {
  first: { badge: 'N-1001', name: 'Rosa Lind' },
  charge: { badge: 'C-2001', name: 'Ines Duarte' },
} as const

export const FACTS: StayInput['facts'] = {
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
}

/** A verified correction scale before meals; an invented order of the usual form. */
export const ORDER: OrderInput = {
  insulin: 'insulin lispro',
  concentration: 'U-100',
  route: 'subcutaneous',
  occasions: ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'],
  correction: {
    kind: 'scale',
    rows: [
      { from: '', to: '150', answer: 0 },
      { from: '151', to: '200', answer: 2 },
      { from: '201', to: '250', answer: 4 },
      { from: '251', to: '300', answer: 6 },
      { from: '301', to: '350', answer: 8 },
      { from: '351', to: '', answer: 10, instruction: 'Call the prescriber' },
    ],
  },
  meal: null,
  mealTiming: 'before',
  bedtime: { kind: 'half' },
  scheduled: [],
  rounding: { to: 1, ties: 'down' },
  maxSingleDose: 14,
  correctionIntervalMin: null,
  stackingStopsAtOccasions: false,
  prescriber: 'Dr. Vera Kim',
  received: 'written',
  writtenAt: '2026-03-08T09:00',
  startsAt: '2026-03-08T09:00',
  stopsAt: null,
  transcribedBy: PEOPLE.first.badge,
  verified: { by: PEOPLE.charge.badge, at: '2026-03-08T10:00' },
}

const FAMILY_NAMES = [
  'Ashby',
  'Brandt',
  'Calder',
  'Dunne',
  'Ekström',
  'Farrow',
  'Galt',
  'Hollis',
  'Iversen',
  'Jardine',
  'Kostas',
  'Lund',
]
const GIVEN_NAMES = ['Ruth', 'Tomas', 'Ines', 'Yusuf', 'Maud', 'Leo', 'Gwen', 'Ivor', 'Nadia', 'Piet', 'Oda']

export const METERS = { usable: 'MTR-0007', notControlled: 'MTR-0008' } as const

/** "1" to "40". */
export function bedNumbers(count: number): readonly string[] {
  return Array.from({ length: count }, (_, index) => String(index + 1))
}

/** The wristband number of the patient in a bed. */
export function wristbandOf(bed: string): string {
  return `W-55${bed.padStart(2, '0')}1`
}

/** A ward with a patient in every bed: some with an order, some with hands to spare, some in isolation. */
export function fullWard(beds: number): LoadFileInput {
  const wards = [WARD]
  return {
    format: LOAD_FORMAT,
    wards: [{ name: WARD, unit: 'mg/dL', zone: ZONE, beds: [...bedNumbers(beds)] }],
    staff: [
      { ...PEOPLE.first, role: 'floor-nurse', wards, pin: PIN },
      { ...PEOPLE.charge, role: 'charge-nurse', wards, pin: PIN },
    ],
    meters: [
      { ward: WARD, serial: METERS.usable, controlsPassedAt: '2026-03-10T06:00' },
      { ward: WARD, serial: METERS.notControlled },
    ],
    stripLots: [{ ward: WARD, lot: 'LOT-22A', expiresOn: '2026-12-31' }],
    stays: bedNumbers(beds).map((bed, index): StayInput => ({
      ward: WARD,
      bed,
      wristband: wristbandOf(bed),
      familyName: FAMILY_NAMES[index % FAMILY_NAMES.length] ?? '–',
      givenName: GIVEN_NAMES[index % GIVEN_NAMES.length] ?? '–',
      bornOn: `19${String(30 + (index % 60)).padStart(2, '0')}-0${1 + (index % 9)}-1${index % 9}`,
      admittedAt: '2026-03-07T15:00',
      facts: {
        ...FACTS,
        isolation: index % 7 === 0 ? 'contact' : 'none',
        restrictedHands: index % 5 === 0 ? [{ hand: 'right', reason: 'drip' }] : [],
        onSteroid: index % 6 === 0,
      },
      plan: { kind: index % 10 === 9 ? 'every-6-h' : 'ac-and-hs' },
      orders: index % 2 === 0 ? [ORDER] : [],
    })),
  }
}
