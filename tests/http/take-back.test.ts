/** A dose charted as given in error is taken back: it counts as what really happened, once. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, dose, give, proposeDose, takeReading, verify } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { checkHtml, errorOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import { tasksOf } from '../../shared/care/tasks.ts'
import { watchesOf } from '../../shared/care/watch.ts'
import { careFactsOf } from '../../server/bedside/tasks.ts'

let world: World
let nora: Client
let doseId: string
let reading: string
const { ruth, yusuf } = stays
const path = (): string => `/doses/${doseId}/take-back`
const factsOf = (stayId: string) => {
  const facts = world.store.stayFacts(ALL, stayId, world.clock.now())
  if (facts === undefined) throw new Error('no such stay')
  return facts
}
const given = (stayId: string) =>
  factsOf(stayId).insulinGiven.map(({ units, source, givenAtMs }) => [units, source, givenAtMs])
const tasks = (stayId: string) =>
  tasksOf(careFactsOf(factsOf(stayId), world.clock.now()), world.clock.now()).tasks.map(({ kind }) => kind)
const dueNow = (stayId: string) =>
  watchesOf(careFactsOf(factsOf(stayId), world.clock.now()), world.clock.now()).some(
    ({ reason, dueMs }) => reason === 'dose-taken-back' && dueMs <= world.clock.now(),
  )
const key = (): string => world.server.appContext.formKeys.make(people.nora.staffId, 'take-back')
let givenAtMs: number

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:45' })
  nora = await world.signIn(people.nora)
  reading = await takeReading(nora, ruth, '243')
  doseId = await proposeDose(nora, reading)
  await verify(nora, doseId, ruth, people.omar, '243', '4')
  await give(nora, doseId, ruth, '07:45')
  givenAtMs = world.clock.now()
  world.clock.advance(2)
})
afterEach(() => world.close())

const notInjected = { why: 'not-injected', units: '', note: 'Pen was empty', badge: '', pin: '' }

it('not injected: counts as no insulin, and the reading stays closed without a second nurse', async () => {
  expect(given(ruth.stayId)).toEqual([[4, 'here', givenAtMs]])
  expect(await checkHtml((await nora.get(path())).text)).toEqual([])
  expect((await nora.post(path(), notInjected)).status).toBe(303)
  expect(given(ruth.stayId)).toEqual([])
  expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'taken-back', why: 'not-injected', secondId: null })
  expect(tasks(ruth.stayId)).toContain('dose-taken-back')
  const again = await nora.post(`/readings/${reading}/dose`, { elsewhere: 'none' })
  expect([again.status, again.words().includes('without a second nurse')]).toEqual([409, true])
  const page = await nora.get(`/doses/${doseId}`)
  expect(page.words()).toContain('It was not injected: Pen was empty')
  expect(await checkHtml(page.text)).toEqual([])
  expect((await nora.get(`/stays/${ruth.stayId}`)).words()).toContain('charted in error, taken back')
})

it('not injected, with a second nurse: the reading is open for a dose again', async () => {
  const { badge, pin } = people.omar
  expect((await nora.post(path(), { ...notInjected, badge, pin })).status).toBe(303)
  expect(tasks(ruth.stayId)).not.toContain('dose-taken-back')
  const again = await proposeDose(nora, reading)
  await verify(nora, again, ruth, people.omar, '243', '4')
  await give(nora, again, ruth, '07:47')
  expect(given(ruth.stayId).map(([units, source]) => [units, source])).toEqual([[4, 'here']])
})

it('another amount: the true units count, at the time of the injection, once', async () => {
  expect((await nora.post(path(), { ...notInjected, why: 'another-amount', units: '14' })).status).toBe(303)
  expect(given(ruth.stayId)).toEqual([[14, 'corrected', givenAtMs]])
  expect([tasks(ruth.stayId).includes('dose-taken-back'), dueNow(ruth.stayId)]).toEqual([true, true])
  expect((await nora.post(`/readings/${reading}/dose`, { elsewhere: 'none' })).status).toBe(409)
})

it('another patient: counts there, with a check and a call for both', async () => {
  const fields = { ...notInjected, why: 'another-patient', otherStayId: yusuf.stayId }
  expect((await nora.post(path(), fields)).status).toBe(303)
  expect([given(ruth.stayId), given(yusuf.stayId)]).toEqual([[], [[4, 'corrected', givenAtMs]]])
  for (const { stayId } of [ruth, yusuf])
    expect([stayId, tasks(stayId).includes('dose-taken-back'), dueNow(stayId)]).toEqual([stayId, true, true])
})

it('twice, or by two at once: the second is told that it was taken back', async () => {
  const posts = [key(), key()].map((one) => nora.postRaw(path(), { ...notInjected, key: one }))
  const got = await Promise.all(posts)
  expect(got.map(({ status }) => status).sort()).toEqual([303, 409])
  expect(got.find(({ status }) => status === 409)?.words()).toContain('taken back before')
})

describe('refused', () => {
  it.each([
    ['no reason', { ...notInjected, note: '' }, 'note', 422],
    ['no choice', { units: '', note: 'x', badge: '', pin: '' }, 'why', 422],
    ['no units', { ...notInjected, why: 'another-amount' }, 'units', 422],
    ['the same units', { ...notInjected, why: 'another-amount', units: '4' }, 'units', 422],
    ['nobody named', { ...notInjected, why: 'another-patient' }, 'otherStayId', 422],
    ['herself as the second', { ...notInjected, badge: people.nora.badge, pin: people.nora.pin }, 'badge', 422],
    ['a wrong PIN', { ...notInjected, badge: people.omar.badge, pin: '000000' }, 'pin', 422],
  ])('%s', async (_name, fields, field, status) => {
    const got = await nora.postRaw(path(), { ...fields, key: key() })
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(given(ruth.stayId)).toEqual([[4, 'here', givenAtMs]])
  })

  it('forty malformed posts', async () => {
    const posts = malformedPosts(notInjected, (await nora.keyOf(path())) ?? '', 'why')
    for (const { name, body } of posts) expect([name, (await nora.postRaw(path(), body)).status]).toEqual([name, 422])
    expect(given(ruth.stayId)).toEqual([[4, 'here', givenAtMs]])
  })
})
