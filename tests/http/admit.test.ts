/** Admission, discharge and return over HTTP: valid, refused, repeated and concurrent forms, and roles. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ADMISSION, admit, stayIdOf } from '../support/admission.ts'
import { ALL, answer, productFields, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byTag, checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld()
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const factsOf = (stayId: string) => world.store.stayFacts(ALL, stayId, world.clock.now())
const present = () => world.store.staysOfWard(ALL, ALDER).length
const links = (got: Got): readonly (string | null)[] => byTag(got.root(), 'a').map((a) => attr(a, 'href'))

describe('the beds of the ward', () => {
  it('are listed in walking order, with their patients and links', async () => {
    const got = await nora.get('/setup/beds')
    expect([got.status, await checkHtml(got.text)]).toEqual([200, []])
    for (const words of [
      'Beds of Alder',
      '6 of 8 beds are taken.',
      'Ashby, Ruth',
      'Nil by mouth',
      'Not the left hand: drip',
    ])
      expect(got.words()).toContain(words)
    expect(links(got)).toEqual(
      expect.arrayContaining([
        '/setup/beds/7/admit',
        '/setup/beds/8/admit',
        `/stays/${stays.ruth.stayId}/move`,
        '/setup/discharged',
        '/round/trays-late',
      ]),
    )
    expect(links(got)).not.toContain('/setup/beds/1/admit')
  })

  it('include a patient whose bed was removed from the ward', async () => {
    world.store.transact(() => {
      world.store.append([
        {
          type: 'ward-beds-set',
          wardId: ALDER,
          stayId: null,
          actorId: people.anna.staffId,
          happenedAtMs: world.clock.now(),
          chartedAtMs: world.clock.now(),
          body: { beds: ['2', '3', '4', '5', '6', '7'] },
        },
      ])
      return null
    })
    const got = await nora.get('/setup/beds')
    expect(got.words()).toContain('Bed 1 (no longer a bed of this ward) Ashby, Ruth')
    expect((await nora.get('/setup/beds/8/admit')).status).toBe(404)
  })

  it('asks for the ward first when none is chosen', async () => {
    const client = world.visitor()
    await client.postRaw('/sign-in', { badge: people.pia.badge, pin: people.pia.pin })
    for (const path of ['/setup/beds', '/setup/discharged']) expect((await client.get(path)).location).toBe('/ward')
  })
})

describe('admission', () => {
  it('charts identity, facts and plan; the patient is on the Round at once', async () => {
    const form = await nora.get('/setup/beds/7/admit')
    expect([form.status, await checkHtml(form.text)]).toEqual([200, []])
    // fields that matter for safety start empty
    const blank = formTo(form.root(), '/setup/beds/7/admit')?.fields ?? {}
    expect([blank['swallows'], blank['nil'], blank['diabetes'], blank['kind']]).toEqual([undefined, undefined, '', ''])
    const got = await admit(nora, '7')
    expect(got.status).toBe(303)
    const facts = factsOf(stayIdOf(got))
    expect(facts?.stay).toMatchObject({
      wardId: ALDER,
      bed: '7',
      wristband: 'W7399',
      familyName: 'Harrow',
      givenName: 'Judith',
      bornOn: '1944-08-30',
      admittedAtMs: world.clock.now(),
      dischargedAtMs: null,
      facts: {
        diabetes: 'type-2',
        swallowsSafely: true,
        nilByMouth: null,
        feeding: 'oral',
        ivAccess: true,
        restrictedHands: [{ hand: 'left', reason: 'drip' }],
        isolation: 'contact',
        renalImpairment: false,
        onSteroid: true,
        otherGlucoseLowering: ['metformin', 'linagliptin'],
        weightKg: 71.5,
      },
    })
    expect(facts?.plans).toMatchObject([
      { version: 1, plan: { kind: 'ac-and-hs' }, fromMs: world.clock.now(), untilMs: null, overlay: false },
    ])
    expect((await nora.follow(got)).words()).toContain('Harrow, Judith')
    expect((await nora.get('/round')).words()).toContain('Harrow, Judith')
  })

  it('accepts a time earlier today and starts the plan then; nil by mouth overrides it with the ward’s plan', async () => {
    const got = await admit(nora, '7', {
      admittedAt: '06:10',
      nil: 'yes',
      nilFrom: '2026-03-10T00:00',
      nilUntil: '2026-03-10T14:00',
    })
    const facts = factsOf(stayIdOf(got))
    const admittedAtMs = alderTime('2026-03-10T06:10')
    expect(facts?.stay).toMatchObject({
      admittedAtMs,
      facts: { nilByMouth: { fromMs: alderTime('2026-03-10T00:00'), untilMs: alderTime('2026-03-10T14:00') } },
    })
    expect(facts?.plans).toMatchObject([
      { plan: { kind: 'ac-and-hs' }, fromMs: admittedAtMs },
      { plan: { kind: 'every-6-h' }, fromMs: admittedAtMs, untilMs: alderTime('2026-03-10T14:00'), overlay: true },
    ])
  })

  it.each<[string, Readonly<Record<string, string>>, string, number, string]>([
    ['wristband', { wristband: '' }, 'wristband', 422, 'Scan the wristband'],
    ['a wristband of this ward', { wristband: stays.tomas.wristband }, 'wristband', 409, 'in use in bed 2.'],
    [
      'a wristband of a ward that is not hers',
      { wristband: stays.gwen.wristband },
      'wristband',
      409,
      'in use by a patient on another ward.',
    ],
    ['no name', { familyName: ' ' }, 'familyName', 422, 'Type the name.'],
    ['no date of birth', { bornOn: '' }, 'bornOn', 422, 'date of birth'],
    ['a date that is none', { bornOn: '1944-02-30' }, 'bornOn', 422, 'date of birth'],
    ['born tomorrow', { bornOn: '2026-03-11' }, 'bornOn', 422, 'still to come'],
    ['born in another age', { bornOn: '1844-08-30' }, 'bornOn', 422, 'so long'],
    ['in the future', { admittedAt: '07:21' }, 'admittedAt', 422, 'not come yet'],
    ['too long ago', { admittedAt: '2026-03-09 07:00' }, 'admittedAt', 422, 'More than 24 h ago'],
    ['no time', { admittedAt: 'early' }, 'admittedAt', 422, '07:05'],
    ['not asked about swallowing', { swallows: '' }, 'swallows', 422, 'swallows safely'],
    ['not asked about eating', { nil: '' }, 'nil', 422, 'may eat'],
    ['diabetes', { diabetes: '' }, 'diabetes', 422, 'type of diabetes'],
    ['weight with a slip', { weight: '7150' }, 'weight', 422, '78.5'],
    ['weight of a stone', { weight: '0.1' }, 'weight', 422, '0.4'],
    [
      'nil by mouth until before from',
      { nil: 'yes', nilFrom: '2026-03-10T09:00', nilUntil: '2026-03-10T08:00' },
      'nilUntil',
      422,
      'after the start',
    ],
    [
      'nil by mouth, over already',
      { nil: 'yes', nilFrom: '2026-03-10T01:00', nilUntil: '2026-03-10T07:00' },
      'nilUntil',
      422,
      'has passed',
    ],
    ['no plan', { kind: '' }, 'kind', 422, 'Choose the check plan'],
    ['listed times, none', { kind: 'listed-times' }, 'times', 422, 'Type the times'],
    [
      'listed times, one of them none',
      { kind: 'listed-times', times: '07:00, 25:00' },
      'times',
      422,
      '“25:00” is no time',
    ],
    ['once, no time', { kind: 'once' }, 'onceAt', 422, 'when the patient is to be checked'],
    ['once, passed', { kind: 'once', onceAt: '2026-03-10T07:00' }, 'onceAt', 422, 'has passed'],
  ])('refuses with a message and keeps every typed value: %s', async (_name, parts, field, status, sentence) => {
    const got = await admit(nora, '7', parts)
    expect([got.status, errorOf(got.root(), field)?.includes(sentence)]).toEqual([status, true])
    expect(await checkHtml(got.text)).toEqual([])
    const { admittedAt: _typed, ...kept } = ADMISSION
    const back = formTo(got.root(), '/setup/beds/7/admit')?.fields ?? {}
    for (const [name, value] of Object.entries({ ...kept, ...parts }))
      expect([name, back[name] ?? '']).toEqual([name, value.trim() === '' ? (back[name] ?? '') : value])
    expect(present()).toBe(6)
  })

  it('names the ward of a wristband to somebody who works there', async () => {
    const pia = await world.signIn(people.pia, { wardId: ALDER })
    expect(errorOf((await admit(pia, '7', { wristband: stays.gwen.wristband })).root(), 'wristband')).toContain(
      'in bed A on Birch',
    )
  })

  it('warns of a patient with the same name and date of birth on the ward', async () => {
    const { familyName, givenName, bornOn } = stays.tomas
    const got = await admit(nora, '7', { familyName: familyName.toUpperCase(), givenName, bornOn })
    expect([got.status, got.words().includes('lies in bed 2 already')]).toEqual([409, true])
  })

  it('answers 409 for an occupied bed and 404 for an unknown one', async () => {
    const key = (await nora.keyOf('/setup/beds/7/admit')) ?? ''
    await admit(nora, '7')
    const got = await nora.postRaw('/setup/beds/7/admit', { ...ADMISSION, wristband: 'W7398', givenName: 'Joan', key })
    expect([got.status, got.words().includes('Bed 7 was taken in the meantime')]).toEqual([409, true])
    expect((await nora.get('/setup/beds/99/admit')).status).toBe(404)
    expect((await nora.postRaw('/setup/beds/99/admit', { ...ADMISSION, wristband: 'W7398', key })).status).toBe(409)
  })

  it('lets one of two nurses win the same bed, or the same wristband', async () => {
    const omar = await world.signIn(people.omar)
    const keys = await Promise.all([nora, omar].map((client) => client.keyOf('/setup/beds/7/admit')))
    const both = await Promise.all([
      nora.postRaw('/setup/beds/7/admit', { ...ADMISSION, key: keys[0] ?? '' }),
      omar.postRaw('/setup/beds/7/admit', { ...ADMISSION, wristband: 'W7398', givenName: 'Joan', key: keys[1] ?? '' }),
    ])
    expect(both.map(({ status }) => status).sort()).toEqual([303, 409])
    const [first, second] = await Promise.all([nora, omar].map((client) => client.keyOf('/setup/beds/8/admit')))
    const worn = await Promise.all([
      nora.postRaw('/setup/beds/8/admit', { ...ADMISSION, wristband: 'W7397', givenName: 'Jane', key: first ?? '' }),
      omar.postRaw('/setup/beds/8/admit', { ...ADMISSION, wristband: 'W7397', givenName: 'June', key: second ?? '' }),
    ])
    expect(worn.map(({ status }) => status).sort()).toEqual([303, 409])
    expect(present()).toBe(8)
  })

  it('makes one stay when sent twice with one key', async () => {
    const key = (await nora.keyOf('/setup/beds/7/admit')) ?? ''
    const twice = await Promise.all([1, 2].map(() => nora.postRaw('/setup/beds/7/admit', { ...ADMISSION, key })))
    expect(twice.map(({ status }) => status)).toEqual([303, 303])
    expect(twice[0]?.location).toBe(twice[1]?.location)
    expect(present()).toBe(7)
  })

  it('answers 422 to forty malformed posts and writes nothing', async () => {
    const key = await nora.keyOf('/setup/beds/7/admit')
    for (const strict of ['bornOn', 'kind']) {
      for (const { name, body } of malformedPosts(ADMISSION, key, strict)) {
        const got = await nora.postRaw('/setup/beds/7/admit', body)
        expect([strict, name, got.status]).toEqual([strict, name, 422])
        expect([strict, name, await checkHtml(got.text)]).toEqual([strict, name, []])
      }
    }
    expect(present()).toBe(6)
  })

  it('refuses other roles', async () => {
    for (const person of [people.edda, people.anna]) {
      const client = await world.signIn(person)
      for (const path of [
        '/setup/beds',
        '/setup/beds/7/admit',
        '/setup/discharged',
        `/setup/discharged/${stays.ruth.stayId}/readmit`,
      ])
        expect((await client.get(path)).status).toBe(403)
      expect((await client.postRaw('/setup/beds/7/admit', ADMISSION)).status).toBe(403)
    }
  })
})

describe('discharge', () => {
  const path = `/stays/${stays.tomas.stayId}/discharge`

  it('frees the bed and the wristband; the page stays readable and charts nothing more', async () => {
    expect(await checkHtml((await nora.get(path)).text)).toEqual([])
    const got = await nora.post(path, { at: '07:10' })
    expect([got.status, got.location]).toEqual([303, '/setup/beds'])
    expect(factsOf(stays.tomas.stayId)?.stay.dischargedAtMs).toBe(alderTime('2026-03-10T07:10'))
    const page = await nora.get(`/stays/${stays.tomas.stayId}`)
    expect(links(page)).toContain(`/setup/discharged/${stays.tomas.stayId}/readmit`)
    expect(links(page)).not.toContain(`/stays/${stays.tomas.stayId}/extra`)
    expect((await nora.get('/round')).words()).not.toContain('Brandt')
    expect((await admit(nora, '2', { wristband: stays.tomas.wristband })).status).toBe(303)
  })

  it.each([
    ['in the future', { at: '07:21' }, 422, 'at'],
    ['before the admission', { at: '2026-03-07 07:00' }, 422, 'at'],
    ['no time', { at: 'soon' }, 422, 'at'],
  ])('refuses: %s', async (_name, fields, status, field) => {
    const got = await nora.post(path, fields)
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([status, true])
    expect(factsOf(stays.tomas.stayId)?.stay.dischargedAtMs).toBeNull()
  })

  it('refuses a time before a charted reading, and a second discharge', async () => {
    await takeReading(nora, stays.tomas, '143')
    expect(errorOf((await nora.post(path, { at: '07:10' })).root(), 'at')).toContain('after that time')
    const key = (await nora.keyOf(path)) ?? ''
    expect((await nora.post(path, { at: '' })).status).toBe(303)
    expect((await nora.postRaw(path, { at: '', key })).status).toBe(409)
  })

  it('asks who has an open low; not yet handed over is the charge nurse’s until a name is charted', async () => {
    await takeReading(nora, stays.ruth, '62')
    const own = `/stays/${stays.ruth.stayId}/discharge`
    const got = await nora.post(own, { at: '' })
    expect([got.status, errorOf(got.root(), 'handover') !== null]).toEqual([422, true])
    expect(links(got).some((href) => href?.startsWith('/lows/'))).toBe(true)
    expect(await checkHtml(got.text)).toEqual([])
    const unnamed = await nora.post(own, { at: '', handover: 'named', to: ' ' })
    expect([unnamed.status, errorOf(unnamed.root(), 'to') !== null]).toEqual([422, true])
    expect((await nora.post(own, { at: '', handover: 'not-yet' })).status).toBe(303)
    expect(factsOf(stays.ruth.stayId)?.openItems.map(({ kind }) => kind)).toEqual(
      expect.arrayContaining(['low', 'handover']),
    )
    const cora = await world.signIn(people.cora)
    const handedOver = `/stays/${stays.ruth.stayId}/handed-over`
    expect(links(await cora.get('/board'))).toContain(handedOver)
    expect(await checkHtml((await cora.get(handedOver)).text)).toEqual([])
    const nobody = await cora.post(handedOver, { to: '' })
    expect([nobody.status, errorOf(nobody.root(), 'to') !== null]).toEqual([422, true])
    const key = (await cora.keyOf(handedOver)) ?? ''
    expect((await cora.post(handedOver, { to: 'nurse Vale, dialysis unit' })).status).toBe(303)
    expect(factsOf(stays.ruth.stayId)?.openItems).toEqual([])
    expect((await cora.postRaw(handedOver, { to: 'nurse Quist', key })).status).toBe(409)
    expect(links(await cora.get('/board'))).not.toContain(handedOver)
  })

  it.each([
    ['handed over to a named person', { handover: 'named', to: 'nurse Vale' }],
    ['the patient died', { handover: 'died' }],
  ])('an open low waits for nobody here: %s', async (_name, fields) => {
    await takeReading(nora, stays.ruth, '62')
    expect((await nora.post(`/stays/${stays.ruth.stayId}/discharge`, { at: '', ...fields })).status).toBe(303)
    expect(factsOf(stays.ruth.stayId)?.openItems).toEqual([])
  })

  it('a return within 24 h brings an untreated low along: no dose 9 minutes after it', async () => {
    await takeReading(nora, stays.ruth, '62')
    const { stayId, familyName, givenName, bornOn } = stays.ruth
    expect(
      (await nora.post(`/stays/${stayId}/discharge`, { at: '', handover: 'named', to: 'nurse Vale' })).status,
    ).toBe(303)
    world.clock.advance(9)
    const back = await nora.post(`/setup/discharged/${stayId}/readmit`, {
      ...ADMISSION,
      familyName,
      givenName,
      bornOn,
      bed: '1',
      wristband: 'W9001',
      admittedAt: '',
    })
    expect(back.status, back.words().slice(0, 600)).toBe(303)
    const again = back.location?.split('/')[2] ?? ''
    expect(factsOf(again)?.returnedFrom?.lows).toHaveLength(1)
  })

  it('refuses discharge and move while a signed dose is not charted', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '215'))
    await answer(nora, doseId, people.omar, '215', '4')
    expect((await nora.get(`/stays/${stays.ruth.stayId}/move`)).words()).not.toContain('Chart that first')
    expect((await nora.post(`/doses/${doseId}/product`, productFields(stays.ruth, people.omar, '4'))).status).toBe(303)
    for (const [what, fields] of [
      ['discharge', { at: '' }],
      ['move', { to: `${ALDER}.7` }],
    ] as const) {
      const got = await nora.post(`/stays/${stays.ruth.stayId}/${what}`, fields)
      expect([what, got.status, links(got).includes(`/doses/${doseId}`)]).toEqual([what, 409, true])
    }
    // also after its time limit
    world.clock.advance(40)
    const again = await world.signIn(people.nora)
    expect((await again.post(`/stays/${stays.ruth.stayId}/discharge`, { at: '' })).status).toBe(409)
    expect((await again.post(`/doses/${doseId}/not-given`, { kind: 'withheld', reason: 'Went home' })).status).toBe(303)
    expect((await again.post(`/stays/${stays.ruth.stayId}/discharge`, { at: '' })).status).toBe(303)
  })

  it('does not tell a possible second checker that a masked value is critical', async () => {
    await takeReading(nora, stays.ruth, '389')
    const seen = await (await world.signIn(people.omar)).get(`/stays/${stays.ruth.stayId}/discharge`)
    expect(seen.words()).not.toContain('Critical')
  })
})

describe('return', () => {
  const back = `/setup/discharged/${stays.tomas.stayId}/readmit`
  const {
    wristband: _old,
    familyName: _family,
    givenName: _given,
    bornOn: _born,
    diabetes: _diabetes,
    ...rest
  } = ADMISSION

  it('starts a new stay, filled in from the earlier stay, which it names', async () => {
    expect((await nora.get('/setup/discharged')).words()).toContain('None.')
    await nora.post(`/stays/${stays.tomas.stayId}/discharge`, { at: '' })
    world.clock.advance(9)
    const list = await nora.get('/setup/discharged')
    expect([await checkHtml(list.text), links(list).includes(back)]).toEqual([[], true])
    const form = await nora.get(back)
    expect(await checkHtml(form.text)).toEqual([])
    expect(formTo(form.root(), back)?.fields).toMatchObject({
      familyName: 'Brandt',
      givenName: 'Tomas',
      bornOn: stays.tomas.bornOn,
      diabetes: 'type-2',
      weight: '78',
      wristband: '',
      kind: '',
    })
    expect(formTo(form.root(), back)?.fields).not.toHaveProperty('swallows')
    const refused = await nora.post(back, { ...ADMISSION, bed: '' })
    expect([refused.status, errorOf(refused.root(), 'bed') !== null]).toEqual([409, true])
    const got = await nora.post(back, {
      ...rest,
      familyName: 'Brandt',
      givenName: 'Tomas',
      bornOn: stays.tomas.bornOn,
      diabetes: 'type-1',
      wristband: 'W7377',
      bed: '8',
    })
    const stayId = stayIdOf(got)
    expect(stayId).not.toBe(stays.tomas.stayId)
    expect(world.store.stayHistory(ALL, stayId)?.previousStayId).toBe(stays.tomas.stayId)
    expect(factsOf(stayId)?.stay).toMatchObject({ bed: '8', facts: { diabetes: 'type-1' } })
    expect(links(await nora.get(`/stays/${stayId}/history`))).toContain(`/stays/${stays.tomas.stayId}`)
  })

  it('refuses a time before or during the earlier stay, and a stay of another ward', async () => {
    const fields = { ...ADMISSION, bed: '8' }
    expect((await nora.post(back, fields)).status).toBe(409)
    await nora.post(`/stays/${stays.tomas.stayId}/discharge`, { at: '07:15' })
    expect(errorOf((await nora.post(back, { ...fields, admittedAt: '07:10' })).root(), 'admittedAt')).toContain(
      'ended after',
    )
    expect(
      errorOf((await nora.post('/setup/beds/2/admit', { ...ADMISSION, admittedAt: '07:10' })).root(), 'admittedAt'),
    ).toContain('Somebody else lay in bed 2')
    expect((await nora.get(`/setup/discharged/${stays.gwen.stayId}/readmit`)).status).toBe(404)
    expect(
      (
        await nora.postRaw(`/setup/discharged/${stays.gwen.stayId}/readmit`, {
          ...fields,
          key: (await nora.keyOf(back)) ?? '',
        })
      ).status,
    ).toBe(404)
  })
})
