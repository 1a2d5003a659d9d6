/** A patient's page over HTTP, and readings charted from paper. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, charted, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { attr, byTag, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays, type TestStay } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld()
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const pageOf = (who: TestStay): string => `/stays/${who.stayId}`
const newest = (who: TestStay) => world.store.stayFacts(ALL, who.stayId, world.clock.now())?.readings[0]

describe('the page', () => {
  it('shows identifiers, facts, plan, order and links', async () => {
    const got = await nora.get(pageOf(stays.yusuf))
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    for (const words of [
      'Bed 4',
      'Dunne, Yusuf',
      'born 21 Jun 1955',
      'wristband W7304',
      'Not the left hand: drip',
      'left (drip)',
      'Before meals and at bedtime',
      'NOT VERIFIED by a second person',
      '301',
      'Nothing charted.',
    ])
      expect(got.words()).toContain(words)
    expect(byTag(got.root(), 'a').map((a) => attr(a, 'href'))).toEqual(
      expect.arrayContaining(
        ['extra', 'tray', 'paper-reading', 'outside-dose'].map((way) => `${pageOf(stays.yusuf)}/${way}`),
      ),
    )
    expect(got.headers['cache-control']).toBe('no-store')
  })

  it('lists events newest first, and hides unchecked values from a possible second checker', async () => {
    const readingId = await takeReading(nora, stays.ruth, '287')
    await proposeDose(nora, readingId)
    const mine = await nora.get(pageOf(stays.ruth))
    expect(byTag(mine.root(), 'td').map(textOf)).toEqual(
      expect.arrayContaining(['287 mg/dL', '6 units of insulin lispro']),
    )
    for (const other of [people.omar, people.cora]) {
      const got = await (await world.signIn(other)).get(pageOf(stays.ruth))
      expect(got.text).not.toContain('287')
      expect(byTag(got.root(), 'td').map(textOf)).not.toContain('6 units of insulin lispro')
      expect(got.words()).toContain('awaiting second check')
    }
    expect(byTag((await (await world.signIn(people.edda)).get(pageOf(stays.ruth))).root(), 'td').map(textOf)).toContain(
      '287 mg/dL',
    )
  })

  it('shows a low to everybody', async () => {
    await takeReading(nora, stays.ruth, '62')
    const got = await (await world.signIn(people.omar)).get(pageOf(stays.ruth))
    expect(byTag(got.root(), 'td').map(textOf)).toEqual(
      expect.arrayContaining(['62 mg/dL', 'Low event', 'not recovered']),
    )
  })

  it('lets an educator read only, and refuses others', async () => {
    const edda = await world.signIn(people.edda)
    expect(byTag((await edda.get(pageOf(stays.ruth))).root(), 'a').map((a) => attr(a, 'href'))).not.toContain(
      `${pageOf(stays.ruth)}/extra`,
    )
    expect((await (await world.signIn(people.bo)).get(pageOf(stays.ruth))).status).toBe(404)
    expect((await (await world.signIn(people.anna)).get(pageOf(stays.ruth))).status).toBe(403)
    expect((await world.visitor().get(pageOf(stays.ruth))).location).toMatch(/^\/sign-in/)
    expect((await nora.get('/stays/nobody')).status).toBe(404)
  })
})

describe('a reading from paper', () => {
  const path = `${pageOf(stays.tomas)}/paper-reading`
  const good = {
    wristband: stays.tomas.wristband,
    glucose: '143',
    takenAt: '07:05',
    takenBy: people.omar.badge,
    meterId: '',
  }

  it('is charted late, by any nurse, for the check in whose window it was taken', async () => {
    expect(await checkHtml((await nora.get(path)).text)).toEqual([])
    const got = await nora.post(path, good)
    expect([got.status, got.location]).toEqual([303, `/readings/${newest(stays.tomas)?.readingId ?? ''}`])
    expect(newest(stays.tomas)).toMatchObject({
      source: 'paper',
      lateReason: 'charted-on-paper',
      takenAtMs: alderTime('2026-03-10T07:05'),
      chartedAtMs: world.clock.now(),
      byId: people.omar.staffId,
      site: null,
      meterId: null,
      checkKey: `${stays.tomas.stayId}.2026-03-10.before-breakfast`,
    })
    expect((await nora.get(got.location ?? '')).words()).toContain('Charted late, at 07:20: charted on paper first.')
  })

  it('answers no check outside every window; a low opens its event at its own time', async () => {
    expect((await nora.post(path, { ...good, takenAt: '2026-03-10 03:10', takenBy: '', glucose: 'LO' })).status).toBe(
      303,
    )
    expect(newest(stays.tomas)).toMatchObject({ checkKey: null, byId: people.nora.staffId, glucose: { value: 'LO' } })
    expect(world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.lows).toMatchObject([
      { openedAtMs: alderTime('2026-03-10T03:10') },
    ])
  })

  it.each([
    ['takenAt', { takenAt: '' }, 'Type when it was taken'],
    ['takenAt', { takenAt: '07:21' }, 'has not come yet'],
    ['takenAt', { takenAt: '2026-03-08 07:00' }, 'before the patient’s admission'],
    ['takenBy', { takenBy: 'N9999' }, 'No nurse of this ward has this badge.'],
    ['takenBy', { takenBy: people.bo.badge }, 'No nurse of this ward has this badge.'],
    ['takenBy', { takenBy: people.edda.badge }, 'No nurse of this ward has this badge.'],
    ['meterId', { meterId: 'x' }, 'not one of this ward’s'],
  ])('refuses a wrong %s: %j', async (field, parts, sentence) => {
    const before = charted(world, stays.tomas)
    const got = await nora.post(path, { ...good, ...parts })
    expect([got.status, errorOf(got.root(), field)?.includes(sentence)]).toEqual([422, true])
    if (field !== 'meterId') expect(formTo(got.root(), path)?.fields).toMatchObject(parts)
    expect(charted(world, stays.tomas)).toBe(before)
  })

  it('in the other unit is no reading, and exactly one near miss', async () => {
    const misses = () =>
      world.store
        .nearMisses(ALL, { wardIds: [stays.tomas.wardId], fromMs: 0, toMs: world.clock.now() + 1 })
        .map(({ kind }) => kind)
    const got = await nora.post(path, { ...good, glucose: '6.2' })
    expect([got.status, errorOf(got.root(), 'glucose')?.includes('looks like mmol/L')]).toEqual([422, true])
    expect(formTo(got.root(), path)?.fields).toMatchObject({ glucose: '6.2' })
    expect([newest(stays.tomas), misses()]).toEqual([undefined, ['wrong-unit']])
  })

  it('refuses another wristband', async () => {
    expect((await nora.post(path, { ...good, wristband: stays.ruth.wristband })).status).toBe(409)
    expect(newest(stays.tomas)).toBeUndefined()
  })

  it('is charted once when sent twice', async () => {
    const oneTime = (await nora.keyOf(path)) ?? ''
    await Promise.all([nora.postRaw(path, { ...good, key: oneTime }), nora.postRaw(path, { ...good, key: oneTime })])
    expect(world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.readings.length).toBe(1)
  })

  it('answers 422 to forty malformed posts and writes nothing', async () => {
    const oneTime = await nora.keyOf(path)
    const before = charted(world, stays.tomas)
    for (const strict of ['glucose', 'takenAt']) {
      for (const { name, body } of malformedPosts(good, oneTime, strict)) {
        const got = await nora.postRaw(path, body)
        expect([strict, name, got.status]).toEqual([strict, name, 422])
        expect([strict, name, await checkHtml(got.text)]).toEqual([strict, name, []])
      }
    }
    expect(charted(world, stays.tomas)).toBe(before)
  })

  it('refuses other wards and roles', async () => {
    for (const [person, status] of [
      [people.bo, 404],
      [people.edda, 403],
      [people.anna, 403],
    ] as const)
      expect((await (await world.signIn(person)).get(path)).status).toBe(status)
  })
})
