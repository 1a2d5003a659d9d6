/** Insulin from paper or from elsewhere, entered afterwards. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, charted, proposeDose, dose, takeReading } from '../support/bedside.ts'
import { checkHtml, errorOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import type { Client } from '../support/client.ts'

let world: World
let nora: Client
const PATH = `/stays/${stays.ruth.stayId}/outside-dose`
const GOOD = {
  source: 'paper',
  insulin: 'insulin lispro',
  units: '4',
  givenAt: '2026-03-10T06:40',
  givenBy: 'Nora Lind',
  checkedBy: 'Omar Reyes',
}

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:40' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

it('is charted without guards: both signers and the time given, counted for stacking', async () => {
  const page = await nora.get(PATH)
  expect(await checkHtml(page.text)).toEqual([])
  expect((await nora.post(PATH, GOOD)).status).toBe(303)
  expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.earlierDoses).toMatchObject([
    { insulin: 'insulin lispro', units: 4, source: 'paper', givenAtMs: world.clock.now() - 3_600_000 },
  ])
  const made = dose(world.store, await proposeDose(nora, await takeReading(nora, stays.ruth, '243')))
  expect(made.working.guards.find((guard) => guard.guard === 'stacking')).toMatchObject({
    outcome: 'warns',
    details: { source: 'paper', found: 60 },
  })
})

it('stops a dose from an earlier reading when given on paper later', async () => {
  const readingId = await takeReading(nora, stays.ruth, '243')
  world.clock.advance(5)
  await nora.post(PATH, { ...GOOD, givenAt: '2026-03-10T07:44' })
  const got = await nora.get(`/readings/${readingId}/dose`)
  expect(got.words()).toContain('4 units of insulin lispro was given at 07:44, after this reading')
  expect(got.words()).toContain('Take a fresh reading')
})

describe('refusals', () => {
  it.each([
    ['in the future', { givenAt: '2026-03-10T07:41' }, 'givenAt', 422],
    ['no time', { givenAt: 'soon' }, 'givenAt', 422],
    ['too long ago', { source: 'elsewhere', givenAt: '2026-02-01T07:00' }, 'givenAt', 422],
    ['on paper before the patient came', { givenAt: '2026-03-08T07:00' }, 'givenAt', 422],
    ['one signature', { checkedBy: '' }, 'checkedBy', 422],
    ['the same person twice', { checkedBy: 'nora lind' }, 'checkedBy', 422],
    ['nothing given', { units: '0' }, 'units', 422],
    ['a trailing zero', { units: '4.0' }, 'units', 422],
    ['nobody', { givenBy: '' }, 'givenBy', 422],
    ['no such insulin', { insulin: 'x' }, 'insulin', 422],
  ] as const)('%s', async (_name, change, field, status) => {
    const before = charted(world, stays.ruth)
    const got = await nora.post(PATH, { ...GOOD, ...change })
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(charted(world, stays.ruth)).toBe(before)
  })
  it('the same dose twice', async () => {
    await nora.post(PATH, GOOD)
    expect((await nora.post(PATH, GOOD)).status).toBe(409)
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.earlierDoses).toHaveLength(1)
  })
  it('another ward’s patient', async () => {
    expect((await nora.get(`/stays/${stays.gwen.stayId}/outside-dose`)).status).toBe(404)
  })
})

it('answers 40 malformed posts and charts nothing', async () => {
  const key = await nora.keyOf(PATH)
  const before = charted(world, stays.ruth)
  const posts = malformedPosts(GOOD, key, 'units')
  expect(posts.length).toBeGreaterThanOrEqual(40)
  for (const { name, body } of posts) expect([name, (await nora.postRaw(PATH, body)).status]).toEqual([name, 422])
  expect(charted(world, stays.ruth)).toBe(before)
})
