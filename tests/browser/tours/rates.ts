/** The pages of rates, harm measures and exports, for an invented past week on Birch. */
import type { EventBodies, EventType, LedgerEvent } from '../../../shared/ledger/events.ts'
import { addDays, localToUtc } from '../../../shared/time/zone.ts'
import { idOf, someFacts } from '../../support/makers.ts'
import { ALDER, BIRCH, people } from '../../support/people.ts'
import { BIRCH_ZONE } from '../../support/wards.ts'
import type { World } from '../../support/world.ts'
import type { Tour } from './tour.ts'
import { storeEvents } from '../../../server/store/store-events.ts'

const STAY = idOf('pastweek')
const FIRST = '2026-03-02'
const DAYS = 6
const PERIOD = { from: FIRST, to: addDays(FIRST, DAYS) } as const
const TIMES = ['02:30', '07:30', '11:45', '14:10', '17:10', '21:20'] as const
/** Tenths of mmol/L, one row a day. */
const VALUES: readonly (readonly number[])[] = [
  [62, 112, 95, 150, 178, 140],
  [55, 98, 121, 88, 36, 71],
  [70, 131, 168, 192, 104, 96],
  [21, 58, 99, 142, 155, 118],
  [64, 77, 101, 93, 126, 110],
  [59, 83, 90, 117, 99, 84],
]

/**
 * One stay from admission to discharge, with a value of 2.1 after insulin given in theatre. Does nothing when it
 * exists already.
 */
function chartPastWeek(world: World): void {
  if (world.store.stayHistory({ staffId: 'tour', role: 'educator', wardIds: [BIRCH] }, STAY) !== undefined) return
  const at = (day: number, time: string): number => localToUtc(addDays(FIRST, day), time, BIRCH_ZONE)
  const event = <T extends EventType>(type: T, atMs: number, body: EventBodies[T]): LedgerEvent =>
    ({
      type,
      wardId: BIRCH,
      stayId: STAY,
      actorId: people.bo.staffId,
      happenedAtMs: atMs,
      chartedAtMs: atMs,
      body,
    }) as LedgerEvent
  const readings = VALUES.flatMap((values, day) =>
    values.map((value, slot): LedgerEvent => {
      const takenAtMs = at(day, TIMES[slot] ?? '07:30')
      return event('reading-recorded', takenAtMs, {
        reading: {
          readingId: idOf(`past${String(day)}x${String(slot)}r`),
          stayId: STAY,
          wardId: BIRCH,
          wardDate: addDays(FIRST, day),
          checkKey: null,
          glucose: { unit: 'mmol/L', value },
          source: 'capillary',
          takenAtMs,
          chartedAtMs: takenAtMs,
          byId: people.bo.staffId,
          site: null,
          meterId: null,
          stripLot: null,
          doubts: [],
          lateReason: null,
          extraReason: slot === 3 ? 'symptoms' : null,
          supersedes: null,
          supersededBy: null,
          voided: null,
        },
      })
    }),
  )
  const givenAtMs = at(2, '21:30')
  world.store.transact(() => {
    storeEvents(world.store, [
      event('stay-admitted', at(0, '01:00'), {
        bed: 'D',
        wristband: 'W8855',
        familyName: 'Lindqvist',
        givenName: 'Per',
        bornOn: '1944-05-02',
        facts: someFacts(),
      }),
      event('plan-set', at(0, '01:00'), { version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null }),
      ...readings,
      event('low-event-opened', at(1, '17:10'), {
        lowId: idOf('pastlow'),
        readingId: idOf('past1x4r'),
        previousLowId: null,
      }),
      event('low-event-closed', at(1, '22:30'), { lowId: idOf('pastlow'), cause: 'missed-or-delayed-meal', note: '' }),
      event('outside-dose-recorded', givenAtMs, {
        outsideDose: {
          outsideDoseId: idOf('pastdose'),
          stayId: STAY,
          insulin: 'insulin lispro',
          units: 6,
          givenAtMs,
          chartedAtMs: givenAtMs,
          source: 'elsewhere',
          givenBy: 'Theatre',
          checkedBy: null,
          byId: people.bo.staffId,
        },
      }),
      event('stay-discharged', at(DAYS, '10:00'), {}),
    ])
    return null
  })
}

const query = (over: Readonly<Record<string, string>>): string =>
  new URLSearchParams({ ward: BIRCH, ...PERIOD, ...over }).toString()

export const ratesTours: readonly Tour[] = [
  {
    name: 'rates, harm measures and an export, as the educator',
    person: people.edda,
    take: async ({ open, device: { page }, ctx, look }) => {
      chartPastWeek(open.world)
      await ctx('/audit/rates', `/audit/rates?${query({})}`, 'rates')
      await ctx(
        '/audit/rates',
        `/audit/rates?${query({ ward: 'all', from: '2025-06-01', unit: 'mg/dL', band: 'above180' })}`,
        'rates-long',
      )
      await ctx('/audit/measures', `/audit/measures?${query({ to: '2026-03-09' })}`, 'measures')
      await ctx('/audit/measures', `/audit/measures?${query({ to: FIRST })}`, 'measures-none')
      await ctx('/audit/export', '/audit/export', 'export')
      await page.locator('label:has(input[name="identified"])').click()
      await page.getByRole('button', { name: 'Make the file' }).click()
      await page.locator('#reason-error').waitFor()
      await look('/audit/export', 'export-refused')
      await page.goto(`/audit/rates?${query({ ward: ALDER, to: '2026-12-31' })}`)
      await page.locator('#to-error').waitFor()
      await look('/audit/rates', 'rates-refused')
    },
  },
]
