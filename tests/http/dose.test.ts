/** Working out a dose from a reading: its questions, its page and its guards. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, charted, dose, NONE_ELSEWHERE, proposeDose, takeExtra, takeReading } from '../support/bedside.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, people } from '../support/people.ts'
import { ALDER_SCALE, meters, scaleOrder, stays } from '../support/wards.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { makeWorld, type World } from '../support/world.ts'
import type { Client } from '../support/client.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:30' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

describe('hold all when not eating, at a step that says call', () => {
  it('is a dose of 0 units, and the call stays on the dose and on the reading', async () => {
    const nowMs = world.clock.now()
    const head = { wardId: ALDER, stayId: stays.tomas.stayId, happenedAtMs: nowMs, chartedAtMs: nowMs }
    const correction = {
      kind: 'scale',
      scale: {
        unit: 'mg/dL',
        steps: [
          { atLeast: 151, answer: 2, also: null },
          { atLeast: 251, answer: 'call', also: null },
        ],
      },
    } as const
    const order = scaleOrder(ALDER_SCALE, nowMs - 60_000, { correction, notEating: { kind: 'hold-all' } })
    const orderId = 'orderheldcall001'
    world.store.transact(() => {
      storeEvents(world.store, [
        { ...head, actorId: people.pia.staffId, type: 'order-written', body: { orderId, version: 1, order } },
        { ...head, actorId: people.omar.staffId, type: 'order-verified', body: { orderId, version: 1 } },
      ])
      return null
    })
    const readingId = await takeReading(nora, stays.tomas, '280')
    expect((await nora.get(`/readings/${readingId}`)).words()).toContain('No dose by the order: call the prescriber.')
    const doseId = await proposeDose(nora, readingId, { ...NONE_ELSEWHERE, willEat: 'no' })
    expect(dose(world.store, doseId)).toMatchObject({ units: 0, working: { rules: 3 } })
    const page = await nora.get(`/doses/${doseId}`)
    expect(page.words()).toContain('Call the prescriber now: the scale says “no dose, call”.')
    expect(await checkHtml(page.text)).toEqual([])
    expect((await nora.get(`/readings/${readingId}`)).words()).toContain('No dose by the order: call the prescriber.')
  })
})

describe('asks only what the order needs', () => {
  const asked = async (readingId: string): Promise<readonly string[]> =>
    [
      ...new Set(
        formTo((await nora.get(`/readings/${readingId}/dose`)).root(), `/readings/${readingId}/dose`)?.names ?? [],
      ),
    ].filter((name) => name !== 'key')

  it('for a scale alone: insulin elsewhere at the first dose, then nothing', async () => {
    const first = await takeReading(nora, stays.ruth, '243')
    expect(await asked(first)).toEqual(['elsewhere'])
    await proposeDose(nora, first)
    world.clock.advance(5)
    const second = await takeExtra(nora, stays.ruth, '251', 'second')
    expect(await asked(second)).toEqual([])
    expect(dose(world.store, await proposeDose(nora, second, {})).units).toBe(6)
  })

  it('for a meal part: eating and the tray too', async () => {
    expect(await asked(await takeReading(nora, stays.ines, '243'))).toEqual(['willEat', 'tray', 'elsewhere'])
  })

  it('does not ask about eating when nil by mouth', async () => {
    expect(
      await asked(
        await takeReading(nora, stays.maud, '243', { key: `${stays.maud.stayId}.2026-03-10.t0600` }).catch(() =>
          takeExtra(nora, stays.maud, '243', 'extra'),
        ),
      ),
    ).toEqual(['elsewhere'])
  })

  it('answers 422 beside an unanswered question and charts nothing', async () => {
    const readingId = await takeReading(nora, stays.ines, '243')
    const before = charted(world, stays.ines)
    const got = await nora.post(`/readings/${readingId}/dose`, { tray: 'expected', elsewhere: 'none' })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'willEat')).toContain('Answer this')
    expect(charted(world, stays.ines)).toBe(before)
  })

  it('charts insulin given elsewhere first and counts it', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    const got = await nora.post(`/readings/${readingId}/dose`, { elsewhere: 'given' })
    expect([got.status, errorOf(got.root(), 'elsewhere')]).toEqual([
      422,
      '▲ Chart the insulin given elsewhere first: it counts here.',
    ])
    expect(
      (
        await nora.post(`/stays/${stays.ruth.stayId}/outside-dose`, {
          source: 'elsewhere',
          insulin: 'insulin aspart',
          units: '4',
          givenAt: '2026-03-10T05:30',
          givenBy: 'Emergency department',
          checkedBy: '',
        })
      ).status,
    ).toBe(303)
    expect(await asked(readingId)).toEqual([])
    const made = dose(world.store, await proposeDose(nora, readingId, {}))
    expect(made.working.guards.find((guard) => guard.guard === 'stacking')).toMatchObject({
      outcome: 'warns',
      details: { units: 4, found: 120 },
    })
  })
})

describe('charted dose', () => {
  it('is kept with its working as data, and shown in sentences with a large number', async () => {
    const readingId = await takeReading(nora, stays.ines, '243')
    const doseId = await proposeDose(nora, readingId, { willEat: 'yes', tray: 'expected', elsewhere: 'none' })
    const made = dose(world.store, doseId)
    expect(made).toMatchObject({
      units: 8,
      kind: 'from-reading',
      proposedById: people.nora.staffId,
      secondCheckRequired: true,
      outcome: null,
      working: { orderVersion: 1, policyVersion: 1, readingId, occasion: 'before-breakfast', units: 8 },
    })
    const got = await nora.get(`/doses/${doseId}`)
    const words = got.words()
    for (const text of [
      '8 units',
      'row 201–250 mg/dL: 4 units',
      'Meal part as ordered: 4 units',
      'version 1',
      'Call a second nurse',
      'Follow the signed order',
    ])
      expect(words).toContain(text)
    expect(await checkHtml(got.text)).toEqual([])
  })

  it('charts a tray that is here with the dose', async () => {
    const readingId = await takeReading(nora, stays.ines, '243')
    const doseId = await proposeDose(nora, readingId, { willEat: 'yes', tray: 'here', elsewhere: 'none' })
    expect(dose(world.store, doseId).inputs.trayServedAtMs).toBe(world.clock.now())
    expect(world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now())?.trays).toMatchObject([
      { meal: 'breakfast', servedAtMs: world.clock.now() },
    ])
  })

  it('holds only the meal part when not eating', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ines, '243'), {
      willEat: 'no',
      elsewhere: 'none',
    })
    expect(dose(world.store, doseId).units).toBe(4)
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('It is held and counts as 0 units.')
  })

  it('of 0 units needs no second check and is charted with its working', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '120'))
    expect(dose(world.store, doseId)).toMatchObject({
      units: 0,
      secondCheckRequired: false,
      outcome: { kind: 'zero-charted' },
    })
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('0 units, charted')
  })

  it('of 0 units is checked where policy requires it, and charted by the agreement', async () => {
    const { defaultPolicy } = await import('../../shared/policy/ward-policy.ts')
    const strict = await makeWorld({
      at: '2026-03-10T07:30',
      alderPolicy: { dose: { ...defaultPolicy('mg/dL', 'America/Chicago').dose, zeroNeedsSecondCheck: true } },
    })
    try {
      const client = await strict.signIn(people.nora)
      const doseId = await proposeDose(client, await takeReading(client, stays.ruth, '120'))
      expect(dose(strict.store, doseId)).toMatchObject({ secondCheckRequired: true, outcome: null })
      expect(
        (
          await client.post(`/doses/${doseId}/second-check`, {
            glucose: '120',
            units: '0',
            badge: people.omar.badge,
            pin: people.omar.pin,
          })
        ).status,
      ).toBe(303)
      expect(dose(strict.store, doseId)).toMatchObject({ outcome: { kind: 'zero-charted' } })
      expect((await client.get(`/doses/${doseId}`)).words()).toContain('0 units, charted')
      expect(strict.store.dosesAwaiting(ALL)).toEqual([])
    } finally {
      await strict.close()
    }
  })
})

describe('guards show what would release the dose, and nothing is charted', () => {
  const stops = async (
    readingId: string,
    words: readonly string[],
    stay: (typeof stays)[keyof typeof stays] = stays.ruth,
  ): Promise<void> => {
    const before = charted(world, stay)
    const got = await nora.get(`/readings/${readingId}/dose`)
    expect(got.status).toBe(200)
    for (const text of words) expect(got.words()).toContain(text)
    expect(await checkHtml(got.text)).toEqual([])
    const form = formTo(got.root(), `/readings/${readingId}/dose`)
    expect(form).toBeUndefined()
    const key = world.server.appContext.formKeys.make(people.nora.staffId, 'dose')
    const posted = await nora.postRaw(`/readings/${readingId}/dose`, { elsewhere: 'none', key })
    expect(posted.status).toBe(409)
    for (const text of words) expect(posted.words()).toContain(text)
    expect(charted(world, stay)).toBe(before)
  }

  it('no order', async () =>
    stops(await takeReading(nora, stays.tomas, '243'), ['No active insulin order'], stays.tomas))
  it('an unverified order', async () =>
    stops(
      await takeReading(nora, stays.yusuf, '243'),
      ['Nobody has verified', 'What would release it: A second person verifies'],
      stays.yusuf,
    ))
  it('a low', async () =>
    stops(await takeReading(nora, stays.ruth, '62'), [
      '62 mg/dL is below the low limit of 70 mg/dL',
      'Treat the low and recheck',
    ]))
  it('HI', async () =>
    stops(await takeReading(nora, stays.ruth, 'HI'), ['The meter shows HI', 'A laboratory value inside the order']))
  it('a meter without its control', async () =>
    stops(await takeReading(nora, stays.ruth, '243', { meterId: meters.alderNoControl.meterId }), [
      'can never lead to insulin',
      'Take a fresh reading with a meter',
    ]))
  it('an unconfirmed critical high', async () =>
    stops(await takeReading(nora, stays.ruth, '450'), ['450 mg/dL is critical', 'Repeat on another, cleaned finger']))
  it('a reading that is too old', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    world.clock.advance(61)
    // the idle lock ends the login after an hour
    nora = await world.signIn(people.nora)
    await stops(readingId, ['The reading is 1 h 1 min old; the limit is 1 h.', 'Take a fresh reading.'])
  })
  it('a newer reading', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    world.clock.advance(3)
    await takeExtra(nora, stays.ruth, '251', 'newer')
    await stops(readingId, ['A newer reading was taken at 07:33', 'Work from the newest reading'])
  })
  it('a tray too far ahead for a meal dose: asks whether the tray is here', async () => {
    world.clock.set('2026-03-10T07:10')
    const readingId = await takeReading(nora, stays.ines, '243')
    const before = charted(world, stays.ines)
    const got = await nora.post(`/readings/${readingId}/dose`, { willEat: 'yes', tray: 'expected', elsewhere: 'none' })
    expect(got.status).toBe(409)
    for (const text of ['The tray is expected at 08:00', 'Work it out again from 07:15'])
      expect(got.words()).toContain(text)
    expect(charted(world, stays.ines)).toBe(before)
    expect(
      (await nora.post(`/readings/${readingId}/dose`, { willEat: 'yes', tray: 'here', elsewhere: 'none' })).status,
    ).toBe(303)
  })
  it('a confirmed critical high for which the scale says to call', async () => {
    await takeReading(nora, stays.ruth, '450')
    world.clock.advance(4)
    await stops(await takeExtra(nora, stays.ruth, '440', 'repeat'), [
      'The scale gives no dose here: call the prescriber',
    ])
  })
})

it('refuses a second dose from one reading, under way or given', async () => {
  const readingId = await takeReading(nora, stays.ruth, '243')
  await proposeDose(nora, readingId)
  const key = world.server.appContext.formKeys.make(people.nora.staffId, 'dose')
  const again = await nora.postRaw(`/readings/${readingId}/dose`, { key })
  expect([again.status, again.words().includes('already under way')]).toEqual([409, true])
})

it('charts the same form once and answers it the same', async () => {
  const readingId = await takeReading(nora, stays.ruth, '243')
  const key = await nora.keyOf(`/readings/${readingId}/dose`)
  const fields = { elsewhere: 'none', key: key ?? '' }
  const [first, second] = await Promise.all([
    nora.postRaw(`/readings/${readingId}/dose`, fields),
    nora.postRaw(`/readings/${readingId}/dose`, fields),
  ])
  expect([first.status, second.status, second.location]).toEqual([303, 303, first.location])
  expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.doses).toHaveLength(1)
})

it('answers 404 for readings and doses of another ward', async () => {
  const readingId = await takeReading(nora, stays.ruth, '243')
  const doseId = await proposeDose(nora, readingId)
  const bo = await world.signIn(people.bo)
  for (const path of [
    `/readings/${readingId}/dose`,
    `/readings/${readingId}/direction`,
    `/doses/${doseId}`,
    `/doses/${doseId}/second-check`,
    `/doses/${doseId}/product`,
    `/doses/${doseId}/give`,
    `/doses/${doseId}/not-given`,
    `/doses/${doseId}/start-again`,
  ]) {
    expect([path, (await bo.get(path)).status]).toEqual([path, 404])
  }
  expect((await bo.get('/second-checks')).words()).not.toContain('Ashby')
})

it('reads the scale in tenths on a mmol/L ward', async () => {
  const bo = await world.signIn(people.bo)
  world.clock.set(Date.UTC(2026, 2, 10, 12, 0))
  const bea = await world.signIn(people.bo)
  const readingId = await takeReading(bea, stays.gwen, '11.2', { occasion: 'before-lunch' })
  const doseId = await proposeDose(bea, readingId)
  expect(dose(world.store, doseId).units).toBe(4)
  expect((await bea.get(`/doses/${doseId}`)).words()).toContain('row 11.2–13.8 mmol/L: 4 units')
  expect(bo).toBeDefined()
})

it('refuses 40 malformed posts with the form and charts nothing', async () => {
  const readingId = await takeReading(nora, stays.ruth, '243')
  const key = await nora.keyOf(`/readings/${readingId}/dose`)
  const before = charted(world, stays.ruth)
  const posts = malformedPosts({ elsewhere: 'none' }, key, 'elsewhere')
  expect(posts.length).toBeGreaterThanOrEqual(40)
  for (const { name, body } of posts)
    expect([name, (await nora.postRaw(`/readings/${readingId}/dose`, body)).status]).toEqual([name, 422])
  expect(charted(world, stays.ruth)).toBe(before)
})
