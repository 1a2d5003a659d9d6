/** The wards of a replay as load files: staff, orders and each log's stay. */
import { LOAD_FORMAT, type LoadFileInput } from '../../server/load/schema.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import { addDays } from '../../shared/time/zone.ts'
import type { ParsedLog } from './log.ts'
import type { PrintedRow } from './table.ts'

/** One data set, ready to be replayed through the service. */
export type ReplaySet = {
  readonly name: string
  readonly unit: GlucoseUnit
  readonly zone: string
  readonly log: ParsedLog
  /** The ordered scale, with which every dose is compared. */
  readonly rows: readonly PrintedRow[]
}

/** Two accounts: one measures, works out and gives; the other checks and signs. */
export const FIRST = { badge: 'R1001', pin: '281746', name: 'First nurse of the replay' }
export const SECOND = { badge: 'R1002', pin: '649305', name: 'Second nurse of the replay' }
export const INSULIN = 'insulin glulisine'
export const STRIP_LOT = 'REPLAY-1'
export const STRIPS_LAST_DAY = '2049-12-31'
/** Invented control ranges of the lot, and a value in the middle of each. */
export const CONTROL = {
  'mg/dL': { level1: { from: '36', to: '54', shows: '45' }, level2: { from: '100', to: '140', shows: '120' } },
  'mmol/L': { level1: { from: '2.0', to: '3.0', shows: '2.5' }, level2: { from: '5.6', to: '7.8', shows: '6.7' } },
} as const
const BEDS_A_WARD = 40

/**
 * Outpatients eat at any time, so a check of the replay's wards is open for longer than on a ward. Trays come at the
 * slots that the donor gave to paper records. The windows decide only which planned check a value belongs to.
 */
export const TIMES = { breakfast: '08:00', lunch: '12:00', supper: '18:00', bedtime: '22:00' } as const
export const BEFORE_MEAL = { opensBefore: 150, dueBefore: 30, lateAfter: 0, closesAfter: 120 } as const
export const AT_BEDTIME = { opensBefore: 90, dueBefore: 0, lateAfter: 30, closesAfter: 110 } as const

export function stayNames(set: ReplaySet): readonly string[] {
  return [...new Set(set.log.entries.map(({ stay }) => stay))].sort()
}

export function wardName(set: ReplaySet, stay: string): string {
  return `Replay ${String(Math.floor(stayNames(set).indexOf(stay) / BEDS_A_WARD) + 1)}`
}

export function wristbandOf(stay: string): string {
  return `LOG-${stay.replace(/[^A-Za-z0-9]/g, '-')}`
}

/** The wards and the two nurses. */
export function houseFile(set: ReplaySet): LoadFileInput {
  const names = [...new Set(stayNames(set).map((stay) => wardName(set, stay)))]
  return {
    format: LOAD_FORMAT,
    wards: names.map((name) => ({
      name,
      unit: set.unit,
      zone: set.zone,
      beds: Array.from({ length: BEDS_A_WARD }, (_, index) => String(index + 1)),
      policy: {
        mealTimes: { breakfast: TIMES.breakfast, lunch: TIMES.lunch, supper: TIMES.supper },
        bedtime: TIMES.bedtime,
        windows: { beforeMeal: { ...BEFORE_MEAL }, bedtime: { ...AT_BEDTIME } },
      },
    })),
    staff: [FIRST, SECOND].map((nurse) => ({ ...nurse, role: 'floor-nurse' as const, wards: names })),
    meters: names.map((ward, index) => ({ ward, serial: `RM-${String(index + 1)}` })),
    stripLots: names.map((ward) => ({ ward, lot: STRIP_LOT, expiresOn: STRIPS_LAST_DAY })),
  }
}

/**
 * One log's stay, admitted the day before its first value: AC & HS plan, the supplemental scale ordered as printed.
 * The sets have no birth dates or names; the log's own number is used instead.
 */
export function stayFile(set: ReplaySet, stay: string, firstDate: string): LoadFileInput {
  const admitted = addDays(firstDate, -1)
  return {
    format: LOAD_FORMAT,
    stays: [
      {
        ward: wardName(set, stay),
        bed: String((stayNames(set).indexOf(stay) % BEDS_A_WARD) + 1),
        wristband: wristbandOf(stay),
        familyName: 'Log',
        givenName: stay,
        bornOn: '1950-01-01',
        admittedAt: `${admitted}T12:00`,
        facts: {
          diabetes: 'other',
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
        plan: { kind: 'ac-and-hs' },
        orders: [
          {
            insulin: INSULIN,
            concentration: 'U-100',
            route: 'subcutaneous',
            occasions: ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'],
            correction: { kind: 'scale', rows: set.rows.map(({ from, to, units }) => ({ from, to, answer: units })) },
            meal: null,
            mealTiming: 'before',
            bedtime: { kind: 'same' },
            scheduled: [],
            rounding: { to: 1, ties: 'down' },
            maxSingleDose: 20,
            correctionIntervalMin: null,
            stackingStopsAtOccasions: false,
            prescriber: 'Dr. R. Replay',
            received: 'written',
            writtenAt: `${admitted}T12:05`,
            startsAt: `${admitted}T12:05`,
            stopsAt: null,
            transcribedBy: FIRST.badge,
            verified: { by: SECOND.badge, at: `${admitted}T12:10` },
          },
        ],
      },
    ],
  }
}
