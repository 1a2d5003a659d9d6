/** An infusion, a pump and missed basal insulin over HTTP. */
import { afterEach, beforeEach, expect, it } from 'vitest'
import { ALL, NONE_ELSEWHERE, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
const { ruth, leo } = stays
const PATH = `/stays/${ruth.stayId}/other-insulin`
const entries = () => world.store.stayFacts(ALL, ruth.stayId, world.clock.now())?.entries ?? []

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:30', alderPolicy: { idleLockMin: 100_000 } })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

it('an infusion stops rapid insulin, asks hourly checks, and its end without basal insulin is urgent', async () => {
  expect(await checkHtml((await nora.get(PATH)).text)).toEqual([])
  expect((await nora.post(PATH, { way: 'infusion', what: 'started', at: '' })).status).toBe(303)
  expect((await nora.post(PATH, { way: 'infusion', what: 'started', at: '' })).status).toBe(409)
  const reading = await takeReading(nora, ruth, '243')
  expect((await nora.get(`/readings/${reading}/dose`)).words()).toContain('An insulin infusion runs since 07:30.')
  expect((await nora.post(`/readings/${reading}/dose`, NONE_ELSEWHERE)).status).toBe(409)
  world.clock.advance(60)
  nora = await world.signIn(people.nora)
  expect((await nora.get('/round?beds=all')).words()).toContain('Hourly check, insulin infusion')
  const refused = await nora.post(PATH, { way: 'infusion', what: 'ended', at: '' })
  expect([refused.status, errorOf(refused.root(), 'noBasal')]).toEqual([
    422,
    expect.stringContaining('wait with a planned end'),
  ])
  expect((await nora.post(PATH, { way: 'infusion', what: 'ended', at: '', noBasal: 'yes' })).status).toBe(303)
  for (const path of ['/round?beds=all', '/handover?beds=all', `/stays/${ruth.stayId}`])
    expect((await nora.get(path)).words(), path).toContain('Insulin infusion ended and no basal insulin acts')
  expect((await nora.get('/board')).words()).toContain('Insulin infusion ended, no basal insulin acts')
  expect((await nora.post(PATH, { way: 'infusion', what: 'ended', at: '', noBasal: 'yes' })).status).toBe(409)
})

it('refuses what is not said, and forty malformed posts', async () => {
  for (const [fields, field] of [
    [{ what: 'started', at: '' }, 'way'],
    [{ way: 'pump', at: '' }, 'what'],
    [{ way: 'pump', what: 'started', at: '07:31' }, 'at'],
  ] as const) {
    const got = await nora.post(PATH, fields)
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([422, true])
  }
  const posts = malformedPosts({ way: 'pump', what: 'started', at: '' }, (await nora.keyOf(PATH)) ?? '', 'way')
  for (const { name, body } of posts) expect([name, (await nora.postRaw(PATH, body)).status]).toEqual([name, 422])
  expect(entries()).toEqual([])
})

it('is the ward’s own nurses’ to chart', async () => {
  expect((await (await world.signIn(people.bo)).get(PATH)).status).toBe(404)
  expect((await (await world.signIn(people.edda)).get(PATH)).status).toBe(403)
})

it('basal insulin missed in type 1 owes the prescriber a call until it is charted', async () => {
  const own = `/stays/${leo.stayId}`
  const open = formTo((await nora.get(`${own}/facts`)).root(), `${own}/facts`)?.fields ?? {}
  await nora.postRaw(`${own}/facts`, { ...open, diabetes: 'type-1' })
  world.clock.set('2026-03-10T22:05')
  nora = await world.signIn(people.nora)
  const page = await nora.get(own)
  expect(page.words()).toContain('Basal insulin missed, withheld or refused: tell the prescriber')
  expect((await nora.get('/board')).words()).toContain('Basal insulin not given, patient depends on it')
  const task = /href="(\/stays\/\w+\/tasks\/basal-not-given[\w.-]+)"/.exec(page.text)?.[1] ?? ''
  expect((await nora.post(task, { told: 'Dr Vale', readBack: 'yes', ordered: 'give it now' })).status).toBe(303)
  expect((await nora.get(own)).words()).not.toContain('Basal insulin missed')
})
