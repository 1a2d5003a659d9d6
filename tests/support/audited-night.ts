/**
 * A night on Alder as ledger events before the test's own morning: antecedents of a low of 48, the low, near misses.
 */
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { aDose, someInputs, someWorking } from './makers.ts'
import { ALDER, people } from './people.ts'
import { ALDER_SCALE, ALDER_ZONE, scaleOrder, stays } from './wards.ts'
import { alderTime, type World } from './world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

export const NIGHT = {
  lowId: 'lownight00000001',
  doseId: 'dosenight0000001',
  orderId: 'ordernight000001',
  evening: '2026-03-09',
  morning: '2026-03-10',
} as const

/** All events of the night, in the order of charting. */
export function nightEvents(): readonly LedgerEvent[] {
  const who = stays.ruth
  const { lowId, doseId, orderId } = NIGHT
  const event = <T extends EventType>(
    local: string,
    type: T,
    body: EventBodies[T],
    by: string = people.nora.staffId,
  ): LedgerEvent =>
    ({
      type,
      body,
      wardId: ALDER,
      stayId: who.stayId,
      actorId: by,
      happenedAtMs: alderTime(local),
      chartedAtMs: alderTime(local),
    }) as LedgerEvent
  const reading = (local: string, value: number, id: string, checkKey: string | null = null): Reading => ({
    readingId: id,
    stayId: who.stayId,
    wardId: ALDER,
    wardDate: wardDate(alderTime(local), ALDER_ZONE),
    checkKey,
    glucose: { unit: 'mg/dL', value },
    source: 'capillary',
    takenAtMs: alderTime(local),
    chartedAtMs: alderTime(local),
    byId: people.nora.staffId,
    site: { hand: 'left', finger: 'ring' },
    meterId: null,
    stripLot: null,
    doubts: [],
    lateReason: null,
    extraReason: checkKey === null ? 'symptoms' : null,
    supersedes: null,
    supersededBy: null,
    voided: null,
  })
  const taken = (local: string, value: number, id: string, checkKey: string | null = null): LedgerEvent =>
    event(local, 'reading-recorded', { reading: reading(local, value, id, checkKey) })
  const supper = alderTime('2026-03-09T17:10')
  const dose = aDose({
    doseId,
    stayId: who.stayId,
    wardId: ALDER,
    readingId: 'readnight0000001',
    units: 6,
    proposedById: people.nora.staffId,
    proposedAtMs: supper,
    working: someWorking({
      orderId: who.orderId,
      readingId: 'readnight0000001',
      glucose: { unit: 'mg/dL', value: 268 },
      occasion: 'before-supper',
      units: 6,
    }),
    inputs: someInputs({ nowMs: supper, readingTakenAtMs: supper, occasion: 'before-supper' }),
  })
  const glucose = { unit: 'mg/dL', value: 268 } as const
  const answered = (local: string, units: number, agreed: boolean): LedgerEvent =>
    event(local, 'second-check-answered', {
      doseId,
      answer: { byId: people.omar.staffId, atMs: alderTime(local), glucose, units, agreed },
    })
  const facts = {
    diabetes: 'type-2',
    swallowsSafely: true,
    nilByMouth: null,
    feeding: 'oral',
    ivAccess: true,
    restrictedHands: [],
    isolation: 'none',
    renalImpairment: true,
    onSteroid: false,
    otherGlucoseLowering: ['gliclazide'],
    weightKg: 78,
  } as const
  const answers = { swallowing: 'safely', ivWorking: true, tubeUsable: null } as const
  const grams = (count: number) =>
    ({
      lowId,
      arm: 'by-mouth',
      amount: { kind: 'grams', grams: count },
      what: 'orange juice',
      directedBy: null,
    }) as const
  return [
    taken('2026-03-09T17:10', 268, 'readnight0000001'),
    event('2026-03-09T17:10', 'dose-proposed', { dose }),
    answered('2026-03-09T17:16', 4, false),
    event('2026-03-09T17:18', 'dose-started-again', { doseId }),
    answered('2026-03-09T17:20', 6, true),
    event('2026-03-09T17:24', 'dose-verified', {
      doseId,
      byId: people.omar.staffId,
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: 6,
    }),
    event('2026-03-09T17:25', 'wristband-mismatched', {
      expectedStayId: who.stayId,
      foundStayId: stays.tomas.stayId,
      at: 'give',
    }),
    event('2026-03-09T17:26', 'dose-given', { doseId, site: { area: 'abdomen', side: 'left' }, food: 'tray-coming' }),
    event('2026-03-09T18:20', 'tray-charted', {
      date: NIGHT.evening,
      meal: 'supper',
      servedAtMs: alderTime('2026-03-09T18:20'),
    }),
    event('2026-03-09T18:50', 'share-eaten-charted', { date: NIGHT.evening, meal: 'supper', percent: 25 }),
    event('2026-03-09T20:05', 'facts-set', { facts }, people.cora.staffId),
    event('2026-03-09T20:30', 'order-written', {
      orderId,
      version: 1,
      order: scaleOrder(ALDER_SCALE, alderTime('2026-03-09T20:30'), {
        insulin: 'insulin glargine',
        correction: null,
        occasions: [],
        scheduled: [{ time: '22:00', units: 18, holdBelow: null }],
        maxSingleDose: 30,
      }),
    }),
    event('2026-03-09T20:40', 'order-verified', { orderId, version: 1 }, people.cora.staffId),
    event('2026-03-09T21:18', 'entry-refused', { what: 'wrong-unit', at: 'check' }),
    taken('2026-03-09T21:20', 131, 'readnight0000002'),
    event('2026-03-09T21:22', 'dose-stopped', {
      readingId: 'readnight0000002',
      slotKey: null,
      orderId: who.orderId,
      guards: ['stacking', 'meal-timing'],
    }),
    taken('2026-03-10T02:50', 48, 'readnight0000003'),
    event('2026-03-10T02:50', 'low-event-opened', { lowId, readingId: 'readnight0000003', previousLowId: null }),
    event('2026-03-10T02:54', 'low-answered', { lowId, answers }),
    event('2026-03-10T02:57', 'low-treated', grams(20)),
    taken('2026-03-10T03:13', 58, 'readnight0000004', `low.${lowId}.1`),
    event('2026-03-10T03:15', 'low-answered', { lowId, answers }),
    event('2026-03-10T03:16', 'low-treated', grams(15)),
    taken('2026-03-10T03:31', 84, 'readnight0000005', `low.${lowId}.2`),
    event('2026-03-10T03:38', 'low-told', {
      lowId,
      told: 'Dr. Vera Kim',
      readBack: true,
      ordered: 'Measure again at 06:00',
    }),
    event('2026-03-10T03:38', 'critical-told', {
      readingId: 'readnight0000003',
      told: 'Dr. Vera Kim',
      readBack: true,
      ordered: '',
    }),
    event('2026-03-10T03:42', 'low-food-given', { lowId, grams: 20, what: 'toast and milk' }),
    taken('2026-03-10T04:31', 104, 'readnight0000006', `low.${lowId}.3`),
    event('2026-03-10T04:50', 'low-event-closed', { lowId, cause: 'missed-or-delayed-meal', note: '' }),
  ]
}

/** Appends the night and moves the test's clock to its end. */
export function chartNight(world: World): void {
  world.store.transact(() => {
    storeEvents(world.store, nightEvents())
    return null
  })
}
