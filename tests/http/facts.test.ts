/** The bedside facts over HTTP: charted with author and time, with a conflict check. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, NONE_ELSEWHERE, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld()
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const path = `/stays/${stays.yusuf.stayId}/facts`
const facts = () => world.store.stayFacts(ALL, stays.yusuf.stayId, world.clock.now())?.stay.facts
const versions = () => world.store.stayHistory(ALL, stays.yusuf.stayId)?.facts ?? []
const formOf = async (client: Client): Promise<Readonly<Record<string, string>>> =>
  formTo((await client.get(path)).root(), path)?.fields ?? {}

describe('facts at the bedside', () => {
  it('fills the form with the charted facts and keeps each change with author and time', async () => {
    const got = await nora.get(path)
    expect([got.status, await checkHtml(got.text)]).toEqual([200, []])
    const open = await formOf(nora)
    expect(open).toMatchObject({
      swallows: 'yes',
      nil: 'no',
      feeding: 'oral',
      diabetes: 'type-2',
      weight: '78',
      iv: 'yes',
      'hand.left.drip': 'yes',
      basedOn: '1',
    })
    const { iv: _ticked, ...without } = open
    expect(
      (
        await nora.postRaw(path, {
          ...without,
          swallows: 'no',
          renal: 'yes',
          'hand.right.swelling': 'yes',
          others: 'gliclazide; metformin',
          weight: '77,5',
        })
      ).location,
    ).toBe(`/stays/${stays.yusuf.stayId}`)
    expect(facts()).toMatchObject({
      swallowsSafely: false,
      ivAccess: false,
      renalImpairment: true,
      weightKg: 77.5,
      otherGlucoseLowering: ['gliclazide', 'metformin'],
      restrictedHands: [
        { hand: 'left', reason: 'drip' },
        { hand: 'right', reason: 'swelling' },
      ],
    })
    expect(versions()).toMatchObject([{ number: 1 }, { number: 2, byId: people.nora.staffId, atMs: world.clock.now() }])
    const history = await (await world.signIn(people.edda)).get(`/stays/${stays.yusuf.stayId}/history`)
    expect([history.status, await checkHtml(history.text)]).toEqual([200, []])
    for (const words of [
      'Renal impairment: no → yes',
      'IV access: yes → no',
      'Weight: 78 kg → 77.5 kg',
      'Nora Lind',
      'Alder, bed 4',
      'Before meals and at bedtime',
    ])
      expect(history.words()).toContain(words)
  })

  it('keeps the seconds of an unchanged nil by mouth, and accepts a future time', async () => {
    world.clock.stepWardTime(0.25)
    await nora.postRaw(path, { ...(await formOf(nora)), nil: 'yes', nilUntil: '2026-03-10T22:00' })
    const from = world.clock.now()
    expect(facts()?.nilByMouth).toEqual({ fromMs: from, untilMs: alderTime('2026-03-10T22:00') })
    world.clock.advance(2)
    const open = await formOf(nora)
    expect(open).toMatchObject({ nil: 'yes', nilFrom: '2026-03-10T07:20', nilUntil: '2026-03-10T22:00' })
    await nora.postRaw(path, { ...open, steroid: 'yes' })
    expect(facts()?.nilByMouth?.fromMs).toBe(from)
    expect(world.store.stayHistory(ALL, stays.yusuf.stayId)?.plans.filter(({ overlay }) => overlay).length).toBe(1)
    await nora.postRaw(path, { ...(await formOf(nora)), nilFrom: '2026-03-11T00:00', nilUntil: '' })
    expect((await nora.get(`/stays/${stays.yusuf.stayId}`)).words()).toContain('from Wed 11 Mar, 00:00')
  })

  it('shows a second nurse what the first one changed before saving', async () => {
    const omar = await world.signIn(people.omar)
    const [hers, his] = [await formOf(nora), await formOf(omar)]
    expect((await omar.postRaw(path, { ...his, steroid: 'yes' })).status).toBe(303)
    const got = await nora.postRaw(path, { ...hers, renal: 'yes' })
    expect([got.status, await checkHtml(got.text)]).toEqual([409, []])
    expect(got.words()).toContain('Steroid: no → yes (Omar Reyes, 07:20)')
    const again = formTo(got.root(), path)?.fields ?? {}
    expect(again).toMatchObject({ renal: 'yes', basedOn: '2' })
    // a refused form in between keeps the conflict check
    const wrong = await nora.postRaw(path, { ...hers, renal: 'yes', weight: 'x' })
    expect([wrong.status, formTo(wrong.root(), path)?.fields['basedOn']]).toEqual([422, '1'])
    expect((await nora.postRaw(path, { ...again, steroid: 'yes' })).status).toBe(303)
    expect(facts()).toMatchObject({ onSteroid: true, renalImpairment: true })
  })

  it.each([
    ['nothing changed', {}, 422, null],
    ['a weight that is none', { weight: 'heavy' }, 422, 'weight'],
    ['a drug without commas', { others: 'x'.repeat(61) }, 422, 'others'],
    ['nil by mouth from no date', { nil: 'yes', nilFrom: 'x' }, 422, 'nilFrom'],
    [
      'nil by mouth until before from',
      { nil: 'yes', nilFrom: '2026-03-10T12:00', nilUntil: '2026-03-10T11:00' },
      422,
      'nilUntil',
    ],
    ['no answer about swallowing', { swallows: '' }, 422, 'swallows'],
    ['a tick that is none', { iv: 'maybe' }, 422, 'iv'],
  ])('refuses: %s', async (_name, parts, status, field) => {
    const got = await nora.postRaw(path, { ...(await formOf(nora)), ...parts })
    expect([got.status, field === null || errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(await checkHtml(got.text)).toEqual([])
    expect(versions().length).toBe(1)
  })

  it('refuses discharged patients and malformed posts; charts once when sent twice', async () => {
    const open = await formOf(nora)
    const { key = '', ...fields } = open
    for (const strict of ['swallows', 'basedOn']) {
      for (const { name, body } of malformedPosts({ ...fields, steroid: 'yes' }, key, strict)) {
        const got = await nora.postRaw(path, body)
        expect([strict, name, got.status]).toEqual([strict, name, 422])
        expect([strict, name, await checkHtml(got.text)]).toEqual([strict, name, []])
      }
    }
    await Promise.all([1, 2].map(() => nora.postRaw(path, { ...open, steroid: 'yes' })))
    expect(versions().length).toBe(2)
    const late = await formOf(nora)
    await nora.post(`/stays/${stays.yusuf.stayId}/discharge`, { at: '' })
    expect((await nora.postRaw(path, { ...late, renal: 'yes' })).status).toBe(409)
  })

  it('shows the history to readers of the ward only', async () => {
    const history = `/stays/${stays.yusuf.stayId}/history`
    for (const [person, status] of [
      [people.nora, 200],
      [people.edda, 200],
      [people.bo, 404],
      [people.anna, 403],
    ] as const)
      expect((await (await world.signIn(person)).get(history)).status).toBe(status)
    expect((await nora.get('/stays/nobody/history')).status).toBe(404)
  })
})

describe('a patient in whom a meter misleads', () => {
  it('gets no dose from a finger stick, and one from the laboratory’s value', async () => {
    const own = `/stays/${stays.ruth.stayId}`
    const open = formTo((await nora.get(`${own}/facts`)).root(), `${own}/facts`)?.fields ?? {}
    expect((await nora.postRaw(`${own}/facts`, { ...open, laboratoryOnly: 'shock' })).status).toBe(303)
    expect((await nora.get('/round?beds=all')).words()).toContain('Laboratory values only: shock, poor circulation')
    const finger = await takeReading(nora, stays.ruth, '243')
    const refused = await nora.get(`/readings/${finger}`)
    expect(refused.words()).toContain('a meter misleads in this patient: only a laboratory value counts')
    expect((await nora.post(`/readings/${finger}/dose`, NONE_ELSEWHERE)).status).toBe(409)
    world.clock.advance(5)
    nora = await world.signIn(people.nora)
    const report = await nora.post(`${own}/lab-value`, {
      wristband: stays.ruth.wristband,
      glucose: '243',
      unit: 'mg/dL',
      takenAt: '07:25',
    })
    expect(report.status, report.words().slice(0, 800)).toBe(303)
    expect(await proposeDose(nora, report.location?.split('/')[2] ?? '')).not.toBe('')
  })
})
