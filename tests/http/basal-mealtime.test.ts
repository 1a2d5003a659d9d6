/** Insulin by the clock over HTTP: basal once in its interval, mealtime insulin with reading and food, two insulins at one time. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { InsulinOrder } from '../../shared/order/order.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { ALL, DATE, idOf, NONE_ELSEWHERE, takeExtra } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { formTo } from '../support/html.ts'
import { someFacts } from '../support/makers.ts'
import { people } from '../support/people.ts'
import { ALDER_SCALE, scaleOrder, stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
const { leo, ruth } = stays
const HOUR = 3_600_000

/** A verified order of listed times for the stay. */
function ordered(stay: TestStay, orderId: string, parts: Partial<InsulinOrder>): void {
  const atMs = world.clock.now() - HOUR
  const head = { wardId: stay.wardId, stayId: stay.stayId, happenedAtMs: atMs, chartedAtMs: atMs }
  const order = scaleOrder(ALDER_SCALE, atMs, { correction: null, occasions: [], maxSingleDose: 30, ...parts })
  const events: readonly LedgerEvent[] = [
    { ...head, actorId: people.nora.staffId, type: 'order-written', body: { orderId, version: 1, order } },
    { ...head, actorId: people.omar.staffId, type: 'order-verified', body: { orderId, version: 1 } },
  ]
  world.store.transact(() => {
    storeEvents(world.store, events)
    return null
  })
}
const slot = (stay: TestStay, time: string, orderId: string) =>
  `/stays/${stay.stayId}/scheduled/${DATE}.${time}.${orderId}`
const outside = (stay: TestStay, insulin: string, units: string, givenAt: string) =>
  nora.post(`/stays/${stay.stayId}/outside-dose`, {
    source: 'elsewhere',
    insulin,
    units,
    givenAt,
    givenBy: 'Emergency department',
    checkedBy: '',
  })

afterEach(() => world.close())

describe('basal insulin', () => {
  beforeEach(async () => {
    world = await makeWorld({ at: '2026-03-10T20:45' })
    nora = await world.signIn(people.nora)
  })

  it('given elsewhere at 19:40 is not given again at 21:00; a direction is told of it', async () => {
    expect((await outside(leo, 'insulin glargine', '18', '2026-03-10T19:40')).status).toBe(303)
    const page = await nora.get(slot(leo, '2100', leo.orderId))
    expect(page.words()).toMatch(/Insulin given before: 18.units of insulin glargine, 19:40, elsewhere\./)
    expect(page.words()).toMatch(/18.units of insulin glargine was given elsewhere 1 h 5 min ago/)
    expect((await nora.post(slot(leo, '2100', leo.orderId), {})).status).toBe(409)
    const reading = await takeExtra(nora, leo, '143', 'x1')
    const directed = await nora.post(`/readings/${reading}/direction`, {
      prescriber: 'Dr Sanna Weir',
      insulin: 'insulin glargine',
      units: '5',
      why: 'the dose elsewhere was a part of it',
      readBack: 'yes',
      toldOfEarlier: 'yes',
    })
    expect(directed.status, directed.words().slice(0, 500)).toBe(303)
  })

  it('of another name and another time counts just so', async () => {
    expect((await outside(leo, 'insulin detemir', '12', '2026-03-10T09:00')).status).toBe(303)
    expect((await nora.get(slot(leo, '2100', leo.orderId))).words()).toContain('basal insulin is given once')
  })

  it('of a stay before this one counts in this one', async () => {
    expect((await outside(leo, 'insulin glargine', '18', '2026-03-10T19:40')).status).toBe(303)
    expect((await nora.post(`/stays/${leo.stayId}/discharge`, { at: '' })).status).toBe(303)
    world.clock.advance(2)
    nora = await world.signIn(people.nora)
    const back = {
      type: 'stay-admitted',
      wardId: leo.wardId,
      stayId: 'staybackagain000',
      actorId: people.nora.staffId,
      happenedAtMs: world.clock.now(),
      chartedAtMs: world.clock.now(),
      body: {
        bed: '6',
        wristband: 'W7999',
        familyName: leo.familyName,
        givenName: leo.givenName,
        bornOn: leo.bornOn,
        facts: someFacts(),
      },
    } as LedgerEvent
    const returns = { ...back, type: 'stay-readmitted', body: { previousStayId: leo.stayId } } as LedgerEvent
    world.store.transact(() => {
      storeEvents(world.store, [back, returns])
      return null
    })
    expect(world.store.stayFacts(ALL, 'staybackagain000', world.clock.now())?.insulinGiven).toMatchObject([
      { insulin: 'insulin glargine', units: 18, source: 'elsewhere' },
    ])
  })
})

describe('two insulins at one time', () => {
  beforeEach(async () => {
    world = await makeWorld({ at: '2026-03-10T07:45' })
    nora = await world.signIn(people.nora)
    ordered(ruth, 'ordernph00000000', {
      insulin: 'NPH insulin',
      scheduled: [{ time: '07:45', units: 12, holdBelow: null }],
    })
    ordered(ruth, 'orderregular0000', {
      insulin: 'regular insulin',
      scheduled: [{ time: '07:45', units: 6, holdBelow: null }],
    })
  })

  it('are two doses: NPH withheld leaves the regular insulin due', async () => {
    const nph = idOf(await nora.post(slot(ruth, '0745', 'ordernph00000000'), NONE_ELSEWHERE))
    expect((await nora.post(`/doses/${nph}/not-given`, { kind: 'withheld', reason: 'asked to wait' })).status).toBe(303)
    const facts = world.store.wardFacts(ALL, ruth.wardId, world.clock.now())
    expect([...(facts?.settledSlots ?? [])]).toEqual([`${ruth.stayId}.${DATE}.0745.ordernph00000000`])
    await takeExtra(nora, ruth, '143', 'x1')
    expect((await nora.post(slot(ruth, '0745', 'orderregular0000'), {})).status).toBe(303)
    expect((await nora.get(slot(ruth, '0745', 'ordernph00000000'))).words()).toContain('already')
  })
})

describe('scheduled rapid and regular insulin', () => {
  beforeEach(async () => {
    world = await makeWorld({ at: '2026-03-10T07:45' })
    nora = await world.signIn(people.nora)
    ordered(ruth, 'orderlispro00000', { scheduled: [{ time: '07:45', units: 12, holdBelow: null }] })
    ordered(stays.maud, 'ordermaud0000000', { scheduled: [{ time: '07:45', units: 12, holdBelow: null }] })
  })
  const path = slot(ruth, '0745', 'orderlispro00000')

  it('needs a reading, and the tray near', async () => {
    expect((await nora.post(path, NONE_ELSEWHERE)).status).toBe(409)
    expect((await nora.get(path)).words()).toContain('Age of the reading')
    await takeExtra(nora, ruth, '143', 'x1')
    const made = await nora.post(path, NONE_ELSEWHERE)
    expect(made.status, made.words().slice(0, 600)).toBe(303)
    const doseId = idOf(made)
    // a newer reading voids it, as it voids a dose from a reading
    world.clock.advance(1)
    nora = await world.signIn(people.nora)
    await takeExtra(nora, ruth, '139', 'x2')
    expect(world.store.doseById(ALL, doseId)?.voided).toMatchObject({ reason: 'newer-reading' })
  })

  it('is not given to a patient who is nil by mouth', async () => {
    await takeExtra(nora, stays.maud, '143', 'x1')
    const nil = slot(stays.maud, '0745', 'ordermaud0000000')
    expect((await nora.post(nil, NONE_ELSEWHERE)).status).toBe(409)
    expect((await nora.get(nil)).words()).toContain('Nil by mouth: mealtime insulin waits.')
  })

  it('is not given twelve minutes after insulin for the same meal', async () => {
    await takeExtra(nora, ruth, '143', 'x1')
    expect((await outside(ruth, 'insulin aspart', '4', '2026-03-10T07:33')).status).toBe(303)
    expect((await nora.get(path)).words()).toMatch(
      /4.units of insulin aspart was given elsewhere 12 min ago, for this meal/,
    )
    expect((await nora.post(path, {})).status).toBe(409)
  })

  it('waits while the feed is stopped', async () => {
    await takeExtra(nora, ruth, '143', 'x1')
    const own = `/stays/${ruth.stayId}`
    const fields = formTo((await nora.get(`${own}/facts`)).root(), `${own}/facts`)?.fields ?? {}
    expect((await nora.postRaw(`${own}/facts`, { ...fields, feeding: 'tube' })).status).toBe(303)
    await nora.post(`${own}/feed`, { what: 'stopped', reason: 'tube blocked', at: '' })
    expect((await nora.get(path)).words()).toContain('The feed is stopped since 07:45.')
    expect((await nora.post(path, NONE_ELSEWHERE)).status).toBe(409)
    await nora.post(`${own}/feed`, { what: 'running', reason: '', at: '' })
    expect((await nora.post(path, NONE_ELSEWHERE)).status).toBe(303)
  })
})
