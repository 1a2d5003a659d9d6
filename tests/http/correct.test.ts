/** Correcting and voiding over HTTP: nothing is deleted, and a person reviews what depended on the reading. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Reading } from '../../shared/reading/reading.ts'
import { ALL, charted, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { byTag, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld()
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const facts = (who: TestStay) => {
  const found = world.store.stayFacts(ALL, who.stayId, world.clock.now())
  if (found === undefined) throw new Error('no stay')
  return found
}
const byIdOf = (who: TestStay, readingId: string): Reading | undefined =>
  facts(who).readings.find((one) => one.readingId === readingId)
const correction = (who: TestStay, glucose: string): Readonly<Record<string, string>> => ({
  wristband: who.wristband,
  glucose,
  reason: 'typed wrongly',
})

describe('correcting a value', () => {
  it('adds a new reading with the same time and check; both stay readable', async () => {
    const first = await takeReading(nora, stays.tomas, '187')
    world.clock.advance(2)
    const path = `/readings/${first}/correct`
    expect(await checkHtml((await nora.get(path)).text)).toEqual([])
    const got = await nora.post(path, correction(stays.tomas, '178'))
    expect(got.status).toBe(303)
    const second = got.location?.split('/')[2] ?? ''
    expect(byIdOf(stays.tomas, first)).toMatchObject({ glucose: { value: 187 }, supersededBy: second })
    expect(byIdOf(stays.tomas, second)).toMatchObject({
      glucose: { value: 178 },
      takenAtMs: world.clock.now() - 120_000,
      chartedAtMs: world.clock.now(),
      supersedes: { readingId: first, reason: 'typed wrongly' },
    })
    expect(facts(stays.tomas).outcomes.get(`${stays.tomas.stayId}.2026-03-10.before-breakfast`)).toMatchObject({
      kind: 'done',
      readingId: second,
    })
    const old = await nora.get(`/readings/${first}`)
    expect(byTag(old.root(), 's').map(textOf)).toEqual(['187 mg/dL'])
    expect(old.words()).toContain('Corrected: a newer reading counts in its place.')
    const stay = await nora.get(`/stays/${stays.tomas.stayId}`)
    expect(stay.words()).toContain('corrected: typed wrongly')
    expect(byTag(stay.root(), 's').map(textOf)).toEqual(['187 mg/dL'])
  })

  it.each([
    ['glucose', { glucose: '187' }, 422, 'Nothing would change.'],
    ['reason', { reason: '' }, 422, 'Say in a few words what was wrong.'],
    ['wristband', { wristband: '' }, 422, 'Scan the wristband'],
  ])('refuses a wrong %s: %j', async (field, parts, status, sentence) => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '187')}/correct`
    const before = charted(world, stays.tomas)
    const got = await nora.post(path, { ...correction(stays.tomas, '178'), ...parts })
    expect([got.status, errorOf(got.root(), field)?.includes(sentence)]).toEqual([status, true])
    expect(formTo(got.root(), path)?.fields).toMatchObject(parts)
    expect(charted(world, stays.tomas)).toBe(before)
  })

  it('refuses the other unit, corrects nothing, and keeps exactly one near miss', async () => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '187')}/correct`
    const got = await nora.post(path, correction(stays.tomas, '6.2'))
    expect([got.status, errorOf(got.root(), 'glucose')?.includes('looks like mmol/L')]).toEqual([422, true])
    expect(formTo(got.root(), path)?.fields).toMatchObject({ glucose: '6.2' })
    expect(facts(stays.tomas).readings.map(({ glucose, supersededBy }) => [glucose.value, supersededBy])).toEqual([
      [187, null],
    ])
    expect(
      world.store
        .nearMisses(ALL, { wardIds: [stays.tomas.wardId], fromMs: 0, toMs: world.clock.now() + 1 })
        .map(({ kind }) => kind),
    ).toEqual(['wrong-unit'])
  })

  it('stops at another wristband and keeps a near miss', async () => {
    const got = await nora.post(`/readings/${await takeReading(nora, stays.tomas, '187')}/correct`, {
      ...correction(stays.tomas, '178'),
      wristband: stays.ruth.wristband,
    })
    expect([got.status, got.words().includes('It is bed 1’s.'), facts(stays.tomas).readings.length]).toEqual([
      409,
      true,
      1,
    ])
  })

  it('counts one of two simultaneous corrections and tells the other', async () => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '187')}/correct`
    const pia = await world.signIn(people.pia)
    const [a, b] = await Promise.all([
      nora.post(path, correction(stays.tomas, '178')),
      pia.post(path, correction(stays.tomas, '179')),
    ])
    expect([a.status, b.status].sort()).toEqual([303, 409])
    expect(facts(stays.tomas).readings.length).toBe(2)
  })

  it('answers 422 to forty malformed posts and writes nothing', async () => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '187')}/correct`
    const oneTime = await nora.keyOf(path)
    const before = charted(world, stays.tomas)
    for (const { name, body } of malformedPosts(correction(stays.tomas, '178'), oneTime, 'glucose')) {
      const got = await nora.postRaw(path, body)
      expect([name, got.status]).toEqual([name, 422])
      expect([name, await checkHtml(got.text)]).toEqual([name, []])
    }
    expect(charted(world, stays.tomas)).toBe(before)
  })
})

describe('what depends on a reading', () => {
  it('voids a dose under way', async () => {
    const readingId = await takeReading(nora, stays.ruth, '212')
    const doseId = await proposeDose(nora, readingId)
    expect((await nora.post(`/readings/${readingId}/correct`, correction(stays.ruth, '187'))).status).toBe(303)
    expect(world.store.doseById(ALL, doseId)?.voided?.reason).toBe('reading-corrected')
  })

  it('opens a low event when corrected to a low', async () => {
    const readingId = await takeReading(nora, stays.ruth, '152')
    await nora.post(`/readings/${readingId}/correct`, correction(stays.ruth, '52'))
    expect(facts(stays.ruth).lows).toMatchObject([{ closedAtMs: null, openedAtMs: world.clock.now() }])
  })

  it('keeps the event when corrected from a low, until a person decides', async () => {
    const readingId = await takeReading(nora, stays.tomas, '52')
    await nora.post(`/readings/${readingId}/correct`, correction(stays.tomas, '152'))
    expect(facts(stays.tomas).lows).toMatchObject([{ closedAtMs: null }])
    const flag = facts(stays.tomas).openItems.find(({ kind }) => kind === 'flag')
    const path = `/flags/${flag?.itemId ?? ''}`
    const page = await nora.get(path)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('A low event was opened by it: look at what followed from it.')
    const bare = await nora.post(path, { note: ' ', closeLow: 'yes' })
    expect([bare.status, errorOf(bare.root(), 'note')?.includes('Say in a few words')]).toEqual([422, true])
    const before = charted(world, stays.tomas)
    for (const { name, body } of malformedPosts(
      { note: 'no low', closeLow: 'yes' },
      await nora.keyOf(path),
      'closeLow',
    ).filter(({ name: what }) => what !== 'the field missing')) {
      expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
    }
    expect(charted(world, stays.tomas)).toBe(before)
    expect((await nora.post(path, { note: 'typed 52 for 152', closeLow: 'yes' })).status).toBe(303)
    expect(facts(stays.tomas).lows).toMatchObject([{ closedAtMs: world.clock.now() }])
    expect(facts(stays.tomas).openItems).toEqual([])
    expect((await nora.get(path)).status).toBe(404)
  })

  it('refuses to close a low event as an error while a current reading is low', async () => {
    const readingId = await takeReading(nora, stays.tomas, '52')
    await nora.post(`/readings/${readingId}/correct`, correction(stays.tomas, '62'))
    const path = `/flags/${facts(stays.tomas).openItems.find(({ kind }) => kind === 'flag')?.itemId ?? ''}`
    expect(formTo((await nora.get(path)).root(), path)?.names).not.toContain('closeLow')
    const got = await nora.post(path, { note: 'x', closeLow: 'yes' })
    expect([got.status, errorOf(got.root(), 'closeLow')?.includes('is still low')]).toEqual([422, true])
  })
})

describe('a reading entered in error', () => {
  it('is not counted, stays readable, and reopens its check', async () => {
    const readingId = await takeReading(nora, stays.tomas, '187')
    const path = `/readings/${readingId}/void`
    expect(await checkHtml((await nora.get(path)).text)).toEqual([])
    const oneTime = (await nora.keyOf(path)) ?? ''
    const fields = { reason: 'bed 4, not bed 2', key: oneTime }
    const [first, second] = [await nora.postRaw(path, fields), await nora.postRaw(path, fields)]
    expect([first.status, second.status]).toEqual([303, 303])
    expect(byIdOf(stays.tomas, readingId)?.voided).toMatchObject({
      reason: 'bed 4, not bed 2',
      byId: people.nora.staffId,
    })
    expect(facts(stays.tomas).outcomes.size).toBe(0)
    expect((await nora.get(`/readings/${readingId}`)).words()).toContain(
      'Entered in error, by Nora Lind at 07:20: bed 4, not bed 2',
    )
    await takeReading(nora, stays.tomas, '112')
    for (const late of ['void', 'correct'])
      expect(
        (
          await nora.post(
            `/readings/${readingId}/${late}`,
            late === 'void' ? { reason: 'again' } : correction(stays.tomas, '178'),
          )
        ).status,
      ).toBe(409)
  })

  it('answers 422 to forty malformed posts and writes nothing', async () => {
    const path = `/readings/${await takeReading(nora, stays.tomas, '187')}/void`
    const oneTime = await nora.keyOf(path)
    const before = charted(world, stays.tomas)
    // the reason is free text, so only the other fields are malformed
    for (const { name, body } of malformedPosts({ reason: 'x' }, oneTime, 'reason').filter(
      (one) =>
        /unknown|missing|empty|blanks|twice|hundred|list|object|NUL|bell|5000|turned|non-character|only|noise|byte order|name/.test(
          one.name,
        ) && !/prototype$/.test(one.name),
    )) {
      expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
    }
    expect(charted(world, stays.tomas)).toBe(before)
  })
})

it('refuses other wards and roles: correct, void, call, resolve', async () => {
  const readingId = await takeReading(nora, stays.tomas, '52')
  const before = charted(world, stays.tomas)
  const paths = ['correct', 'void', 'critical-call'].map((what) => `/readings/${readingId}/${what}`)
  for (const [person, status] of [
    [people.bo, 404],
    [people.edda, 403],
    [people.anna, 403],
  ] as const) {
    const client = await world.signIn(person)
    for (const path of [...paths, '/flags/flag.x']) {
      expect((await client.get(path)).status).toBe(status)
      expect([403, 404, 409, 422]).toContain((await client.postRaw(path, { reason: 'x', key: 'x' })).status)
    }
  }
  for (const path of paths) expect((await world.visitor().get(path)).location).toMatch(/^\/sign-in/)
  expect(charted(world, stays.tomas)).toBe(before)
})
