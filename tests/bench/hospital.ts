/**
 * An invented hospital as a database file: 25 wards of 40 beds, every bed taken, about six readings for each bed and
 * day. People, wards and policies are appended as events. The later rows are written straight into the derived
 * tables, by time, because appending a year event by event takes hours. So the file measures reading; its ledger is
 * small and cannot rebuild it. Trays, calls and near misses are left out. The same seed gives the same file.
 */
import Database from 'better-sqlite3'
import { patientDay } from '../../shared/audit/patient-day.ts'
import { MEAN_SCALE } from '../../shared/audit/rates.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import { NOTHING_CHARTED } from '../../shared/low/low.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { DAY_MS, MINUTE_MS } from '../../shared/time/span.ts'
import { addDays, localToUtc } from '../../shared/time/zone.ts'
import { openStore } from '../../server/store/open.ts'
import { hashPin } from '../../server/http/pins.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { anOrder, someFacts, someInputs, someWorking } from '../support/makers.ts'

export const WARDS = 25
export const BEDS = 40
export const ZONE = 'America/Chicago'
/** The day in progress. The last day in the file is the day before. */
export const TODAY = '2026-03-10'
export const PEOPLE = { nurse: { badge: 'BN-1', pin: '482913' }, educator: { badge: 'BE-1', pin: '730284' } } as const

export const wardIdOf = (ward: number): string => `benchward${String(ward).padStart(7, '0')}`
const NURSE_ID = 'benchnurse000001'
const EDUCATOR_ID = 'bencheducator001'

/** Random-looking like real ids, and the same for the same kind and number. */
function idOf(kind: number, number: number): string {
  let state = (Math.imul(number + 1, 2_654_435_761) ^ Math.imul(kind, 974_711)) >>> 0
  let id = ''
  for (let at = 0; at < 2; at++) {
    state = Math.imul(state ^ (state >>> 15), 2_246_822_519) >>> 0
    state = (state ^ (state >>> 13)) >>> 0
    id += state.toString(36).padStart(7, '0')
  }
  // the number itself keeps two ids distinct
  return `${id.slice(0, 10)}${String(kind)}${number.toString(36).padStart(5, '0')}`.slice(0, 16)
}

/** A sequence of numbers from 0 to 1 for one bed and day. */
function chanceOf(seed: number): () => number {
  let state = (seed + 0x9e3779b9) >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296
  }
}

const SLOTS = [
  ['before-breakfast', '07:35'],
  ['before-lunch', '11:50'],
  ['before-supper', '17:10'],
  ['bedtime', '21:25'],
] as const
const EXTRAS = ['02:40', '14:30'] as const

export type Built = {
  readonly readings: number
  readonly doses: number
  readonly lows: number
  readonly stays: number
  readonly seconds: number
}

/** Makes the file, which must not exist. `days` whole days end with yesterday. */
export async function buildHospital(file: string, days: number): Promise<Built> {
  const startedAt = performance.now()
  const firstDate = addDays(TODAY, -days)
  await setUp(file, localToUtc(addDays(firstDate, -20), '12:00', ZONE))
  const db = new Database(file)
  // the service's files use a write-ahead log, which must end before the journal can be turned off
  for (const setting of [
    'journal_mode = DELETE',
    'journal_mode = OFF',
    'locking_mode = EXCLUSIVE',
    'synchronous = OFF',
    'foreign_keys = OFF',
    'ignore_check_constraints = ON',
    'cache_size = -400000',
    'temp_store = MEMORY',
  ])
    db.pragma(setting)
  // indexes are created once, at the end
  const indexes = db
    .prepare(
      "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL AND tbl_name IN ('reading', 'dose', 'low_event', 'patient_day', 'check_outcome', 'stay', 'stay_bed', 'open_item')",
    )
    .all() as { name: string; sql: string }[]
  for (const { name } of indexes) db.exec(`DROP INDEX "${name}"`)
  const counts = { readings: 0, doses: 0, lows: 0, stays: 0 }
  const writer = new Writer(db, counts)
  db.exec('BEGIN')
  for (let day = 0; day < days; day++) writer.day(firstDate, day, days)
  db.exec('COMMIT')
  db.exec(WARD_DAYS)
  for (const { sql } of indexes) db.exec(sql)
  db.close()
  return { ...counts, seconds: Math.round((performance.now() - startedAt) / 1000) }
}

/** No stay of the file is on two wards on one date, so every patient-day belongs to one ward. */
const WARD_DAYS = `INSERT INTO ward_day
  SELECT ward_id, ward_date, unit, sum(readings), sum(numeric), sum(sum), sum(sum_of_squares), sum(below_54), sum(below_70), sum(in_70_to_180), sum(above_180), sum(above_250), sum(above_300), sum(lo), sum(hi), sum(low_risk), sum(high_risk),
    count(*), sum(numeric > 0), sum(CASE WHEN numeric > 0 THEN CAST(round(${String(MEAN_SCALE)}.0 * sum / numeric) AS INTEGER) ELSE 0 END),
    sum(below_54 + lo > 0), sum(below_70 + lo > 0), sum(in_70_to_180 > 0), sum(above_180 + hi > 0), sum(above_250 + hi > 0), sum(above_300 + hi > 0)
  FROM patient_day GROUP BY ward_id, ward_date, unit`

async function setUp(file: string, atMs: number): Promise<void> {
  const store = openStore({ file, headFile: null })
  const wardIds = Array.from({ length: WARDS }, (_, ward) => wardIdOf(ward))
  const event = <T extends EventType>(type: T, wardId: string | null, body: EventBodies[T]): LedgerEvent =>
    ({ type, wardId, stayId: null, actorId: 'loader', happenedAtMs: atMs, chartedAtMs: atMs, body }) as LedgerEvent
  store.transact(() => {
    storeEvents(store, [
      ...wardIds.flatMap((wardId, ward) => [
        event('ward-opened', wardId, {
          name: `Ward ${String(ward + 1)}`,
          beds: Array.from({ length: BEDS }, (_, bed) => String(bed + 1)),
        }),
        event('policy-set', wardId, { version: 1, policy: { ...defaultPolicy('mg/dL', ZONE), idleLockMin: 100_000 } }),
      ]),
      event('staff-added', null, {
        staffId: NURSE_ID,
        badge: PEOPLE.nurse.badge,
        name: 'Bench nurse',
        role: 'floor-nurse',
        wardIds: [wardIdOf(0)],
      }),
      event('staff-added', null, {
        staffId: EDUCATOR_ID,
        badge: PEOPLE.educator.badge,
        name: 'Bench educator',
        role: 'educator',
        wardIds,
      }),
    ])
    return null
  })
  for (const [staffId, { pin }] of [
    [NURSE_ID, PEOPLE.nurse],
    [EDUCATOR_ID, PEOPLE.educator],
  ] as const)
    store.setPinHash(staffId, await hashPin(pin, { memoryKiB: 8, passes: 1, lanes: 1 }))
  store.close()
}

const FACTS = someFacts()
const FACTS_JSON = JSON.stringify(FACTS)
const CHARTED = { ...NOTHING_CHARTED }
const ORDER_JSON = (startsAtMs: number): string => JSON.stringify(anOrder({ startsAtMs }))

class Writer {
  readonly #counts: { readings: number; doses: number; lows: number; stays: number }
  readonly #insert: Readonly<
    Record<
      'stay' | 'stay_bed' | 'facts' | 'plan' | 'order' | 'reading' | 'outcome' | 'day' | 'dose' | 'low',
      Database.Statement
    >
  >
  readonly #discharge: Database.Statement
  readonly #leave: Database.Statement

  constructor(db: Database.Database, counts: { readings: number; doses: number; lows: number; stays: number }) {
    this.#counts = counts
    const into = (table: string, columns: string): Database.Statement =>
      db.prepare(
        `INSERT INTO ${table} (${columns}) VALUES (${columns
          .split(',')
          .map(() => '?')
          .join(', ')})`,
      )
    this.#insert = {
      stay: into(
        'stay',
        'stay_id, ward_id, bed, wristband, family_name, given_name, born_on, admitted_at_ms, discharged_at_ms, on_ward_since_ms, facts',
      ),
      stay_bed: into('stay_bed', 'stay_id, number, ward_id, bed, from_ms, to_ms'),
      facts: into('facts_version', 'stay_id, number, facts, at_ms, by_id'),
      plan: into('plan_version', 'stay_id, version, plan, from_ms, until_ms, overlay'),
      order: into(
        'order_version',
        'order_id, version, stay_id, insulin_order, written_at_ms, transcribed_by, verified_by, verified_at_ms',
      ),
      reading: into(
        'reading',
        'reading_id, stay_id, ward_id, ward_date, check_key, taken_at_ms, charted_at_ms, unit, value, out_of_range, effective, fact',
      ),
      outcome: into('check_outcome', 'check_key, stay_id, kind, reading_id, at_ms'),
      day: into(
        'patient_day',
        'stay_id, ward_id, ward_date, unit, readings, numeric, sum, sum_of_squares, least, most, below_54, below_70, in_70_to_180, above_180, above_250, above_300, lo, hi, low_risk, high_risk, shared',
      ),
      dose: into(
        'dose',
        'dose_id, stay_id, ward_id, kind, reading_id, order_id, insulin, proposed_at_ms, elsewhere_asked, open, awaiting, given_at_ms, fact',
      ),
      low: into(
        'low_event',
        'low_id, stay_id, ward_id, opened_by_reading_id, opened_at_ms, treatments, closed_at_ms, charted',
      ),
    }
    this.#discharge = db.prepare('UPDATE stay SET discharged_at_ms = ? WHERE stay_id = ?')
    this.#leave = db.prepare('UPDATE stay_bed SET to_ms = ? WHERE stay_id = ?')
  }

  /** One day of every bed. Stays follow the calendar, so that a week's file and a year's have the same last week. */
  day(firstDate: string, day: number, days: number): void {
    const date = addDays(firstDate, day)
    const number = Math.round(localToUtc(date, '12:00', 'UTC') / DAY_MS)
    for (let ward = 0; ward < WARDS; ward++) {
      for (let bed = 0; bed < BEDS; bed++)
        this.#bedDay({ ward, bed, date, number, isFirst: day === 0, isLast: day === days - 1 })
    }
  }

  #bedDay({
    ward,
    bed,
    date,
    number,
    isFirst,
    isLast,
  }: {
    readonly ward: number
    readonly bed: number
    readonly date: string
    readonly number: number
    readonly isFirst: boolean
    readonly isLast: boolean
  }): void {
    const place = ward * BEDS + bed
    const length = 4 + (place % 5)
    const turn = number + place * 3
    const stayNumber = Math.floor(turn / length) * 1000 + place
    const stayId = idOf(1, stayNumber)
    const wardId = wardIdOf(ward)
    const begins = turn % length === 0
    const startDate = addDays(date, -(turn % length))
    const admittedAtMs = localToUtc(startDate, '00:30', ZONE)
    const orderId = idOf(2, stayNumber)
    if (begins || isFirst) this.#admit({ stayId, orderId, wardId, bed, place, stayNumber, admittedAtMs })
    const chance = chanceOf(place * 100_003 + number)
    const mean = 4.95 + 0.35 * chanceOf(stayNumber)()
    const readings: Reading[] = []
    const take = (time: string, key: string | null): Reading => {
      const value = valueOf(mean, chance)
      return this.#read({
        readings,
        stayId,
        wardId,
        date,
        takenAtMs: localToUtc(date, time, ZONE) + Math.floor(chance() * 20) * MINUTE_MS,
        value,
        key,
      })
    }
    const taken = [
      take(EXTRAS[0], null),
      ...SLOTS.map(([slot, time]) => take(time, `${stayId}.${date}.${slot}`)),
      take(EXTRAS[1], null),
    ]
    for (const reading of taken) {
      const { value } = reading.glucose
      if (value === 'LO' || (typeof value === 'number' && value < 70)) this.#low(reading, readings, chance)
      else if (reading.checkKey !== null && typeof value === 'number' && value >= 150 && bed % 2 === 0)
        this.#dose(reading, orderId, value)
    }
    const figure = patientDay({ stayId, wardId, wardDate: date, unit: 'mg/dL' }, readings)
    this.#insert.day.run(
      stayId,
      wardId,
      date,
      'mg/dL',
      figure.readings,
      figure.numeric,
      figure.sum,
      figure.sumOfSquares,
      figure.least,
      figure.most,
      figure.below54,
      figure.below70,
      figure.in70to180,
      figure.above180,
      figure.above250,
      figure.above300,
      figure.lo,
      figure.hi,
      figure.lowRisk,
      figure.highRisk,
      0,
    )
    if (turn % length === length - 1 && !isLast) {
      const leftAtMs = localToUtc(date, '23:30', ZONE)
      this.#discharge.run(leftAtMs, stayId)
      this.#leave.run(leftAtMs, stayId)
    }
  }

  #admit({
    stayId,
    orderId,
    wardId,
    bed,
    place,
    stayNumber,
    admittedAtMs,
  }: {
    readonly stayId: string
    readonly orderId: string
    readonly wardId: string
    readonly bed: number
    readonly place: number
    readonly stayNumber: number
    readonly admittedAtMs: number
  }): void {
    this.#counts.stays += 1
    this.#insert.stay.run(
      stayId,
      wardId,
      String(bed + 1),
      `B${String(stayNumber)}`,
      `Bench${String(place)}`,
      'Pat',
      `19${String(30 + (place % 60))}-0${String(1 + (place % 9))}-11`,
      admittedAtMs,
      null,
      admittedAtMs,
      FACTS_JSON,
    )
    this.#insert.stay_bed.run(stayId, 1, wardId, String(bed + 1), admittedAtMs, null)
    this.#insert.facts.run(stayId, 1, FACTS_JSON, admittedAtMs, NURSE_ID)
    this.#insert.plan.run(stayId, 1, '{"kind":"ac-and-hs"}', admittedAtMs, null, 0)
    if (bed % 2 === 0)
      this.#insert.order.run(
        orderId,
        1,
        stayId,
        ORDER_JSON(admittedAtMs),
        admittedAtMs,
        NURSE_ID,
        EDUCATOR_ID,
        admittedAtMs,
      )
  }

  #read({
    readings,
    stayId,
    wardId,
    date,
    takenAtMs,
    value,
    key,
  }: {
    readonly readings: Reading[]
    readonly stayId: string
    readonly wardId: string
    readonly date: string
    readonly takenAtMs: number
    readonly value: number | 'LO' | 'HI'
    readonly key: string | null
  }): Reading {
    const readingId = idOf(3, this.#counts.readings++)
    const reading: Reading = {
      readingId,
      stayId,
      wardId,
      wardDate: date,
      checkKey: key,
      glucose: { unit: 'mg/dL', value },
      source: 'capillary',
      takenAtMs,
      chartedAtMs: takenAtMs + MINUTE_MS,
      byId: NURSE_ID,
      site: { hand: 'left', finger: 'ring' },
      meterId: null,
      stripLot: null,
      doubts: [],
      lateReason: null,
      extraReason: key === null ? 'other' : null,
      supersedes: null,
      supersededBy: null,
      voided: null,
    }
    readings.push(reading)
    this.#insert.reading.run(
      readingId,
      stayId,
      wardId,
      date,
      key,
      takenAtMs,
      reading.chartedAtMs,
      'mg/dL',
      typeof value === 'number' ? value : null,
      typeof value === 'number' ? null : value,
      1,
      JSON.stringify(reading),
    )
    if (key?.startsWith(stayId) === true) this.#insert.outcome.run(key, stayId, 'done', readingId, takenAtMs)
    return reading
  }

  #low(first: Reading, readings: Reading[], chance: () => number): void {
    const lowId = idOf(4, this.#counts.lows++)
    const { stayId, wardId, wardDate: date, takenAtMs } = first
    const charted = (minutes: number) => ({
      atMs: takenAtMs + minutes * MINUTE_MS,
      chartedAtMs: takenAtMs + minutes * MINUTE_MS,
      byId: NURSE_ID,
    })
    const treatedMin = 2 + Math.floor(chance() * 6)
    const recheckMin = treatedMin + 14 + Math.floor(chance() * 5)
    this.#read({
      readings,
      stayId,
      wardId,
      date,
      takenAtMs: takenAtMs + recheckMin * MINUTE_MS,
      value: 78 + Math.floor(chance() * 60),
      key: `low.${lowId}.1`,
    })
    this.#insert.low.run(
      lowId,
      stayId,
      wardId,
      first.readingId,
      takenAtMs,
      JSON.stringify([
        {
          ...charted(treatedMin),
          lowId,
          arm: 'by-mouth',
          amount: { kind: 'grams', grams: 15 },
          what: '',
          directedBy: null,
        },
      ]),
      takenAtMs + 90 * MINUTE_MS,
      JSON.stringify({
        ...CHARTED,
        answers: [{ ...charted(1), swallowing: 'safely', ivWorking: false, tubeUsable: null }],
        prescriberCalls: [{ ...charted(25), told: 'Dr. Bench', ordered: '' }],
        closing: { ...charted(90), cause: 'missed-or-delayed-meal', note: '' },
      }),
    )
  }

  #dose(reading: Reading, orderId: string, value: number): void {
    const doseId = idOf(5, this.#counts.doses++)
    const { stayId, wardId, readingId, takenAtMs } = reading
    const units = value >= 200 ? 4 : 2
    const givenAtMs = takenAtMs + 11 * MINUTE_MS
    const dose: Dose = {
      doseId,
      stayId,
      wardId,
      kind: 'from-reading',
      readingId,
      slotKey: null,
      insulin: 'insulin lispro',
      units,
      working: someWorking({
        orderId,
        readingId,
        glucose: reading.glucose,
        units,
        sum: { numerator: units, denominator: 1 },
      }),
      inputs: someInputs({ nowMs: takenAtMs, readingTakenAtMs: takenAtMs }),
      proposedById: NURSE_ID,
      proposedAtMs: takenAtMs,
      secondCheckRequired: true,
      answers: [{ byId: EDUCATOR_ID, atMs: takenAtMs + 4 * MINUTE_MS, glucose: reading.glucose, units, agreed: true }],
      restarts: [],
      product: {
        byId: EDUCATOR_ID,
        atMs: takenAtMs + 8 * MINUTE_MS,
        insulin: 'insulin lispro',
        concentration: 'U-100',
        expiresOn: '2027-01-31',
        units,
      },
      outcome: {
        kind: 'given',
        byId: NURSE_ID,
        atMs: givenAtMs,
        site: { area: 'abdomen', side: 'left' },
        food: 'tray-coming',
      },
      voided: null,
    }
    this.#insert.dose.run(
      doseId,
      stayId,
      wardId,
      'from-reading',
      readingId,
      orderId,
      'insulin lispro',
      takenAtMs,
      1,
      0,
      0,
      givenAtMs,
      JSON.stringify(dose),
    )
  }
}

/** Log-normal around the stay's own mean, within the meter's range; beyond it LO or HI. */
function valueOf(mean: number, chance: () => number): number | 'LO' | 'HI' {
  const normal = Math.sqrt(-2 * Math.log(Math.max(1e-12, chance()))) * Math.cos(2 * Math.PI * chance())
  const value = Math.round(Math.exp(mean + 0.36 * normal))
  return value < 20 ? 'LO' : value > 600 ? 'HI' : value
}

/** Ward time of the Round and audit requests: the morning after the last day. */
export const NOW_MS = localToUtc(TODAY, '07:10', ZONE)
export const YEAR_DAYS = 365
export const WEEK_DAYS = 7
