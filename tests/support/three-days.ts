/** Three invented days on both test wards as ledger events, for the tests of rates, measures and exports. */
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { aDose, someInputs, someWorking } from './makers.ts'
import { ALDER, people } from './people.ts'
import { ALDER_ZONE, BIRCH_ZONE, stays, type TestStay } from './wards.ts'
import type { World } from './world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

/** The end of the days: "2026-03-12T07:20" on Alder. */
export const AFTERWARDS = '2026-03-12T07:20'
export const AUDITED = { from: '2026-03-09', to: '2026-03-11' } as const
/** A family name that a spreadsheet would run as a formula; Tomas gets it. */
export const FORMULA = '=HYPERLINK("x","y"), Tomas'

const at = (who: TestStay, local: string): number => {
  const [date = '', time = ''] = local.split('T')
  return localToUtc(date, time, who.wardId === ALDER ? ALDER_ZONE : BIRCH_ZONE)
}

const event = <T extends EventType>(type: T, who: TestStay, local: string, body: EventBodies[T]): LedgerEvent =>
  ({
    type,
    wardId: who.wardId,
    stayId: who.stayId,
    actorId: people.nora.staffId,
    happenedAtMs: at(who, local),
    chartedAtMs: at(who, local),
    body,
  }) as LedgerEvent

/** Sixteen characters, distinct by the position in the list. */
const idOf = (kind: string, number: number): string => `${kind}${String(number).padStart(16 - kind.length, '0')}`

/**
 * Alder: Ruth 150, 65 (a low: treated after 3 min, back after 18), 88, 210 with 4 units given 12 min later and a tray 8 min
 * after that, 180; Tomas LO, 320, then 35 after insulin from elsewhere, discharged; Birch: Gwen 3.8 and 14.5 mmol/L.
 */
export function auditedEvents(): readonly LedgerEvent[] {
  const { ruth, tomas, gwen } = stays
  let number = 0
  const reading = (
    who: TestStay,
    local: string,
    value: number | 'LO' | 'HI',
    over: Partial<Reading> = {},
  ): LedgerEvent => {
    const takenAtMs = at(who, local)
    const made: Reading = {
      readingId: idOf('audited', ++number),
      stayId: who.stayId,
      wardId: who.wardId,
      wardDate: local.slice(0, 10),
      checkKey: null,
      glucose: { unit: who.wardId === ALDER ? 'mg/dL' : 'mmol/L', value },
      source: 'capillary',
      takenAtMs,
      chartedAtMs: takenAtMs,
      byId: people.nora.staffId,
      site: null,
      meterId: null,
      stripLot: null,
      doubts: [],
      lateReason: null,
      extraReason: null,
      supersedes: null,
      supersededBy: null,
      voided: null,
      ...over,
    }
    return event('reading-recorded', who, local, { reading: made })
  }
  const planned = (who: TestStay, local: string, value: number, slot: string): LedgerEvent =>
    reading(who, local, value, { checkKey: `${who.stayId}.${local.slice(0, 10)}.${slot}` })
  const beforeSupper = planned(ruth, '2026-03-09T17:05', 210, 'before-supper')
  const supperReading = readingOf(beforeSupper)
  const low = reading(ruth, '2026-03-09T15:00', 65, { extraReason: 'symptoms' })
  const dose = aDose({
    doseId: 'auditeddose00001',
    stayId: ruth.stayId,
    wardId: ALDER,
    readingId: supperReading.readingId,
    units: 4,
    proposedById: people.nora.staffId,
    proposedAtMs: supperReading.takenAtMs,
    working: someWorking({ orderId: ruth.orderId, readingId: supperReading.readingId, units: 4 }),
    inputs: someInputs({
      nowMs: supperReading.takenAtMs,
      readingTakenAtMs: supperReading.takenAtMs,
      occasion: 'before-supper',
    }),
  })
  const byOmar = { byId: people.omar.staffId }
  return [
    planned(ruth, '2026-03-09T11:50', 150, 'before-lunch'),
    low,
    event('low-event-opened', ruth, '2026-03-09T15:00', {
      lowId: 'auditedlow000001',
      readingId: readingOf(low).readingId,
      previousLowId: null,
    }),
    event('low-answered', ruth, '2026-03-09T15:02', {
      lowId: 'auditedlow000001',
      answers: { swallowing: 'safely', ivWorking: false, tubeUsable: null },
    }),
    event('low-treated', ruth, '2026-03-09T15:03', {
      lowId: 'auditedlow000001',
      arm: 'by-mouth',
      amount: { kind: 'grams', grams: 15 },
      what: '',
      directedBy: null,
    }),
    reading(ruth, '2026-03-09T15:18', 88, { checkKey: 'low.auditedlow000001.1' }),
    beforeSupper,
    event('dose-proposed', ruth, '2026-03-09T17:05', { dose }),
    event('second-check-answered', ruth, '2026-03-09T17:08', {
      doseId: dose.doseId,
      answer: {
        ...byOmar,
        atMs: at(ruth, '2026-03-09T17:08'),
        glucose: { unit: 'mg/dL', value: 120 },
        units: 4,
        agreed: false,
      },
    }),
    event('dose-started-again', ruth, '2026-03-09T17:10', { doseId: dose.doseId }),
    event('second-check-answered', ruth, '2026-03-09T17:12', {
      doseId: dose.doseId,
      answer: {
        ...byOmar,
        atMs: at(ruth, '2026-03-09T17:12'),
        glucose: { unit: 'mg/dL', value: 210 },
        units: 4,
        agreed: true,
      },
    }),
    event('dose-verified', ruth, '2026-03-09T17:14', {
      doseId: dose.doseId,
      ...byOmar,
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: 4,
    }),
    event('dose-given', ruth, '2026-03-09T17:17', {
      doseId: dose.doseId,
      site: { area: 'abdomen', side: 'left' },
      food: 'tray-coming',
    }),
    event('tray-charted', ruth, '2026-03-09T17:25', {
      date: '2026-03-09',
      meal: 'supper',
      servedAtMs: at(ruth, '2026-03-09T17:25'),
    }),
    planned(ruth, '2026-03-09T22:10', 180, 'bedtime'),
    reading(tomas, '2026-03-10T08:00', 'LO', { source: 'paper' }),
    event('outside-dose-recorded', tomas, '2026-03-10T10:30', {
      outsideDose: {
        outsideDoseId: 'auditedoutside01',
        stayId: tomas.stayId,
        insulin: 'insulin lispro',
        units: 6,
        givenAtMs: at(tomas, '2026-03-10T10:00'),
        chartedAtMs: at(tomas, '2026-03-10T10:30'),
        source: 'elsewhere',
        givenBy: 'Theatre',
        checkedBy: null,
        byId: people.nora.staffId,
      },
    }),
    reading(tomas, '2026-03-10T12:00', 320, { source: 'venous' }),
    reading(tomas, '2026-03-10T14:00', 35, { extraReason: 'symptoms' }),
    event('stay-identified', tomas, '2026-03-11T09:00', {
      wristband: tomas.wristband,
      familyName: FORMULA,
      givenName: tomas.givenName,
      bornOn: tomas.bornOn,
      reason: 'Spelling',
    }),
    event('stay-discharged', tomas, '2026-03-11T18:00', {}),
    reading(gwen, '2026-03-10T08:00', 38),
    reading(gwen, '2026-03-10T12:00', 145),
  ]
}

function readingOf(event: LedgerEvent): Reading {
  if (event.type !== 'reading-recorded') throw new Error('no reading')
  return event.body.reading
}

/**
 * Appends the three days and moves the clock to their end. Sign in afterwards, because an earlier login would be
 * locked.
 */
export function afterThreeDays(world: World): void {
  world.store.transact(() => {
    storeEvents(world.store, auditedEvents())
    return null
  })
  world.clock.set(AFTERWARDS)
}
