/** The second check over HTTP: blind on the server, by another nurse, one of two at once; then the product. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import {
  ALL,
  answer,
  answerLate,
  charted,
  dose,
  NONE_ELSEWHERE,
  productFields,
  proposeDose,
  takeReading,
} from '../support/bedside.ts'
import { checkHtml, errorOf, findAll, attr, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays, scaleOrder } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import type { Client, Got } from '../support/client.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { InsulinOrder } from '../../shared/order/order.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:30' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

/** Replaces the stay's order, saved and verified now. */
function reorder(parts: Partial<InsulinOrder>): void {
  const { stayId, wardId, orderId } = stays.ruth
  const nowMs = world.clock.now()
  const order = { ...scaleOrder({ unit: 'mg/dL', steps: [] }, nowMs - 3_600_000), ...parts }
  const head = { wardId, stayId, happenedAtMs: nowMs, chartedAtMs: nowMs }
  const events: readonly LedgerEvent[] = [
    { ...head, actorId: people.pia.staffId, type: 'order-written', body: { orderId, version: 2, order } },
    { ...head, actorId: people.cora.staffId, type: 'order-verified', body: { orderId, version: 2 } },
  ]
  world.store.transact(() => {
    storeEvents(world.store, events)
    return null
  })
}

const answers = (doseId: string): readonly boolean[] => dose(world.store, doseId).answers.map((one) => one.agreed)

describe('blind on the server', () => {
  // digits that occur nowhere else: in no time, identifier, order or text of a page
  const VALUE = '397'
  const UNITS = '7.5'

  /**
   * The whole response: page and headers. Only random parts are left out, which could hold the digits by chance: ids,
   * one-time keys, asset names and content length.
   */
  const everything = (got: Got): string => {
    const { 'content-length': _length, ...headers } = got.headers
    const text = got.text.replace(/name="key" value="[^"]*"/g, '').replace(/\/assets\/[\w.-]+/g, '')
    return `${text}\n${JSON.stringify(headers)}`.replace(/(?<![a-z0-9])[a-z0-9]{16}(?![a-z0-9])/g, '')
  }
  const links = (got: Got): readonly string[] =>
    findAll(got.root(), (element) => ['a', 'form', 'div', 'section'].includes(element.tagName))
      .flatMap((element) => ['href', 'action', 'hx-get'].flatMap((name) => attr(element, name) ?? []))
      .filter((path) => path.startsWith('/') && !path.startsWith('/assets') && path !== '/sign-out')

  it('hides a planted reading and dose from a possible second signer until the first part is answered', async () => {
    reorder({
      correction: { kind: 'factor', target: 120, perUnit: 36, belowTargetSubtracts: false },
      rounding: { to: 0.5, ties: 'down' },
    })
    const readingId = await takeReading(nora, stays.ruth, VALUE)
    const omar = await world.signIn(people.omar)
    const cora = await world.signIn(people.cora)
    const { stayId } = stays.ruth
    const shows = (got: Got): readonly string[] => [VALUE, UNITS].filter((digits) => everything(got).includes(digits))

    // the reading is masked before there is a dose
    const start = [
      '/round',
      '/round/list',
      '/second-checks',
      '/print/round',
      '/print/kit',
      '/handover',
      '/print/handover',
      `/stays/${stayId}`,
      `/readings/${readingId}`,
      `/readings/${readingId}/dose`,
      `/readings/${readingId}/direction`,
      `/stays/${stayId}/tray`,
      `/stays/${stayId}/outside-dose`,
      `/checks/${stayId}.2026-03-10.before-breakfast`,
    ]
    for (const client of [omar, cora])
      for (const path of start) expect([path, shows(await client.get(path))]).toEqual([path, []])

    const doseId = await proposeDose(nora, readingId)
    expect(dose(world.store, doseId).units).toBe(7.5)
    const steps = ['', '/second-check', '/start-again', '/product', '/give', '/not-given'].map(
      (step) => `/doses/${doseId}${step}`,
    )
    for (const client of [omar, cora]) {
      const seen = new Set<string>([
        ...start,
        ...steps,
        `/readings/${readingId}/correct`,
        `/readings/${readingId}/void`,
        `/readings/${readingId}/critical-call`,
      ])
      for (const path of seen) {
        const got = await client.get(path)
        expect([path, shows(got)]).toEqual([path, []])
        // and the pages that those link to
        if (got.status === 200) for (const link of links(got)) if (seen.size < 80) seen.add(link)
      }
      expect(seen.size).toBeGreaterThan(25)
      // refused posts reveal no more than pages
      for (const [form, path, fields] of [
        ['dose', `/readings/${readingId}/dose`, NONE_ELSEWHERE],
        [
          'direction',
          `/readings/${readingId}/direction`,
          { prescriber: 'x', insulin: 'insulin lispro', units: '1', why: 'x', readBack: 'yes' },
        ],
        ['start-again', `/doses/${doseId}/start-again`, { glucose: '200' }],
        ['product', `/doses/${doseId}/product`, { ...productFields(stays.ruth, people.omar, '3') }],
        [
          'give',
          `/doses/${doseId}/give`,
          {
            wristband: stays.ruth.wristband,
            food: 'tray-here',
            willEat: 'yes',
            site: 'left.abdomen',
            at: '2026-03-10T07:30',
          },
        ],
        ['not-given', `/doses/${doseId}/not-given`, { kind: 'withheld', reason: 'x' }],
      ] as const) {
        const staffId = client === omar ? people.omar.staffId : people.cora.staffId
        const got = await client.postRaw(path, { ...fields, key: world.server.appContext.formKeys.make(staffId, form) })
        expect([path, got.status >= 400, shows(got)]).toEqual([path, true, []])
      }
    }
    // on the first nurse's device the page for the second nurse is as blind
    expect(shows(await nora.get(`/doses/${doseId}/second-check`))).toEqual([])

    // a wrong answer confirms neither number
    const wrong = await answer(nora, doseId, people.omar, '396', '6')
    expect(wrong.status).toBe(303)
    expect(shows(wrong)).toEqual([])
    for (const client of [omar, cora, nora])
      for (const step of ['', '/second-check', '/start-again'])
        expect([step, shows(await client.get(`/doses/${doseId}${step}`))]).toEqual([step, []])

    // the right answer ends the mask, and the dose can be drawn up
    await nora.post(`/doses/${doseId}/start-again`, { glucose: VALUE })
    await answer(nora, doseId, people.omar, VALUE, UNITS)
    expect(answers(doseId)).toEqual([false, true])
    expect(shows(await omar.get(`/doses/${doseId}`))).toEqual([VALUE, UNITS])
  })

  it('detects a leak: an educator cannot check and is shown both', async () => {
    reorder({
      correction: { kind: 'factor', target: 120, perUnit: 36, belowTargetSubtracts: false },
      rounding: { to: 0.5, ties: 'down' },
    })
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, VALUE))
    const edda = await world.signIn(people.edda)
    const page = await edda.get(`/doses/${doseId}`)
    expect([page.text.includes(VALUE), page.text.includes(UNITS)]).toEqual([true, true])
    expect((await nora.get(`/doses/${doseId}`)).text).toContain(VALUE)
  })

  it('shows the whole order and the relevant facts', async () => {
    const readingId = await takeReading(nora, stays.ines, '243')
    const doseId = await proposeDose(nora, readingId, { willEat: 'yes', tray: 'expected', elsewhere: 'none' })
    const got = await nora.get(`/doses/${doseId}/second-check`)
    for (const text of [
      'Calder, Ines',
      'W7303',
      '30 Dec 1990',
      'Before breakfast',
      'insulin lispro, U-100',
      '201–250',
      'Will eat',
      'before breakfast 4 units',
      'Dr Sanna Weir',
      'version 1',
    ])
      expect(got.words()).toContain(text)
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.root()).toBeDefined()
    expect(got.headers['cache-control']).toBe('no-store')
  })
})

describe('by another nurse', () => {
  let doseId: string
  beforeEach(async () => {
    doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  })

  it('works on the first nurse’s device without ending that session', async () => {
    const got = await answer(nora, doseId, people.omar, '243', '4')
    expect([got.status, got.location]).toEqual([303, `/doses/${doseId}`])
    expect(dose(world.store, doseId).answers).toMatchObject([
      { byId: people.omar.staffId, agreed: true, units: 4, glucose: { unit: 'mg/dL', value: 243 } },
    ])
    const page = await nora.follow(got)
    expect(page.words()).toContain('draw up now')
    expect(page.words()).toContain('Nora Lind')
  })

  it('works in the second nurse’s own session with a PIN, from the waiting list', async () => {
    const omar = await world.signIn(people.omar)
    const list = await omar.get('/second-checks')
    expect(list.words()).toContain('Ashby, Ruth')
    expect(list.text).toContain(`/doses/${doseId}/second-check`)
    expect(await checkHtml(list.text)).toEqual([])
    const page = await omar.get(`/doses/${doseId}/second-check`)
    expect(formTo(page.root(), `/doses/${doseId}/second-check`)?.names).not.toContain('badge')
    expect(
      (await omar.post(`/doses/${doseId}/second-check`, { glucose: '243', units: '4', pin: people.omar.pin })).status,
    ).toBe(303)
    expect(answers(doseId)).toEqual([true])
  })

  it.each([
    ['herself', people.nora, 403, 'You worked this dose out yourself'],
    ['an educator', people.edda, 403, 'Your role may not give insulin'],
    ['an administrator', people.anna, 403, 'Your role may not give insulin'],
    ['a nurse of another ward', people.bo, 403, 'not entered for this ward'],
  ] as const)('refuses %s', async (_name, person, status, words) => {
    const before = charted(world, stays.ruth)
    const got = await answer(nora, doseId, person, '243', '4')
    expect([got.status, got.words().includes(words)]).toEqual([status, true])
    expect(charted(world, stays.ruth)).toBe(before)
  })

  it('charts nothing for a wrong PIN, an unknown badge or no badge, and returns no PIN', async () => {
    const before = charted(world, stays.ruth)
    for (const fields of [
      { badge: people.omar.badge, pin: '000000' },
      { badge: 'N9999', pin: people.omar.pin },
      { badge: '', pin: people.omar.pin },
    ]) {
      const got = await nora.post(`/doses/${doseId}/second-check`, { glucose: '243', units: '4', ...fields })
      expect(got.status).toBe(422)
      expect(got.text).not.toContain(fields.pin)
    }
    expect(charted(world, stays.ruth)).toBe(before)
  })

  it('refuses the nurse who took the reading when another worked out its dose', async () => {
    const omar = await world.signIn(people.omar)
    const readingId = await takeReading(omar, stays.ines, 'HI')
    const direction = await nora.post(`/readings/${readingId}/direction`, {
      prescriber: 'Dr Weir',
      insulin: 'insulin lispro',
      units: '9',
      why: 'HI on the meter',
      readBack: 'yes',
    })
    const directed = direction.location?.split('/')[2] ?? ''
    const got = await answer(nora, directed, people.omar, 'HI', '9')
    expect([got.status, got.words().includes('You took or charted this reading')]).toEqual([403, true])
    expect((await answer(nora, directed, people.pia, 'HI', '9')).status).toBe(303)
  })

  it('voids the dose of a corrected reading; the new dose is checked blind too', async () => {
    const readingId = dose(world.store, doseId).readingId ?? ''
    const corrected = await nora.post(`/readings/${readingId}/correct`, {
      wristband: stays.ruth.wristband,
      glucose: '234',
      reason: 'Digits turned around',
    })
    expect(corrected.status).toBe(303)
    expect(dose(world.store, doseId).voided).toMatchObject({ reason: 'reading-corrected' })
    const newest = world.store
      .stayFacts(ALL, stays.ruth.stayId, world.clock.now())
      ?.readings.find((reading) => reading.supersededBy === null)
    const anew = await proposeDose(nora, newest?.readingId ?? '', {})
    const pia = await world.signIn(people.pia)
    expect((await pia.get(`/doses/${anew}`)).words()).toContain('Awaiting second check')
    for (const path of [
      `/readings/${readingId}`,
      `/readings/${newest?.readingId ?? ''}`,
      `/stays/${stays.ruth.stayId}`,
    ])
      expect((await pia.get(path)).words()).not.toMatch(/\b2[34][34]\b/)
    expect((await answer(nora, anew, people.pia, '234', '4')).status).toBe(303)
    expect(answers(anew)).toEqual([true])
  })
})

it('counts one of two second checkers at once and tells the other', async () => {
  const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  const [omar, pia] = [await world.signIn(people.omar), await world.signIn(people.pia)]
  const path = `/doses/${doseId}/second-check`
  const keys = [await omar.keyOf(path), await pia.keyOf(path)]
  const got = await Promise.all([
    omar.postRaw(path, { glucose: '243', units: '4', pin: people.omar.pin, key: keys[0] ?? '' }),
    pia.postRaw(path, { glucose: '243', units: '4', pin: people.pia.pin, key: keys[1] ?? '' }),
  ])
  expect(got.map(({ status }) => status).sort()).toEqual([303, 409])
  expect(got.find(({ status }) => status === 409)?.words()).toContain('was not counted')
  expect(answers(doseId)).toEqual([true])
})

it('charts the same answer once', async () => {
  const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  const path = `/doses/${doseId}/second-check`
  const fields = {
    glucose: '243',
    units: '4',
    badge: people.omar.badge,
    pin: people.omar.pin,
    key: (await nora.keyOf(path)) ?? '',
  }
  expect([(await nora.postRaw(path, fields)).status, (await nora.postRaw(path, fields)).status]).toEqual([303, 303])
  expect(answers(doseId)).toEqual([true])
})

describe('a difference', () => {
  let doseId: string
  beforeEach(async () => {
    doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  })

  it.each([
    ['the dose', '243', '6'],
    ['the value', '234', '4'],
    ['a value of the same step', '244', '4'],
  ])('in %s: both start again, and it is recorded', async (_what, glucose, units) => {
    expect((await answer(nora, doseId, people.omar, glucose, units)).status).toBe(303)
    expect(answers(doseId)).toEqual([false])
    const page = await nora.get(`/doses/${doseId}`)
    expect(page.words()).toContain('The answers differ')
    for (const number of ['243', '4 units', glucose === '243' ? '6 units' : glucose])
      expect(page.words()).not.toContain(number)
    // nobody can answer before the first nurse restarts
    const early = await answerLate(world, nora, people.nora, doseId, people.omar, '243', '4')
    expect([early.status, early.words().includes('The first nurse starts again before another check')]).toEqual([
      409,
      true,
    ])
    // the value read again must be the recorded one
    const wrong = await nora.post(`/doses/${doseId}/start-again`, { glucose: '234' })
    expect([wrong.status, errorOf(wrong.root(), 'glucose')?.includes('correct the reading first')]).toEqual([422, true])
    expect((await nora.post(`/doses/${doseId}/start-again`, { glucose: '243' })).status).toBe(303)
    expect((await answer(nora, doseId, people.omar, '243', '4')).status).toBe(303)
    expect(answers(doseId)).toEqual([false, true])
  })

  it('after two, the charge nurse must join', async () => {
    for (const units of ['6', '8']) {
      await answer(nora, doseId, people.omar, '243', units)
      await nora.post(`/doses/${doseId}/start-again`, { glucose: '243' })
    }
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('the charge nurse does this check')
    const got = await answer(nora, doseId, people.omar, '243', '4')
    expect([got.status, got.words().includes('The charge nurse does the next check')]).toEqual([403, true])
    expect((await answer(nora, doseId, people.cora, '243', '4')).status).toBe(303)
    expect(answers(doseId)).toEqual([false, false, true])
  })

  it('can be restarted by the first nurse only', async () => {
    await answer(nora, doseId, people.omar, '243', '6')
    const omar = await world.signIn(people.omar)
    const got = await omar.postRaw(`/doses/${doseId}/start-again`, {
      glucose: '243',
      key: world.server.appContext.formKeys.make(people.omar.staffId, 'start-again'),
    })
    expect(got.status).toBe(403)
  })
})

describe('is void after a change', () => {
  let doseId: string
  let readingId: string
  beforeEach(async () => {
    readingId = await takeReading(nora, stays.ruth, '243')
    doseId = await proposeDose(nora, readingId)
  })
  const refused = async (words: string): Promise<void> => {
    const got = await answerLate(world, nora, people.nora, doseId, people.omar, '243', '4')
    expect([got.status, got.words().includes(words)]).toEqual([409, true])
    expect(answers(doseId)).toEqual([])
  }

  it('by a newer reading', async () => {
    world.clock.advance(2)
    await takeReading(nora, stays.ruth, '251', {
      key: `extra.${stays.ruth.stayId}.${'x'.repeat(16)}`,
      extraReason: 'other',
    })
    await refused('no longer counts')
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('A newer reading was taken')
  })
  it('by a new order version', async () => {
    reorder({ correction: { kind: 'factor', target: 120, perUnit: 50, belowTargetSubtracts: false } })
    await refused('no longer counts')
  })
  it('by time: past the reading’s hour it lapses, and a new reading is needed', async () => {
    world.clock.advance(61)
    nora = await world.signIn(people.nora)
    await refused('has lapsed')
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('Work it out again')
    const fresh = await takeReading(nora, stays.ruth, '230', {
      key: `extra.${stays.ruth.stayId}.${'y'.repeat(16)}`,
      extraReason: 'other',
    })
    expect(dose(world.store, await proposeDose(nora, fresh, {})).units).toBe(4)
    expect(dose(world.store, doseId).voided).not.toBeNull()
  })
})

describe('product read by the second nurse', () => {
  let doseId: string
  const path = (): string => `/doses/${doseId}/product`
  const good = (): Readonly<Record<string, string>> => productFields(stays.ruth, people.omar, '4')
  beforeEach(async () => {
    doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  })

  it('refuses before agreement', async () => {
    const got = await nora.postRaw(path(), {
      ...good(),
      key: world.server.appContext.formKeys.make(people.nora.staffId, 'product'),
    })
    expect([got.status, got.words().includes('Nothing is drawn up before it')]).toEqual([409, true])
  })

  it('is verified when signed by badge and PIN', async () => {
    await answer(nora, doseId, people.omar, '243', '4')
    const page = await nora.get(path())
    expect(page.words()).toContain('4 units of insulin lispro')
    expect(await checkHtml(page.text)).toEqual([])
    expect((await nora.post(path(), good())).status).toBe(303)
    expect(dose(world.store, doseId).product).toMatchObject({
      byId: people.omar.staffId,
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: 4,
    })
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('Verified: give')
    expect((await nora.post(path(), good())).status).toBe(409)
  })

  it.each([
    ['a look-alike insulin', { insulin: 'insulin aspart' }, 422, 'The label says insulin aspart'],
    ['long-acting insulin', { insulin: 'insulin glargine' }, 422, 'The label says insulin glargine'],
    ['U-500', { concentration: 'U-500' }, 422, 'Only U-100'],
    ['out of date', { expiresOn: '2026-03-09' }, 422, 'past its date'],
    ['no date of the calendar', { expiresOn: '2026-02-30' }, 422, 'A date of the calendar'],
    ['ten times the dose in the syringe', { units: '40' }, 422, 'shows 40 units; checked were 4 units'],
    ['a trailing zero', { units: '4.0' }, 422, 'without a trailing zero'],
    [
      'somebody else’s signature',
      { badge: people.pia.badge, pin: people.pia.pin },
      403,
      'by the nurse whose answer agreed',
    ],
    ['her own signature', { badge: people.nora.badge, pin: people.nora.pin }, 403, 'by the nurse whose answer agreed'],
    ['a wrong PIN', { pin: '111111' }, 422, 'Badge and PIN do not match'],
  ] as const)('refuses: %s', async (_name, change, status, words) => {
    await answer(nora, doseId, people.omar, '243', '4')
    const before = charted(world, stays.ruth)
    const got = await nora.post(path(), { ...good(), ...change })
    expect([got.status, got.words().includes(words)]).toEqual([status, true])
    expect(charted(world, stays.ruth)).toBe(before)
  })

  it('stops at another patient’s wristband, names only that bed, and keeps the near miss', async () => {
    await answer(nora, doseId, people.omar, '243', '4')
    const before = world.store.wardVersion(ALL, stays.ruth.wardId)
    const got = await nora.post(path(), { ...good(), wristband: stays.tomas.wristband })
    expect(got.status).toBe(409)
    expect(got.words()).toContain('STOP')
    expect(got.words()).toContain('bed 2')
    expect(got.words()).not.toContain('Brandt')
    expect(dose(world.store, doseId).product).toBeNull()
    expect(world.store.wardVersion(ALL, stays.ruth.wardId)).not.toBe(before)
    const other = await nora.post(path(), { ...good(), wristband: 'W0000' })
    expect([other.status, other.words().includes('no wristband of a patient here')]).toEqual([409, true])
  })
})

describe('answers 40 malformed posts for each form with the form and charts nothing', () => {
  it.each([
    ['second-check', 'units', { glucose: '243', units: '4', badge: people.omar.badge, pin: people.omar.pin }],
    ['start-again', 'glucose', { glucose: '243' }],
    ['product', 'units', productFields(stays.ruth, people.omar, '4')],
  ] as const)('%s', async (form, strict, good) => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    if (form === 'start-again') await answer(nora, doseId, people.omar, '243', '6')
    if (form === 'product') await answer(nora, doseId, people.omar, '243', '4')
    const path = `/doses/${doseId}/${form}`
    const key = await nora.keyOf(path)
    const before = charted(world, stays.ruth)
    const posts = malformedPosts(good, key, strict)
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
    expect(charted(world, stays.ruth)).toBe(before)
    expect((await nora.post(path, good)).status).toBe(303)
  })
})
