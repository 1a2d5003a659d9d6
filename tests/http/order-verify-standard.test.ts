/**
 * A ward's standard orders over HTTP: reading, approval by a second administrator, withdrawal, and a copy for one
 * patient.
 */
import { afterEach, describe, expect, it } from 'vitest'
import type { InsulinOrder } from '../../shared/order/order.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { ALL } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { byTag, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, people, type Person } from '../support/people.ts'
import { ALDER_SCALE, scaleOrder, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
afterEach(() => world.close())

const ID = 'standard00000001'
const PAGE = `/setup/standard-orders/${ID}`
const COPY = `/stays/${stays.tomas.stayId}/orders/standard`
const COPIED = {
  standard: `${ID}.1`,
  prescriber: 'Dr. Vera Kim',
  received: 'written',
  startsAt: '2026-03-10T07:15',
  stopsAt: '',
} as const

async function start(person: Person): Promise<Client> {
  world = await makeWorld()
  written(1)
  return world.signIn(person)
}
/** A version that Anna saved just now. */
function written(version: number, parts: Partial<InsulinOrder> = {}): void {
  const nowMs = world.clock.now()
  const order = scaleOrder(ALDER_SCALE, nowMs, { prescriber: 'Standard order of the ward', ...parts })
  world.store.transact(() => {
    world.store.append([
      {
        type: 'standard-order-written',
        wardId: ALDER,
        stayId: null,
        actorId: people.anna.staffId,
        happenedAtMs: nowMs,
        chartedAtMs: nowMs,
        body: { standardOrderId: ID, version, name: 'Correction, usual', order },
      },
    ])
    return null
  })
}
const standard = (version = 1) => world.store.standardOrders(ALL, ALDER).find((one) => one.version === version)
const approve = async (version = '1') => (await world.signIn(people.abel)).post(`${PAGE}/approve`, { version })
const orders = () => world.store.orderVersions(ALL, stays.tomas.stayId)

describe('setup', () => {
  it('shows it with its table to charge nurses of the ward and administrators', async () => {
    const cora = await start(people.cora)
    const list = await cora.get('/setup/standard-orders')
    expect(await checkHtml(list.text)).toEqual([])
    expect(list.words()).toMatch(
      /Correction, usual Version 1 ◐ Waits for approval Written Anna Quill, 07:20 Approved –/,
    )
    const page = await cora.get(PAGE)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('151–200 2 units')
    expect(byTag(page.root(), 'dt').map(textOf)).not.toContain('Prescriber')
    expect([formTo(page.root(), `${PAGE}/approve`), formTo(page.root(), `${PAGE}/withdraw`)]).toEqual([
      undefined,
      undefined,
    ])
    expect((await (await world.signIn(people.abel)).get(PAGE)).status).toBe(200)
    for (const person of [people.nora, people.edda])
      for (const path of ['/setup/standard-orders', PAGE])
        expect((await (await world.signIn(person)).get(path)).status, path).toBe(403)
    const carl = await world.signIn(people.carl)
    expect((await carl.get(PAGE)).status).toBe(404)
    expect((await carl.get('/setup/standard-orders')).words()).not.toContain('Alder')
    expect((await cora.postRaw(`${PAGE}/approve`, { version: '1' })).status).toBe(403)
  })
  it('is approved once, by an administrator who did not write it', async () => {
    const anna = await start(people.anna)
    expect((await anna.get(PAGE)).words()).toContain('You wrote this version. Another administrator approves it.')
    const key = world.server.appContext.formKeys.make(people.anna.staffId, 'standard-order-approve')
    expect((await anna.postRaw(`${PAGE}/approve`, { version: '1', key })).status).toBe(403)
    expect(standard()?.approved).toBeNull()
    const abel = await world.signIn(people.abel)
    const sent = { version: '1', key: formTo((await abel.get(PAGE)).root(), `${PAGE}/approve`)?.fields['key'] ?? '' }
    expect((await abel.postRaw(`${PAGE}/approve`, sent)).location).toBe(PAGE)
    expect(standard()?.approved).toEqual({ byId: people.abel.staffId, atMs: world.clock.now() })
    expect((await abel.postRaw(`${PAGE}/approve`, sent)).location).toBe(PAGE)
    expect(
      (
        await abel.post(`${PAGE}/approve`, {
          version: '1',
          key: world.server.appContext.formKeys.make(people.abel.staffId, 'standard-order-approve'),
        })
      ).status,
    ).toBe(409)
    expect((await abel.get(PAGE)).words()).toContain('✓ Approved')
  })
  it('counts one of two approvals at once', async () => {
    const abel = await start(people.abel)
    const other = await world.signIn(people.abel)
    const keys = await Promise.all([abel.keyOf(`${PAGE}/approve`), other.keyOf(`${PAGE}/approve`)])
    const [first, second] = await Promise.all([
      abel.postRaw(`${PAGE}/approve`, { version: '1', key: keys[0] ?? '' }),
      other.postRaw(`${PAGE}/approve`, { version: '1', key: keys[1] ?? '' }),
    ])
    expect([first.status, second.status].sort()).toEqual([303, 409])
  })
  it('approves only the newest version, which replaces the one before', async () => {
    await start(people.cora)
    expect((await approve()).status).toBe(303)
    world.clock.advance(5)
    written(2, { maxSingleDose: 12 })
    expect((await approve('1')).status).toBe(409)
    world.clock.advance(5)
    expect((await approve('2')).status).toBe(303)
    const page = await (await world.signIn(people.cora)).get(PAGE)
    expect(page.words()).toMatch(/version 2 ✓ Approved .* version 1 ↷ Replaced by a newer version/)
  })
  it('refuses approval when today’s policy refuses the order', async () => {
    world = await makeWorld({
      alderPolicy: { limits: { ...defaultPolicy('mg/dL', 'America/Chicago').limits, low: 160 } },
    })
    written(1)
    const got = await approve()
    expect([got.status, got.words()]).toEqual([422, expect.stringContaining('below the ward')])
    expect(standard()?.approved).toBeNull()
  })
  it('is withdrawn once by an administrator, with a reason', async () => {
    const anna = await start(people.anna)
    expect((await approve()).status).toBe(303)
    const empty = await anna.post(`${PAGE}/withdraw`, { reason: ' ' })
    expect([empty.status, errorOf(empty.root(), 'reason')]).toEqual([422, expect.stringContaining('Say why')])
    expect((await anna.post(`${PAGE}/withdraw`, { reason: 'New protocol' })).location).toBe(PAGE)
    expect((await anna.get(PAGE)).words()).toContain('■ Withdrawn')
    expect(
      (
        await anna.postRaw(`${PAGE}/withdraw`, {
          reason: 'Again',
          key: world.server.appContext.formKeys.make(people.anna.staffId, 'standard-order-withdraw'),
        })
      ).status,
    ).toBe(409)
    expect((await (await world.signIn(people.cora)).postRaw(`${PAGE}/withdraw`, { reason: 'x' })).status).toBe(403)
  })
  it('ignores malformed forms', async () => {
    const abel = await start(people.abel)
    const key = await abel.keyOf(`${PAGE}/approve`)
    for (const { name, body } of malformedPosts({ version: '1' }, key, 'version'))
      expect([409, 422].includes((await abel.postRaw(`${PAGE}/approve`, body)).status), name).toBe(true)
    expect(standard()?.approved).toBeNull()
  })
})

describe('copying', () => {
  it('makes a new unverified order of the patient’s with one choice and one tap', async () => {
    const nora = await start(people.nora)
    expect((await nora.get(COPY)).words()).toContain('This ward has no approved standard order.')
    await approve()
    const form = await nora.get(COPY)
    expect(await checkHtml(form.text)).toEqual([])
    expect(form.words()).toContain('151–200 2 units')
    expect(formTo(form.root(), COPY)?.fields['startsAt']).toBe('2026-03-10T07:20')
    expect(byTag(form.root(), 'input').filter(({ attrs }) => attrs.some(({ name }) => name === 'checked'))).toEqual([])
    const key = formTo(form.root(), COPY)?.fields['key'] ?? ''
    const done = await nora.postRaw(COPY, { ...COPIED, key })
    expect(done.location).toMatch(/^\/orders\/[a-z0-9]{16}\/1$/)
    expect(orders()).toMatchObject([
      {
        version: 1,
        verified: null,
        transcribedById: people.nora.staffId,
        order: {
          prescriber: 'Dr. Vera Kim',
          received: 'written',
          stopsAtMs: null,
          correction: { scale: { steps: ALDER_SCALE.steps } },
        },
      },
    ])
    expect((await nora.follow(done)).words()).toContain('Not yet verified')
    expect((await nora.postRaw(COPY, { ...COPIED, key })).location).toBe(done.location)
    expect(orders()).toHaveLength(1)
    // whoever copied it cannot verify it
    expect(
      formTo((await nora.get(`${done.location ?? ''}/verify`)).root(), `${done.location ?? ''}/verify`),
    ).toBeUndefined()
    expect((await nora.get(COPY)).words()).toContain('This patient has: insulin lispro, version 1')
  })
  it('is refused beside an order that answers the same readings', async () => {
    const nora = await start(people.nora)
    await approve()
    const path = `/stays/${stays.ruth.stayId}/orders/standard`
    const got = await nora.post(path, COPIED)
    expect([got.status, got.words()]).toEqual([409, expect.stringContaining('answers readings at the same time')])
    expect(world.store.orderVersions(ALL, stays.ruth.stayId)).toHaveLength(1)
  })
  it('is refused after a withdrawal in the meantime', async () => {
    const nora = await start(people.nora)
    await approve()
    const key = await nora.keyOf(COPY)
    await (await world.signIn(people.anna)).post(`${PAGE}/withdraw`, { reason: 'New protocol' })
    const got = await nora.postRaw(COPY, { ...COPIED, key: key ?? '' })
    expect([got.status, orders()]).toEqual([409, []])
  })
  it.each([
    ['no choice made', { standard: '' }, 'standard', 'Choose the standard order'],
    ['no prescriber', { prescriber: ' ' }, 'prescriber', 'Name the prescriber'],
    ['by telephone, not read back', { received: 'telephone' }, 'readBack', 'Read the order back'],
    ['no start', { startsAt: '' }, 'startsAt', 'date and time'],
    ['a stop before the start', { stopsAt: '2026-03-10T07:00' }, 'stopsAt', 'stops before it starts'],
    ['a stop that is no time', { stopsAt: 'soon' }, 'stopsAt', 'no date and time'],
  ] as const)('refuses %s beside the field', async (_, wrong, field, sentence) => {
    const nora = await start(people.nora)
    await approve()
    const got = await nora.post(COPY, { ...COPIED, ...wrong })
    expect([got.status, errorOf(got.root(), field)]).toEqual([422, expect.stringContaining(sentence)])
    expect(orders()).toEqual([])
  })
  it('refuses malformed forms, other wards’ patients and educators', async () => {
    const nora = await start(people.nora)
    await approve()
    const key = await nora.keyOf(COPY)
    for (const { name, body } of malformedPosts(COPIED, key, 'received'))
      expect([409, 422].includes((await nora.postRaw(COPY, body)).status), name).toBe(true)
    expect(orders()).toEqual([])
    expect((await nora.get(`/stays/${stays.gwen.stayId}/orders/standard`)).status).toBe(404)
    expect((await (await world.signIn(people.edda)).get(COPY)).status).toBe(403)
    // Birch has none and does not offer Alder's
    const bo = await world.signIn(people.bo)
    expect((await bo.get(`/stays/${stays.ivor.stayId}/orders/standard`)).words()).toContain(
      'This ward has no approved standard order.',
    )
    expect(
      (
        await bo.postRaw(`/stays/${stays.ivor.stayId}/orders/standard`, {
          ...COPIED,
          key: world.server.appContext.formKeys.make(people.bo.staffId, 'order-from-standard'),
        })
      ).status,
    ).toBe(409)
  })
})
