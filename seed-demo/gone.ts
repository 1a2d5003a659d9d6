/**
 * Patients who went home earlier in the week from beds that are empty now. They fill the pages about ended stays. One
 * had a severe low, one had values above 300 mg/dL. All are invented.
 */
import { sensitiveScale, sensitiveScaleMmol, usualScale, usualScaleMmol } from './orders.ts'
import { patientOn, type DemoPatient } from './patients.ts'
import { EAST, WEST } from './people.ts'

const [east, west] = [patientOn(EAST), patientOn(WEST)]

export const GONE_PATIENTS: readonly DemoPatient[] = [
  east({
    bed: '16',
    familyName: 'Rasmussen',
    givenName: 'Bodil',
    bornOn: '1948-02-20',
    wristband: 'TW100441',
    daysAgo: 7,
    at: '10:15',
    left: { daysAgo: 4, at: '10:30' },
    facts: { renalImpairment: true },
    severeLow: { daysAgo: 5, at: '14:40' },
    orders: [sensitiveScale],
    glucosePattern: { mean: 176, swing: 35, lowsAWeek: 0 },
  }),
  east({
    bed: '16',
    familyName: 'Adeyemi',
    givenName: 'Folake',
    bornOn: '1957-08-03',
    wristband: 'TW100552',
    daysAgo: 3,
    at: '12:10',
    left: { daysAgo: 1, at: '15:00' },
    facts: { onSteroid: true },
    orders: [usualScale],
    glucosePattern: { mean: 296, swing: 45, lowsAWeek: 0 },
  }),
  west({
    bed: '24',
    familyName: 'Thorvald',
    givenName: 'Einar',
    bornOn: '1952-11-30',
    wristband: 'TW200102',
    daysAgo: 7,
    at: '12:20',
    left: { daysAgo: 3, at: '10:40' },
    orders: [sensitiveScaleMmol],
    glucosePattern: { mean: 152, swing: 30, lowsAWeek: 0 },
  }),
  west({
    bed: '30',
    familyName: 'Quintero',
    givenName: 'Marisol',
    bornOn: '1964-01-09',
    wristband: 'TW200121',
    daysAgo: 5,
    at: '16:10',
    left: { daysAgo: 2, at: '10:50' },
    orders: [usualScaleMmol],
    glucosePattern: { mean: 158, swing: 30, lowsAWeek: 0 },
  }),
]
