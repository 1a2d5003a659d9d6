/** Giving a verified dose, or charting why it was not given. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import {
  ALL,
  answer,
  charted,
  dose,
  give,
  giveFields,
  proposeDose,
  takeExtra,
  takeReading,
  verify,
} from '../support/bedside.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, people } from '../support/people.ts'
import { meters, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import type { Client } from '../support/client.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
let nora: Client
let doseId: string
const path = (): string => `/doses/${doseId}/give`
const meal = { willEat: 'yes', tray: 'expected', elsewhere: 'none' }

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:45' })
  nora = await world.signIn(people.nora)
  doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
})
afterEach(() => world.close())

it('refuses before the second nurse has signed', async () => {
  const post = (): ReturnType<Client['postRaw']> =>
    nora.postRaw(path(), {
      ...giveFields(stays.ruth, '07:45'),
      key: world.server.appContext.formKeys.make(people.nora.staffId, 'give'),
    })
  expect([(await post()).status, (await nora.get(path())).words().includes('The dose is not verified')]).toEqual([
    409,
    true,
  ])
  await answer(nora, doseId, people.omar, '243', '4')
  expect((await post()).status).toBe(409)
  expect(dose(world.store, doseId).outcome).toBeNull()
})

describe('verified', () => {
  beforeEach(() => verify(nora, doseId, stays.ruth, people.omar, '243', '4'))

  it('is given with site, food and time; counts for the next dose and rotates the site', async () => {
    const page = await nora.get(path())
    expect(page.words()).toContain('4 units of insulin lispro')
    expect(formTo(page.root(), path())?.fields).toMatchObject({ site: 'left.abdomen', at: '2026-03-10T07:45' })
    expect(await checkHtml(page.text)).toEqual([])
    world.clock.advance(3)
    await give(nora, doseId, stays.ruth, '07:48')
    expect(dose(world.store, doseId).outcome).toEqual({
      kind: 'given',
      byId: people.nora.staffId,
      atMs: world.clock.now(),
      site: { side: 'left', area: 'abdomen' },
      food: 'tray-coming',
    })
    const facts = world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())
    expect(facts?.earlierDoses).toMatchObject([{ doseId, units: 4, source: 'here', withCorrection: true }])
    expect(facts?.openItems.map(({ kind }) => kind)).toContain('insulin-no-tray')
    const after = await nora.get(`/doses/${doseId}`)
    expect(after.words()).toContain('left abdomen')
    expect(after.words()).toMatch(/From the reading to the insulin: \d+ min\./)
    expect(await checkHtml(after.text)).toEqual([])
    // a later reading for this meal names the dose and does not repeat the correction
    world.clock.advance(6)
    const extra = await takeExtra(nora, stays.ruth, '260', 'again')
    const again = await nora.get(`/readings/${extra}/dose`)
    expect(again.words()).toContain(
      '4 units of insulin lispro was given 6 min ago; the interval is 4 h, free from 11:48',
    )
    expect(formTo(again.root(), `/readings/${extra}/dose`)).toBeUndefined()
  })

  it('never proposes the last site or finger again, however long ago', async () => {
    const finger = async (date: string): Promise<string | undefined> => {
      const key = `${stays.ruth.stayId}.${date}.before-breakfast`
      const got = await nora.postRaw(`/checks/${key}/patient`, { wristband: stays.ruth.wristband })
      return formTo(got.root(), `/checks/${key}`)?.fields['finger']
    }
    await give(nora, doseId, stays.ruth, '07:45')
    const used = world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.readings[0]?.site
    for (const days of [4, 30]) {
      world.clock.advance(days * 24 * 60)
      nora = await world.signIn(people.nora)
      const date = days === 4 ? '2026-03-14' : '2026-04-13'
      world.store.transact(() => {
        const nowMs = world.clock.now()
        const head = { wardId: ALDER, stayId: null, actorId: 'loader', happenedAtMs: nowMs, chartedAtMs: nowMs }
        const body = { meterId: meters.alder.meterId, passed: true }
        storeEvents(world.store, [{ ...head, type: 'meter-controlled', body }])
        return null
      })
      expect(await finger(date)).not.toBe(`${String(used?.hand)}-${String(used?.finger)}`)
      if (days === 4) continue
      const next = await proposeDose(
        nora,
        await takeReading(nora, stays.ruth, '243', { key: `${stays.ruth.stayId}.${date}.before-breakfast` }),
      )
      await verify(nora, next, stays.ruth, people.omar, '243', '4')
      expect(formTo((await nora.get(`/doses/${next}/give`)).root(), `/doses/${next}/give`)?.fields['site']).toBe(
        'right.abdomen',
      )
    }
  })

  it('accepts an earlier time, but not before the signature or in the future', async () => {
    world.clock.advance(9)
    for (const [at, words] of [
      ['07:44', 'before the signature for the product'],
      ['07:55', 'in the future'],
      ['25:00', 'Give the date and time'],
    ] as const) {
      const got = await nora.post(path(), giveFields(stays.ruth, at))
      expect([at, got.status, errorOf(got.root(), 'at')?.includes(words)]).toEqual([at, 422, true])
    }
    await give(nora, doseId, stays.ruth, '07:50')
    expect(dose(world.store, doseId).outcome).toMatchObject({ atMs: world.clock.now() - 4 * 60_000 })
  })

  it('is not given after its 30 minutes; a dose given within them can still be charted', async () => {
    world.clock.advance(31)
    nora = await world.signIn(people.nora)
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('Lapsed')
    const late = await nora.post(path(), giveFields(stays.ruth, '08:16'))
    expect([late.status, late.words().includes('has lapsed')]).toEqual([409, true])
    await give(nora, doseId, stays.ruth, '08:10')
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'given' })
  })

  it('is not given after a newer reading; a dose given before it can still be charted', async () => {
    world.clock.advance(5)
    await takeExtra(nora, stays.ruth, '251', 'newer')
    world.clock.advance(1)
    const got = await nora.post(path(), giveFields(stays.ruth, '07:51'))
    expect([got.status, got.words().includes('no longer counts')]).toEqual([409, true])
    await give(nora, doseId, stays.ruth, '07:49')
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'given' })
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('Given')
  })

  it('stops at another patient’s wristband, names only that bed, and keeps the near miss', async () => {
    const before = world.store.wardVersion(ALL, stays.ruth.wardId)
    const got = await nora.post(path(), { ...giveFields(stays.ruth, '07:45'), wristband: stays.tomas.wristband })
    expect(got.status).toBe(409)
    for (const text of ['STOP', 'bed 2']) expect(got.words()).toContain(text)
    expect(got.words()).not.toContain('Brandt')
    expect(dose(world.store, doseId).outcome).toBeNull()
    expect(world.store.wardVersion(ALL, stays.ruth.wardId)).not.toBe(before)
    const elsewhere = await nora.post(path(), { ...giveFields(stays.ruth, '07:45'), wristband: stays.gwen.wristband })
    expect(elsewhere.words()).toContain('It belongs to another ward.')
    expect(elsewhere.words()).not.toMatch(/bed A|Birch/)
  })

  it('asks about food and eating for a rapid insulin', async () => {
    for (const field of ['food', 'willEat']) {
      const got = await nora.post(
        path(),
        Object.fromEntries(Object.entries(giveFields(stays.ruth, '07:45')).filter(([name]) => name !== field)),
      )
      expect([field, got.status, errorOf(got.root(), field) !== null]).toEqual([field, 422, true])
    }
  })

  it('charts a tray that is here once, as a fact of the meal', async () => {
    await give(nora, doseId, stays.ruth, '07:45', { food: 'tray-here' })
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.trays).toMatchObject([
      { meal: 'breakfast', servedAtMs: world.clock.now() },
    ])
  })

  it('charts the same form once', async () => {
    const fields = { ...giveFields(stays.ruth, '07:45'), key: (await nora.keyOf(path())) ?? '' }
    const got = [await nora.postRaw(path(), fields), await nora.postRaw(path(), fields)]
    expect(got.map(({ status }) => status)).toEqual([303, 303])
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.earlierDoses).toHaveLength(1)
    // another key does not give it again
    expect(
      (
        await nora.postRaw(path(), {
          ...giveFields(stays.ruth, '07:45'),
          key: world.server.appContext.formKeys.make(people.nora.staffId, 'give'),
        })
      ).status,
    ).toBe(409)
  })

  it.each([
    ['withheld', 'Prescriber asked to wait'],
    ['refused', 'Does not want it'],
  ])('charts %s, with the reason', async (kind, reason) => {
    expect((await nora.post(`/doses/${doseId}/not-given`, { kind, reason: '  ' })).status).toBe(422)
    expect((await nora.post(`/doses/${doseId}/not-given`, { kind, reason })).status).toBe(303)
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind, reason })
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain(reason)
    expect((await nora.post(path(), giveFields(stays.ruth, '07:45'))).status).toBe(409)
  })

  it('keeps a given dose after a correction, and flags it for a person', async () => {
    await give(nora, doseId, stays.ruth, '07:45')
    const readingId = dose(world.store, doseId).readingId ?? ''
    expect((await nora.post(`/readings/${readingId}/void`, { reason: 'wrong patient' })).status).toBeLessThan(500)
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'given' })
  })

  it('answers 40 malformed posts and charts nothing', async () => {
    const key = await nora.keyOf(path())
    const before = charted(world, stays.ruth)
    const posts = malformedPosts(giveFields(stays.ruth, '07:45'), key, 'site')
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) expect([name, (await nora.postRaw(path(), body)).status]).toEqual([name, 422])
    const notGiven = `/doses/${doseId}/not-given`
    const reasonKey = await nora.keyOf(notGiven)
    for (const { name, body } of malformedPosts({ kind: 'withheld', reason: 'asked to wait' }, reasonKey, 'kind'))
      expect([name, (await nora.postRaw(notGiven, body)).status]).toEqual([name, 422])
    expect(charted(world, stays.ruth)).toBe(before)
  })
})

describe('does not give a meal part when no food comes', () => {
  beforeEach(async () => {
    doseId = await proposeDose(nora, await takeReading(nora, stays.ines, '243'), meal)
    await verify(nora, doseId, stays.ines, people.omar, '243', '8')
  })
  it.each([
    ['no food is coming', { food: 'not-with-a-meal' }, 'food', 'no food is coming: it is not given'],
    ['the patient will not eat', { willEat: 'no' }, 'willEat', 'will not eat: it is not given'],
    ['the tray is too far off', { trayInMin: '16' }, 'trayInMin', "The tray is 16 min off; the ward's limit is 15 min"],
    ['nobody knows when', { trayInMin: '' }, 'trayInMin', 'In how many minutes'],
  ] as const)('%s', async (_name, change, field, words) => {
    const before = charted(world, stays.ines)
    const got = await nora.post(path(), { ...giveFields(stays.ines, '07:45'), ...change })
    expect([got.status, errorOf(got.root(), field)?.includes(words)]).toEqual([422, true])
    expect(charted(world, stays.ines)).toBe(before)
  })
  it('withholds the dose and works it out again as not eating; the correction stays', async () => {
    const readingId = dose(world.store, doseId).readingId ?? ''
    await nora.post(`/doses/${doseId}/not-given`, { kind: 'withheld', reason: 'No food is coming' })
    const again = await proposeDose(nora, readingId, { willEat: 'no' })
    expect(dose(world.store, again).units).toBe(4)
    await verify(nora, again, stays.ines, people.omar, '243', '4')
    await give(nora, again, stays.ines, '07:45', { food: 'not-with-a-meal', trayInMin: '', willEat: 'no' })
    expect(dose(world.store, again).outcome).toMatchObject({ kind: 'given', food: 'not-with-a-meal' })
  })
  it('accepts a tray that is here, or due within the limit', async () => {
    await give(nora, doseId, stays.ines, '07:45', { trayInMin: '15' })
    expect(dose(world.store, doseId).outcome).toMatchObject({ food: 'tray-coming' })
  })
})
