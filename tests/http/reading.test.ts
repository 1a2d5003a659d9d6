/** The result over HTTP: its text, masking, the next bed, and the critical call. */
import { gunzipSync, gzipSync } from 'node:zlib'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, charted, takeExtra, takeReading } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byClass, byTag, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { meters, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
let omar: Client
beforeEach(async () => {
  world = await makeWorld()
  nora = await world.signIn(people.nora)
  omar = await world.signIn(people.omar)
})
afterEach(() => world.close())

const links = (got: Got): readonly (string | null)[] => byTag(got.root(), 'a').map((a) => attr(a, 'href'))
const steps = (got: Got): readonly string[] =>
  byClass(got.root(), 'next-steps').flatMap((list) => byTag(list, 'li').map(textOf))
const bigNumber = (got: Got): string => byClass(got.root(), 'big-number').map(textOf).join(' ')

describe('result', () => {
  it('in range without an order: done, and the next bed with its scan box', async () => {
    const got = await nora.get(`/readings/${await takeReading(nora, stays.tomas, '112')}`)
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    expect(bigNumber(got)).toBe('112 mg/dL')
    expect(steps(got)).toEqual(['No active insulin order.', 'Nothing else to do here.'])
    expect(got.words()).toContain('Taken 07:20 by Nora Lind, left middle finger, meter M-4401, strips L5520.')
    expect(got.words()).toMatch(/Next: bed \d/)
    expect(formTo(got.root(), '/scan')?.names).toEqual(['wristband'])
    expect(byClass(got.root(), 'caution').length).toBe(1)
  })

  it('with an order: links to the dose and shows no units yet', async () => {
    const readingId = await takeReading(nora, stays.ruth, '212')
    const got = await nora.get(`/readings/${readingId}`)
    expect(steps(got)[0]).toContain('The order of insulin lispro answers this value. Order version 1, 212 mg/dL.')
    expect(links(got)).toContain(`/readings/${readingId}/dose`)
    expect(got.words()).not.toMatch(/\d units?\b/)
  })

  it('below the low limit: treat now, recheck in 15 min, ask about meal insulin, no dose', async () => {
    const readingId = await takeReading(nora, stays.ines, '52')
    const got = await nora.get(`/readings/${readingId}`)
    const low = world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now())?.lows[0]
    expect(low).toMatchObject({ openedByReadingId: readingId, closedAtMs: null })
    expect(steps(got)[0]).toContain('Low, level 2: treat now')
    expect(steps(got)[0]).toContain('52 mg/dL is below 54 mg/dL. Recheck by 07:35.')
    expect(steps(got)[1]).toContain('Ask the prescriber about meal and long-acting insulin by 07:35')
    expect(steps(got)[1]).toContain('Type 1 diabetes')
    expect(byClass(got.root(), 'loud').length).toBeGreaterThan(0)
    expect(links(got)).toContain(`/lows/${low?.lowId ?? ''}`)
    expect(links(got)).not.toContain(`/readings/${readingId}/dose`)
    expect(await checkHtml(got.text)).toEqual([])
  })

  it('of a recheck above the low: is charted in the event and names the follow-up', async () => {
    await takeReading(nora, stays.tomas, '52')
    world.clock.advance(15)
    nora = await world.signIn(people.nora)
    const low = world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.lows[0]
    const got = await nora.get(
      `/readings/${await takeReading(nora, stays.tomas, '96', { key: `low.${low?.lowId ?? ''}.1` })}`,
    )
    expect(got.words()).toContain('Recheck after a low: result')
    expect(steps(got)[0]).toContain(
      'Recovered: one more recheck at 08:35. Recovered means 70 mg/dL or more; this value is 96 mg/dL.',
    )
  })

  it('critical high: repeat, then call; a repeat that agrees continues', async () => {
    const first = await nora.get(`/readings/${await takeReading(nora, stays.ruth, '405')}`)
    expect(steps(first)[0]).toContain(
      'Critical high. Repeat on a clean, different finger. No insulin until the repeat confirms it. 405 mg/dL is above 400 mg/dL. Repeat within 10 min, by 07:30.',
    )
    expect(steps(first)[1]).toContain('Tell the prescriber as soon as the repeat confirms it, by 07:50 at the latest.')
    world.clock.advance(5)
    const readingId = await takeExtra(nora, stays.ruth, '395', 'a')
    expect(links(await nora.get(`/readings/${readingId}`))).toContain(`/readings/${readingId}/dose`)
  })

  it('HI: no dose, laboratory sample', async () => {
    const got = await nora.get(`/readings/${await takeReading(nora, stays.ruth, 'HI')}`)
    expect(bigNumber(got)).toBe('HI')
    expect(steps(got).at(-1)).toContain('HI is no number: send a laboratory sample and chart its value by 08:20')
  })

  it('from a meter in doubt: no insulin', async () => {
    const got = await nora.get(
      `/readings/${await takeReading(nora, stays.ruth, '212', { meterId: meters.alderNoControl.meterId })}`,
    )
    expect(steps(got)).toEqual([
      expect.stringContaining(
        'No insulin from this reading. Measure again with a meter that is fit for the round. The meter has no passed control of that day.',
      ),
    ])
  })

  it('with an unverified order: no dose', async () => {
    const got = await nora.get(`/readings/${await takeReading(nora, stays.yusuf, '212')}`)
    expect(steps(got)[0]).toContain('not verified by a second person')
  })

  it('is at most 6 KB compressed, as served', async () => {
    const readingId = await takeReading(nora, stays.ines, '38')
    const got = await nora.get(`/readings/${readingId}`)
    expect(gzipSync(got.text).length).toBeLessThanOrEqual(6 * 1024)
    const raw = await world.server.app.inject({
      method: 'GET',
      url: `/readings/${readingId}`,
      headers: {
        host: 'ward.test',
        'accept-encoding': 'gzip',
        cookie: [...nora.cookies].map(([name, value]) => `${name}=${value}`).join('; '),
      },
    })
    expect(raw.headers['content-encoding']).toBe('gzip')
    expect(gunzipSync(raw.rawPayload).toString()).toContain('38')
    expect(raw.rawPayload.length).toBeLessThanOrEqual(6 * 1024)
  })
})

describe('masking', () => {
  it('shows a possible second checker that it waits, without value or consequence', async () => {
    const readingId = await takeReading(nora, stays.ruth, '287')
    const got = await omar.get(`/readings/${readingId}`)
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toContain('Awaiting second check.')
    expect(got.text).not.toContain('287')
    expect(steps(got)).toEqual([])
    expect((await (await world.signIn(people.cora)).get(`/readings/${readingId}`)).text).not.toContain('287')
    for (const path of ['correct', 'void', 'critical-call'])
      expect((await omar.get(`/readings/${readingId}/${path}`)).text).not.toContain('287')
  })

  it('never applies to a low, or a reading that no order can answer', async () => {
    expect(bigNumber(await omar.get(`/readings/${await takeReading(nora, stays.ruth, '62')}`))).toBe('62 mg/dL')
    expect(bigNumber(await omar.get(`/readings/${await takeReading(nora, stays.tomas, '187')}`))).toBe('187 mg/dL')
  })

  it('ends an hour later, when the reading leads to no dose', async () => {
    const readingId = await takeReading(nora, stays.ruth, '287')
    world.clock.stepWardTime(60)
    expect((await omar.get(`/readings/${readingId}`)).text).not.toContain('287')
    world.clock.stepWardTime(1)
    expect(bigNumber(await omar.get(`/readings/${readingId}`))).toBe('287 mg/dL')
  })

  it('lets the educator read it; other wards and roles cannot', async () => {
    const readingId = await takeReading(nora, stays.ruth, '287')
    expect(bigNumber(await (await world.signIn(people.edda)).get(`/readings/${readingId}`))).toBe('287 mg/dL')
    expect((await (await world.signIn(people.bo)).get(`/readings/${readingId}`)).status).toBe(404)
    expect((await (await world.signIn(people.anna)).get(`/readings/${readingId}`)).status).toBe(403)
    expect((await world.visitor().get(`/readings/${readingId}`)).location).toMatch(/^\/sign-in/)
    for (const none of ['x', 'x'.repeat(16), `${readingId}0`])
      expect((await nora.get(`/readings/${none}`)).status).toBe(404)
  })
})

describe('critical call', () => {
  const said = { told: 'Dr Sanna Weir', readBack: 'yes', ordered: 'laboratory sample' }
  const isOpen = (): boolean =>
    world.store
      .stayFacts(ALL, stays.tomas.stayId, world.clock.now())
      ?.openItems.some(({ kind }) => kind === 'critical') ?? false

  it('is charted once: recipient, read-back and orders', async () => {
    const readingId = await takeReading(nora, stays.tomas, '38')
    const path = `/readings/${readingId}/critical-call`
    const page = await nora.get(path)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('Call due 07:50')
    expect(isOpen()).toBe(true)
    const oneTime = (await nora.keyOf(path)) ?? ''
    const [first, second] = await Promise.all([
      nora.postRaw(path, { ...said, key: oneTime }),
      nora.postRaw(path, { ...said, key: oneTime }),
    ])
    expect([first.status, second.status, first.location, isOpen()]).toEqual([303, 303, `/readings/${readingId}`, false])
    expect((await nora.get(`/readings/${readingId}`)).words()).toContain(
      'The prescriber was told of this critical result.',
    )
    const again = await omar.post(path, said)
    expect([again.status, again.words().includes('waits for no call')]).toEqual([409, true])
  })

  it.each([
    ['readBack', { told: 'Dr Weir', ordered: '' }, 'Tick that the value was read back.'],
    ['told', { told: '', readBack: 'yes', ordered: '' }, 'Type who was told.'],
    ['ordered', { told: 'Dr Weir', readBack: 'yes', ordered: 'x'.repeat(501) }, 'At most 500 characters.'],
  ])('refuses without %s', async (field, fields, sentence) => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '38')}/critical-call`
    const got = await nora.post(path, fields)
    expect([got.status, errorOf(got.root(), field)?.includes(sentence)]).toEqual([422, true])
    expect(formTo(got.root(), path)?.fields).toMatchObject({ told: fields.told })
    expect(isOpen()).toBe(true)
  })

  it('says how late it is past its deadline', async () => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '38')}/critical-call`
    world.clock.stepWardTime(45)
    expect((await nora.get(path)).words()).toContain('Call was due 07:50')
  })

  it('answers 404 for an ordinary value', async () => {
    const got = await nora.post(`/readings/${await takeReading(nora, stays.tomas, '112')}/critical-call`, said)
    expect(got.status).toBe(409)
  })

  it('answers 422 to forty malformed posts and writes nothing', async () => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '38')}/critical-call`
    const oneTime = await nora.keyOf(path)
    const before = charted(world, stays.tomas)
    for (const { name, body } of malformedPosts(said, oneTime, 'readBack')) {
      const got = await nora.postRaw(path, body)
      expect([name, got.status]).toEqual([name, 422])
    }
    expect(charted(world, stays.tomas)).toBe(before)
    expect(isOpen()).toBe(true)
  })
})
