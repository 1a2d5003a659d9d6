/** A prescriber's direction leads to a dose with its second check. Scheduled insulin is tested here too. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import {
  ALL,
  answer,
  charted,
  DATE,
  dose,
  giveFields,
  idOf,
  NONE_ELSEWHERE,
  productFields,
  proposeDose,
  takeExtra,
  takeReading,
  verify,
} from '../support/bedside.ts'
import { treatShown } from '../support/audited-day.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import type { Client } from '../support/client.ts'

let world: World
let nora: Client
const GOOD = {
  prescriber: 'Dr Sanna Weir',
  insulin: 'insulin lispro',
  units: '9',
  why: 'HI on the meter, laboratory value to follow',
  readBack: 'yes',
}
const direct = (readingId: string, change: Readonly<Record<string, string>> = {}): ReturnType<Client['post']> =>
  nora.post(`/readings/${readingId}/direction`, { ...GOOD, ...change })

describe('direction', () => {
  beforeEach(async () => {
    world = await makeWorld({ at: '2026-03-10T07:45' })
    nora = await world.signIn(people.nora)
  })
  afterEach(() => world.close())

  it('on HI is charted with prescriber, reason and read-back; the dose is checked and given', async () => {
    const readingId = await takeReading(nora, stays.ruth, 'HI')
    const page = await nora.get(`/readings/${readingId}/direction`)
    expect(await checkHtml(page.text)).toEqual([])
    const got = await direct(readingId)
    expect(got.status).toBe(303)
    const doseId = idOf(got)
    expect(dose(world.store, doseId)).toMatchObject({
      kind: 'by-direction',
      units: 9,
      readingId,
      secondCheckRequired: true,
      outcome: null,
    })
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.directions).toMatchObject([
      { prescriber: 'Dr Sanna Weir', readBack: true, units: 9 },
    ])
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain(
      'Direction by Dr Sanna Weir, read back: HI on the meter',
    )
    expect((await nora.get(`/doses/${doseId}/second-check`)).words()).toContain(
      'Dr Sanna Weir: 9 units of insulin lispro',
    )
    await verify(nora, doseId, stays.ruth, people.omar, 'HI', '9')
    expect((await nora.post(`/doses/${doseId}/give`, giveFields(stays.ruth, '07:45'))).status).toBe(303)
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'given' })
  })

  it('works without any order', async () => {
    const readingId = await takeReading(nora, stays.tomas, '330')
    const doseId = idOf(await direct(readingId))
    expect(dose(world.store, doseId)).toMatchObject({ units: 9, working: { orderVersion: 0 } })
    await verify(nora, doseId, stays.tomas, people.omar, '330', '9')
  })

  it('replaces a dose under way and restarts its second check', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    const first = await proposeDose(nora, readingId)
    await answer(nora, first, people.omar, '243', '4')
    const doseId = idOf(await direct(readingId))
    expect(dose(world.store, first).voided).toMatchObject({ reason: 'replaced-by-direction' })
    expect(dose(world.store, doseId).answers).toEqual([])
    expect((await nora.post(`/doses/${first}/product`, productFields(stays.ruth, people.omar, '4'))).status).toBe(409)
  })

  it('is charted for 0 units too', async () => {
    const doseId = idOf(await direct(await takeReading(nora, stays.ruth, '62'), { units: '0' }))
    expect(dose(world.store, doseId)).toMatchObject({ units: 0, outcome: { kind: 'zero-charted' } })
  })

  it.each([
    ['not read back', { readBack: 'no' }, 'readBack', 422],
    ['nobody', { prescriber: ' ' }, 'prescriber', 422],
    ['no why', { why: '' }, 'why', 422],
    ['above the ward’s limit', { units: '40.5' }, 'units', 422],
    ['a trailing zero', { units: '9.0' }, 'units', 422],
    ['a brand of its own', { insulin: 'something' }, 'insulin', 422],
  ] as const)('refuses: %s', async (_name, change, field, status) => {
    const readingId = await takeReading(nora, stays.ruth, 'HI')
    const before = charted(world, stays.ruth)
    const got = await direct(readingId, change)
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(charted(world, stays.ruth)).toBe(before)
  })

  it('refuses without the read-back tick', async () => {
    const readingId = await takeReading(nora, stays.ruth, 'HI')
    const { readBack: _none, ...fields } = GOOD
    const got = await nora.post(`/readings/${readingId}/direction`, fields)
    expect([got.status, errorOf(got.root(), 'readBack')?.includes('Read the direction back')]).toEqual([422, true])
  })

  it('refuses a reading that a newer one replaced', async () => {
    const readingId = await takeReading(nora, stays.ruth, 'HI')
    world.clock.advance(3)
    await takeExtra(nora, stays.ruth, '390', 'newer')
    const got = await direct(readingId)
    expect([got.status, got.words().includes('A newer reading was taken')]).toEqual([409, true])
  })

  it('answers 40 malformed posts and charts nothing', async () => {
    const readingId = await takeReading(nora, stays.ruth, 'HI')
    const path = `/readings/${readingId}/direction`
    const key = await nora.keyOf(path)
    const before = charted(world, stays.ruth)
    const posts = malformedPosts(GOOD, key, 'units')
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
    expect(charted(world, stays.ruth)).toBe(before)
  })
})

describe('scheduled insulin', () => {
  const PATH = `/stays/${stays.leo.stayId}/scheduled/${DATE}.2100`
  beforeEach(async () => {
    world = await makeWorld({ at: '2026-03-10T20:45' })
    nora = await world.signIn(people.nora)
  })
  afterEach(() => world.close())

  it('is worked out, checked and given once like any other dose', async () => {
    const page = await nora.get(PATH)
    expect(page.words()).toContain('18 units of insulin glargine, due 21:00')
    expect(await checkHtml(page.text)).toEqual([])
    const doseId = idOf(await nora.post(PATH, NONE_ELSEWHERE))
    expect(dose(world.store, doseId)).toMatchObject({
      kind: 'scheduled',
      units: 18,
      readingId: null,
      slotKey: `${stays.leo.stayId}.${DATE}.2100.${stays.leo.orderId}`,
      secondCheckRequired: true,
    })
    expect((await nora.get(PATH)).words()).toContain('already under way')
    // no reading, so no value is asked for
    expect(
      formTo((await nora.get(`/doses/${doseId}/second-check`)).root(), `/doses/${doseId}/second-check`)?.names,
    ).not.toContain('glucose')
    expect(
      (
        await nora.post(`/doses/${doseId}/second-check`, {
          units: '18',
          badge: people.omar.badge,
          pin: people.omar.pin,
        })
      ).status,
    ).toBe(303)
    expect(
      (await nora.post(`/doses/${doseId}/product`, productFields(stays.leo, people.omar, '18', 'insulin glargine')))
        .status,
    ).toBe(303)
    const give = await nora.get(`/doses/${doseId}/give`)
    expect(formTo(give.root(), `/doses/${doseId}/give`)?.names).not.toContain('food')
    expect(
      (
        await nora.post(`/doses/${doseId}/give`, {
          wristband: stays.leo.wristband,
          site: 'right.thigh',
          at: `${DATE}T20:45`,
        })
      ).status,
    ).toBe(303)
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'given', food: 'not-with-a-meal' })
    const again = await nora.postRaw(PATH, {
      key: world.server.appContext.formKeys.make(people.nora.staffId, 'scheduled'),
    })
    expect([again.status, again.words().includes('charted already')]).toEqual([409, true])
  })

  it('records a difference when the second nurse enters another dose', async () => {
    const doseId = idOf(await nora.post(PATH, NONE_ELSEWHERE))
    await nora.post(`/doses/${doseId}/second-check`, { units: '10', badge: people.omar.badge, pin: people.omar.pin })
    expect(dose(world.store, doseId).answers).toMatchObject([{ agreed: false, glucose: null }])
    expect((await nora.post(`/doses/${doseId}/start-again`, {})).status).toBe(303)
  })

  it('is refused long before its time; long after it the prescriber decides', async () => {
    world.clock.set('2026-03-10T19:59')
    expect((await nora.get(PATH)).words()).toContain('too early before 20:00')
    // basal insulin may be given up to four hours late
    world.clock.set('2026-03-11T00:59')
    nora = await world.signIn(people.nora)
    expect(formTo((await nora.get(PATH)).root(), `${PATH}.${stays.leo.orderId}`)).toBeDefined()
    world.clock.set('2026-03-11T01:00')
    nora = await world.signIn(people.nora)
    const late = await nora.get(PATH)
    for (const text of ['more than 4 h ago', 'A late dose is not dropped']) expect(late.words()).toContain(text)
    expect(formTo(late.root(), `${PATH}.${stays.leo.orderId}`)).toBeUndefined()
  })

  it('asks the prescriber after a low; the direction settles the slot', async () => {
    const readingId = await takeExtra(nora, stays.leo, '61', 'low')
    const page = await nora.get(PATH)
    for (const text of ['A low has not recovered yet', 'this insulin is not dropped', 'prescriber'])
      expect(page.words()).toContain(text)
    expect(page.text).toContain(`/readings/${readingId}/direction?slot=${DATE}.2100.${stays.leo.orderId}`)
    const address = `/readings/${readingId}/direction?slot=${DATE}.2100`
    const said = { ...GOOD, insulin: 'insulin glargine', units: '10', slot: `${DATE}.2100`, toldOfEarlier: 'yes' }
    const form = await nora.get(address)
    expect(form.words()).toContain('Tell the prescriber: A low of 61 mg/dL at 20:45: not recovered yet.')
    // the low is treated before any insulin, whoever directs it
    const untreated = await nora.post(`/readings/${readingId}/direction`, said, { from: address })
    expect([untreated.status, untreated.words().includes('A low has not recovered yet')]).toEqual([409, true])
    const [low] = world.store.stayFacts(ALL, stays.leo.stayId, world.clock.now())?.lows ?? []
    await treatShown(nora, `/lows/${low?.lowId ?? ''}`)
    const untold = await nora.post(
      `/readings/${readingId}/direction`,
      { ...said, toldOfEarlier: '' },
      { from: address },
    )
    expect(untold.status).toBe(422)
    const direction = await nora.post(`/readings/${readingId}/direction`, said, { from: address })
    expect(direction.status).toBe(303)
    expect(dose(world.store, idOf(direction))).toMatchObject({
      kind: 'by-direction',
      insulin: 'insulin glargine',
      units: 10,
      slotKey: `${stays.leo.stayId}.${DATE}.2100.${stays.leo.orderId}`,
    })
  })

  it.each(['2026-03-10.2000', '2026-02-30.2100', '2026-03-10.2199', 'x', '2026-03-10.9999'])(
    'answers 404 for a slot of %s',
    async (slot) => {
      expect((await nora.get(`/stays/${stays.leo.stayId}/scheduled/${slot}`)).status).toBe(404)
    },
  )

  it('answers 40 malformed posts and charts nothing', async () => {
    const key = await nora.keyOf(PATH)
    const before = charted(world, stays.leo)
    const posts = malformedPosts(NONE_ELSEWHERE, key, 'elsewhere')
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) expect([name, (await nora.postRaw(PATH, body)).status]).toEqual([name, 422])
    expect(charted(world, stays.leo)).toBe(before)
  })
})
