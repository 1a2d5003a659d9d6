/** Food after insulin, and ketones, over HTTP: what is asked stands on every page and ends when it is charted. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, answer, give, productFields, proposeDose, takeExtra, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
const { ruth } = stays
const own = `/stays/${ruth.stayId}`
const entries = () => world.store.stayFacts(ALL, ruth.stayId, world.clock.now())?.entries ?? []
const words = async () => (await nora.get(own)).words()
const later = async (minutes: number): Promise<void> => {
  world.clock.advance(minutes)
  nora = await world.signIn(people.nora)
}

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:45', alderPolicy: { idleLockMin: 100_000 } })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

/** Four units given for breakfast. */
async function dosed(): Promise<void> {
  const doseId = await proposeDose(nora, await takeReading(nora, ruth, '215'))
  await answer(nora, doseId, people.omar, '215', '4')
  await nora.post(`/doses/${doseId}/product`, productFields(ruth, people.omar, '4'))
  await give(nora, doseId, ruth, '07:45')
}

describe('food after mealtime insulin', () => {
  it('nothing eaten after 4 units: carbohydrate, a call and checks, until they are charted', async () => {
    await dosed()
    await later(15)
    expect((await nora.post(`${own}/tray`, { meal: 'breakfast', what: 'served' })).status).toBe(303)
    await later(46)
    expect(await words()).toContain('Mealtime insulin given: chart what was eaten')
    expect((await nora.post(`${own}/tray`, { meal: 'breakfast', what: '0' })).status).toBe(303)
    for (const path of ['/round?beds=all', '/handover?beds=all', own])
      expect((await nora.get(path)).words(), path).toContain('Insulin given and too little eaten: carbohydrate now')
    await later(60)
    expect((await nora.get('/round?beds=all')).words()).toContain('Check after too little food')
    const link = /href="\/(stays\/\w+\/tasks\/carbohydrate-now[\w.-]+)"/.exec((await nora.get(own)).text)?.[1] ?? ''
    expect((await nora.post(`/${link}`, { note: '' })).status).toBe(422)
    expect((await nora.post(`/${link}`, { note: 'juice 200 mL, bread' })).status).toBe(303)
    expect(await words()).not.toContain('carbohydrate now')
    expect(await words()).toContain('too little eaten: tell the prescriber')
    const key = /watch\.\w+\.\w+h1/.exec((await nora.get('/round?beds=all')).text)?.[0] ?? ''
    await takeReading(nora, ruth, '96', { key })
    expect((await nora.get('/round?beds=all')).text).not.toContain(`/checks/${key}"`)
  })

  it('a tray that does not come is charted once, and asks the same', async () => {
    await dosed()
    await later(30)
    expect((await nora.post(`${own}/tray`, { meal: 'breakfast', what: 'cancelled' })).status).toBe(303)
    expect(await words()).toContain('Insulin given and too little eaten: carbohydrate now')
    expect((await nora.post(`${own}/tray`, { meal: 'breakfast', what: 'cancelled' })).status).toBe(409)
  })
})

describe('ketones', () => {
  beforeEach(async () => {
    const open = formTo((await nora.get(`${own}/facts`)).root(), `${own}/facts`)?.fields ?? {}
    await nora.postRaw(`${own}/facts`, { ...open, diabetes: 'type-1' })
    await takeExtra(nora, ruth, '270', 'high')
  })
  const path = `${own}/ketones`

  it('are asked for, charted, and ask for what the result needs', async () => {
    expect(await words()).toContain('Measure ketones, by 08:15')
    const page = await nora.get(path)
    expect(await checkHtml(page.text)).toEqual([])
    expect((await nora.post(path, { by: 'blood', blood: '1.6', band: '', well: 'yes', at: '' })).status).toBe(303)
    expect(entries()).toMatchObject([{ kind: 'ketones', fact: { read: { by: 'blood', tenths: 16 }, well: true } }])
    expect(await words()).toContain('Ketones: tell the prescriber now')
    expect(await words()).not.toContain('Measure ketones, by')
    await later(120)
    expect(await words()).toContain('Measure ketones again')
  })

  it.each([
    ['no way', { blood: '0.4', well: 'yes' }, 'by'],
    ['no value', { by: 'blood', blood: '', well: 'yes' }, 'blood'],
    ['ten times too much', { by: 'blood', blood: '16', well: 'yes' }, 'blood'],
    ['no band', { by: 'urine', well: 'yes' }, 'band'],
    ['nothing about the patient', { by: 'blood', blood: '0.4' }, 'well'],
    ['in the future', { by: 'blood', blood: '0.4', well: 'yes', at: '07:50' }, 'at'],
  ])('are refused: %s', async (_name, fields, field) => {
    const got = await nora.post(path, fields)
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([422, true])
    expect(entries()).toEqual([])
  })

  it('return the form for forty malformed posts', async () => {
    const posts = malformedPosts({ by: 'blood', blood: '0.4', well: 'yes' }, (await nora.keyOf(path)) ?? '', 'well')
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
    expect(entries()).toEqual([])
  })

  it('are the ward’s own nurses’ to chart', async () => {
    expect((await (await world.signIn(people.bo)).get(path)).status).toBe(404)
    expect((await (await world.signIn(people.edda)).get(path)).status).toBe(403)
  })
})
