/**
 * Meters, strips, controls, comparisons and recalls over HTTP, with roles, repeats and concurrent forms; and what
 * each control lets a reading lead to.
 */
import { afterEach, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Store } from '../../server/store/contract.ts'
import { ALL, DATE, give, proposeDose, takeExtra, takeReading, verify } from '../support/bedside.ts'
import type { Client, Fields, Got } from '../support/client.ts'
import { attr, byTag, checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { lots, meters, stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World
afterEach(() => world.close())

const AWAKE: Partial<WardPolicy> = { idleLockMin: 100_000 }
const CEDAR = 'wardcedar0000001'
const path = (meterId: string, step = ''): string => `/setup/meters/${meterId}${step}`
const METER = meters.alder.meterId
const OTHER = meters.alderNoControl.meterId

async function open(options: WorldOptions = {}): Promise<void> {
  world = await makeWorld({ at: `${DATE}T07:20`, alderPolicy: AWAKE, birchPolicy: AWAKE, ...options })
}
function event(type: LedgerEvent['type'], wardId: string | null, body: object): LedgerEvent {
  return {
    type,
    wardId,
    stayId: null,
    actorId: 'loader',
    happenedAtMs: world.clock.now(),
    chartedAtMs: world.clock.now(),
    body,
  } as LedgerEvent
}
function append(...events: readonly LedgerEvent[]): void {
  world.store.transact(() => {
    world.store.append(events)
    return null
  })
}
/** The ranges on the label of Alder's good lot. */
function withRanges(): void {
  append(
    event('strip-lot-ranges-set', ALDER, {
      lot: lots.good,
      level1: { unit: 'mg/dL', from: 36, to: 54 },
      level2: { unit: 'mg/dL', from: 100, to: 140 },
    }),
  )
}
/** A third ward, in mg/dL, without patients. */
function withCedar(): void {
  append(
    event('ward-opened', CEDAR, { name: 'Cedar', beds: ['1'] }),
    event('policy-set', CEDAR, { version: 1, policy: { ...defaultPolicy('mg/dL', 'America/Chicago'), ...AWAKE } }),
  )
}
const meter = (meterId: string): ReturnType<Store['meterById']> =>
  world.store.meterById({ ...ALL, role: 'administrator' }, meterId)
const state = (): string =>
  JSON.stringify([
    world.store.lastEventAtMs(),
    [ALDER, BIRCH].map((wardId) => [
      world.store.wardVersion(ALL, wardId),
      world.store.metersOfWard(ALL, wardId),
      world.store.stripLotsOfWard(ALL, wardId),
    ]),
    [METER, OTHER].map((id) => [world.store.controlsOf(ALL, id, 0), world.store.comparisonsOf(ALL, id)]),
  ])
const control = (
  client: Client,
  meterId: string,
  level1: string,
  level2: string,
  lot: string = lots.good,
): Promise<Got> => client.post(path(meterId, '/controls'), { lot, level1, level2 })
function readingOf(who: TestStay, readingId: string): Reading {
  const found = world.store
    .stayFacts(ALL, who.stayId, world.clock.now())
    ?.readings.find((one) => one.readingId === readingId)
  if (found === undefined) throw new Error(`no reading ${readingId}`)
  return found
}
/** The messages of the refused form and their fields. */
const said = (got: Got, field: string): readonly unknown[] => [got.status, errorOf(got.root(), field)]

async function sendMalformed(client: Client, address: string, good: Fields, strict: string): Promise<void> {
  const key = await client.keyOf(address)
  const before = state()
  const posts = malformedPosts(good, key, strict)
  expect(posts.length).toBeGreaterThanOrEqual(40)
  for (const { name, body } of posts) {
    const got = await client.postRaw(address, body)
    expect(got.status, `${name}: ${body.slice(0, 80)}`).toBe(422)
    expect(await checkHtml(got.text), name).toEqual([])
  }
  expect(state()).toBe(before)
}

describe('list and page of a meter', () => {
  it('says whether each meter may be used today, and why not', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const got = await nora.get('/setup/meters')
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toMatch(
      /M-4401 ✓ Usable mg\/dL Last control: Passed, 00:00 M-4402 ■ Not usable: today’s control is not done mg\/dL Last control: none/,
    )
    expect(got.words()).not.toContain('M-8801')
    expect(got.words()).not.toContain('Add a meter')
    const one = await nora.get(path(OTHER))
    expect(await checkHtml(one.text)).toEqual([])
    expect(one.words()).toContain('Meter M-4402 ■ Not usable: today’s control is not done')
    expect(byTag(one.root(), 'a').map((link) => attr(link, 'href'))).toContain(`${path(OTHER)}/controls`)
    expect(one.words()).not.toContain('Retire')
  })
  it('shows an administrator all wards’ meters and no patient, others their own wards’', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    const all = await anna.get('/setup/meters')
    expect(await checkHtml(all.text)).toEqual([])
    for (const { serial } of Object.values(meters)) expect(all.words()).toContain(serial)
    expect(all.text).not.toMatch(/Ashby|W7301/)
    expect((await anna.get(path(METER))).words()).toContain('Move Retire')
    expect((await anna.get(path(METER))).words()).not.toContain('Chart a control')
    const bo = await world.signIn(people.bo)
    for (const step of ['', '/controls']) expect((await bo.get(path(METER, step))).status, step).toBe(404)
    const carl = await world.signIn(people.carl)
    for (const step of ['/move', '/retire', '/comparisons'])
      expect((await carl.get(path(METER, step))).status, step).toBe(404)
    expect((await carl.get('/setup/meters/..%2Fx')).status).toBe(404)
    expect((await world.visitor().get('/setup/meters')).location).toMatch(/^\/sign-in/)
  })
  it('refuses other roles and stores nothing', async () => {
    await open()
    const [nora, edda, anna] = [
      await world.signIn(people.nora),
      await world.signIn(people.edda),
      await world.signIn(people.anna),
    ]
    const before = state()
    for (const [client, steps] of [
      [nora, ['/move', '/retire', '/comparisons']],
      [edda, ['/move', '/retire', '/comparisons', '/controls']],
      [anna, ['/controls']],
    ] as const) {
      for (const step of steps) {
        expect((await client.get(path(METER, step))).status, step).toBe(403)
        expect((await client.postRaw(path(METER, step), { reason: 'x', toWardId: BIRCH })).status, step).toBe(403)
      }
    }
    expect((await nora.postRaw('/setup/meters/new', { serial: 'M-1' })).status).toBe(403)
    expect((await edda.get('/setup/strips/new')).status).toBe(403)
    expect([(await nora.get('/recall')).status, (await anna.get('/recall')).status]).toEqual([403, 403])
    expect(state()).toBe(before)
  })
})

describe('adding, moving, retiring', () => {
  const good = { serial: 'M-4403', wardId: ALDER, unit: 'mg/dL' } as const
  it('adds a charge nurse’s meter, not usable before its control', async () => {
    await open()
    const cora = await world.signIn(people.cora)
    const form = await cora.get('/setup/meters/new')
    expect(await checkHtml(form.text)).toEqual([])
    const added = await cora.post('/setup/meters/new', good)
    expect((await cora.follow(added)).words()).toContain('Meter M-4403 ■ Not usable: today’s control is not done')
    expect((await cora.get(`/checks/extra.${stays.tomas.stayId}.extra00000000001`)).status).toBe(200)
  })
  it('requires a unique serial number on all wards, also for two people at once', async () => {
    await open()
    const [cora, anna] = [await world.signIn(people.cora), await world.signIn(people.anna)]
    const taken = await cora.post('/setup/meters/new', { ...good, serial: meters.birch.serial })
    expect(said(taken, 'serial')).toEqual([409, expect.stringContaining('M-8801 is set up already')])
    expect(formTo(taken.root(), '/setup/meters/new')?.fields).toMatchObject({
      serial: 'M-8801',
      wardId: ALDER,
      unit: 'mg/dL',
    })
    const [hers, theirs] = [await cora.keyOf('/setup/meters/new'), await anna.keyOf('/setup/meters/new')]
    const both = await Promise.all([
      cora.postRaw('/setup/meters/new', { ...good, key: hers ?? '' }),
      anna.postRaw('/setup/meters/new', { ...good, key: theirs ?? '' }),
    ])
    expect(both.map(({ status }) => status).sort()).toEqual([303, 409])
    expect(world.store.metersOfWard(ALL, ALDER).filter(({ serial }) => serial === 'M-4403')).toHaveLength(1)
  })
  it('adds one meter when sent twice; refuses the same key with another body', async () => {
    await open()
    const cora = await world.signIn(people.cora)
    const key = (await cora.keyOf('/setup/meters/new')) ?? ''
    const both = await Promise.all([
      cora.postRaw('/setup/meters/new', { ...good, key }),
      cora.postRaw('/setup/meters/new', { ...good, key }),
    ])
    expect(both.map(({ status }) => status)).toEqual([303, 303])
    expect(both[0]?.location).toBe(both[1]?.location)
    expect((await cora.postRaw('/setup/meters/new', { ...good, serial: 'M-4404', key })).status).toBe(409)
    expect(world.store.metersOfWard(ALL, ALDER)).toHaveLength(3)
  })
  it.each([
    [{ unit: 'mmol/L' }, 'unit', 'The meter shows mmol/L, and the ward measures in mg/dL'],
    [{ wardId: BIRCH }, 'wardId', 'Choose one of your wards'],
    [{ serial: '' }, 'serial', 'Scan or type the serial number'],
    [{ serial: 'x'.repeat(41) }, 'serial', 'at most 40'],
    [{ unit: 'mg' }, 'unit', 'Choose the unit'],
  ] as const)('refuses: %j', async (parts, field, sentence) => {
    await open()
    const cora = await world.signIn(people.cora)
    const before = state()
    const got = await cora.post('/setup/meters/new', { ...good, ...parts })
    expect(said(got, field)).toEqual([422, expect.stringContaining(sentence)])
    expect(await checkHtml(got.text)).toEqual([])
    expect(state()).toBe(before)
  })
  it('stores nothing from a malformed form', async () => {
    await open()
    await sendMalformed(await world.signIn(people.cora), '/setup/meters/new', good, 'unit')
  }, 60_000)

  it('moves to another ward of its unit with its controls, not to one of the other unit', async () => {
    await open()
    withCedar()
    const anna = await world.signIn(people.anna)
    const form = await anna.get(path(METER, '/move'))
    expect(await checkHtml(form.text)).toEqual([])
    expect(said(await anna.post(path(METER, '/move'), { toWardId: BIRCH }), 'toWardId')).toEqual([
      422,
      expect.stringContaining('the ward measures in mmol/L'),
    ])
    expect(said(await anna.post(path(METER, '/move'), { toWardId: 'nosuchward000000' }), 'toWardId')).toEqual([
      422,
      expect.stringContaining('Choose one of your wards.'),
    ])
    const before = meter(METER)?.lastControl
    const annas = (await anna.keyOf(path(METER, '/move'))) ?? ''
    const moved = await Promise.all([
      anna.postRaw(path(METER, '/move'), { toWardId: CEDAR, key: annas }),
      anna.postRaw(path(METER, '/move'), { toWardId: CEDAR, key: annas }),
    ])
    expect(moved.map(({ status }) => status)).toEqual([303, 303])
    expect(meter(METER)).toMatchObject({ wardId: CEDAR, lastControl: before })
    expect((await anna.get(path(METER))).words()).toContain('✓ Usable Ward Cedar')
    expect((await anna.post(path(METER, '/move'), { toWardId: CEDAR })).status).toBe(409)
    // a charge nurse of one ward cannot move it
    const cora = await world.signIn(people.cora)
    expect((await cora.get(path(METER))).status).toBe(404)
    expect((await cora.get(path(OTHER, '/move'))).words()).toContain('Ask an administrator')
    const key = world.server.appContext.formKeys.make(people.cora.staffId, 'meter-move')
    expect((await cora.postRaw(path(OTHER, '/move'), { toWardId: CEDAR, key })).status).toBe(422)
    expect(meter(OTHER)?.wardId).toBe(ALDER)
  })
  it('retires once with a reason; then it cannot change', async () => {
    await open()
    withRanges()
    const [cora, nora] = [await world.signIn(people.cora), await world.signIn(people.nora)]
    expect(said(await cora.post(path(OTHER, '/retire'), { reason: '  ' }), 'reason')).toEqual([
      422,
      expect.stringContaining('Say why'),
    ])
    const stale = {
      ...formTo((await nora.get(path(OTHER, '/controls'))).root(), path(OTHER, '/controls'))?.fields,
      lot: lots.good,
      level1: '45',
      level2: '120',
    }
    expect((await cora.post(path(OTHER, '/retire'), { reason: 'Display broken' })).location).toBe(path(OTHER))
    const page = await cora.get(path(OTHER))
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('– Retired')
    expect(page.words()).toContain('Display broken')
    expect((await cora.get('/setup/meters')).words()).toMatch(/Retired: 1 M-4402 Tue 10 Mar 2026: Display broken/)
    expect((await cora.post(path(OTHER, '/retire'), { reason: 'again' })).status).toBe(409)
    const late = await nora.postRaw(path(OTHER, '/controls'), stale)
    expect([late.status, late.words()]).toEqual([409, expect.stringContaining('This meter was taken out of use')])
    expect(meter(OTHER)?.lastControl).toBeNull()
  })
})

describe('strip lots', () => {
  const good = {
    wardId: ALDER,
    lot: 'L7001',
    expiresOn: '2026-12-31',
    level1From: '36',
    level1To: '54',
    level2From: '100',
    level2To: '140',
  } as const
  it('adds a nurse’s lot with its ranges once when sent twice', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const form = await nora.get('/setup/strips/new')
    expect(await checkHtml(form.text)).toEqual([])
    const fields = { ...formTo(form.root(), '/setup/strips/new')?.fields, ...good }
    const both = await Promise.all([
      nora.postRaw('/setup/strips/new', fields),
      nora.postRaw('/setup/strips/new', fields),
    ])
    expect(both.map(({ status, location }) => [status, location])).toEqual([
      [303, '/setup/strips'],
      [303, '/setup/strips'],
    ])
    const list = await nora.get('/setup/strips')
    expect(await checkHtml(list.text)).toEqual([])
    expect(list.words()).toMatch(
      /L7001 ✓ In date Last day: 31 Dec 2026 Level 1: 36 to 54 mg\/dL Level 2: 100 to 140 mg\/dL/,
    )
    expect(list.words()).toMatch(/L4410 ■ Expired/)
    expect(said(await nora.post('/setup/strips/new', good), 'lot')).toEqual([
      409,
      expect.stringContaining('L7001 is there already'),
    ])
  })
  it('adds ranges later through the lot’s link and keeps its last day', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const list = await nora.get('/setup/strips')
    const href =
      byTag(list.root(), 'a')
        .map((link) => attr(link, 'href') ?? '')
        .find((one) => one.includes(`lot=${lots.good}`)) ?? ''
    const form = formTo((await nora.get(href)).root(), '/setup/strips/new')
    expect(form?.fields).toMatchObject({ wardId: ALDER, lot: lots.good, expiresOn: '2099-12-31' })
    const other = await nora.postRaw('/setup/strips/new', {
      ...form?.fields,
      ...good,
      lot: lots.good,
      expiresOn: '2026-12-31',
    })
    expect(said(other, 'expiresOn')).toEqual([422, expect.stringContaining('31 Dec 2099 as its last day')])
    expect(
      (
        await nora.postRaw('/setup/strips/new', {
          ...form?.fields,
          level1From: '36',
          level1To: '54',
          level2From: '100',
          level2To: '140',
        })
      ).status,
    ).toBe(303)
    expect(world.store.stripLotsOfWard(ALL, ALDER).find(({ lot }) => lot === lots.good)).toMatchObject({
      expiresOn: '2099-12-31',
      ranges: { level1: { unit: 'mg/dL', from: 36, to: 54 }, level2: { unit: 'mg/dL', from: 100, to: 140 } },
    })
  })
  it('accepts any ward from an administrator, in its unit; only the own ward from a nurse', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    expect((await anna.get(`/setup/strips/new?ward=${BIRCH}`)).words()).toContain(
      'For Birch . Everything as the label prints it, in mmol/L',
    )
    const birch = { ...good, wardId: BIRCH, level1From: '2.0', level1To: '3.0', level2From: '5.6', level2To: '7.8' }
    expect(
      said(
        await anna.post(
          '/setup/strips/new',
          { ...birch, level1From: '36' },
          { from: `/setup/strips/new?ward=${BIRCH}` },
        ),
        'level1From',
      ),
    ).toEqual([422, expect.stringContaining('looks like mg/dL')])
    expect((await anna.post('/setup/strips/new', birch, { from: `/setup/strips/new?ward=${BIRCH}` })).status).toBe(303)
    expect(world.store.stripLotsOfWard(ALL, BIRCH).find(({ lot }) => lot === 'L7001')?.ranges?.level1).toEqual({
      unit: 'mmol/L',
      from: 20,
      to: 30,
    })
    const nora = await world.signIn(people.nora)
    const refused = await nora.post('/setup/strips/new', birch)
    expect(refused.status).toBe(422)
    expect(refused.words()).toContain('Choose one of your wards')
  })
  it.each([
    [{ level1From: '54', level1To: '36' }, 'level1To', 'must run upwards'],
    [{ level2From: '54' }, 'level2From', 'must begin above'],
    [{ level1From: 'LO' }, 'level1From', 'Type a number'],
    [{ level2To: '601' }, 'level2To', 'not possible'],
    [{ level1From: '4.5' }, 'level1From', 'looks like mmol/L'],
    [{ level1From: '' }, 'level1From', 'Type the number from the label'],
    [{ expiresOn: '2026-02-30' }, 'expiresOn', 'Enter the last day'],
    [{ expiresOn: '2036-12-31' }, 'expiresOn', 'do not keep until'],
    [{ expiresOn: '2026-03-09' }, 'expiresOn', 'Discard these strips'],
    [{ lot: '<b>' }, 'lot', 'Scan or type the lot'],
  ] as const)('refuses: %j', async (parts, field, sentence) => {
    await open()
    const nora = await world.signIn(people.nora)
    const before = state()
    const got = await nora.post('/setup/strips/new', { ...good, ...parts })
    expect(said(got, field)).toEqual([422, expect.stringContaining(sentence)])
    expect(formTo(got.root(), '/setup/strips/new')?.fields).toMatchObject({ ...good, ...parts })
    expect(await checkHtml(got.text)).toEqual([])
    expect(state()).toBe(before)
  })
  it('accepts an expired lot in use from somebody who confirms it', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const refused = await nora.post('/setup/strips/new', { ...good, expiresOn: '2026-03-09' })
    expect(refused.words()).toContain('It has expired, and readings were made with it')
    expect(
      (await nora.post('/setup/strips/new', { ...good, expiresOn: '2026-03-09', knownExpired: 'yes' })).status,
    ).toBe(303)
  })
  it('stores nothing from a malformed form', async () => {
    await open()
    await sendMalformed(await world.signIn(people.nora), '/setup/strips/new', good, 'level2To')
  }, 60_000)
})

describe('controls', () => {
  it('pass with both levels in range: usable, logged with author and time', async () => {
    await open()
    withRanges()
    const nora = await world.signIn(people.nora)
    const form = await nora.get(path(OTHER, '/controls'))
    expect(await checkHtml(form.text)).toEqual([])
    expect(form.words()).toContain('level 1: 36 to 54 mg/dL; level 2: 100 to 140 mg/dL')
    expect(formTo(form.root(), path(OTHER, '/controls'))?.fields).toMatchObject({ lot: lots.good })
    const page = await nora.follow(await control(nora, OTHER, '36', '140'))
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('Meter M-4402 ✓ Usable')
    expect(page.words()).toMatch(
      /07:20 Nora Lind Level 1: 36 mg\/dL ✓ in range range 36 to 54 mg\/dL Level 2: 140 mg\/dL ✓ in range range 100 to 140 mg\/dL ✓ Passed/,
    )
    expect(meter(OTHER)?.lastControl).toEqual({ passed: true, atMs: world.clock.now() })
  })
  it('fail with one level out of range or LO, until both levels pass again', async () => {
    await open()
    withRanges()
    const [nora, cora] = [await world.signIn(people.nora), await world.signIn(people.cora)]
    for (const [level1, level2, shown] of [
      ['55', '120', '55 mg/dL ■ out of range'],
      ['LO', '120', 'LO ■ out of range'],
      ['45', '141', '141 mg/dL ■ out of range'],
    ] as const) {
      const page = await nora.follow(await control(nora, METER, level1, level2))
      expect(page.words()).toContain('Meter M-4401 ■ Not usable: today’s control failed')
      expect(page.words()).toContain(shown)
      expect(page.words()).toContain('No insulin follows from this meter until both levels pass')
      expect(page.words()).not.toContain('Results from this meter since then')
      world.clock.advance(1)
    }
    expect((await cora.get(path(METER))).words()).toContain('Results from this meter since then')
    expect((await nora.follow(await control(nora, METER, '45', '120'))).words()).toContain('Meter M-4401 ✓ Usable')
    expect(world.store.controlsOf(ALL, METER, 0)).toHaveLength(8)
  })
  it.each([
    [{ lot: lots.expired }, 'lot', 'run the control with strips in date'],
    [{ lot: 'L9999' }, 'lot', 'Choose the strip lot'],
    [{ lot: '' }, 'lot', 'Choose the strip lot'],
    [{ level1: '' }, 'level1', 'Type what the meter shows'],
    [{ level2: '6.2' }, 'level2', 'looks like mmol/L'],
    [{ level2: '900' }, 'level2', 'not possible'],
  ] as const)('refuses: %j', async (parts, field, sentence) => {
    await open()
    withRanges()
    const nora = await world.signIn(people.nora)
    const before = state()
    const got = await nora.post(path(OTHER, '/controls'), { lot: lots.good, level1: '45', level2: '120', ...parts })
    expect(said(got, field)).toEqual([422, expect.stringContaining(sentence)])
    expect(await checkHtml(got.text)).toEqual([])
    expect(state()).toBe(before)
  })
  it('give no verdict for a lot without ranges', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const got = await control(nora, OTHER, '45', '120')
    expect(said(got, 'lot')).toEqual([422, expect.stringContaining('Enter them from its label first')])
    expect(meter(OTHER)?.lastControl).toBeNull()
  })
  it('are charted once each when sent twice, or by two nurses at once', async () => {
    await open()
    withRanges()
    const [nora, omar] = [await world.signIn(people.nora), await world.signIn(people.omar)]
    const [hers, his] = [
      (await nora.keyOf(path(OTHER, '/controls'))) ?? '',
      (await omar.keyOf(path(OTHER, '/controls'))) ?? '',
    ]
    const body = { lot: lots.good, level1: '45', level2: '120' }
    const all = await Promise.all([
      nora.postRaw(path(OTHER, '/controls'), { ...body, key: hers }),
      nora.postRaw(path(OTHER, '/controls'), { ...body, key: hers }),
      omar.postRaw(path(OTHER, '/controls'), { ...body, key: his }),
    ])
    expect(all.map(({ status }) => status)).toEqual([303, 303, 303])
    expect(
      world.store
        .controlsOf(ALL, OTHER, 0)
        .map(({ byId }) => byId)
        .sort(),
    ).toEqual([people.nora.staffId, people.nora.staffId, people.omar.staffId, people.omar.staffId])
    expect((await nora.get(path(OTHER))).words()).toMatch(/Passed .*Passed/)
  })
  it('store nothing from a malformed form', async () => {
    await open()
    withRanges()
    await sendMalformed(
      await world.signIn(people.nora),
      path(OTHER, '/controls'),
      { lot: lots.good, level1: '45', level2: '120' },
      'level1',
    )
  }, 60_000)
})

describe('use of a reading by its meter', () => {
  const NO_INSULIN = 'No insulin from this reading'
  async function noDose(client: Client, readingId: string, doubts: readonly string[]): Promise<void> {
    const reading = readingOf(stays.ruth, readingId)
    expect(reading.doubts).toEqual(doubts)
    expect((await client.get(`/readings/${readingId}`)).words()).toContain(NO_INSULIN)
    expect((await client.post(`/readings/${readingId}/dose`, { elsewhere: 'none' })).status).toBe(409)
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.doses).toEqual([])
  }
  it('without a control today: charted, no dose', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    await noDose(nora, await takeReading(nora, stays.ruth, '243', { meterId: OTHER }), ['meter-control-not-done'])
  })
  it('after a failed control: charted, no dose; after a passed one: a dose', async () => {
    await open()
    withRanges()
    const nora = await world.signIn(people.nora)
    await control(nora, METER, '55', '120')
    await noDose(nora, await takeReading(nora, stays.ruth, '243'), ['meter-control-not-done'])
    world.clock.advance(2)
    await control(nora, METER, '45', '120')
    world.clock.advance(1)
    const fresh = await takeExtra(nora, stays.ruth, '243', 'fresh')
    expect(readingOf(stays.ruth, fresh).doubts).toEqual([])
    expect(await proposeDose(nora, fresh)).toMatch(/^[a-z0-9]{16}$/)
  })
  it('after a control that passed later than the finger stick: still no dose', async () => {
    await open()
    withRanges()
    const nora = await world.signIn(people.nora)
    world.clock.advance(10)
    await control(nora, OTHER, '45', '120')
    world.clock.advance(2)
    const key = `extra.${stays.ruth.stayId}.${'late'.padEnd(16, '0')}`
    const form = formTo(
      (await nora.postRaw(`/checks/${key}/patient`, { wristband: stays.ruth.wristband })).root(),
      `/checks/${key}`,
    )
    const send = async (takenAt: string, use: Fields | undefined): Promise<readonly string[]> => {
      const got = await nora.postRaw(`/checks/${key}`, {
        ...use,
        glucose: '243',
        meterId: OTHER,
        stripLot: lots.good,
        extraReason: 'other',
        takenAt,
      })
      expect(got.status).toBe(303)
      return readingOf(stays.ruth, got.location?.split('/')[2] ?? '').doubts
    }
    expect(await send('07:29', form?.fields)).toEqual(['meter-control-not-done'])
    const other = await takeReading(nora, stays.ruth, '240', {
      key: `extra.${stays.ruth.stayId}.${'now'.padEnd(16, '0')}`,
      extraReason: 'other',
      meterId: OTHER,
    })
    expect(readingOf(stays.ruth, other).doubts).toEqual([])
  })
  it('ends yesterday’s control at the ward’s midnight, to the minute', async () => {
    await open({ at: `${DATE}T23:50` })
    withRanges()
    const nora = await world.signIn(people.nora)
    await control(nora, OTHER, '45', '120')
    world.clock.set(`${DATE}T23:59`)
    expect(
      readingOf(
        stays.ruth,
        await takeReading(nora, stays.ruth, '243', {
          key: `extra.${stays.ruth.stayId}.${'before'.padEnd(16, '0')}`,
          extraReason: 'other',
          meterId: OTHER,
        }),
      ).doubts,
    ).toEqual([])
    expect((await nora.get('/setup/meters')).words()).toContain('M-4402 ✓ Usable')
    world.clock.advance(1)
    expect((await nora.get('/setup/meters')).words()).toContain('M-4402 ■ Not usable: today’s control is not done')
    expect(
      readingOf(
        stays.ruth,
        await takeReading(nora, stays.ruth, '244', {
          key: `extra.${stays.ruth.stayId}.${'after'.padEnd(16, '0')}`,
          extraReason: 'other',
          meterId: OTHER,
        }),
      ).doubts,
    ).toEqual(['meter-control-not-done'])
  })
  it('with an expired lot: charted, no dose, but a low is treated', async () => {
    await open()
    append(event('strip-lot-added', ALDER, { lot: 'L6000', expiresOn: '2026-03-09' }))
    const nora = await world.signIn(people.nora)
    const chart = async (id: string, glucose: string): Promise<string> => {
      const key = `extra.${stays.ruth.stayId}.${id.padEnd(16, '0')}`
      const form = formTo(
        (await nora.postRaw(`/checks/${key}/patient`, { wristband: stays.ruth.wristband })).root(),
        `/checks/${key}`,
      )
      const got = await nora.postRaw(`/checks/${key}`, {
        ...form?.fields,
        glucose,
        meterId: METER,
        stripLot: 'L6000',
        extraReason: 'other',
      })
      return got.location?.split('/')[2] ?? `${String(got.status)}: ${got.words()}`
    }
    await noDose(nora, await chart('expired', '243'), ['strip-lot-expired'])
    const low = await chart('low', '52')
    expect(readingOf(stays.ruth, low).doubts).toEqual(['strip-lot-expired'])
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.lows).toMatchObject([
      { openedByReadingId: low, closedAtMs: null },
    ])
  })
  it('refuses a retired meter and one of the other unit, also from an open form', async () => {
    await open()
    const [nora, cora] = [await world.signIn(people.nora), await world.signIn(people.cora)]
    const key = `${stays.ruth.stayId}.${DATE}.before-breakfast`
    const form = async (): Promise<ReturnType<typeof formTo>> =>
      formTo(
        (await nora.postRaw(`/checks/${key}/patient`, { wristband: stays.ruth.wristband })).root(),
        `/checks/${key}`,
      )
    const left = await form()
    await cora.post(path(OTHER, '/retire'), { reason: 'Display broken' })
    const now = (await nora.postRaw(`/checks/${key}/patient`, { wristband: stays.ruth.wristband })).words()
    expect(now).toContain('M-4401')
    expect(now).not.toContain('M-4402')
    for (const meterId of [OTHER, meters.birch.meterId]) {
      const got = await nora.postRaw(`/checks/${key}`, { ...left?.fields, glucose: '243', meterId })
      expect(got.status).toBe(422)
      expect(errorOf(got.root(), 'meterId')).toMatch(/\S/)
    }
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.readings).toEqual([])
  })
  it('moves a meter to the new ward with its control', async () => {
    await open()
    withCedar()
    append(
      event('staff-changed', null, {
        staffId: people.nora.staffId,
        name: people.nora.name,
        role: 'floor-nurse',
        wardIds: [ALDER, CEDAR],
      }),
    )
    append({
      ...event('stay-moved', CEDAR, { fromWardId: ALDER, toWardId: CEDAR, bed: '1' }),
      stayId: stays.tomas.stayId,
    })
    const [nora, anna] = [await world.signIn(people.nora), await world.signIn(people.anna)]
    await anna.post(path(METER, '/move'), { toWardId: CEDAR })
    expect(
      (
        await nora.postRaw(`/checks/${stays.ruth.stayId}.${DATE}.before-breakfast/patient`, {
          wristband: stays.ruth.wristband,
        })
      ).words(),
    ).not.toContain('M-4401')
    const key = `extra.${stays.tomas.stayId}.${'cedar'.padEnd(16, '0')}`
    const form = formTo(
      (await nora.postRaw(`/checks/${key}/patient`, { wristband: stays.tomas.wristband })).root(),
      `/checks/${key}`,
    )
    const got = await nora.postRaw(`/checks/${key}`, {
      ...form?.fields,
      glucose: '112',
      meterId: METER,
      extraReason: 'other',
    })
    expect(world.store.readingById({ ...ALL, wardIds: [CEDAR] }, got.location?.split('/')[2] ?? '')).toMatchObject({
      meterId: METER,
      wardId: CEDAR,
      doubts: [],
    })
  })
})

describe('comparisons with the laboratory', () => {
  const good = {
    meterValue: '108',
    meterAt: '07:00',
    laboratoryValue: '100',
    laboratoryAt: '07:05',
    lot: lots.good,
    note: 'Weekly',
  } as const
  it('judge a pair by each limit, count pairs without a verdict, and plot them', async () => {
    await open()
    const cora = await world.signIn(people.cora)
    const form = await cora.get(path(METER, '/comparisons'))
    expect(await checkHtml(form.text)).toEqual([])
    expect(form.words()).toContain('No pair yet')
    await cora.post(path(METER, '/comparisons'), good)
    const got = await cora.follow(
      await cora.post(path(METER, '/comparisons'), { ...good, meterValue: '113', laboratoryAt: '07:10' }),
    )
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toMatch(/ISO 15197:2013 .* 2 of 2, 100 % \(needs 95 %\) ○ Too few pairs: 2/)
    expect(got.words()).toMatch(
      /CLSI POCT12-A3 .* 1 of 2, 50 % \(needs 95 %\) wider limit: 2 of 2, 100 % \(needs 98 %\) ○ Too few pairs: 2/,
    )
    expect(got.words()).toMatch(
      /\+13 mg\/dL, \+13 % ISO 15197:2013: ✓ inside CLSI POCT12-A3: ▲ outside FDA, point of care: ▲ outside/,
    )
    const [plot] = byTag(got.root(), 'svg')
    expect(plot === undefined ? [] : [byTag(plot, 'circle').length, byTag(plot, 'path').length]).toEqual([1, 7])
    const anna = await world.signIn(people.anna)
    expect((await anna.get(path(METER, '/comparisons'))).words()).toContain('+13 mg/dL')
  })
  it('hide a pair that may be a reading before its second check from possible checkers', async () => {
    await open()
    append(
      event('staff-changed', null, {
        staffId: people.omar.staffId,
        name: people.omar.name,
        role: 'charge-nurse',
        wardIds: [ALDER],
      }),
    )
    const [cora, omar] = [await world.signIn(people.cora), await world.signIn(people.omar)]
    await cora.post(path(METER, '/comparisons'), { ...good, meterValue: '243', laboratoryValue: '240' })
    const held = await omar.get(path(METER, '/comparisons'))
    expect(held.words()).toContain('Not shown and not counted yet: 1')
    expect(held.text).not.toMatch(/243|240 mg/)
    world.clock.set(`${DATE}T08:00`)
    expect((await omar.get(path(METER, '/comparisons'))).text).not.toContain('243')
    world.clock.advance(1)
    expect((await omar.get(path(METER, '/comparisons'))).text).toContain('243 mg/dL')
  })
  it.each([
    [{ meterAt: '06:49' }, 'laboratoryAt', 'The two are 16 min apart'],
    [{ meterAt: '07:25' }, 'meterAt', 'still to come'],
    [{ laboratoryAt: '07:25' }, 'laboratoryAt', 'still to come'],
    [{ meterAt: 'soon' }, 'meterAt', 'hours and minutes'],
    [{ meterAt: '' }, 'meterAt', 'Type the time'],
    [{ meterValue: 'HI' }, 'meterValue', 'Type a number'],
    [{ laboratoryValue: '5.6' }, 'laboratoryValue', 'looks like mmol/L'],
    [{ lot: 'L9999' }, 'lot', 'not one of this ward’s'],
  ] as const)('refuse: %j', async (parts, field, sentence) => {
    await open()
    const cora = await world.signIn(people.cora)
    const before = state()
    const got = await cora.post(path(METER, '/comparisons'), { ...good, ...parts })
    expect(said(got, field)).toEqual([422, expect.stringContaining(sentence)])
    expect(formTo(got.root(), path(METER, '/comparisons'))?.fields).toMatchObject(
      'lot' in parts ? { ...good, lot: '' } : { ...good, ...parts },
    )
    expect(await checkHtml(got.text)).toEqual([])
    expect(state()).toBe(before)
  })
  it('accept exactly 15 min apart, and the same two times once from anybody', async () => {
    await open()
    const [cora, anna] = [await world.signIn(people.cora), await world.signIn(people.anna)]
    const pair = { ...good, meterAt: '06:50' }
    const [hers, theirs] = [
      (await cora.keyOf(path(METER, '/comparisons'))) ?? '',
      (await anna.keyOf(path(METER, '/comparisons'))) ?? '',
    ]
    const all = await Promise.all([
      cora.postRaw(path(METER, '/comparisons'), { ...pair, key: hers }),
      cora.postRaw(path(METER, '/comparisons'), { ...pair, key: hers }),
      anna.postRaw(path(METER, '/comparisons'), { ...pair, key: theirs }),
    ])
    expect(all.map(({ status }) => status).sort()).toEqual([303, 303, 409])
    expect(world.store.comparisonsOf(ALL, METER)).toHaveLength(1)
  })
  it('store nothing from a malformed form', async () => {
    await open()
    await sendMalformed(await world.signIn(people.cora), path(METER, '/comparisons'), good, 'meterValue')
  }, 60_000)
})

describe('a recall', () => {
  const ask = (client: Client, asked: Fields): Promise<Got> =>
    client.get(
      `/recall?${new URLSearchParams({ meter: '', lot: '', from: `${DATE}T00:00`, to: `${DATE}T23:00`, ...asked }).toString()}`,
    )
  it('lists each result of the meter: patient, value, nurse, dose given, low opened', async () => {
    await open()
    const [nora, cora] = [await world.signIn(people.nora), await world.signIn(people.cora)]
    const high = await takeReading(nora, stays.ruth, '243')
    const doseId = await proposeDose(nora, high, { elsewhere: 'none', willEat: 'yes', tray: 'expected' })
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    await give(nora, doseId, stays.ruth, '07:20')
    await takeReading(nora, stays.ines, '52')
    await takeReading(nora, stays.tomas, '112', { meterId: OTHER })
    world.clock.set(`${DATE}T09:00`)
    const fresh = await cora.get('/recall')
    expect(await checkHtml(fresh.text)).toEqual([])
    expect(formTo(fresh.root(), '/recall')?.fields).toMatchObject({
      meter: '',
      lot: '',
      from: '2026-03-03T09:00',
      to: `${DATE}T09:00`,
    })
    const got = await ask(cora, { meter: METER })
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toContain('2 results of 2 patients; doses given from them: 1; low events opened by them: 1.')
    expect(got.words()).toMatch(
      /Ashby, Ruth bed 1, wristband W7301 243 mg\/dL meter M-4401, strips L5520 taken by Nora Lind Given 4 units of insulin lispro at 07:20/,
    )
    expect(got.words()).toMatch(/Calder, Ines bed 3, wristband W7303 52 mg\/dL .* Low event/)
    expect(got.words()).not.toContain('Brandt')
    const byLot = await ask(cora, { lot: lots.good })
    expect(byLot.words()).toContain('3 results of 3 patients')
    expect(byLot.words()).toContain('Charted in doubt: the meter has no passed control of that day')
    expect((await ask(cora, { lot: lots.good, meter: OTHER })).words()).toContain('1 result of 1 patient')
    // from is included, until is not
    expect((await ask(cora, { meter: METER, from: `${DATE}T07:20`, to: `${DATE}T07:21` })).words()).toContain(
      '2 results',
    )
    expect((await ask(cora, { meter: METER, to: `${DATE}T07:20` })).words()).toContain('0 results')
  })
  it('masks a value before its second check for the charge nurse, not for the educator', async () => {
    await open()
    const [nora, cora, edda] = [
      await world.signIn(people.nora),
      await world.signIn(people.cora),
      await world.signIn(people.edda),
    ]
    await takeReading(nora, stays.ruth, '243')
    const hers = await ask(cora, { meter: METER })
    expect(hers.words()).toContain('awaiting second check')
    expect(hers.text).not.toContain('243')
    expect((await ask(edda, { meter: METER })).words()).toContain('243 mg/dL')
    world.clock.set(`${DATE}T08:21`)
    expect((await ask(cora, { meter: METER })).words()).toContain('243 mg/dL')
  })
  it('hides other wards, logs each patient shown, and keeps discharged ones', async () => {
    const logged: string[] = []
    await open({
      wrapStore: (store) => ({
        ...store,
        logAccess: (entries) => {
          logged.push(...entries.map(({ page, stayId }) => `${page} ${String(stayId)}`))
          store.logAccess(entries)
        },
      }),
    })
    const [nora, cora, carl] = [
      await world.signIn(people.nora),
      await world.signIn(people.cora),
      await world.signIn(people.carl),
    ]
    await takeReading(nora, stays.tomas, '112')
    append({ ...event('stay-discharged', ALDER, {}), stayId: stays.tomas.stayId })
    expect((await ask(cora, { lot: lots.good })).words()).toMatch(/Brandt, Tomas discharged Tue 10 Mar 2026/)
    world.server.appContext.accessLog.flush()
    expect(logged).toContain(`/recall ${stays.tomas.stayId}`)
    const other = await ask(carl, { meter: METER })
    expect([other.status, errorOf(other.root(), 'meter')]).toEqual([
      422,
      expect.stringContaining('Choose a meter, a strip lot, or both.'),
    ])
    expect(other.text).not.toContain('Brandt')
  })
  it.each([
    [{}, 'meter', 'Choose a meter'],
    [{ lot: 'L9999' }, 'meter', 'Choose a meter'],
    [{ meter: 'x' }, 'meter', 'Choose a meter'],
    [{ meter: METER, from: 'yesterday' }, 'from', 'date and time'],
    [{ meter: METER, to: '' }, 'from', 'date and time'],
    [{ meter: METER, to: `${DATE}T00:00` }, 'to', 'must lie before'],
    [{ meter: METER, from: '2024-03-10T00:00' }, 'to', 'at most 366 days'],
  ] as const)('refuses: %j', async (asked, field, sentence) => {
    await open()
    const got = await ask(await world.signIn(people.cora), asked)
    expect(said(got, field)).toEqual([422, expect.stringContaining(sentence)])
    expect(await checkHtml(got.text)).toEqual([])
  })
})
