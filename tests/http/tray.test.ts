/** Trays and the share eaten, with one tap each. */
import { afterEach, beforeEach, expect, it } from 'vitest'
import {
  ALL,
  answer,
  charted,
  dose,
  give,
  productFields,
  proposeDose,
  takeReading,
  verify,
} from '../support/bedside.ts'
import { checkHtml, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { scaleOrder, stays, ALDER_SCALE } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import type { Client } from '../support/client.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
let nora: Client
const PATH = `/stays/${stays.ruth.stayId}/tray`
const trays = () => world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.trays

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:50' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

it('charts the tray with one tap, then the share eaten with another', async () => {
  const page = await nora.get(PATH)
  expect(page.words()).toContain('Tray: breakfast')
  expect(page.words()).toContain('expected at 08:00')
  expect(await checkHtml(page.text)).toEqual([])
  world.clock.advance(12)
  nora = await world.signIn(people.nora)
  expect((await nora.post(PATH, { meal: 'breakfast', what: 'served' })).status).toBe(303)
  expect(trays()).toMatchObject([{ meal: 'breakfast', servedAtMs: world.clock.now(), shareEatenPercent: null }])
  world.clock.advance(20)
  nora = await world.signIn(people.nora)
  expect((await nora.get(PATH)).words()).toContain('Served at 08:02')
  expect((await nora.post(PATH, { meal: 'breakfast', what: '75' })).status).toBe(303)
  expect(trays()).toMatchObject([{ shareEatenPercent: 75 }])
})

it('charts one tray once, and no share eaten before the tray', async () => {
  expect((await nora.post(PATH, { meal: 'breakfast', what: '50' })).status).toBe(409)
  await nora.post(PATH, { meal: 'breakfast', what: 'served' })
  expect((await nora.post(PATH, { meal: 'breakfast', what: 'served' })).status).toBe(409)
  expect(trays()).toHaveLength(1)
})

it('answers 404 for another ward’s patient', async () => {
  expect((await nora.get(`/stays/${stays.gwen.stayId}/tray`)).status).toBe(404)
  expect((await nora.get('/stays/nobody/tray')).status).toBe(404)
})

it('closes the insulin-without-tray item by the tray', async () => {
  const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
  await give(nora, doseId, stays.ruth, '07:50')
  const open = (): readonly string[] =>
    world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.openItems.map(({ kind }) => kind) ?? []
  expect(open()).toContain('insulin-no-tray')
  await nora.post(PATH, { meal: 'breakfast', what: 'served' })
  expect(open()).not.toContain('insulin-no-tray')
  const given = world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.doses[0]?.doseId ?? ''
  expect((await nora.get(`/doses/${given}`)).words()).toMatch(/From the insulin to the tray: \d+ min\./)
})

it('gives correction first and the meal part by the share eaten, each checked', async () => {
  const nowMs = world.clock.now()
  const head = { wardId: stays.ruth.wardId, stayId: stays.ruth.stayId, happenedAtMs: nowMs, chartedAtMs: nowMs }
  const order = scaleOrder(ALDER_SCALE, nowMs - 1000, {
    meal: { kind: 'ratio', gramsPerUnit: 10 },
    mealTiming: 'after-by-share',
  })
  const events: readonly LedgerEvent[] = [
    {
      ...head,
      actorId: people.pia.staffId,
      type: 'order-written',
      body: { orderId: stays.ruth.orderId, version: 2, order },
    },
    {
      ...head,
      actorId: people.cora.staffId,
      type: 'order-verified',
      body: { orderId: stays.ruth.orderId, version: 2 },
    },
  ]
  world.store.transact(() => {
    storeEvents(world.store, events)
    return null
  })
  const readingId = await takeReading(nora, stays.ruth, '243')
  const before = await proposeDose(nora, readingId, { share: 'not-yet', elsewhere: 'none' })
  expect(dose(world.store, before)).toMatchObject({ kind: 'from-reading', units: 4 })
  await verify(nora, before, stays.ruth, people.omar, '243', '4')
  await give(nora, before, stays.ruth, '07:50')
  world.clock.advance(5)
  await nora.post(PATH, { meal: 'breakfast', what: 'served' })
  world.clock.advance(25)
  nora = await world.signIn(people.nora)
  const path = `/readings/${readingId}/dose`
  expect(formTo((await nora.get(path)).root(), path)?.names).toContain('share')
  const after = await proposeDose(nora, readingId, { share: '50', grams: '60' })
  expect(dose(world.store, after)).toMatchObject({ kind: 'after-meal', units: 3 })
  expect((await nora.get(`/doses/${after}/second-check`)).words()).toContain('Share eaten: 50 %')
  expect((await answer(nora, after, people.omar, '243', '3')).status).toBe(303)
  expect((await nora.post(`/doses/${after}/product`, productFields(stays.ruth, people.omar, '3'))).status).toBe(303)
  expect(formTo((await nora.get(`/doses/${after}/give`)).root(), `/doses/${after}/give`)?.names).not.toContain('food')
  expect(
    (
      await nora.post(`/doses/${after}/give`, {
        wristband: stays.ruth.wristband,
        site: 'right.abdomen',
        at: '2026-03-10T08:20',
      })
    ).status,
  ).toBe(303)
  // not a second time
  const again = await nora.get(path)
  expect(again.words()).toContain('No dose')
})

it('answers 40 malformed posts and charts nothing', async () => {
  const key = await nora.keyOf(PATH)
  const before = charted(world, stays.ruth)
  const posts = malformedPosts({ meal: 'breakfast', what: 'served' }, key, 'what')
  expect(posts.length).toBeGreaterThanOrEqual(40)
  for (const { name, body } of posts) expect([name, (await nora.postRaw(PATH, body)).status]).toEqual([name, 422])
  expect(charted(world, stays.ruth)).toBe(before)
})
