/**
 * A week at the invented hospital up to the demo's first instant: admissions, controls, checks and doses with second
 * checks, lows with rechecks, and trays. The rules of the service decide everything (acts.ts).
 */
import { decideLoad } from '../server/load/decide.ts'
import { existingRecords } from '../server/load/existing-records.ts'
import { parseLoadFile } from '../server/load/schema.ts'
import type { Scope, Store } from '../server/store/contract.ts'
import { storeEvents } from '../server/store/store-events.ts'
import type { LedgerEvent } from '../shared/ledger/events.ts'
import { eventHead } from '../shared/ledger/head.ts'
import { addDays, localToUtc } from '../shared/time/zone.ts'
import type { Place } from './acts.ts'
import { opensAtMs, PATIENTS, stages, type Stage } from './hospital.ts'
import type { DemoPatient } from './patients.ts'
import { METERS, NURSES, WEST, EAST, ZONE } from './people.ts'
import { planStay } from './stay.ts'
import type { Ward } from './simulation.ts'
import { timeline, type Timeline } from './timeline.ts'
import { MINUTE_MS } from '../shared/time/span.ts'

export type SeedOptions = {
  readonly store: Store
  readonly newId: () => string
  /** Ward-local date of the demo's first instant. */
  readonly today: string
  /** The demo's first instant. All seeded events are earlier. */
  readonly startMs: number
  /** PIN hashes by badge. They are made beforehand because a transaction cannot wait. */
  readonly pinHashes: ReadonlyMap<string, string>
}

/** Fills an empty store in one transaction. */
export function seedWeek(options: SeedOptions): void {
  const { store, today, startMs } = options
  store.transact(() => {
    const line = timeline()
    const seeding: Seeding = {
      ...options,
      line,
      place: { store, newId: options.newId, scope: noScope() },
      nurses: new Map(),
    }
    for (const stage of stages(today))
      line.at(stage.atMs, (nowMs) => {
        load(seeding, stage, nowMs)
      })
    for (let date = addDays(today, -7); date <= today; date = addDays(date, 1)) controls(seeding, date)
    line.at(localToUtc(today, '06:50', ZONE), (nowMs) => {
      takeBeds(seeding, nowMs)
    })
    line.run(startMs)
    return null
  })
}

type Seeding = SeedOptions & { readonly line: Timeline; place: Place; readonly nurses: Map<string, Ward> }

function noScope(): Scope {
  return { staffId: 'loader', role: 'administrator', wardIds: [] }
}

function load(seeding: Seeding, stage: Stage, nowMs: number): void {
  const { store, newId, pinHashes } = seeding
  const parsed = parseLoadFile(stage.file)
  const decided = parsed.ok
    ? decideLoad(parsed.file, existingRecords(store, nowMs), { nowMs, newId })
    : { faults: parsed.faults, events: [], staff: [] }
  const [fault] = decided.faults
  if (fault !== undefined) throw new Error(`the demo's own load file is at fault: ${fault.path}: ${fault.sentence}`)
  storeEvents(store, decided.events)
  for (const person of decided.staff) store.setPinHash(person.staffId, pinHashes.get(person.badge) ?? '')
  const wardIds = store.wardIds()
  seeding.place = { ...seeding.place, scope: { staffId: 'loader', role: 'charge-nurse', wardIds } }
  for (const { wristband, bed } of stage.file.stays ?? []) {
    const stay = store.stayByWristband(wristband)
    const patient = PATIENTS.find((one) => one.wristband === wristband)
    if (stay === undefined || patient === undefined) throw new Error(`the demo's patient in bed ${bed} did not arrive`)
    const { left } = patient
    const [today, startMs] =
      left === null
        ? [seeding.today, seeding.startMs]
        : [addDays(seeding.today, -left.daysAgo), localToUtc(addDays(seeding.today, -left.daysAgo), left.at, ZONE)]
    planStay(
      {
        place: seeding.place,
        line: seeding.line,
        ward: wardOf(seeding, patient),
        patient,
        stayId: stay.stayId,
        today,
        startMs,
        morning: seeding.today,
      },
      nowMs,
    )
  }
}

/** The ward's nurses as signers, in the order of their turns. */
function wardOf(seeding: Seeding, patient: DemoPatient): Ward {
  const before = seeding.nurses.get(patient.ward)
  if (before !== undefined) return before
  const nurses = (NURSES[patient.ward] ?? []).map((badge) => {
    const staff = seeding.store.staffByBadge(badge)
    if (staff === undefined) throw new Error(`the demo has no badge ${badge}`)
    return { staffId: staff.staffId, role: staff.role, wardIds: staff.wardIds }
  })
  const ward: Ward = { name: patient.ward, nurses }
  seeding.nurses.set(patient.ward, ward)
  return ward
}

/** Just after midnight the night shift runs the two controls of every meter, except for one meter today. */
function controls(seeding: Seeding, date: string): void {
  const { line, today, store } = seeding
  METERS.forEach(({ serial, ward, controlledToday }, index) => {
    if (date === today && !controlledToday) return
    const atMs = Math.max(localToUtc(date, '00:00', ZONE), opensAtMs(today)) + (index + 1) * MINUTE_MS
    line.at(atMs, (nowMs) => {
      const wards = store.wards(seeding.place.scope)
      const wardId = wards.find((one) => one.name === ward)?.wardId ?? ''
      const meter = store.wardFacts(seeding.place.scope, wardId, nowMs)?.meters.find((one) => one.serial === serial)
      const by = store.staffByBadge(NURSES[ward]?.[index % 2] ?? '')
      if (meter === undefined || by === undefined) return
      storeEvents(store, [
        {
          ...eventHead({ wardId }, by.staffId, nowMs),
          type: 'meter-controlled',
          body: { meterId: meter.meterId, passed: true },
        },
      ])
    })
  })
}

/** The morning's nurses choose their beds. */
function takeBeds(seeding: Seeding, nowMs: number): void {
  const { store } = seeding
  const taken: readonly (readonly [ward: string, badge: string, first: number, last: number])[] = [
    [EAST, 'N4101', 1, 9],
    [EAST, 'N4102', 10, 18],
    [WEST, 'N2101', 21, 30],
  ]
  for (const [name, badge, first, last] of taken) {
    const ward = store.wards(seeding.place.scope).find((one) => one.name === name)
    const staff = store.staffByBadge(badge)
    if (ward === undefined || staff === undefined) continue
    const beds = ward.beds.filter((bed) => Number(bed) >= first && Number(bed) <= last)
    const event: LedgerEvent = {
      ...eventHead({ wardId: ward.wardId }, staff.staffId, nowMs),
      type: 'beds-taken',
      body: { staffId: staff.staffId, beds },
    }
    storeEvents(store, [event])
  }
}
