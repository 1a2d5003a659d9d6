/**
 * Lows over HTTP: the treatment page and everything charted from it: valid, refused, repeated and concurrent forms,
 * and roles.
 */
import { afterEach, describe, expect, it } from 'vitest'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import { ALL, DATE, proposeDose, takeExtra, takeReading } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byClass, byId, byTag, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { people } from '../support/people.ts'
import { stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World
afterEach(() => world.close())

const DEFAULT = defaultPolicy('mg/dL', 'America/Chicago')
/** Moves both clocks together, so that the idle lock does not end the login between two steps. */
const AWAKE: Partial<WardPolicy> = { idleLockMin: 100_000 }
const SIGNED: Partial<WardPolicy> = {
  ...AWAKE,
  low: { ...DEFAULT.low, standingOrders: { dextrose: true, glucagon: true } },
}

async function night(options: WorldOptions = {}): Promise<Client> {
  world = await makeWorld({ at: `${DATE}T03:00`, alderPolicy: AWAKE, ...options })
  return world.signIn(people.nora)
}
function lowOf(who: TestStay): LowEvent {
  const low = world.store.stayFacts(ALL, who.stayId, world.clock.now())?.lows.at(-1)
  if (low === undefined) throw new Error('no low event')
  return low
}
/** A low value by an extra check, and the path of its treatment page. */
async function open(client: Client, who: TestStay = stays.ruth, value = '52'): Promise<string> {
  await takeExtra(client, who, value, `first${String(world.clock.now() % 1_000_000)}`)
  return `/lows/${lowOf(who).lowId}`
}
const recheck = (client: Client, who: TestStay, value: string): Promise<string> => {
  const low = lowOf(who)
  const cycle =
    1 +
    Math.max(
      0,
      ...(world.store.stayFacts(ALL, who.stayId, world.clock.now())?.readings ?? []).flatMap(({ checkKey }) =>
        checkKey?.startsWith(`low.${low.lowId}.`) === true ? [Number(checkKey.split('.')[2])] : [],
      ),
    )
  return takeReading(client, who, value, { key: `low.${low.lowId}.${String(cycle)}` })
}
const SAFE = { swallowing: 'safely', iv: 'none' } as const
const answer = (client: Client, path: string, answers: Readonly<Record<string, string>> = SAFE): Promise<Got> =>
  client.post(`${path}/answers`, answers, { from: path })
const TOLD = { told: 'Dr. Vera Kim', readBack: 'yes', ordered: '' } as const
/** What the page's own give form would send. */
async function giveFields(client: Client, path: string): Promise<Readonly<Record<string, string>>> {
  const form = formTo((await client.get(path)).root(), `${path}/treatments`)
  if (form === undefined) throw new Error('nothing to give is shown')
  return form.fields
}
async function treat(client: Client, path: string): Promise<Got> {
  expect((await answer(client, path)).status).toBe(303)
  return client.postRaw(`${path}/treatments`, await giveFields(client, path))
}
const now = (got: Got): string => textOf(byClass(got.root(), 'low-now')[0] ?? got.root())
const amount = (got: Got): string | null => {
  const [number] = byClass(got.root(), 'dose-number')
  return number === undefined ? null : textOf(number)
}
const items = (who: TestStay): readonly string[] =>
  (world.store.stayFacts(ALL, who.stayId, world.clock.now())?.openItems ?? []).map(({ kind }) => kind).sort()

describe('one low from the first value to closing', () => {
  it('charts treat, recheck, treat, recheck, follow-up, call, close', async () => {
    const nora = await night()
    const path = await open(nora)
    const first = await nora.get(path)
    expect(await checkHtml(first.text)).toEqual([])
    expect(now(first)).toContain('Look before you treat')
    expect(first.words()).toContain('Level 2: below 54 mg/dL , lowest 52 mg/dL')
    expect(byTag(first.root(), 'input').filter(({ attrs }) => attrs.some(({ name }) => name === 'checked'))).toEqual([])
    expect((await answer(nora, path)).location).toBe(path)
    const give = await nora.get(path)
    expect(await checkHtml(give.text)).toEqual([])
    expect(amount(give)).toBe('20 g')
    expect((await nora.postRaw(`${path}/treatments`, await giveFields(nora, path))).location).toBe(path)
    expect(lowOf(stays.ruth).treatments).toMatchObject([
      { arm: 'by-mouth', amount: { kind: 'grams', grams: 20 }, atMs: world.clock.now() },
    ])
    expect(now(await nora.get(path))).toContain('Recheck due 03:15')
    world.clock.advance(15)
    await recheck(nora, stays.ruth, '63')
    expect(now(await nora.get(path))).toContain('Look again before the next treatment')
    await treat(nora, path)
    expect(lowOf(stays.ruth).treatments[1]?.amount).toEqual({ kind: 'grams', grams: 15 })
    world.clock.advance(15)
    await recheck(nora, stays.ruth, '96')
    const recovered = await nora.get(path)
    expect(await checkHtml(recovered.text)).toEqual([])
    expect(recovered.words()).toContain('Recovered: longer-acting carbohydrate 20 g')
    expect((await nora.post(`${path}/food`, { grams: '20', what: 'toast' })).location).toBe(path)
    expect((await nora.get(path)).words()).not.toContain('Recovered: longer-acting')
    const early = await nora.post(`${path}/close`, { cause: 'dose-too-high', note: '' })
    expect([early.status, early.words()]).toEqual([
      409,
      expect.stringContaining('Not yet: the follow-up recheck is still to come.'),
    ])
    world.clock.advance(60)
    await recheck(nora, stays.ruth, '104')
    expect((await nora.post(`${path}/close`, { cause: 'dose-too-high', note: '' })).words()).toContain(
      'Not yet: the prescriber has not been told.',
    )
    expect((await nora.post(`${path}/prescriber-calls`, TOLD)).location).toBe(path)
    expect(now(await nora.get(path))).toContain('Recovered, followed up, told')
    expect(
      (await nora.post(`${path}/close`, { cause: 'missed-or-delayed-meal', note: 'Supper refused' })).location,
    ).toBe(path)
    const closed = await nora.get(path)
    expect(await checkHtml(closed.text)).toEqual([])
    expect(closed.words()).toContain('Meal missed or delayed, Supper refused')
    expect(
      byTag(closed.root(), 'form').filter(({ attrs }) => attrs.some(({ value }) => value.startsWith('/lows/'))),
    ).toEqual([])
    expect(items(stays.ruth)).toEqual([])
    // a later low is a new event that links to this one
    world.clock.advance(30)
    const next = await open(nora, stays.ruth, '61')
    expect(lowOf(stays.ruth)).toMatchObject({ previousLowId: path.slice('/lows/'.length), closedAtMs: null })
    expect((await nora.get(next)).words()).toContain('The low before this one: 03:00')
    expect((await nora.post(`${path}/close`, { cause: 'renal', note: '' })).status).toBe(409)
  })

  it('links the result page to the treatment page; the Round counts from the server’s time', async () => {
    const nora = await night()
    const readingId = await takeExtra(nora, stays.ruth, '52', 'x')
    const result = await nora.get(`/readings/${readingId}`)
    expect(result.text).toContain(`href="/lows/${lowOf(stays.ruth).lowId}"`)
    const round = await nora.get('/round')
    expect(round.words()).toMatch(/Bed 1 .* Low at 03:00 ◆ Low, no treatment charted .* Low: treat now, by 03:05/)
    expect(round.text).toContain(`data-now="${String(world.clock.now())}"`)
    expect(round.text).toContain(`data-due="${String(world.clock.now() + 15 * 60_000)}"`)
    expect(await checkHtml(round.text)).toEqual([])
  })
})

describe('treatment path', () => {
  it('shows amounts of IV dextrose and glucagon only under a signed standing order, else a call', async () => {
    const nora = await night()
    const path = await open(nora)
    await answer(nora, path, { swallowing: 'not-safely', iv: 'working' })
    const got = await nora.get(path)
    expect(await checkHtml(got.text)).toEqual([])
    expect([amount(got), now(got)]).toEqual([
      null,
      expect.stringContaining('Call the prescriber now: dextrose into the vein needs an order'),
    ])
    const refused = await nora.post(`${path}/treatments`, { arm: 'iv-dextrose', what: '50 mL of dextrose 50 %' })
    expect([refused.status, errorOf(refused.root(), 'directedBy')]).toEqual([
      422,
      expect.stringContaining('Type who directed it'),
    ])
    expect(
      (
        await nora.post(`${path}/treatments`, {
          arm: 'by-direction',
          what: '50 mL of dextrose 50 %',
          directedBy: 'Dr. Vera Kim',
          readBack: 'yes',
          at: '',
        })
      ).status,
    ).toBe(303)
    expect(lowOf(stays.ruth).treatments).toMatchObject([
      { arm: 'by-direction', amount: null, directedBy: 'Dr. Vera Kim' },
    ])
  })
  it.each([
    [{ swallowing: 'not-safely', iv: 'working' }, '50 mL', 'of dextrose 50 % (25 g)'],
    [{ swallowing: 'not-safely', iv: 'none' }, '1 mg', 'glucagon into the muscle'],
    [{ swallowing: 'safely', iv: 'working' }, '20 g', 'fast carbohydrate by mouth'],
  ] as const)('%j: %s', async (answers, number, words) => {
    const nora = await night({ alderPolicy: SIGNED })
    const path = await open(nora)
    await answer(nora, path, answers)
    const got = await nora.get(path)
    expect([amount(got), now(got)]).toEqual([number, expect.stringContaining(words)])
    expect(now(got)).toContain('A calculation and charting aid')
  })
  it('gives nothing by mouth when nil by mouth, even with safe swallowing', async () => {
    const nora = await night({ alderPolicy: SIGNED })
    const path = await open(nora, stays.maud)
    await answer(nora, path)
    expect(amount(await nora.get(path))).toBe('1 mg')
  })
  it('for an unresponsive patient: the emergency call first, then the path; level 3', async () => {
    const nora = await night({ alderPolicy: SIGNED })
    const path = await open(nora)
    await answer(nora, path, { swallowing: 'unresponsive', iv: 'working' })
    const first = await nora.get(path)
    expect(await checkHtml(first.text)).toEqual([])
    expect([amount(first), now(first)]).toEqual([null, expect.stringContaining('Emergency call first, at once')])
    expect(first.words()).toContain('Level 3: by the nurse’s finding')
    expect((await nora.post(`${path}/emergency-calls`, { called: 'yes' }, { from: path })).location).toBe(path)
    expect(amount(await nora.get(path))).toBe('50 mL')
  })
  it('a finding alone makes it level 3', async () => {
    const nora = await night()
    const path = await open(nora)
    expect((await nora.post(`${path}/findings`, { finding: 'confused-needs-help' })).location).toBe(path)
    expect(now(await nora.get(path))).toContain('Emergency call first')
  })
  it('escalates after three cycles without recovery, with rescue in place of juice', async () => {
    const nora = await night({ alderPolicy: SIGNED })
    const path = await open(nora, stays.ruth, '60')
    for (const value of ['61', '62', '63']) {
      await treat(nora, path)
      world.clock.advance(15)
      await recheck(nora, stays.ruth, value)
    }
    await answer(nora, path, { swallowing: 'safely', iv: 'working' })
    const got = await nora.get(path)
    expect([amount(got), got.words()]).toEqual([
      '200 mL',
      expect.stringContaining('of dextrose 10 % (20 g) over 15 min'),
    ])
    expect(got.words()).toContain('Escalate: call the prescriber now')
    expect((await nora.get(`${path}/prescriber-calls`)).words()).toContain(
      'Escalate now: not recovered after the protocol’s cycles or time',
    )
    await nora.post(`${path}/prescriber-calls`, TOLD)
    expect((await nora.get(path)).words()).not.toContain('Escalate')
  })
})

describe('late and repeated treatments', () => {
  it('moves the recheck back and marks the treatment late when charted 20 min afterwards', async () => {
    const nora = await night()
    const path = await open(nora)
    world.clock.advance(24)
    expect(
      (
        await nora.post(`${path}/treatments`, {
          arm: 'by-mouth',
          what: '150 mL juice, 15 g',
          directedBy: '',
          at: '03:04',
        })
      ).status,
    ).toBe(303)
    const got = await nora.get(path)
    expect(now(got)).toContain('Recheck was due 03:19')
    expect(got.words()).toContain('charted late, 03:24')
    expect((await nora.get(`/checks/low.${lowOf(stays.ruth).lowId}.1`)).status).toBe(200)
  })
  it.each([
    ['02:30', 'This was before the first low value'],
    ['04:30', 'This time is still to come'],
    ['99:99', 'hours and minutes'],
  ])('refuses a treatment at %s beside the field', async (at, sentence) => {
    const nora = await night()
    const path = await open(nora)
    const got = await nora.post(`${path}/treatments`, { arm: 'by-mouth', what: 'juice', at })
    expect([got.status, errorOf(got.root(), 'at')]).toEqual([422, expect.stringContaining(sentence)])
    expect(await checkHtml(got.text)).toEqual([])
    expect(lowOf(stays.ruth).treatments).toEqual([])
  })
  it('charts the same form once', async () => {
    const nora = await night()
    const path = await open(nora)
    await answer(nora, path)
    const fields = await giveFields(nora, path)
    const both = await Promise.all([
      nora.postRaw(`${path}/treatments`, fields),
      nora.postRaw(`${path}/treatments`, fields),
    ])
    expect(both.map(({ status, location }) => [status, location])).toEqual([
      [303, path],
      [303, path],
    ])
    expect(lowOf(stays.ruth).treatments).toHaveLength(1)
  })
  it('gives one treatment from two nurses at once; the second gets a new page', async () => {
    const nora = await night()
    const omar = await world.signIn(people.omar)
    const path = await open(nora)
    await answer(nora, path)
    const [hers, his] = [await giveFields(nora, path), await giveFields(omar, path)]
    const both = await Promise.all([nora.postRaw(`${path}/treatments`, hers), omar.postRaw(`${path}/treatments`, his)])
    expect(both.map(({ status }) => status).sort()).toEqual([303, 409])
    expect(both.find(({ status }) => status === 409)?.words()).toContain('Look at the patient again')
    expect(lowOf(stays.ruth).treatments).toHaveLength(1)
  })
  it('refuses findings from 11 min ago', async () => {
    const nora = await night()
    const path = await open(nora)
    await answer(nora, path)
    const fields = await giveFields(nora, path)
    world.clock.advance(11)
    expect((await nora.postRaw(`${path}/treatments`, fields)).status).toBe(409)
    expect(now(await nora.get(path))).toContain('Look again')
  })
  it('refuses the amount shown before a lower value changed it', async () => {
    const nora = await night()
    const path = await open(nora, stays.ruth, '60')
    await answer(nora, path)
    const fields = await giveFields(nora, path)
    world.clock.advance(3)
    await takeExtra(nora, stays.ruth, '48', 'repeat')
    const got = await nora.postRaw(`${path}/treatments`, fields)
    expect([got.status, got.words()]).toEqual([409, expect.stringContaining('has changed since the page was opened')])
    expect(amount(await nora.get(path))).toBe('20 g')
  })
})

describe('access', () => {
  it('lets an educator read only; a nurse of another ward gets 404', async () => {
    const nora = await night()
    const path = await open(nora)
    const edda = await world.signIn(people.edda)
    expect((await edda.get(path)).status).toBe(200)
    expect(
      byTag((await edda.get(path)).root(), 'form').filter(({ attrs }) =>
        attrs.some(({ value }) => value.startsWith('/lows/')),
      ),
    ).toEqual([])
    expect((await edda.postRaw(`${path}/answers`, SAFE)).status).toBe(403)
    const bo = await world.signIn(people.bo)
    expect((await bo.get(path)).status).toBe(404)
    for (const part of [
      'answers',
      'treatments',
      'findings',
      'emergency-calls',
      'prescriber-calls',
      'food',
      'insulin-question',
      'close',
    ])
      expect((await bo.get(`${path}/${part}`)).status, part).toBe(404)
    expect((await world.visitor().get(path)).location).toMatch(/^\/sign-in/)
    expect((await nora.get('/lows/nosuchlow0000000')).status).toBe(404)
    expect((await nora.get('/lows/..%2Fx')).status).toBe(404)
  })
  it('shows a possible second checker the low, but no value that may still lead to a dose', async () => {
    const nora = await night()
    const omar = await world.signIn(people.omar)
    const path = await open(nora)
    await treat(nora, path)
    world.clock.advance(15)
    await recheck(nora, stays.ruth, '197')
    const his = (await omar.get(path)).words()
    expect(his).toContain('52 mg/dL')
    expect(his).toContain('awaiting second check')
    expect(his).not.toContain('197')
    expect((await nora.get(path)).words()).toContain('197 mg/dL')
  })
})

describe('insulin after a low', () => {
  it('asks about meal insulin with a clock and keeps the answer; correction waits', async () => {
    const nora = await night()
    const path = await open(nora, stays.ines)
    expect(items(stays.ines)).toEqual(['insulin-question', 'low'])
    const got = await nora.get(path)
    expect(got.words()).toContain('Ask the prescriber about insulin lispro')
    expect(got.words()).toContain('Type 1 diabetes')
    expect((await nora.get('/round')).words()).toContain(
      'Ask the prescriber about meal and long-acting insulin, by 03:15',
    )
    const form = await nora.get(`${path}/insulin-question`)
    expect(await checkHtml(form.text)).toEqual([])
    const refused = await nora.post(`${path}/insulin-question`, { decision: 'changed', ...TOLD })
    expect([refused.status, errorOf(refused.root(), 'ordered')]).toEqual([
      422,
      expect.stringContaining('given instead'),
    ])
    expect((await nora.post(`${path}/insulin-question`, { decision: 'hold', ...TOLD })).location).toBe(path)
    expect(items(stays.ines)).toEqual(['low'])
    expect((await nora.get(path)).words()).toContain('Insulin: hold it')
    expect((await nora.post(`${path}/insulin-question`, { decision: 'hold', ...TOLD })).status).toBe(409)
  })
  it('hides a masked critical high in the call about a low', async () => {
    const nora = await night()
    const omar = await world.signIn(people.omar)
    const path = await open(nora, stays.ruth, '60')
    await treat(nora, path)
    world.clock.advance(15)
    await recheck(nora, stays.ruth, '433')
    expect((await omar.get(`${path}/prescriber-calls`)).words()).not.toContain('critical result')
    expect((await nora.get(`${path}/prescriber-calls`)).words()).toContain(
      'This call tells the critical result as well.',
    )
    await omar.post(`${path}/prescriber-calls`, TOLD)
    expect(items(stays.ruth)).toEqual(['critical', 'low'])
  })
  it('an event open four days for its paperwork blocks no dose and asks for no recheck', async () => {
    const nora = await night()
    const path = await open(nora)
    await treat(nora, path)
    world.clock.advance(15)
    await recheck(nora, stays.ruth, '110')
    world.clock.advance(60)
    await recheck(nora, stays.ruth, '112')
    world.clock.advance(4 * 24 * 60)
    const later = await world.signIn(people.nora)
    const got = await later.get(path)
    expect(now(got)).toContain('Tell the prescriber')
    expect(got.words()).toContain('This low blocks no insulin any more')
    expect((await later.get('/round')).words()).not.toContain('Recheck now')
  })
})

describe('critical results', () => {
  it('settle low and critical result in one call, from either page', async () => {
    const nora = await night()
    const path = await open(nora, stays.ruth, '38')
    expect(items(stays.ruth)).toEqual(['critical', 'low'])
    expect((await nora.get(`${path}/prescriber-calls`)).words()).toContain(
      'This call tells the critical result as well.',
    )
    await nora.post(`${path}/prescriber-calls`, TOLD)
    expect(items(stays.ruth)).toEqual(['low'])
    const other = await takeExtra(nora, stays.tomas, '41', 'y')
    expect((await nora.post(`/readings/${other}/critical-call`, TOLD)).status).toBe(303)
    expect(lowOf(stays.tomas).charted.prescriberCalls).toHaveLength(1)
    expect((await nora.get(`/readings/${other}`)).words()).toContain(
      'Told Dr. Vera Kim at 03:00, read back, by Nora Lind.',
    )
  })
  it('ask for repeat, call and laboratory on HI; the venous laboratory value settles it', async () => {
    const nora = await night()
    const hi = await takeExtra(nora, stays.ruth, 'HI', 'hi')
    const call = await nora.get(`/readings/${hi}/critical-call`)
    expect(await checkHtml(call.text)).toEqual([])
    for (const part of ['Call due 03:30', 'Repeat on another cleaned finger due 03:10', 'Laboratory value due 04:00'])
      expect(call.words()).toContain(part)
    world.clock.advance(5)
    const again = await takeExtra(nora, stays.ruth, 'HI', 'hi2')
    // the same call included the repeat
    await nora.post(`/readings/${hi}/critical-call`, TOLD)
    expect(items(stays.ruth)).toEqual([])
    expect((await nora.get(`/readings/${again}`)).words()).toContain('Told Dr. Vera Kim')
    world.clock.advance(40)
    const form = await nora.get(`/stays/${stays.ruth.stayId}/lab-value`)
    expect(await checkHtml(form.text)).toEqual([])
    const lab = await nora.post(`/stays/${stays.ruth.stayId}/lab-value`, {
      wristband: stays.ruth.wristband,
      glucose: '712',
      unit: 'mg/dL',
      takenAt: '03:10',
    })
    expect(lab.status).toBe(303)
    const result = await nora.follow(lab)
    expect(result.words()).toContain('712 mg/dL')
    expect((await nora.get(`/readings/${hi}`)).words()).toContain('The laboratory’s value is charted.')
  })
  it.each([
    ['712', '', 'takenAt', 'when the sample was drawn'],
    ['2001', '03:00', 'glucose', 'not possible'],
    ['6.2', '03:00', 'glucose', 'whole number'],
    ['12', '03:00', 'confirmed', '12 mg/dL, not 12 mmol/L'],
    ['180', '05:00', 'takenAt', 'has not come yet'],
  ])('refuses laboratory value %s at %s beside %s', async (glucose, takenAt, field, sentence) => {
    const nora = await night()
    const got = await nora.post(`/stays/${stays.ruth.stayId}/lab-value`, {
      wristband: stays.ruth.wristband,
      glucose,
      unit: 'mg/dL',
      takenAt,
    })
    expect([got.status, errorOf(got.root(), field)?.toLowerCase()]).toEqual([
      422,
      expect.stringContaining(sentence.toLowerCase()),
    ])
  })
  it('a laboratory’s own unit is kept, and an unusual value asked about once', async () => {
    const nora = await night()
    const path = `/stays/${stays.ruth.stayId}/lab-value`
    const report = { wristband: stays.ruth.wristband, glucose: '54.0', takenAt: '03:00' }
    const noUnit = await nora.post(path, report)
    expect([noUnit.status, errorOf(noUnit.root(), 'unit') !== null]).toEqual([422, true])
    const asked = await nora.post(path, { ...report, unit: 'mmol/L' })
    expect([asked.status, errorOf(asked.root(), 'confirmed')]).toEqual([
      422,
      expect.stringContaining('54.0 mmol/L, not 54.0 mg/dL'),
    ])
    const charted = await nora.post(path, { ...report, unit: 'mmol/L', confirmed: 'yes' })
    expect(charted.status).toBe(303)
    const page = (await nora.follow(charted)).words()
    expect(page).toContain('973 mg/dL')
    expect(page).toContain('Reported by the laboratory as 54.0 mmol/L')
  })
  it('stop a laboratory value at the wrong wristband', async () => {
    const nora = await night()
    const got = await nora.post(`/stays/${stays.ruth.stayId}/lab-value`, {
      wristband: stays.leo.wristband,
      glucose: '180',
      unit: 'mg/dL',
      takenAt: '03:00',
    })
    expect([got.status, got.words()]).toEqual([409, expect.stringContaining('bed 6')])
  })
})

describe('symptoms without a low value', () => {
  it('chart a snack and open no low event', async () => {
    const nora = await night()
    const path = `/stays/${stays.ruth.stayId}/symptoms`
    expect(await checkHtml((await nora.get(path)).text)).toEqual([])
    expect((await nora.post(path, { symptoms: 'shaky', what: 'two biscuits' })).words()).toContain(
      'Measure first: there is no value of the last 15 min.',
    )
    await takeExtra(nora, stays.ruth, '74', 'x')
    expect((await nora.post(path, { symptoms: 'shaky', what: 'two biscuits' })).location).toBe(
      `/stays/${stays.ruth.stayId}`,
    )
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.lows).toEqual([])
    expect((await nora.get(`/stays/${stays.ruth.stayId}`)).words()).toContain(
      'Symptoms, no low value two biscuits shaky, by Nora Lind',
    )
    await takeExtra(nora, stays.ruth, '66', 'y')
    expect((await nora.post(path, { symptoms: 'shaky', what: 'juice' })).status).toBe(409)
  })
})

describe('automatic refresh', () => {
  const background = { headers: { 'hx-request': 'true', 'hx-current-url': 'http://ward.test/' } }
  const live = (got: Got) => {
    const part = byId(got.root(), 'low-live')
    if (part === null) throw new Error('a page without the part that refreshes itself')
    return part
  }
  const refreshOf = (got: Got): string => attr(live(got), 'hx-get') ?? ''

  it('answers 204 without a change, and sends another nurse’s entry as the same part of the page', async () => {
    const nora = await night()
    const omar = await world.signIn(people.omar)
    const path = await open(nora)
    const page = await omar.get(path)
    const refresh = refreshOf(page)
    expect(refresh).toMatch(new RegExp(`^${path}/now\\?seen=`))
    expect([attr(live(page), 'hx-trigger'), attr(live(page), 'hx-target')]).toEqual(['every 5s', 'this'])
    const same = await omar.get(refresh, background)
    expect([same.status, same.text]).toEqual([204, ''])
    // an event of another patient moves the ward's version and changes nothing here
    await takeExtra(nora, stays.tomas, '120', 'z')
    expect((await omar.get(refresh, background)).status).toBe(204)
    await treat(nora, path)
    const changed = await omar.get(refresh, background)
    expect(changed.status).toBe(200)
    expect(await checkHtml(`<h1>Low</h1>${changed.text}`)).toEqual([])
    expect(now(changed)).toContain('Recheck due 03:15')
    expect(changed.words()).toContain('Treated: 20 g')
    expect(textOf(live(await omar.get(path)))).toBe(changed.words())
    expect((await omar.get(refreshOf(changed), background)).status).toBe(204)
  })
  it('sends a change caused by the clock: overdue steps and expired answers', async () => {
    const nora = await night()
    const path = await open(nora)
    await answer(nora, path)
    const give = refreshOf(await nora.get(path))
    world.clock.advance(10)
    const past = await nora.get(give, background)
    expect(past.words()).toContain('Treat was due 03:05')
    world.clock.advance(1)
    expect(now(await nora.get(refreshOf(past), background))).toContain('Look again before the next treatment')
  })
  it('does not extend the login, and reveals nothing to others', async () => {
    world = await makeWorld({ at: `${DATE}T03:00`, alderPolicy: { idleLockMin: 10 } })
    const nora = await world.signIn(people.nora)
    const path = await open(nora)
    const refresh = refreshOf(await nora.get(path))
    world.clock.advance(6)
    expect((await nora.get(refresh, background)).status).toBe(200)
    world.clock.advance(6)
    expect((await nora.get(refresh, background)).location).toMatch(/^\/sign-in/)
    const bo = await world.signIn(people.bo)
    expect((await bo.get(refresh, background)).status).toBe(404)
    const edda = await world.signIn(people.edda)
    const hers = await edda.get(`${path}/now?seen=`, background)
    expect([hers.status, byTag(hers.root(), 'form').length]).toEqual([200, 0])
    const anna = await world.signIn(people.anna)
    expect((await anna.get(refresh, background)).status).toBe(403)
  })
  it.each(['', 'x', '1.2.3.4', '%00', `9${'9'.repeat(400)}.9.a`, '<b>'])(
    'sends the part when seen is “%s”',
    async (seen) => {
      const nora = await night()
      const path = await open(nora)
      expect((await nora.get(`${path}/now?seen=${encodeURIComponent(seen)}`, background)).status).toBe(200)
    },
  )
  it('stops when the event is closed', async () => {
    const nora = await night()
    const path = await open(nora)
    await treat(nora, path)
    for (const [minutes, value] of [
      [15, '96'],
      [60, '104'],
    ] as const) {
      world.clock.advance(minutes)
      await recheck(nora, stays.ruth, value)
    }
    await nora.post(`${path}/prescriber-calls`, TOLD)
    const before = refreshOf(await nora.get(path))
    await nora.post(`${path}/close`, { cause: 'renal', note: '' })
    const closed = await nora.get(before, background)
    expect([closed.status, refreshOf(closed)]).toEqual([200, ''])
  })
})

it('treats 3.6 and recovers at 4.2 on a mmol/L ward', async () => {
  const mmol = defaultPolicy('mmol/L', 'Europe/London')
  world = await makeWorld({
    at: `${DATE}T03:00`,
    birchPolicy: { idleLockMin: 100_000, limits: { ...mmol.limits, low: 40, recovered: 40 } },
  })
  const bo = await world.signIn(people.bo)
  const path = await open(bo, stays.gwen, '3.6')
  expect((await bo.get(path)).words()).toContain('Level 1: below 4.0 mmol/L , lowest 3.6 mmol/L')
  await treat(bo, path)
  world.clock.advance(15)
  await recheck(bo, stays.gwen, '4.2')
  expect((await bo.get(path)).words()).toContain('4.2 mmol/L recovered')
})

describe('forty malformed posts', () => {
  it.each([
    ['answers', 'swallowing', { swallowing: 'safely', iv: 'none' }],
    ['treatments', 'arm', { arm: 'by-mouth', what: 'juice', directedBy: '', at: '' }],
    ['findings', 'finding', { finding: 'confused-needs-help' }],
    ['emergency-calls', 'called', { called: 'yes' }],
    ['prescriber-calls', 'readBack', { ...TOLD, at: '' }],
    ['food', 'grams', { grams: '20', what: '', at: '' }],
    ['insulin-question', 'decision', { decision: 'hold', ...TOLD }],
    ['close', 'cause', { cause: 'renal', note: '' }],
  ] as const)('%s: each comes back filled in and writes nothing', async (part, strict, good) => {
    const nora = await night()
    const path = `${await open(nora, stays.ines)}/${part}`
    await malformed(nora, path, strict, good)
  })
  it.each([
    ['lab-value', 'glucose', { wristband: stays.ines.wristband, glucose: '180', unit: 'mg/dL', takenAt: '03:00' }],
    ['symptoms', 'key', { symptoms: 'shaky', what: 'biscuit' }],
  ] as const)('%s', async (part, strict, good) => {
    const nora = await night()
    await open(nora, stays.ines)
    await malformed(nora, `/stays/${stays.ines.stayId}/${part}`, strict, good)
  })

  async function malformed(
    nora: Client,
    path: string,
    strict: string,
    good: Readonly<Record<string, string>>,
  ): Promise<void> {
    const key = await nora.keyOf(path)
    const before = JSON.stringify(world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now()))
    const posts = malformedPosts(good, key, strict)
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) {
      const got = await nora.postRaw(path, body)
      expect(got.status, `${name}: ${body.slice(0, 80)}`).toBeGreaterThanOrEqual(400)
      expect(got.status, `${name}: ${body.slice(0, 80)}`).toBeLessThan(500)
    }
    expect(JSON.stringify(world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now()))).toBe(before)
  }
})

describe('a value soon after a treatment', () => {
  it('ends no rechecks: 45, juice, 88 two minutes later', async () => {
    const nora = await night()
    const path = await open(nora, stays.ruth, '45')
    await treat(nora, path)
    world.clock.advance(2)
    await recheck(nora, stays.ruth, '88')
    const soon = await nora.get(path)
    expect(now(soon)).toContain('Recheck due 03:15')
    expect(soon.words()).toContain('too soon after treatment to say much')
    expect(soon.words()).not.toContain('Recovered: longer-acting')
    world.clock.advance(13)
    await recheck(nora, stays.ruth, '91')
    expect((await nora.get(path)).words()).toContain('Recovered: longer-acting carbohydrate')
  })
})

describe('a low after the follow-up of one that is not closed', () => {
  it('is a new event with its own call and question; one call covers both', async () => {
    const nora = await night()
    const path = await open(nora, stays.ines, '58')
    await treat(nora, path)
    expect((await nora.post(`${path}/prescriber-calls`, TOLD)).location).toBe(path)
    world.clock.advance(15)
    await recheck(nora, stays.ines, '96')
    world.clock.advance(60)
    await recheck(nora, stays.ines, '101')
    const asked = items(stays.ines).filter((kind) => kind === 'insulin-question').length
    world.clock.advance(7 * 60)
    const next = await open(nora, stays.ines, '53')
    expect(next).not.toBe(path)
    expect(lowOf(stays.ines)).toMatchObject({ previousLowId: path.slice('/lows/'.length), closedAtMs: null })
    expect(items(stays.ines).filter((kind) => kind === 'low')).toHaveLength(2)
    expect(items(stays.ines).filter((kind) => kind === 'insulin-question')).toHaveLength(asked * 2)
    const page = await nora.get(next)
    expect(now(page)).toContain('Look before you treat')
    expect(page.words()).toContain('Tell the prescriber')
    expect((await nora.get('/round')).text).toContain(next.slice(1))
    await treat(nora, next)
    world.clock.advance(15)
    await recheck(nora, stays.ines, '92')
    expect((await nora.post(`${next}/prescriber-calls`, TOLD)).location).toBe(next)
    const lows = world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now())?.lows ?? []
    expect(lows.map(({ charted }) => charted.prescriberCalls.length)).toEqual([2, 1])
    // the older one can be closed while the newer one goes on
    expect((await nora.post(`${path}/close`, { cause: 'dose-too-high', note: '' })).location).toBe(path)
    expect((await nora.post(`${next}/close`, { cause: 'dose-too-high', note: '' })).status).toBe(409)
  })

  it('before the follow-up it is the same event, and insulin is asked about again', async () => {
    const nora = await night()
    const path = await open(nora, stays.ines, '58')
    await treat(nora, path)
    await nora.post(`${path}/prescriber-calls`, TOLD)
    await nora.post(`${path}/insulin-question`, { decision: 'as-ordered', ...TOLD })
    expect(items(stays.ines)).not.toContain('insulin-question')
    world.clock.advance(15)
    await recheck(nora, stays.ines, '96')
    world.clock.advance(40)
    await recheck(nora, stays.ines, '53')
    expect(world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now())?.lows).toHaveLength(1)
    expect(items(stays.ines)).toContain('insulin-question')
    expect((await nora.get(path)).words()).toContain('Tell the prescriber')
  })
})

describe('values that come late or count no more', () => {
  const followedUp = async (client: Client): Promise<{ readonly path: string; readonly lastId: string }> => {
    const path = await open(client, stays.ines, '58')
    await treat(client, path)
    await client.post(`${path}/prescriber-calls`, TOLD)
    world.clock.advance(15)
    await recheck(client, stays.ines, '96')
    world.clock.advance(60)
    return { path, lastId: await recheck(client, stays.ines, '101') }
  }

  it('a low charted late stops the dose it should have stopped, although an event is open', async () => {
    const nora = await night({ at: `${DATE}T05:30` })
    await followedUp(nora)
    world.clock.advance(15)
    const readingId = await takeReading(nora, stays.ines, '250')
    const doseId = await proposeDose(nora, readingId, { elsewhere: 'none', willEat: 'yes', tray: 'here' })
    const voided = (): unknown =>
      world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now())?.doses.find((one) => one.doseId === doseId)
        ?.voided
    expect(voided()).toBe(null)
    world.clock.advance(3)
    await takeReading(nora, stays.ines, '66', {
      key: `extra.${stays.ines.stayId}.late000000000000`,
      extraReason: 'other',
      takenAt: '06:55',
    })
    expect(voided()).toMatchObject({ reason: expect.any(String) as string })
  })

  it('a follow-up entered in error opens the closed low again', async () => {
    const nora = await night()
    const { path, lastId } = await followedUp(nora)
    expect((await nora.post(`${path}/close`, { cause: 'dose-too-high', note: '' })).location).toBe(path)
    expect(items(stays.ines)).not.toContain('low')
    expect((await nora.post(`/readings/${lastId}/void`, { reason: 'wrong patient' })).status).toBe(303)
    expect(lowOf(stays.ines)).toMatchObject({ closedAtMs: null })
    expect(items(stays.ines)).toContain('low')
    expect((await nora.get(path)).words()).toContain('Follow-up recheck')
  })
})
