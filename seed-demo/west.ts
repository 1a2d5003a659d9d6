/** The patients of Tidewick West 2, which counts in mmol/L. All invented. Beds 24 and 30 are empty. */
import { factorAndRatioMmol, longActing, sensitiveScaleMmol, usualScaleMmol } from './orders.ts'
import { patientOn, type DemoPatient } from './patients.ts'
import { WEST } from './people.ts'

const patient = patientOn(WEST)

export const WEST_PATIENTS: readonly DemoPatient[] = [
  patient({ bed: '21', familyName: 'Pemberley', givenName: 'Agnes', bornOn: '1944-05-16', wristband: 'TW200118', daysAgo: 6, at: '11:40', orders: [usualScaleMmol], tendency: { mean: 170, swing: 50, lowsAWeek: 0 } }),
  patient({ bed: '22', familyName: 'Ogunbanjo', givenName: 'Tunde', bornOn: '1986-10-20', wristband: 'TW200125', daysAgo: 5, at: '15:05', facts: { diabetes: 'type-1', weightKg: 70 }, orders: [factorAndRatioMmol, longActing('21:30', 18, '5.5')], tendency: { mean: 152, swing: 65, lowsAWeek: 3 } }),
  patient({ bed: '23', familyName: 'Mackelvie', givenName: 'Isla', bornOn: '1950-12-01', wristband: 'TW200131', daysAgo: 4, at: '09:15', facts: { restrictedHands: [{ hand: 'left', reason: 'lymph-node-surgery' }] }, orders: [sensitiveScaleMmol], tendency: { mean: 149, swing: 40, lowsAWeek: 2 } }),
  patient({ bed: '25', familyName: 'Haddadi', givenName: 'Yusuf', bornOn: '1961-03-28', wristband: 'TW200109', daysAgo: 7, at: '13:30', facts: { renalImpairment: true, isolation: 'contact' }, orders: [sensitiveScaleMmol], tendency: { mean: 160, swing: 45, lowsAWeek: 0 } }),
  patient({ bed: '26', familyName: 'Brandvold', givenName: 'Kari', bornOn: '1970-08-08', wristband: 'TW200140', daysAgo: 2, at: '17:45', facts: { onSteroid: true }, orders: [usualScaleMmol], tendency: { mean: 215, swing: 60, lowsAWeek: 0 } }),
  patient({ bed: '27', familyName: 'Szymanek', givenName: 'Lech', bornOn: '1947-02-14', wristband: 'TW200144', daysAgo: 1, at: '10:30', nilByMouth: { daysAgo: 0, at: '00:00' }, plan: { kind: 'every-6-h' }, tendency: { mean: 148, swing: 30, lowsAWeek: 0 } }),
  patient({ bed: '28', familyName: 'Delacroix-Ndiaye', givenName: 'Fatou', bornOn: '1979-06-18', wristband: 'TW200136', daysAgo: 3, at: '12:00', facts: { otherGlucoseLowering: ['metformin', 'empagliflozin'] }, plan: { kind: 'before-meals' }, orders: [usualScaleMmol], tendency: { mean: 166, swing: 45, lowsAWeek: 0 } }),
  patient({ bed: '29', familyName: 'Vasquez-Thorne', givenName: 'Elena', bornOn: '1993-11-11', wristband: 'TW200147', daysAgo: 0, at: '05:20', facts: { diabetes: 'type-1' }, unverified: [usualScaleMmol], tendency: { mean: 196, swing: 50, lowsAWeek: 0 } }),
]
