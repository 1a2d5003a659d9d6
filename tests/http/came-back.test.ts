/** "Insulin given elsewhere?" after a return to the ward, and the answer that nobody can find out. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, NONE_ELSEWHERE, proposeDose, takeExtra, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { checkHtml, errorOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
const { ruth } = stays
const BACK = `/stays/${ruth.stayId}/came-back`
const entries = () => world.store.stayFacts(ALL, ruth.stayId, world.clock.now())?.entries ?? []
const asksElsewhere = async (readingId: string) =>
  (await nora.get(`/readings/${readingId}/dose`)).text.includes('name="elsewhere"')
const later = async (minutes: number): Promise<void> => {
  world.clock.advance(minutes)
  nora = await world.signIn(people.nora)
}

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:30' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

describe('a return to the ward', () => {
  it('asks the next dose again, once', async () => {
    await proposeDose(nora, await takeReading(nora, ruth, '243'))
    await later(5)
    expect(await asksElsewhere(await takeExtra(nora, ruth, '240', 'x1'))).toBe(false)
    expect(await checkHtml((await nora.get(BACK)).text)).toEqual([])
    await later(1)
    expect((await nora.post(BACK, { from: 'theatre', at: '' })).location).toBe(`/stays/${ruth.stayId}`)
    await later(1)
    const reading = await takeExtra(nora, ruth, '238', 'x2')
    expect(await asksElsewhere(reading)).toBe(true)
    await proposeDose(nora, reading)
    await later(5)
    expect(await asksElsewhere(await takeExtra(nora, ruth, '236', 'x3'))).toBe(false)
  })

  it.each([
    ['in the future', { from: 'theatre', at: '07:31' }, 'at'],
    ['no place', { at: '' }, 'from'],
    ['no time', { from: 'leave', at: 'soon' }, 'at'],
  ])('is refused: %s', async (_name, fields, field) => {
    const got = await nora.post(BACK, fields)
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([422, true])
    expect(entries()).toEqual([])
  })

  it('returns the form for forty malformed posts, and charts nothing', async () => {
    const posts = malformedPosts({ from: 'leave', at: '' }, (await nora.keyOf(BACK)) ?? '', 'from')
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) expect([name, (await nora.postRaw(BACK, body)).status]).toEqual([name, 422])
    expect(entries()).toEqual([])
  })

  it('is the ward’s own nurses’ to chart', async () => {
    expect((await (await world.signIn(people.bo)).get(BACK)).status).toBe(404)
    expect((await (await world.signIn(people.edda)).get(BACK)).status).toBe(403)
  })
})

describe('nobody can find out', () => {
  it('makes the dose wait, owes one call, and the prescriber’s decision lets it be worked out', async () => {
    const reading = await takeReading(nora, ruth, '243')
    for (const _twice of [1, 2]) {
      const got = await nora.post(`/readings/${reading}/dose`, { elsewhere: 'unknown' })
      expect([got.status, errorOf(got.root(), 'elsewhere')]).toEqual([
        422,
        '▲ The dose waits: tell the prescriber that nobody can find out. The call now stands as a task of this patient.',
      ])
    }
    expect(entries().map(({ kind }) => kind)).toEqual(['elsewhere-unknown'])
    const page = await nora.get(`/stays/${ruth.stayId}`)
    expect(page.words()).toContain('Nobody can find out whether insulin was given elsewhere, by 08:00')
    const task = /href="(\/stays\/\w+\/tasks\/[\w.-]+)"/.exec(page.text)?.[1] ?? ''
    expect((await nora.post(task, { told: 'Dr Vale', readBack: 'yes', ordered: 'scale as ordered' })).status).toBe(303)
    expect(await asksElsewhere(reading)).toBe(false)
    expect(await proposeDose(nora, reading, {})).not.toBe('')
  })

  it('is asked again after the next return', async () => {
    const reading = await takeReading(nora, ruth, '243')
    await nora.post(`/readings/${reading}/dose`, { elsewhere: 'unknown' })
    const page = await nora.get(`/stays/${ruth.stayId}`)
    const task = /href="(\/stays\/\w+\/tasks\/[\w.-]+)"/.exec(page.text)?.[1] ?? ''
    await nora.post(task, { told: 'Dr Vale', readBack: 'yes', ordered: 'scale as ordered' })
    await later(1)
    await nora.post(BACK, { from: 'dialysis', at: '' })
    await later(1)
    expect(await asksElsewhere(reading)).toBe(true)
    expect((await nora.post(`/readings/${reading}/dose`, NONE_ELSEWHERE)).status).toBe(303)
  })
})
