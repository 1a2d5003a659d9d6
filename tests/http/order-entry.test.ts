/** Order entry over HTTP: a new order, a new version, a standard order, and the preview beside the form. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, DATE, dose, giveFields, proposeDose, takeReading, verify } from '../support/bedside.ts'
import type { Client, Fields, Got } from '../support/client.ts'
import { byClass, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
beforeEach(async () => {
  world = await makeWorld()
})
afterEach(() => world.close())

const newPath = (who: TestStay): string => `/stays/${who.stayId}/orders/new`
const revisePath = (who: TestStay): string => `/orders/${who.orderId}/revise`
const STANDARD = '/setup/standard-orders/new'
const ROWS: Fields = {
  row1From: '151',
  row1To: '200',
  row1Units: '2',
  row2From: '201',
  row2To: '250',
  row2Units: '4',
  row3From: '>250',
  row3Call: 'yes',
  row3Also: 'Call the prescriber',
}
const FILLED: Fields = {
  ...ROWS,
  insulin: 'insulin lispro',
  atBreakfast: 'yes',
  atLunch: 'yes',
  prescriber: 'Dr. Vera Kim',
  received: 'written',
}
const ordersOf = (who: TestStay) => world.store.orderVersions(ALL, who.stayId)

/** The page's own form with these fields filled in. */
async function filled(client: Client, path: string, fields: Fields): Promise<Fields> {
  const form = formTo((await client.get(path)).root(), path)
  if (form === undefined) throw new Error(`no form at ${path}`)
  const { show: _show, ...standing } = form.fields as Record<string, string>
  return { ...standing, ...fields }
}
const write = async (client: Client, path: string, fields: Fields = FILLED): Promise<Got> =>
  client.postRaw(path, await filled(client, path, fields))

describe('a new order', () => {
  it('is saved unverified and leads to its own page', async () => {
    const nora = await world.signIn(people.nora)
    expect(await checkHtml((await nora.get(newPath(stays.tomas))).text)).toEqual([])
    const got = await write(nora, newPath(stays.tomas))
    expect(got.status).toBe(303)
    const [order] = ordersOf(stays.tomas)
    expect(got.location).toBe(`/orders/${String(order?.orderId)}/1`)
    expect((await nora.follow(got)).status).toBe(200)
    expect(order).toMatchObject({
      version: 1,
      verified: null,
      transcribedById: people.nora.staffId,
      writtenAtMs: world.clock.now(),
      order: {
        insulin: 'insulin lispro',
        occasions: ['before-breakfast', 'before-lunch'],
        maxSingleDose: 40,
        received: 'written',
        startsAtMs: world.clock.now(),
        notEating: { kind: 'correction-as-ordered' },
      },
    })
  })

  it('comes back filled in, names the value beside its row, and saves nothing', async () => {
    const nora = await world.signIn(people.nora)
    const typed = {
      ...FILLED,
      row3From: '>251',
      answered1From: '777',
      answered1Units: '',
      bedtimeRow1Also: 'typed and kept',
    }
    const got = await write(nora, newPath(stays.tomas), { ...typed, answered1From: '', bedtimeRow1Also: '' })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'row3From')).toContain('251 mg/dL is in no row')
    expect(await checkHtml(got.text)).toEqual([])
    const back = formTo(got.root(), newPath(stays.tomas))?.fields
    expect(back).toMatchObject({ ...FILLED, row3From: '>251' })
    expect(textOf(byClass(got.root(), 'order-fault')[0] ?? got.root())).toContain('251 mg/dL is in no row')
    // several faults of shape at once, each beside its field
    const shapes = await write(nora, newPath(stays.tomas), {
      ...FILLED,
      insulin: '',
      prescriber: '',
      row1Also: 'x'.repeat(201),
    })
    expect(['insulin', 'prescriber', 'row1Also'].map((field) => errorOf(shapes.root(), field) !== null)).toEqual([
      true,
      true,
      true,
    ])
    expect(ordersOf(stays.tomas)).toEqual([])
  })

  it('for U-500 is refused with its reason', async () => {
    const nora = await world.signIn(people.nora)
    const got = await write(nora, newPath(stays.tomas), { ...FILLED, concentration: 'U-500' })
    expect([got.status, errorOf(got.root(), 'concentration')]).toEqual([
      422,
      expect.stringContaining('five times the dose'),
    ])
    expect(formTo(got.root(), newPath(stays.tomas))?.fields['concentration']).toBe('U-500')
  })

  it('by telephone must be read back first', async () => {
    const nora = await world.signIn(people.nora)
    const got = await write(nora, newPath(stays.tomas), { ...FILLED, received: 'telephone' })
    expect([got.status, errorOf(got.root(), 'readBack')]).toEqual([422, expect.stringContaining('Read the order back')])
    expect(
      (await write(nora, newPath(stays.tomas), { ...FILLED, received: 'telephone', readBack: 'yes' })).status,
    ).toBe(303)
    expect(ordersOf(stays.tomas)[0]?.order.received).toBe('telephone-read-back')
  })

  it('“Show” without a script previews, saves nothing and keeps the key', async () => {
    const nora = await world.signIn(people.nora)
    const fields = await filled(nora, newPath(stays.tomas), { ...FILLED, show: 'yes' })
    const got = await nora.postRaw(newPath(stays.tomas), fields)
    expect([got.status, got.words()]).toEqual([422, expect.stringContaining('Nothing is stored yet')])
    expect(byClass(got.root(), 'edges')).toHaveLength(1)
    const { show: _show, ...without } = fields
    expect((await nora.postRaw(newPath(stays.tomas), without)).status).toBe(303)
  })

  it('is saved once when sent twice; the same key with another body is refused', async () => {
    const nora = await world.signIn(people.nora)
    const fields = await filled(nora, newPath(stays.tomas), FILLED)
    const first = await nora.postRaw(newPath(stays.tomas), fields)
    const again = await nora.postRaw(newPath(stays.tomas), fields)
    expect([first.status, again.status, again.location]).toEqual([303, 303, first.location])
    expect((await nora.postRaw(newPath(stays.tomas), { ...fields, row1Units: '1' })).status).toBe(409)
    expect(ordersOf(stays.tomas)).toHaveLength(1)
  })

  it('conflicts with a second reading order saved at once, which gets the reason', async () => {
    const [nora, omar] = [await world.signIn(people.nora), await world.signIn(people.omar)]
    const bodies = [await filled(nora, newPath(stays.tomas), FILLED), await filled(omar, newPath(stays.tomas), FILLED)]
    const answers = await Promise.all([
      nora.postRaw(newPath(stays.tomas), bodies[0] ?? {}),
      omar.postRaw(newPath(stays.tomas), bodies[1] ?? {}),
    ])
    expect(answers.map(({ status }) => status).sort()).toEqual([303, 409])
    expect(answers.find(({ status }) => status === 409)?.words()).toContain('no dose is worked out')
    expect(ordersOf(stays.tomas)).toHaveLength(1)
  })

  it('for scheduled doses can stand beside one for readings', async () => {
    const nora = await world.signIn(people.nora)
    const got = await write(nora, newPath(stays.ruth), {
      insulin: 'insulin glargine',
      correctionKind: 'none',
      scheduled1Time: '21:00',
      scheduled1Units: '12',
      prescriber: 'Dr. Vera Kim',
      received: 'written',
    })
    expect(got.status).toBe(303)
    expect((await write(nora, newPath(stays.ruth))).status).toBe(409)
  })

  it('uses the ward’s own unit: tenths on Birch', async () => {
    const bo = await world.signIn(people.bo)
    const fields = { ...FILLED, row1From: '8.4', row1To: '11.1', row2From: '11.2', row2To: '13.8', row3From: '>13.8' }
    expect(errorOf((await write(bo, newPath(stays.ivor))).root(), 'row1From')).toContain('mmol/L')
    expect((await write(bo, newPath(stays.ivor), fields)).status).toBe(303)
    expect(ordersOf(stays.ivor)[0]?.order).toMatchObject({
      unit: 'mmol/L',
      correction: { scale: { steps: [{ atLeast: 84 }, { atLeast: 112 }, { atLeast: 139, answer: 'call' }] } },
    })
  })

  it.each<[string, Fields, string, string]>([
    [
      'target',
      { atLunch: 'yes', correctionKind: 'factor', target: '3.5', perUnit: '3.0' },
      'target',
      'The target 3.5 is below the ward’s low limit of 3.9 mmol/L',
    ],
    ['factor', { atLunch: 'yes', correctionKind: 'factor', target: '7.0', perUnit: '66.7' }, 'perUnit', 'factor 66.7'],
    [
      'hold',
      {
        insulin: 'insulin glargine',
        correctionKind: 'none',
        scheduled1Time: '21:00',
        scheduled1Units: '12',
        scheduled1HoldBelow: '3.8',
      },
      'scheduled1HoldBelow',
      'below 3.8 mmol/L',
    ],
    ['row', { atLunch: 'yes', row1From: '66.7', row1Units: '2' }, 'row1From', '66.7 is no value'],
  ])('names the glucose as typed on Birch: %s', async (_name, fields, field, said) => {
    const bo = await world.signIn(people.bo)
    const head = { insulin: 'insulin lispro', prescriber: 'Dr. Vera Kim', received: 'written' }
    const got = await write(bo, newPath(stays.ivor), { ...head, ...fields })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), field)?.replaceAll("'", '’')).toContain(said)
  })

  it('answers malformed posts with the form and saves nothing', { timeout: 120_000 }, async () => {
    const nora = await world.signIn(people.nora)
    const { key = '', ...good } = await filled(nora, newPath(stays.tomas), FILLED)
    for (const { name, body } of malformedPosts(good, key, 'insulin')) {
      const got = await nora.postRaw(newPath(stays.tomas), body)
      expect([400, 409, 413, 422], `${name}: ${String(got.status)}`).toContain(got.status)
    }
    expect(ordersOf(stays.tomas)).toEqual([])
    expect((await nora.postRaw(newPath(stays.tomas), { ...good, key })).status).toBe(303)
  })
})

describe('a new version', () => {
  it('starts from the present one; the old one is readable and counts until the new one starts', async () => {
    const nora = await world.signIn(people.nora)
    const page = await nora.get(revisePath(stays.ruth))
    expect(await checkHtml(page.text)).toEqual([])
    expect(formTo(page.root(), revisePath(stays.ruth))?.fields).toMatchObject({
      row1From: '151',
      row1To: '200',
      row1Units: '2',
      row6From: '401',
      row6Call: 'yes',
      row6Also: 'Call the prescriber',
      maxSingleDose: '16',
      basedOn: '1',
      atBedtime: 'yes',
    })
    const got = await write(nora, revisePath(stays.ruth), {
      row1Units: '1',
      prescriber: 'Dr. Vera Kim',
      received: 'written',
      startsAt: `${DATE}T12:00`,
    })
    expect([got.status, got.location]).toEqual([303, `/orders/${stays.ruth.orderId}/2`])
    const [second, first] = ordersOf(stays.ruth)
    expect(second).toMatchObject({
      version: 2,
      verified: null,
      order: { correction: { scale: { steps: [{ atLeast: 151, answer: 1 }, {}, {}, {}, {}, {}] } } },
    })
    expect(first).toMatchObject({
      version: 1,
      endedAtMs: second?.order.startsAtMs,
      order: { correction: { scale: { steps: [{ answer: 2 }, {}, {}, {}, {}, {}] } } },
    })
    expect(first?.verified).not.toBeNull()
  })
  it('saved twice at once: the second is refused and nothing of it is kept', async () => {
    const [nora, omar] = [await world.signIn(people.nora), await world.signIn(people.omar)]
    const fields = { prescriber: 'Dr. Vera Kim', received: 'written' }
    const bodies = [
      await filled(nora, revisePath(stays.ruth), fields),
      await filled(omar, revisePath(stays.ruth), fields),
    ]
    expect((await nora.postRaw(revisePath(stays.ruth), bodies[0] ?? {})).status).toBe(303)
    const late = await omar.postRaw(revisePath(stays.ruth), bodies[1] ?? {})
    expect([late.status, late.words()]).toEqual([
      409,
      expect.stringContaining('Another version of this order has been written'),
    ])
    expect(ordersOf(stays.ruth)).toHaveLength(2)
  })
  it('is refused for a stopped order', async () => {
    const nora = await world.signIn(people.nora)
    const fields = await filled(nora, revisePath(stays.ruth), { prescriber: 'Dr. Vera Kim', received: 'written' })
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          type: 'order-stopped',
          wardId: ALDER,
          stayId: stays.ruth.stayId,
          actorId: people.cora.staffId,
          happenedAtMs: world.clock.now(),
          chartedAtMs: world.clock.now(),
          body: { orderId: stays.ruth.orderId, reason: 'Eats again' },
        },
      ])
      return null
    })
    expect((await nora.postRaw(revisePath(stays.ruth), fields)).status).toBe(409)
    expect((await nora.get(revisePath(stays.ruth))).words()).toContain('This order was stopped')
    expect((await write(nora, newPath(stays.ruth))).status).toBe(303)
  })
  it('answers 404 for an unknown order', async () => {
    const nora = await world.signIn(people.nora)
    expect((await nora.get('/orders/nosuchorder00000/revise')).status).toBe(404)
  })
})

describe('a standard order', () => {
  it('is saved for a ward, in its unit, by charge nurse or administrator', async () => {
    const anna = await world.signIn(people.anna)
    const page = await anna.get(STANDARD)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).not.toContain(stays.ruth.familyName)
    const { prescriber: _p, received: _r, ...standard } = FILLED
    expect(
      errorOf((await write(anna, STANDARD, { ...standard, name: 'Usual', ward: 'nosuchward000000' })).root(), 'ward'),
    ).toContain('ward')
    expect((await write(anna, STANDARD, { ...standard, name: 'Usual', ward: BIRCH })).status).toBe(422)
    const got = await write(anna, STANDARD, { ...standard, name: 'Usual', ward: ALDER })
    expect(got.status).toBe(303)
    const [written] = world.store.standardOrders(
      { staffId: people.anna.staffId, role: 'administrator', wardIds: [] },
      ALDER,
    )
    expect(written).toMatchObject({
      name: 'Usual',
      version: 1,
      approved: null,
      writtenById: people.anna.staffId,
      order: { insulin: 'insulin lispro', unit: 'mg/dL' },
    })
    expect(got.location).toBe(`/setup/standard-orders/${String(written?.standardOrderId)}`)
    // the same name on the same ward makes the next version
    const cora = await world.signIn(people.cora)
    expect((await write(cora, STANDARD, { ...standard, name: 'Usual', row1Units: '1' })).location).toBe(got.location)
    expect(
      world.store
        .standardOrders({ staffId: people.cora.staffId, role: 'charge-nurse', wardIds: [ALDER] }, ALDER)
        .map(({ version }) => version),
    ).toEqual([2, 1])
    expect((await write(cora, STANDARD, { ...standard, name: 'Usual', ward: BIRCH })).status).toBe(422)
  })
})

describe('preview beside the form', () => {
  const preview = (client: Client, fields: Fields): Promise<Got> =>
    client.postRaw(
      '/orders/preview',
      {
        ward: ALDER,
        correctionKind: 'scale',
        mealKind: 'none',
        bedtimeKind: 'same',
        notEatingKind: 'correction-as-ordered',
        roundTo: '1',
        ties: 'down',
        mealTiming: 'before',
        ...fields,
      },
      { headers: { 'hx-request': 'true' } },
    )
  const cells = (got: Got): readonly string[] =>
    byClass(got.root(), 'edges').flatMap((table) => byClass(table, 'at').map((at) => textOf(at)))

  it('is a page fragment with plot and a value on each side of every edge; it writes nothing', async () => {
    const nora = await world.signIn(people.nora)
    const head = world.store.lastEventAtMs()
    const got = await preview(nora, ROWS)
    expect(got.status).toBe(200)
    expect(got.text).not.toMatch(/<html|<style|style=/)
    // its heading levels follow the page's
    expect((await checkHtml(got.text)).filter((fault) => !fault.startsWith('heading-level'))).toEqual([])
    expect(cells(got)).toEqual(['150', '151', '152', '200', '201', '202', '250', '251', '252'])
    expect(got.words()).toContain('251 no dose, call')
    expect(got.text).toContain(
      'aria-label="Correction: up to 150 mg/dL 0 units; 151 to 200 mg/dL 2 units; 201 to 250 mg/dL 4 units; from 251 mg/dL no dose, call"',
    )
    expect(world.store.lastEventAtMs()).toBe(head)
  })
  it('names faults in place, and asks for nothing that is not typed yet', async () => {
    const nora = await world.signIn(people.nora)
    expect((await preview(nora, {})).words()).toContain('Type the first row')
    const hole = await preview(nora, { ...ROWS, row3From: '>251' })
    expect(hole.words()).toContain('251 mg/dL is in no row')
    expect(hole.text).toContain('href="#row3From"')
    expect(byClass((await preview(nora, ROWS)).root(), 'order-fault')).toEqual([])
    expect((await preview(nora, { ...ROWS, row1Units: '1.5' })).words()).toContain('finer than the whole units')
    expect((await preview(nora, { ...ROWS, notEatingKind: 'hold-all', bedtimeKind: 'none' })).words()).toMatch(
      /At bedtime No correction\..*When not eating No correction and no meal part/,
    )
    const held = { ...ROWS, notEatingKind: 'hold-all', tryGlucose: '300', tryNotEating: 'yes' }
    const words = (await preview(nora, held)).words()
    expect(words).toContain('No correction and no meal part: 0 units. Where the scale says “no dose, call”, still call')
    expect(words).toContain('Call the prescriber: the scale says “no dose, call”.')
    expect((await preview(nora, { ...ROWS, tryGlucose: '65' })).words()).toContain('below the low limit')
    expect((await preview(nora, { ...ROWS, tryGlucose: '6.5' })).words()).toContain('from 20 to 600 mg/dL')
    expect((await preview(nora, { ...ROWS, tryGlucose: '300' })).words()).toContain('no dose, call')
    expect((await preview(nora, { ...ROWS, atLunch: 'yes', tryGlucose: '210', tryAt: 'bedtime' })).words()).toContain(
      'does not apply bedtime',
    )
  })
  it('is for those who write orders, on their own wards', async () => {
    const [bo, edda, anna] = [
      await world.signIn(people.bo),
      await world.signIn(people.edda),
      await world.signIn(people.anna),
    ]
    const other = await preview(bo, ROWS)
    expect([other.status, cells(other).length, other.words()]).toEqual([
      200,
      0,
      expect.stringContaining('Choose the ward'),
    ])
    expect((await preview(edda, ROWS)).status).toBe(403)
    expect(cells(await preview(anna, ROWS))).toHaveLength(9)
    expect((await world.visitor().postRaw('/orders/preview', ROWS)).location).toContain('/sign-in')
  })
  it('answers any input with a fragment and no fault', { timeout: 120_000 }, async () => {
    const nora = await world.signIn(people.nora)
    for (const strict of ['row1From', 'ward', 'tryGlucose', 'correctionKind']) {
      for (const { name, body } of malformedPosts(
        { ...ROWS, ward: ALDER, correctionKind: 'scale', tryGlucose: '200' },
        null,
        strict,
      )) {
        const got = await nora.postRaw('/orders/preview', body)
        expect([200, 400, 413], `${strict}, ${name}: ${String(got.status)}`).toContain(got.status)
      }
    }
  })
  it('a login that ends during typing keeps the form for the next sign-in', async () => {
    const nora = await world.signIn(people.nora)
    const fields = await filled(nora, newPath(stays.tomas), FILLED)
    world.clock.advance(11)
    const got = await nora.postRaw('/orders/preview', fields, {
      headers: { 'hx-request': 'true', 'hx-current-url': `http://ward.test${newPath(stays.tomas)}` },
    })
    expect(got.status).toBe(303)
    const url = new URL(got.location ?? '', 'http://ward.test')
    expect(url.searchParams.get('next')).toBe(newPath(stays.tomas))
    const back = await nora.postRaw('/sign-in', {
      badge: people.nora.badge,
      pin: people.nora.pin,
      next: url.searchParams.get('next') ?? '',
      draft: url.searchParams.get('draft') ?? '',
    })
    let at = await nora.follow(back)
    for (let hops = 0; hops < 3 && formTo(at.root(), newPath(stays.tomas)) === undefined; hops++)
      at = await nora.follow(at.location === null ? await nora.post('/ward', { wardId: ALDER }) : at)
    expect(formTo(at.root(), newPath(stays.tomas))?.fields).toMatchObject(FILLED)
  })
})

describe('an order with a rule for not eating, from the page to the bedside', () => {
  /** 4 units at 210 by the scale, 1 for a patient who does not eat. */
  const RULE: Fields = { ...FILLED, notEatingKind: 'own-scale', notEatingRow1From: '201', notEatingRow1Units: '1' }
  async function readingUnderRule(): Promise<{ readonly nora: Client; readonly readingId: string }> {
    world.clock.set(`${DATE}T07:45`)
    const nora = await world.signIn(people.nora)
    const got = await write(nora, newPath(stays.tomas), { ...RULE, startsAt: `${DATE}T07:00` })
    const orderId = got.location?.split('/')[2] ?? ''
    const head = {
      wardId: ALDER,
      stayId: stays.tomas.stayId,
      happenedAtMs: world.clock.now(),
      chartedAtMs: world.clock.now(),
      actorId: people.omar.staffId,
    }
    world.store.transact(() => {
      storeEvents(world.store, [{ ...head, type: 'order-verified', body: { orderId, version: 1 } }])
      return null
    })
    return { nora, readingId: await takeReading(nora, stays.tomas, '210') }
  }
  it('asks whether the patient eats, and tells the second nurse', async () => {
    const { nora, readingId } = await readingUnderRule()
    const path = `/readings/${readingId}/dose`
    expect((await nora.get(path)).words()).toContain('Will the patient eat?')
    expect(errorOf((await nora.post(path, { elsewhere: 'none' })).root(), 'willEat')).not.toBeNull()
    const doseId = await proposeDose(nora, readingId, { willEat: 'no', elsewhere: 'none' })
    expect(dose(world.store, doseId)).toMatchObject({
      units: 1,
      working: { terms: [{ part: 'correction-scale', notEating: true }] },
    })
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('Correction by the scale for not eating')
    const check = (await nora.get(`/doses/${doseId}/second-check`)).words()
    expect(check).toContain('Will not eat')
    expect(check).toContain('Correction scale when the patient does not eat')
  })
  it('refuses to give a dose worked out for an eating patient who does not eat', async () => {
    const { nora, readingId } = await readingUnderRule()
    const doseId = await proposeDose(nora, readingId, { willEat: 'yes', elsewhere: 'none' })
    expect(dose(world.store, doseId).units).toBe(4)
    await verify(nora, doseId, stays.tomas, people.omar, '210', '4')
    const path = `/doses/${doseId}/give`
    const refused = await nora.post(path, { ...giveFields(stays.tomas, '07:45'), willEat: 'no' })
    expect([refused.status, errorOf(refused.root(), 'willEat')]).toEqual([
      422,
      expect.stringContaining('worked out for a patient who eats'),
    ])
    expect(dose(world.store, doseId).outcome).toBeNull()
    expect((await nora.post(path, giveFields(stays.tomas, '07:45'))).status).toBe(303)
  })
})

describe('access', () => {
  it.each([
    ['new', newPath(stays.tomas)],
    ['revise', revisePath(stays.ruth)],
  ])('%s: only for nurses of the ward', async (_name, path) => {
    for (const person of [people.edda, people.anna]) {
      const client = await world.signIn(person)
      expect((await client.get(path)).status, person.name).toBe(403)
      expect((await client.postRaw(path, { ...FILLED, key: 'x' })).status, person.name).toBe(403)
    }
    const bo = await world.signIn(people.bo)
    expect((await bo.get(path)).status).toBe(404)
    expect([404, 409]).toContain((await bo.postRaw(path, { ...FILLED, key: 'x' })).status)
    expect((await world.visitor().get(path)).location).toContain('/sign-in')
    expect((await world.visitor().postRaw(path, FILLED)).location).toContain('/sign-in')
  })
  it('standard orders: charge nurses and administrators', async () => {
    for (const person of [people.nora, people.edda])
      expect((await (await world.signIn(person)).get(STANDARD)).status).toBe(403)
    expect((await (await world.signIn(people.cora)).get(STANDARD)).status).toBe(200)
    expect((await world.visitor().get(STANDARD)).location).toContain('/sign-in')
  })
})
