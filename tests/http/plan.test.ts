/** Check plans and late trays over HTTP: set, overridden and restored; and what the Round shows. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { attr, byTag, checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld({ alderPolicy: { idleLockMin: 100_000 } })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const path = `/stays/${stays.tomas.stayId}/plan`
const plans = (stayId: string = stays.tomas.stayId) =>
  world.store.stayFacts(ALL, stayId, world.clock.now())?.plans ?? []
const PLAIN = { times: '', onceAt: '', from: '', until: '' }
const set = (fields: Readonly<Record<string, string>>) => nora.post(path, { ...PLAIN, ...fields })
/** Charts the facts in the form with these changes. */
async function chart(fields: Readonly<Record<string, string>>, stayId: string = stays.tomas.stayId) {
  const at = `/stays/${stayId}/facts`
  const form = formTo((await nora.get(at)).root(), at)
  return nora.postRaw(at, { ...form?.fields, ...fields })
}

describe('the plan', () => {
  it('is shown with its checks; a change leads back to it', async () => {
    const got = await nora.get(path)
    expect([got.status, await checkHtml(got.text)]).toEqual([200, []])
    for (const words of ['Own plan Before meals and at bedtime', '07:30 Before breakfast', '11:45 Before lunch'])
      expect(got.words()).toContain(words)
    const answer = await set({ kind: 'every-4-h' })
    expect([answer.status, answer.location]).toEqual([303, path])
    const after = await nora.follow(answer)
    expect(after.words()).toContain('08:00 Before breakfast')
    expect(after.words()).not.toContain('07:30')
    expect(plans()).toMatchObject([
      { plan: { kind: 'ac-and-hs' }, untilMs: world.clock.now() },
      { plan: { kind: 'every-4-h' }, fromMs: world.clock.now(), untilMs: null },
    ])
  })

  it('keeps finished checks with their page, outcome and line on the Round', async () => {
    await takeReading(nora, stays.tomas, '143')
    await set({ kind: 'every-6-h' })
    const key = `${stays.tomas.stayId}.2026-03-10.before-breakfast`
    expect((await nora.get(`/checks/${key}`)).status).toBe(200)
    expect((await nora.get(path)).words()).toContain('07:30 Before breakfast ✓ Done')
    expect(world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.outcomes.get(key)).toMatchObject({
      kind: 'done',
    })
  })

  it('starts later, for a while, at listed times, once and overnight', async () => {
    expect(
      (
        await set({
          kind: 'listed-times',
          times: '0600 14:00, 2:00;14:00',
          from: '2026-03-10T12:00',
          until: '2026-03-11T12:00',
        })
      ).status,
    ).toBe(303)
    expect(plans().at(-1)).toMatchObject({
      plan: { kind: 'listed-times', times: ['02:00', '06:00', '14:00'] },
      fromMs: alderTime('2026-03-10T12:00'),
      untilMs: alderTime('2026-03-11T12:00'),
    })
    expect((await nora.get(path)).words()).toContain('Set for later At 02:00, 06:00, 14:00, from 12:00 until')
    expect((await set({ kind: 'once', onceAt: '2026-03-10T15:00' })).status).toBe(303)
    expect((await set({ kind: 'overnight' })).status).toBe(303)
    expect((await set({ kind: 'overnight' })).status).toBe(409)
    expect(plans().map(({ plan, untilMs }) => [plan.kind, untilMs])).toEqual([
      ['ac-and-hs', alderTime('2026-03-10T12:00')],
      ['listed-times', alderTime('2026-03-11T12:00')],
      ['once', null],
      ['overnight', null],
    ])
    const page = await nora.get(`/stays/${stays.tomas.stayId}`)
    for (const words of ['Before meals and at bedtime', 'Besides: once', 'Besides: overnight, every night'])
      expect(page.words()).toContain(words)
  })

  it('additions can be ended; a plan cannot', async () => {
    await set({ kind: 'overnight' })
    const end = `${path}/2/end`
    expect(byTag((await nora.get(path)).root(), 'a').map((a) => attr(a, 'href'))).toContain(end)
    expect(await checkHtml((await nora.get(end)).text)).toEqual([])
    const key = (await nora.keyOf(end)) ?? ''
    expect((await nora.postRaw(end, { key })).status).toBe(422)
    expect((await nora.postRaw(end, { end: 'yes', key })).location).toBe(path)
    expect((await nora.postRaw(end, { end: 'yes', key })).location).toBe(path)
    expect(plans()[1]).toMatchObject({ untilMs: world.clock.now() })
    for (const version of ['1', '2', '9', 'x']) expect((await nora.get(`${path}/${version}/end`)).status).toBe(404)
    const other = world.server.appContext.formKeys.make(people.nora.staffId, 'plan-end')
    expect((await nora.postRaw(`${path}/1/end`, { end: 'yes', key: other })).status).toBe(404)
    expect((await nora.postRaw(end, { end: 'yes', key: other })).status).toBe(409)
  })

  it.each<[string, Readonly<Record<string, string>>, number, string]>([
    ['no kind', { kind: '' }, 422, 'kind'],
    ['the plan in force', { kind: 'ac-and-hs' }, 409, 'kind'],
    ['no times', { kind: 'listed-times' }, 422, 'times'],
    ['a time that is none', { kind: 'listed-times', times: '7' }, 422, 'times'],
    [
      'too many times',
      {
        kind: 'listed-times',
        times: Array.from({ length: 25 }, (_, n) => `0${String(n % 10)}:${String(10 + n)}`).join(' '),
      },
      422,
      'times',
    ],
    ['once in the past', { kind: 'once', onceAt: '2026-03-10T07:00' }, 422, 'onceAt'],
    ['from the past', { kind: 'every-4-h', from: '2026-03-10T07:00' }, 422, 'from'],
    ['from next month', { kind: 'every-4-h', from: '2026-04-10T07:00' }, 422, 'from'],
    ['from no date', { kind: 'every-4-h', from: 'x' }, 422, 'from'],
    ['until no date', { kind: 'every-4-h', until: '2026-02-30T07:00' }, 422, 'until'],
    ['until before from', { kind: 'every-4-h', from: '2026-03-10T12:00', until: '2026-03-10T12:00' }, 422, 'until'],
  ])('refuses with a message and keeps what was typed: %s', async (_name, fields, status, field) => {
    const got = await set(fields)
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(formTo(got.root(), path)?.fields).toMatchObject(fields)
    expect(await checkHtml(got.text)).toEqual([])
    expect(plans().length).toBe(1)
  })

  it('refuses discharged patients and malformed posts; sets once when sent twice', async () => {
    const key = (await nora.keyOf(path)) ?? ''
    for (const { name, body } of malformedPosts({ ...PLAIN, kind: 'every-4-h' }, key, 'kind'))
      expect([name, (await nora.postRaw(path, body)).status]).toEqual([name, 422])
    expect(plans().length).toBe(1)
    await Promise.all([1, 2].map(() => nora.postRaw(path, { ...PLAIN, kind: 'every-4-h', key })))
    expect(plans().length).toBe(2)
    await nora.post(`/stays/${stays.tomas.stayId}/discharge`, { at: '' })
    expect((await set({ kind: 'every-6-h' })).status).toBe(409)
  })
})

describe('nil by mouth', () => {
  it('checks every 6 h on the Round; after eating again the own plan returns', async () => {
    expect((await chart({ nil: 'yes' })).status).toBe(303)
    expect(plans()).toMatchObject([
      { plan: { kind: 'ac-and-hs' }, untilMs: null },
      { plan: { kind: 'every-6-h' }, overlay: true, fromMs: world.clock.now(), untilMs: null },
    ])
    expect((await nora.get(`/stays/${stays.tomas.stayId}`)).words()).toContain(
      'Every 6 h while nil by mouth After that: before meals and at bedtime',
    )
    world.clock.set('2026-03-10T11:50')
    const key = (slot: string): string => `/checks/${stays.tomas.stayId}.2026-03-10.${slot}`
    expect((await nora.get('/round')).text).toContain(key('t1200'))
    expect((await nora.get(key('before-lunch'))).status).toBe(404)
    expect((await chart({ nil: 'no' })).status).toBe(303)
    expect(plans()[1]).toMatchObject({ untilMs: world.clock.now() })
    world.clock.set('2026-03-10T17:00')
    expect((await nora.get('/round')).text).toContain(key('before-supper'))
    expect((await nora.get(key('t1800'))).status).toBe(404)
  })

  it('until a time: the own plan returns at that time', async () => {
    await chart({ nil: 'yes', nilUntil: '2026-03-10T14:00' })
    expect(plans()[1]).toMatchObject({ overlay: true, untilMs: alderTime('2026-03-10T14:00') })
    await chart({ nilUntil: '2026-03-10T19:00' })
    expect(plans()[1]).toMatchObject({ untilMs: alderTime('2026-03-10T19:00') })
    // a form opened after its end starts from "may eat", and other facts do not change the plan
    world.clock.set('2026-03-10T19:30')
    const form = formTo(
      (await nora.get(`/stays/${stays.tomas.stayId}/facts`)).root(),
      `/stays/${stays.tomas.stayId}/facts`,
    )
    expect(form?.fields).toMatchObject({ nil: 'no', nilFrom: '', nilUntil: '' })
    await chart({ weight: '77' })
    expect(plans().length).toBe(2)
  })

  it('keeps a plan with fixed times', async () => {
    await set({ kind: 'every-4-h' })
    await chart({ nil: 'yes' })
    expect(plans().some(({ overlay }) => overlay)).toBe(false)
  })

  it('asks when a plan that was set meanwhile starts', async () => {
    await chart({ nil: 'yes' })
    const refused = await set({ kind: 'every-4-h' })
    expect([refused.status, errorOf(refused.root(), 'whileNil') !== null]).toEqual([422, true])
    expect(await checkHtml(refused.text)).toEqual([])
    await set({ kind: 'before-meals', whileNil: 'after' })
    expect(plans().find(({ overlay }) => overlay)?.untilMs).toBeNull()
    await set({ kind: 'every-4-h', whileNil: 'now' })
    expect(plans().find(({ overlay }) => overlay)?.untilMs).toBe(world.clock.now())
    expect((await nora.get(path)).words()).toContain('08:00 Before breakfast')
  })
})

describe('late trays', () => {
  const late = '/round/trays-late'
  const lunch = { meal: '2026-03-10.lunch', minutes: '45' }
  const delays = () => world.store.wardFacts(ALL, ALDER, world.clock.now())?.trayDelays ?? []

  it('move the windows of that round for the ward, and are shown on the Round', async () => {
    const form = await nora.get(late)
    expect([form.status, await checkHtml(form.text)]).toEqual([200, []])
    const moves = await nora.get(`${late}/moves?meal=2026-03-10.lunch&minutes=45`)
    expect(await checkHtml(moves.text)).toEqual([])
    for (const words of ['Opens 11:15 12:00', 'Due 11:45 12:30', 'Late from (tray) 12:15 13:00', 'Closes 13:15 14:00'])
      expect(moves.words()).toContain(words)
    const got = await nora.post(late, lunch)
    expect([got.status, got.location]).toEqual([303, '/round'])
    expect(delays()).toEqual([{ date: '2026-03-10', meal: 'lunch', minutes: 45 }])
    expect((await nora.get(late)).words()).toContain('45 min late')
    world.clock.set('2026-03-10T11:50')
    const round = await nora.get('/round')
    expect(round.words()).toContain('Trays come 45 min late')
    expect(round.words()).toContain('due 12:30')
    // replaced instead of added, and removed
    await nora.post(late, { ...lunch, minutes: '60' })
    expect(delays()).toEqual([{ date: '2026-03-10', meal: 'lunch', minutes: 60 }])
    await nora.post(late, { ...lunch, minutes: '0' })
    expect((await nora.get('/round')).words()).not.toContain('Trays come')
  })

  it.each<[string, Readonly<Record<string, string>>, number, string]>([
    ['no meal', { meal: '' }, 422, 'meal'],
    ['a meal of last week', { meal: '2026-03-03.lunch' }, 409, 'meal'],
    ['tomorrow’s lunch', { meal: '2026-03-11.lunch' }, 409, 'meal'],
    ['four minutes', { minutes: '4' }, 422, 'minutes'],
    ['more than three hours', { minutes: '181' }, 422, 'minutes'],
    ['no number', { minutes: 'soon' }, 422, 'minutes'],
    ['nothing to take back', { minutes: '0' }, 422, 'minutes'],
  ])('refuses: %s', async (_name, parts, status, field) => {
    const got = await nora.post(late, { ...lunch, ...parts })
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(await checkHtml(got.text)).toEqual([])
    expect(delays()).toEqual([])
  })

  it.each([
    ['2026-03-10T08:59', true],
    ['2026-03-10T09:00', false],
  ])('%s: a meal counts until its round closes', async (at, offered) => {
    world.clock.set(at)
    expect((await nora.get(late)).text.includes('2026-03-10.breakfast')).toBe(offered)
    expect((await nora.get(late)).text).toContain('2026-03-11.breakfast')
  })

  it('refuses the same delay again; malformed posts and queries write nothing', async () => {
    await nora.post(late, lunch)
    expect(errorOf((await nora.post(late, lunch)).root(), 'minutes')).toContain('already')
    for (const strict of ['meal', 'minutes']) {
      for (const { name, body } of malformedPosts({ ...lunch, minutes: '60' }, await nora.keyOf(late), strict))
        expect([strict, name, (await nora.postRaw(late, body)).status]).toEqual([strict, name, 422])
    }
    for (const query of [
      '',
      '?meal=x&minutes=y',
      '?meal=2026-03-10.lunch&meal=a',
      '?minutes=999&meal=2026-03-10.lunch',
      '?meal[a]=1',
    ]) {
      const got = await nora.get(`${late}/moves${query}`)
      expect([query, got.status, got.words()]).toEqual([query, 200, ''])
    }
    expect(delays().map(({ minutes }) => minutes)).toEqual([45])
  })

  it('do not change another ward, and are for nurses only', async () => {
    await nora.post(late, lunch)
    expect(world.store.wardFacts(ALL, BIRCH, world.clock.now())?.trayDelays).toEqual([])
    for (const person of [people.edda, people.anna]) {
      const client = await world.signIn(person)
      for (const address of [late, `${late}/moves`]) expect((await client.get(address)).status).toBe(403)
    }
  })
})
