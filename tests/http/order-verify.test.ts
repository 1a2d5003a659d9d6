/** Orders over HTTP: reading every version, verification from the original, and stopping. */
import { afterEach, describe, expect, it } from 'vitest'
import type { EventBodies } from '../../shared/ledger/events.ts'
import type { InsulinOrder } from '../../shared/order/order.ts'
import { ALL, DATE, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { byClass, byTag, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people, type Person } from '../support/people.ts'
import { ALDER_SCALE, BIRCH_SCALE, scaleOrder, stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
afterEach(() => world.close())

/** Yusuf's order, transcribed by Nora and not verified. */
const ORDER = `/orders/${stays.yusuf.orderId}/1`
const VERIFY = `${ORDER}/verify`
const SIGHT = { identifiers: 'yes', signature: 'yes', rest: 'yes', insulin: 'insulin lispro' } as const

async function start(person: Person = people.omar): Promise<Client> {
  world = await makeWorld()
  return world.signIn(person)
}
/** An order that this person transcribed just now. */
function write(stay: TestStay, order: InsulinOrder, orderId: string, by: Person = people.nora): string {
  const nowMs = world.clock.now()
  world.store.transact(() => {
    storeEvents(world.store, [
      {
        type: 'order-written',
        wardId: stay.wardId,
        stayId: stay.stayId,
        actorId: by.staffId,
        happenedAtMs: nowMs,
        chartedAtMs: nowMs,
        body: { orderId, version: 1, order },
      },
    ])
    return null
  })
  return `/orders/${orderId}/1`
}
const questionsOn = (got: Got): readonly string[] => byTag(got.root(), 'legend').map(textOf)
/** The doses on the paper: Alder's printed scale, entered by hand. */
const PAPER: readonly (readonly [number, string])[] = [
  [401, 'call'],
  [351, '10'],
  [301, '8'],
  [251, '6'],
  [201, '4'],
  [151, '2'],
  [0, '0'],
]
const onPaper = (glucose: number): string => PAPER.find(([from]) => glucose >= from)?.[1] ?? ''
/** The right answers to the questions on the page. */
async function rightAnswers(
  client: Client,
  path = VERIFY,
  read: (text: string) => string = (text) => onPaper(Number(/glucose (\d+)/.exec(text)?.[1])),
): Promise<Readonly<Record<string, string>>> {
  const got = await client.get(path)
  const fields: Record<string, string> = { ...SIGHT, key: formTo(got.root(), path)?.fields['key'] ?? '' }
  for (const [index, text] of questionsOn(got).entries()) {
    const answer = read(text)
    if (answer === 'call' || answer === 'never') fields[`tick${String(index + 1)}`] = 'yes'
    else fields[`answer${String(index + 1)}`] = answer
  }
  return fields
}
const wrongly = (fields: Readonly<Record<string, string>>): Readonly<Record<string, string>> => {
  const { tick2: _, ...rest } = fields
  return { ...rest, answer2: fields['answer2'] === '9' ? '8' : '9' }
}
const stored = (orderId = stays.yusuf.orderId) => world.store.orderVersion(ALL, orderId, 1)
const verifications = (orderId = stays.yusuf.orderId) => world.store.orderVerifications(ALL, orderId)
const untouched = (): string =>
  JSON.stringify([
    world.store.lastEventAtMs(),
    world.store.wardVersion(ALL, stays.yusuf.wardId),
    stored(),
    verifications(),
  ])

describe('page', () => {
  it('asks for three doses from the paper and shows neither them nor the insulin', async () => {
    const omar = await start()
    const got = await omar.get(VERIFY)
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    expect(questionsOn(got)).toHaveLength(3)
    expect(got.words()).toContain('Dunne, Yusuf')
    expect(got.words()).toContain('Dr Sanna Weir, written')
    expect(got.words().replaceAll(/Answer \d units/g, '')).not.toMatch(/\d units|insulin lispro, U-100/)
    expect(byTag(got.root(), 'table')).toEqual([])
    expect(
      byTag(got.root(), 'option')
        .filter(({ attrs }) => attrs.some(({ name }) => name === 'selected'))
        .map(textOf),
    ).toEqual(['Choose'])
    expect(byTag(got.root(), 'input').filter(({ attrs }) => attrs.some(({ name }) => name === 'checked'))).toEqual([])
    // the same questions on a reload, others for another verifier of an order with many edges
    expect(questionsOn(await omar.get(VERIFY))).toEqual(questionsOn(got))
  })
  it('has no form for the transcriber, who is refused', async () => {
    const nora = await start(people.nora)
    const before = untouched()
    const got = await nora.get(VERIFY)
    expect([got.status, formTo(got.root(), VERIFY)]).toEqual([200, undefined])
    expect(got.words()).toContain('You transcribed this version')
    const key = world.server.appContext.formKeys.make(people.nora.staffId, 'order-verify')
    expect((await nora.postRaw(VERIFY, { ...SIGHT, answer1: '0', answer2: '0', answer3: '0', key })).status).toBe(403)
    expect(untouched()).toBe(before)
  })
  it.each(['bo', 'carl'] as const)('answers 404 for %s of the other ward', async (name) => {
    const client = await start(people[name])
    const before = untouched()
    for (const path of [
      VERIFY,
      ORDER,
      `/print${ORDER}`,
      `/stays/${stays.yusuf.stayId}/orders`,
      `/orders/${stays.yusuf.orderId}/stop`,
      `/stays/${stays.yusuf.stayId}/orders/standard`,
    ])
      expect((await client.get(path)).status, path).toBe(404)
    const key = world.server.appContext.formKeys.make(people[name].staffId, 'order-verify')
    expect((await client.postRaw(VERIFY, { ...SIGHT, answer1: '0', answer2: '0', answer3: '0', key })).status).toBe(404)
    expect(untouched()).toBe(before)
  })
  it('lets an educator read only, and shows an administrator no patient', async () => {
    const edda = await start(people.edda)
    for (const path of [ORDER, `/print${ORDER}`, `/stays/${stays.yusuf.stayId}/orders`])
      expect((await edda.get(path)).status, path).toBe(200)
    for (const path of [VERIFY, `/orders/${stays.yusuf.orderId}/stop`]) {
      expect((await edda.get(path)).status, path).toBe(403)
      expect((await edda.postRaw(path, SIGHT)).status, path).toBe(403)
    }
    expect((await edda.get(ORDER)).text).not.toContain('/verify"')
    const anna = await world.signIn(people.anna)
    for (const path of [ORDER, VERIFY, `/print${ORDER}`, `/stays/${stays.yusuf.stayId}/orders`])
      expect((await anna.get(path)).status, path).toBe(403)
  })
  it.each([
    '/orders/nosuchorder00000/1',
    `/orders/${stays.yusuf.orderId}/2`,
    `/orders/${stays.yusuf.orderId}/0`,
    `/orders/${stays.yusuf.orderId}/1e0`,
    '/orders/x/1',
  ])('answers 404 for %s', async (path) => {
    expect((await (await start()).get(path)).status).toBe(404)
  })
})

describe('verification', () => {
  it('counts at once with all answers right, and a dose follows', async () => {
    const omar = await start()
    const nora = await world.signIn(people.nora)
    const readingId = await takeReading(nora, stays.yusuf, '212')
    const refused = await nora.post(`/readings/${readingId}/dose`, { elsewhere: 'none' })
    expect([refused.status, refused.words()]).toEqual([
      409,
      expect.stringContaining('Nobody has verified the transcription of the order yet.'),
    ])
    const fields = await rightAnswers(omar)
    const done = await omar.postRaw(VERIFY, fields)
    expect(done.location).toBe(ORDER)
    expect(stored()?.verified).toEqual({ byId: people.omar.staffId, atMs: world.clock.now() })
    expect(verifications()).toMatchObject([
      {
        version: 1,
        agreed: true,
        byId: people.omar.staffId,
        answers: [{ question: { kind: 'insulin' } }, { agrees: true }, { agrees: true }, { agrees: true }],
      },
    ])
    const page = await omar.follow(done)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('✓ In force')
    expect(page.words()).toContain('All answers agreed')
    const doseId = await proposeDose(nora, readingId)
    expect(world.store.doseById(ALL, doseId)).toMatchObject({
      units: 4,
      working: { orderId: stays.yusuf.orderId, orderVersion: 1 },
    })
    // the same form gets the same response and charts nothing
    const before = untouched()
    expect((await omar.postRaw(VERIFY, fields)).location).toBe(ORDER)
    expect((await omar.postRaw(VERIFY, wrongly(fields))).status).toBe(409)
    expect(untouched()).toBe(before)
  })
  it('stops the version for good after one wrong answer', async () => {
    const omar = await start()
    const done = await omar.postRaw(VERIFY, wrongly(await rightAnswers(omar)))
    expect(done.location).toBe(ORDER)
    expect(stored()).toMatchObject({ verified: null, endedAtMs: world.clock.now() })
    expect(verifications()).toMatchObject([{ agreed: false }])
    const page = await omar.follow(done)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('▲ Verification differed')
    const [loud] = byClass(page.root(), 'loud')
    expect(loud === undefined ? '' : textOf(loud)).toMatch(/differed at: [^;]*glucose \d+ mg\/dL/)
    expect(page.text).toContain(`href="/orders/${stays.yusuf.orderId}/revise"`)
    expect(page.text).not.toContain(`${VERIFY}"`)
    // nobody can verify it any more, and it gives no dose
    const pia = await world.signIn(people.pia, { wardId: stays.yusuf.wardId })
    const again = await pia.get(VERIFY)
    expect([formTo(again.root(), VERIFY), again.words()]).toEqual([
      undefined,
      expect.stringContaining('can never be verified'),
    ])
    const key = world.server.appContext.formKeys.make(people.pia.staffId, 'order-verify')
    expect((await pia.postRaw(VERIFY, { ...SIGHT, answer1: '0', answer2: '0', answer3: '0', key })).status).toBe(409)
    const readingId = await takeReading(pia, stays.yusuf, '212')
    const dose = await pia.post(`/readings/${readingId}/dose`, { elsewhere: 'none' })
    expect([303, 200].includes(dose.status)).toBe(false)
    expect(world.store.stayFacts(ALL, stays.yusuf.stayId, world.clock.now())?.doses).toEqual([])
    // the next version starts from the same page and needs its own verifier
    const revise = `/orders/${stays.yusuf.orderId}/revise`
    const written = await pia.postRaw(revise, {
      ...formTo((await pia.get(revise)).root(), revise)?.fields,
      prescriber: 'Dr. Vera Kim',
      received: 'written',
    })
    expect([written.status, written.location, written.status === 303 ? '' : written.words().slice(0, 800)]).toEqual([
      303,
      `/orders/${stays.yusuf.orderId}/2`,
      '',
    ])
    expect(world.store.orderVersion(ALL, stays.yusuf.orderId, 2)).toMatchObject({
      verified: null,
      transcribedById: people.pia.staffId,
      endedAtMs: null,
    })
    const second = `/orders/${stays.yusuf.orderId}/2/verify`
    expect((await omar.postRaw(second, await rightAnswers(omar, second))).location).toBe(
      `/orders/${stays.yusuf.orderId}/2`,
    )
    expect(world.store.orderVersion(ALL, stays.yusuf.orderId, 2)?.verified?.byId).toBe(people.omar.staffId)
    expect((await omar.get(ORDER)).words()).toContain('▲ Verification differed')
  })
  it('stops it for another insulin, though every dose is right', async () => {
    const omar = await start()
    const page = await omar.follow(
      await omar.postRaw(VERIFY, { ...(await rightAnswers(omar)), insulin: 'insulin glargine' }),
    )
    expect(stored()?.verified).toBeNull()
    expect(textOf(byClass(page.root(), 'loud')[0] ?? page.root())).toContain('differed at: Insulin.')
  })
  it('counts one of two at once and tells the other', async () => {
    const omar = await start()
    const pia = await world.signIn(people.pia, { wardId: stays.yusuf.wardId })
    const sent = await Promise.all([rightAnswers(omar), rightAnswers(pia)])
    const [first, second] = await Promise.all([omar.postRaw(VERIFY, sent[0]), pia.postRaw(VERIFY, sent[1])])
    expect([first.status, second.status].sort()).toEqual([303, 409])
    expect(verifications()).toHaveLength(1)
    expect([first, second].find(({ status }) => status === 409)?.words()).toContain(
      'Somebody has verified this version already',
    )
  })
  it.each([
    ['identifiers', 'Compare the identifiers'],
    ['signature', 'Look for the signature'],
    ['rest', 'Compare every other line'],
    ['insulin', 'Choose the insulin'],
    ['answer2', 'Enter the answer off the paper'],
  ] as const)('compares nothing without %s and keeps what was typed', async (name, sentence) => {
    const omar = await start()
    const { [name]: _left, tick1: _first, tick2: _second, ...fields } = await rightAnswers(omar)
    const before = untouched()
    const got = await omar.postRaw(VERIFY, { ...fields, answer1: '7.5' })
    expect([got.status, errorOf(got.root(), name)]).toEqual([422, expect.stringContaining(sentence)])
    expect(formTo(got.root(), VERIFY)?.fields['answer1']).toBe('7.5')
    expect(untouched()).toBe(before)
  })
  it('answers forty malformed forms and changes nothing', async () => {
    const omar = await start()
    // an answer may be "call", by its tick: which questions are asked is drawn anew for each database
    const { key = '', tick1: _first, tick2: _second, tick3: _third, ...good } = await rightAnswers(omar)
    const before = untouched()
    for (const { name, body } of malformedPosts(
      { ...good, answer1: '4', answer2: '4', answer3: '4' },
      key,
      'answer2',
    )) {
      const got = await omar.postRaw(VERIFY, body)
      expect([409, 422].includes(got.status), `${name}: ${String(got.status)}`).toBe(true)
    }
    expect(untouched()).toBe(before)
  })
  it('asks dose and hold limit of scheduled doses from the paper', async () => {
    const omar = await start()
    const order = scaleOrder(ALDER_SCALE, world.clock.now(), {
      insulin: 'insulin glargine',
      correction: null,
      occasions: [],
      scheduled: [{ time: '21:00', units: 18, holdBelow: 100 }],
      maxSingleDose: 30,
    })
    const path = `${write(stays.tomas, order, 'orderglargine001')}/verify`
    expect(
      questionsOn(await omar.get(path))
        .map((text) => text.slice(3))
        .sort(),
    ).toEqual(['Every day at 21:00: the scheduled dose', 'The dose at 21:00: held below which glucose?'])
    const fields = {
      ...(await rightAnswers(omar, path, (text) => (text.includes('held') ? '100' : '18'))),
      insulin: 'insulin glargine',
    }
    expect((await omar.postRaw(path, fields)).status).toBe(303)
    expect(stored('orderglargine001')?.verified?.byId).toBe(people.omar.staffId)
  })
  it('asks glucose in mmol/L as printed', async () => {
    const bea = await start(people.bea)
    const path = `${write(stays.ivor, scaleOrder(BIRCH_SCALE, world.clock.now()), 'orderbirch000001', people.bo)}/verify`
    const printed = [
      [22.2, 'call'],
      [16.7, '8'],
      [13.9, '6'],
      [11.2, '4'],
      [8.4, '2'],
      [0, '0'],
    ] as const
    const fields = await rightAnswers(
      bea,
      path,
      (text) => printed.find(([from]) => Number(/glucose (\d+\.\d) mmol\/L/.exec(text)?.[1]) >= from)?.[1] ?? '',
    )
    expect((await bea.postRaw(path, fields)).status).toBe(303)
    expect(stored('orderbirch000001')?.verified?.byId).toBe(people.bea.staffId)
  })
})

describe('reading orders', () => {
  it('lists every version by state, newest first; patient page and Round say what waits', async () => {
    const omar = await start()
    const list = await omar.get(`/stays/${stays.yusuf.stayId}/orders`)
    expect(await checkHtml(list.text)).toEqual([])
    expect(list.words()).toMatch(
      /insulin lispro, version 1 ◐ Not yet verified Verify Transcribed by Nora Lind, .* Verified nobody yet Runs from .* until further notice/,
    )
    expect((await omar.get(`/stays/${stays.yusuf.stayId}`)).words()).toContain('Order not verified yet: insulin lispro')
    const round = await omar.get('/round')
    expect(round.words()).toContain('Insulin order not verified yet: bed 4')
    expect(round.text).toContain(`href="/stays/${stays.yusuf.stayId}/orders">bed 4`)
    await omar.postRaw(VERIFY, await rightAnswers(omar))
    expect((await omar.get('/round')).words()).not.toContain('not verified yet')
    expect((await omar.get(`/stays/${stays.yusuf.stayId}`)).words()).not.toContain('Order not verified yet')
    expect((await omar.get(`/stays/${stays.tomas.stayId}/orders`)).words()).toContain(
      'No insulin order was written in this stay.',
    )
  })
  it('shows the whole order with its limits; the sheet marks what must not be used', async () => {
    const omar = await start()
    const page = await omar.get(ORDER)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toMatch(/151–200 2 units – 201–250 4 units/)
    expect(page.words()).toContain('Single dose at most 16 units, by the order')
    expect(page.words()).toContain('Nobody has answered the questions of this version.')
    const sheet = await omar.get(`/print${ORDER}`)
    expect(await checkHtml(sheet.text)).toEqual([])
    expect(sheet.words()).toContain('GIVE NOTHING FROM THIS SHEET')
    expect((await omar.get(`/print/orders/${stays.ruth.orderId}/1`)).words()).not.toContain('GIVE NOTHING')
  })
})

describe('stopping', () => {
  const STOP = `/orders/${stays.ruth.orderId}/stop`
  const STOPPED = {
    reason: 'Changed to a basal regimen',
    orderedBy: 'Dr. Vera Kim',
    received: 'telephone',
    readBack: 'yes',
  } as const
  it('ends every version, voids a dose under way, and records who ordered it', async () => {
    const nora = await start(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '212'))
    const form = await nora.get(STOP)
    expect(await checkHtml(form.text)).toEqual([])
    const key = await nora.keyOf(STOP)
    const done = await nora.postRaw(STOP, { ...STOPPED, key: key ?? '' })
    expect(done.location).toBe(`/orders/${stays.ruth.orderId}/1`)
    expect(stored(stays.ruth.orderId)?.endedAtMs).toBe(world.clock.now())
    expect(world.store.doseById(ALL, doseId)?.voided).toMatchObject({ reason: 'order-changed' })
    const page = await nora.follow(done)
    expect(page.words()).toContain('■ Stopped')
    expect(page.words()).toContain(
      'by Nora Lind, ordered by Dr. Vera Kim (by telephone, read back): Changed to a basal regimen',
    )
    expect((await nora.postRaw(STOP, { ...STOPPED, key: key ?? '' })).location).toBe(done.location)
    const again = await nora.post(STOP, STOPPED)
    expect([again.status, again.words()]).toEqual([409, expect.stringContaining('has ended already')])
  })
  it('by telephone must be read back first', async () => {
    const nora = await start(people.nora)
    const { readBack: _, ...silent } = STOPPED
    const got = await nora.post(STOP, silent)
    expect([got.status, errorOf(got.root(), 'readBack')]).toEqual([422, expect.stringContaining('read the stop back')])
    expect(formTo(got.root(), STOP)?.fields['reason']).toBe(STOPPED.reason)
    expect(stored(stays.ruth.orderId)?.endedAtMs).toBeNull()
  })
  it('ignores malformed forms', async () => {
    const nora = await start(people.nora)
    const key = await nora.keyOf(STOP)
    for (const { name, body } of malformedPosts(STOPPED, key, 'received'))
      expect([409, 422].includes((await nora.postRaw(STOP, body)).status), name).toBe(true)
    expect(stored(stays.ruth.orderId)?.endedAtMs).toBeNull()
  })
  it('shows a stop charted before the orderer was asked for without one', async () => {
    const nora = await start(people.nora)
    const nowMs = world.clock.now()
    const body: EventBodies['order-stopped'] = { orderId: stays.ruth.orderId, reason: 'discontinued' }
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          type: 'order-stopped',
          wardId: stays.ruth.wardId,
          stayId: stays.ruth.stayId,
          actorId: people.nora.staffId,
          happenedAtMs: nowMs,
          chartedAtMs: nowMs,
          body,
        },
      ])
      return null
    })
    expect((await nora.get(`/orders/${stays.ruth.orderId}/1`)).words()).toContain('by Nora Lind: discontinued')
    expect(DATE).toBe('2026-03-10')
  })
})
