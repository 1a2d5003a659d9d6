/** Moves within and between wards, corrected identities, and the feed, over HTTP. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { admit, stayIdOf } from '../support/admission.ts'
import { ALL, takeExtra, takeReading } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byTag, checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld()
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const factsOf = (stayId: string) => world.store.stayFacts(ALL, stayId, world.clock.now())
const beds = (got: Got): readonly (string | null)[] =>
  byTag(got.root(), 'input')
    .filter((input) => attr(input, 'name') === 'to')
    .map((input) => attr(input, 'value'))

describe('a move', () => {
  const path = `/stays/${stays.ruth.stayId}/move`

  it('offers every empty bed of every ward, and explains what another unit means for orders', async () => {
    const got = await nora.get(path)
    expect([got.status, await checkHtml(got.text)]).toEqual([200, []])
    expect(beds(got)).toEqual([`${ALDER}.7`, `${ALDER}.8`, `${BIRCH}.C`, `${BIRCH}.D`])
    expect(got.words()).toContain('until it is transcribed again in mmol/L')
    expect(got.text).not.toContain('Farrow')
    expect((await nora.get(`/stays/${stays.tomas.stayId}/move`)).words()).not.toContain('transcribed again')
  })

  it('within the ward keeps checks and orders', async () => {
    const got = await nora.post(path, { to: `${ALDER}.7` })
    expect([got.status, got.location]).toEqual([303, `/stays/${stays.ruth.stayId}`])
    expect((await nora.follow(got)).words()).toContain('Patient in bed 7')
    await takeReading(nora, stays.ruth, '143')
    expect(factsOf(stays.ruth.stayId)).toMatchObject({
      stay: { bed: '7', wardId: ALDER },
      readings: [{ checkKey: `${stays.ruth.stayId}.2026-03-10.before-breakfast` }],
    })
    expect(factsOf(stays.ruth.stayId)?.orders.length).toBe(1)
  })

  it('to another ward ends the nurse’s access, takes an open low along, and ends the order', async () => {
    await takeExtra(nora, stays.ruth, '62', 'm1')
    const got = await nora.post(path, { to: `${BIRCH}.C` })
    expect([got.status, got.location]).toEqual([303, '/setup/beds'])
    expect((await nora.get(`/stays/${stays.ruth.stayId}`)).status).toBe(404)
    const bo = await world.signIn(people.bo)
    expect((await bo.get(`/stays/${stays.ruth.stayId}`)).words()).toContain('Patient in bed C')
    expect(factsOf(stays.ruth.stayId)?.openItems.map(({ kind, wardId }) => [kind, wardId])).toContainEqual([
      'low',
      BIRCH,
    ])
    const readingId = await takeExtra(bo, { ...stays.ruth, wardId: BIRCH, bed: 'C' }, '14.2', 'm2')
    expect((await bo.get(`/readings/${readingId}/dose`)).words()).not.toContain('units of insulin lispro')
    const lines = await bo.get(`/stays/${stays.ruth.stayId}/history`)
    expect(lines.words()).toContain('Alder, bed 1')
    expect(lines.words()).toContain('Birch, bed C')
  })

  it('leads a nurse of both wards to the patient’s page', async () => {
    const pia = await world.signIn(people.pia, { wardId: ALDER })
    expect((await pia.post(path, { to: `${BIRCH}.C` })).location).toBe(`/stays/${stays.ruth.stayId}`)
  })

  it.each([
    ['a bed that is taken', { to: `${ALDER}.2` }, 409, 'was taken in the meantime'],
    ['a bed that is none', { to: `${ALDER}.99` }, 422, 'Choose one of these beds.'],
    ['a ward that is none', { to: 'nowhere.1' }, 422, 'Choose one of these beds.'],
    ['the same bed', { to: `${ALDER}.1` }, 422, 'in bed 1 already'],
    ['nothing chosen', {}, 422, 'Choose a bed.'],
  ])('refuses: %s', async (_name, fields, status, sentence) => {
    const got = await nora.post(path, fields)
    expect([got.status, errorOf(got.root(), 'to')?.includes(sentence)]).toEqual([status, true])
    expect(await checkHtml(got.text)).toEqual([])
    expect(factsOf(stays.ruth.stayId)?.stay.bed).toBe('1')
  })

  it('lets one of a move and an admission win the same bed', async () => {
    const omar = await world.signIn(people.omar)
    const key = (await nora.keyOf(path)) ?? ''
    const both = await Promise.all([nora.postRaw(path, { to: `${ALDER}.7`, key }), admit(omar, '7')])
    expect(both.map(({ status }) => status).sort()).toEqual([303, 409])
  })

  it('moves once when sent twice; forty malformed posts move nobody', async () => {
    const key = (await nora.keyOf(path)) ?? ''
    for (const { name, body } of malformedPosts({ to: `${ALDER}.7` }, key, 'to')) {
      const got = await nora.postRaw(path, body)
      expect([name, got.status]).toEqual([name, 422])
      expect([name, await checkHtml(got.text)]).toEqual([name, []])
    }
    await Promise.all([1, 2].map(() => nora.postRaw(path, { to: `${ALDER}.7`, key })))
    expect(world.store.stayHistory(ALL, stays.ruth.stayId)?.beds.length).toBe(2)
  })

  it('is for nurses of the present ward only', async () => {
    const own = ['move', 'discharge', 'identity', 'facts', 'feed', 'plan']
    for (const [person, status] of [
      [people.bo, 404],
      [people.edda, 403],
      [people.anna, 403],
    ] as const) {
      const client = await world.signIn(person)
      for (const what of own)
        expect([person.name, what, (await client.get(`/stays/${stays.ruth.stayId}/${what}`)).status]).toEqual([
          person.name,
          what,
          status,
        ])
    }
    for (const what of own)
      expect((await world.visitor().get(`/stays/${stays.ruth.stayId}/${what}`)).location).toMatch(/^\/sign-in/)
    const bo = await world.signIn(people.bo)
    const key = world.server.appContext.formKeys.make(people.bo.staffId, 'move')
    expect((await bo.postRaw(path, { to: `${BIRCH}.C`, key })).status).toBe(404)
    expect(factsOf(stays.ruth.stayId)?.stay.wardId).toBe(ALDER)
  })
})

describe('name and identifiers', () => {
  const path = `/stays/${stays.ruth.stayId}/identity`
  const good = {
    wristband: 'W7390',
    familyName: 'Ashby-Lund',
    givenName: 'Ruth',
    bornOn: '1948-02-18',
    reason: 'Wristband torn, date read wrong',
  }

  it('are corrected with a reason; the history keeps both', async () => {
    const form = await nora.get(path)
    expect(await checkHtml(form.text)).toEqual([])
    expect(formTo(form.root(), path)?.fields).toMatchObject({
      wristband: 'W7301',
      familyName: 'Ashby',
      bornOn: '1948-02-17',
      reason: '',
    })
    expect((await nora.post(path, good)).status).toBe(303)
    expect(factsOf(stays.ruth.stayId)?.stay).toMatchObject({
      wristband: 'W7390',
      familyName: 'Ashby-Lund',
      bornOn: '1948-02-18',
    })
    expect(world.store.stayByWristband('W7301')).toBeUndefined()
    const history = await nora.get(`/stays/${stays.ruth.stayId}/history`)
    expect(await checkHtml(history.text)).toEqual([])
    for (const words of [
      'W7301',
      'W7390',
      '17 Feb 1948',
      '18 Feb 1948',
      'Because: Wristband torn, date read wrong',
      'Nora Lind',
    ])
      expect(history.words()).toContain(words)
  })

  it.each([
    ['no reason', { reason: '' }, 422, 'reason'],
    ['a wristband in use', { wristband: stays.tomas.wristband }, 409, 'wristband'],
    ['no given name', { givenName: '' }, 422, 'givenName'],
    ['born tomorrow', { bornOn: '2026-03-11' }, 422, 'bornOn'],
  ])('refuses: %s', async (_name, parts, status, field) => {
    const got = await nora.post(path, { ...good, ...parts })
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(factsOf(stays.ruth.stayId)?.stay.familyName).toBe('Ashby')
  })

  it('refuses no change; malformed posts change nothing', async () => {
    const { familyName, givenName, bornOn, wristband } = stays.ruth
    expect((await nora.post(path, { familyName, givenName, bornOn, wristband, reason: 'Just so' })).words()).toContain(
      'Nothing was changed.',
    )
    for (const { name, body } of malformedPosts(good, await nora.keyOf(path), 'bornOn'))
      expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
    expect(factsOf(stays.ruth.stayId)?.stay.familyName).toBe('Ashby')
  })

  it('can be corrected after discharge, whoever wears the number now', async () => {
    const stayId = stayIdOf(await admit(nora, '7'))
    await nora.post(`/stays/${stayId}/discharge`, { at: '' })
    await admit(nora, '8')
    expect((await nora.post(`/stays/${stayId}/identity`, { ...good, wristband: 'W7399' })).status).toBe(303)
    expect(factsOf(stayId)?.stay).toMatchObject({ familyName: 'Ashby-Lund', wristband: 'W7399' })
  })
})

describe('the feed', () => {
  it('cannot be stopped for a patient who eats by mouth', async () => {
    const path = `/stays/${stays.ruth.stayId}/feed`
    const got = await nora.get(path)
    expect([got.status, await checkHtml(got.text), got.words().includes('charted as fed by mouth')]).toEqual([
      200,
      [],
      true,
    ])
    expect(formTo(got.root(), path)).toBeUndefined()
    expect(
      (
        await nora.postRaw(path, {
          what: 'stopped',
          reason: 'X-ray',
          at: '',
          key: world.server.appContext.formKeys.make(people.nora.staffId, 'feed'),
        })
      ).status,
    ).toBe(409)
  })

  it('stops and restarts by tube, each with its time and reason', async () => {
    const stayId = stayIdOf(await admit(nora, '7', { feeding: 'tube', admittedAt: '06:00' }))
    const path = `/stays/${stayId}/feed`
    for (const [fields, field] of [
      [{ reason: '' }, 'reason'],
      [{ at: '07:21' }, 'at'],
      [{ at: '05:00' }, 'at'],
      [{ at: 'x' }, 'at'],
    ] as const) {
      const got = await nora.post(path, { what: 'stopped', reason: 'Tube blocked', at: '', ...fields })
      expect([fields, got.status, errorOf(got.root(), field) !== null]).toEqual([fields, 422, true])
    }
    expect((await nora.post(path, { what: 'running', reason: '', at: '' })).status).toBe(409)
    expect((await nora.post(path, { what: 'stopped', reason: 'Tube blocked', at: '07:00' })).status).toBe(303)
    const stopped = await nora.get(path)
    expect([await checkHtml(stopped.text), stopped.words().includes('Stopped since 07:00')]).toEqual([[], true])
    expect((await nora.post(path, { what: 'stopped', reason: 'Again', at: '' })).status).toBe(409)
    expect(errorOf((await nora.post(path, { what: 'running', reason: '', at: '06:59' })).root(), 'at')).toContain(
      'last change',
    )
    expect((await nora.post(path, { what: 'running', reason: '', at: '07:15' })).status).toBe(303)
    expect(world.store.stayHistory(ALL, stayId)?.interruptions).toMatchObject([
      {
        reason: 'Tube blocked',
        fromMs: alderTime('2026-03-10T07:00'),
        untilMs: alderTime('2026-03-10T07:15'),
        byId: people.nora.staffId,
      },
    ])
    expect(
      errorOf((await nora.post(path, { what: 'stopped', reason: 'Overlap', at: '07:10' })).root(), 'at'),
    ).toContain('last change')
    expect((await nora.get(`/stays/${stayId}/history`)).words()).toContain('07:00 to 07:15: Tube blocked')
    for (const { name, body } of malformedPosts(
      { what: 'stopped', reason: 'x', at: '' },
      await nora.keyOf(path),
      'what',
    ))
      expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
  })
})
