/**
 * A patient with three invented days of readings, insulin, lows and meals, for the tests of plots and the handover
 * sheet.
 */
import type { Dose } from '../../shared/dose/dose.ts'
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { aDose, aReading, HOUR, idOf, MINUTE, someFacts, someInputs, someWorking } from './makers.ts'
import { ALDER, people } from './people.ts'
import { ALDER_SCALE, ALDER_ZONE, lots, meters, scaleOrder } from './wards.ts'

export const VERA = {
  stayId: idOf('stayvera'),
  bed: '7',
  wristband: 'W7307',
  familyName: 'Hollis',
  givenName: 'Vera',
  orderId: idOf('ordervera'),
} as const

/** The newest value and its dose, which waits for its second check. */
export const LAST_VALUE = 274
export const WAITING_UNITS = 13

/** Values by hours before now. */
const VALUES: readonly (readonly [number, number | 'LO' | 'HI'])[] = [
  [71, 214],
  [66, 188],
  [61, 243],
  [57, 176],
  [47.6, 129],
  [43, 163],
  [38.2, 58],
  [37.9, 66],
  [37.6, 92],
  [36.6, 118],
  [33, 205],
  [23.6, 167],
  [19.1, 'HI'],
  [18.4, 342],
  [13.9, 231],
  [9.4, 178],
  [3.1, 49],
  [2.8, 64],
  [2.5, 88],
  [0.2, LAST_VALUE],
]

/**
 * Charts the days in order, including the last hours before `nowMs`. A low 38 h ago is closed, one 3 h ago is not.
 * The dose from the last value waits for its second check.
 */
export function threeDays(nowMs: number): readonly LedgerEvent[] {
  const ago = (hours: number): number => nowMs - hours * HOUR
  const events: LedgerEvent[] = []
  const add = <T extends EventType>(
    type: T,
    hours: number,
    body: EventBodies[T],
    actorId: string = people.nora.staffId,
  ): void => {
    events.push({
      type,
      wardId: ALDER,
      stayId: VERA.stayId,
      actorId,
      happenedAtMs: ago(hours),
      chartedAtMs: ago(hours),
      body,
    } as LedgerEvent)
  }
  const { bed, wristband, familyName, givenName, orderId } = VERA
  add('stay-admitted', 75, {
    bed,
    wristband,
    familyName,
    givenName,
    bornOn: '1944-05-02',
    facts: someFacts({
      diabetes: 'type-1',
      isolation: 'contact',
      restrictedHands: [{ hand: 'right', reason: 'fistula' }],
      renalImpairment: true,
      onSteroid: true,
      ivAccess: true,
    }),
  })
  add('plan-set', 75, { version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null })
  add('order-written', 74, {
    orderId,
    version: 1,
    order: scaleOrder(ALDER_SCALE, ago(74), {
      meal: { kind: 'fixed', units: { 'before-breakfast': 4, 'before-lunch': 5, 'before-supper': 5 } },
      scheduled: [{ time: '21:00', units: 18, holdBelow: 100 }],
    }),
  })
  add('order-verified', 73, { orderId, version: 1 }, people.cora.staffId)
  VALUES.forEach(([hours, value], index) => {
    const reading: Reading = aReading({
      readingId: idOf(`vera${String(index)}r`),
      stayId: VERA.stayId,
      wardId: ALDER,
      wardDate: wardDate(ago(hours), ALDER_ZONE),
      glucose: { unit: 'mg/dL', value },
      source: index === 13 ? 'venous' : 'capillary',
      takenAtMs: ago(hours),
      byId: people.nora.staffId,
      meterId: meters.alder.meterId,
      stripLot: lots.good,
      doubts: index === 9 ? ['strip-lot-expired'] : [],
    })
    add('reading-recorded', hours, { reading })
    if (value === 58 || value === 49) {
      const lowId = idOf(`low${String(value)}x`)
      add('low-event-opened', hours, {
        lowId,
        readingId: reading.readingId,
        previousLowId: value === 58 ? null : idOf('low58x'),
      })
      add('low-treated', hours - 0.05, {
        lowId,
        arm: 'by-mouth',
        amount: { kind: 'grams', grams: 15 },
        what: 'glucose drink',
        directedBy: null,
      })
      if (value === 58) add('low-event-closed', 36, { lowId, cause: 'missed-or-delayed-meal', note: '' })
    }
  })
  for (const [hours, units] of [
    [70.8, 8],
    [65.8, 7],
    [60.9, 11],
    [43, 7],
    [32.8, 9],
    [23.4, 6],
    [13.7, 11],
  ] as const)
    dose(hours, units)
  for (const hours of [58.3, 34.3, 10.3])
    dose(hours, 18, { insulin: 'insulin glargine', kind: 'scheduled', readingId: null })
  add('outside-dose-recorded', 46, {
    outsideDose: {
      outsideDoseId: idOf('veraout'),
      stayId: VERA.stayId,
      insulin: 'regular insulin',
      units: 4,
      givenAtMs: ago(47),
      chartedAtMs: ago(46),
      source: 'elsewhere',
      givenBy: 'Theatre recovery',
      checkedBy: null,
      byId: people.nora.staffId,
    },
  })
  add('dose-proposed', 0.1, {
    dose: aDose({
      doseId: idOf('verawaits'),
      stayId: VERA.stayId,
      wardId: ALDER,
      readingId: idOf(`vera${String(VALUES.length - 1)}r`),
      units: WAITING_UNITS,
      working: someWorking({ orderId, readingId: idOf(`vera${String(VALUES.length - 1)}r`), units: WAITING_UNITS }),
      inputs: someInputs({ nowMs: ago(0.1), readingTakenAtMs: ago(0.2) }),
      proposedById: people.nora.staffId,
      proposedAtMs: ago(0.1),
    }),
  })
  for (const [hours, meal, percent] of [
    [70.5, 'breakfast', 75],
    [65.3, 'lunch', 100],
    [60.4, 'supper', 50],
    [46.5, 'breakfast', null],
    [42, 'lunch', 0],
    [22.8, 'breakfast', 75],
    [13.4, 'supper', 100],
  ] as const) {
    const date = wardDate(ago(hours), ALDER_ZONE)
    add('tray-charted', hours, { date, meal, servedAtMs: ago(hours) })
    if (percent !== null) add('share-eaten-charted', hours - 0.7, { date, meal, percent })
  }
  return events.sort((a, b) => a.chartedAtMs - b.chartedAtMs)

  function dose(hours: number, units: number, parts: Partial<Dose> = {}): void {
    const doseId = idOf(`vera${String(hours).replace('.', 'p')}d`)
    const proposedAtMs = ago(hours) - 6 * MINUTE
    const insulin = parts.insulin ?? 'insulin lispro'
    add('dose-proposed', hours + 0.1, {
      dose: aDose({
        doseId,
        stayId: VERA.stayId,
        wardId: ALDER,
        readingId: null,
        kind: 'by-direction',
        units,
        working: someWorking({ orderId, readingId: null, units }),
        proposedById: people.nora.staffId,
        proposedAtMs,
        ...parts,
      }),
    })
    add(
      'second-check-answered',
      hours + 0.08,
      { doseId, answer: { byId: people.omar.staffId, atMs: ago(hours + 0.08), glucose: null, units, agreed: true } },
      people.omar.staffId,
    )
    add(
      'dose-verified',
      hours + 0.05,
      { doseId, byId: people.omar.staffId, insulin, concentration: 'U-100', expiresOn: '2027-01-01', units },
      people.omar.staffId,
    )
    add('dose-given', hours, { doseId, site: { area: 'abdomen', side: 'left' }, food: 'tray-coming' })
  }
}
