/** The Round over HTTP: order, masking, the scan box and paper sheets. */
import { afterEach, describe, expect, it } from 'vitest'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { wardDate } from '../../shared/time/zone.ts'
import type { Got } from '../support/client.ts'
import { attr, byClass, byId, byTag, checkHtml, errorOf, formsOf, textOf } from '../support/html.ts'
import { aDose, someInputs } from '../support/makers.ts'
import { people, type Person } from '../support/people.ts'
import { ALDER_ZONE, meters, stays } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
afterEach(() => world.close())

type TestStay = (typeof stays)[keyof typeof stays]
const DAY = '2026-03-10'
const key = (who: TestStay, slot = 'before-breakfast', date = DAY): string => `${who.stayId}.${date}.${slot}`

function append(
  type: EventType,
  who: TestStay,
  body: unknown,
  by: Person = people.nora,
  atMs = world.clock.now(),
): void {
  world.store.transact(() => {
    storeEvents(world.store, [
      {
        type,
        wardId: who.wardId,
        stayId: who.stayId,
        actorId: by.staffId,
        happenedAtMs: atMs,
        chartedAtMs: Math.max(atMs, world.clock.now()),
        body,
      } as LedgerEvent,
    ])
    return null
  })
}
let count = 0
function chart(who: TestStay, value: number, over: Partial<Reading> = {}, by: Person = people.nora): Reading {
  const takenAtMs = over.takenAtMs ?? world.clock.now()
  const reading: Reading = {
    readingId: `reading${String(++count).padStart(9, '0')}`,
    stayId: who.stayId,
    wardId: who.wardId,
    wardDate: wardDate(takenAtMs, ALDER_ZONE),
    checkKey: key(who),
    glucose: { unit: 'mg/dL', value },
    source: 'capillary',
    takenAtMs,
    chartedAtMs: world.clock.now(),
    byId: by.staffId,
    site: { hand: 'left', finger: 'middle' },
    meterId: meters.alder.meterId,
    stripLot: null,
    doubts: [],
    lateReason: null,
    extraReason: null,
    supersedes: null,
    supersededBy: null,
    voided: null,
    ...over,
  }
  append('reading-recorded', who, { reading } satisfies EventBodies['reading-recorded'], by, takenAtMs)
  return reading
}
function openLow(who: TestStay, value = 52): Reading {
  const reading = chart(who, value)
  append('low-event-opened', who, {
    lowId: `low${who.bed}`.padEnd(16, '0'),
    readingId: reading.readingId,
    previousLowId: null,
  } satisfies EventBodies['low-event-opened'])
  return reading
}

/** The rows of the list in order: bed, item, state. */
function rows(got: Got): string[] {
  const list = byId(got.root(), 'round-rows')
  if (list === null) return []
  return byClass(list, 'row').map(
    (row) => `${textOf(byClass(row, 'bed')[0] ?? row)} | ${textOf(byClass(row, 'round-what')[0] ?? row)}`,
  )
}
const rowOf = (got: Got, bed: string): string =>
  textOf(byClass(got.root(), 'row').find((row) => textOf(byClass(row, 'bed')[0] ?? row) === `Bed ${bed}`) ?? got.root())
const sections = (got: Got): string[] => byTag(got.root(), 'h2').map(textOf)

describe('the Round', () => {
  it('lists this round in walking order, with two identifiers, state in words, and links', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    const got = await client.get('/round')
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    expect(rows(got).map((row) => row.slice(0, 30))).toEqual([
      'Bed 5 | Before breakfast ▲ Lat',
      ...['1', '2', '3', '4', '6'].map((bed) => `Bed ${bed} | Before breakfast ◐ Ope`),
    ])
    expect(byTag(got.root(), 'h1').map(textOf)).toEqual(['Before breakfast, Tue 10 Mar 2026'])
    expect(rowOf(got, '4')).toContain('Dunne, Yusuf W7304 · born 21 Jun 1955')
    expect(rowOf(got, '4')).toContain('due 07:30, in 10 min')
    expect(rowOf(got, '4')).toContain('Not the left hand: drip')
    expect(got.words()).toContain('0 of 6 done, tray in 40 min')
    expect(byTag(got.root(), 'a').map((a) => attr(a, 'href'))).toContain(`/checks/${key(stays.yusuf)}`)
    expect(got.headers['cache-control']).toBe('no-store')
    expect(got.headers['etag']).toBeUndefined()
  })

  it('shows bedside facts for beds without a check in this round, too', async () => {
    world = await makeWorld({ at: `${DAY}T09:30` })
    const got = await (await world.signIn(people.nora)).get('/round')
    expect(sections(got)).toContain('Other beds')
    expect(got.words()).toContain('Ekström, Maud W7305 · born 8 Apr 1937 No check to do now Nil by mouth')
  })

  it('sorts low, recheck due, late, open, done', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    openLow(stays.leo)
    chart(stays.ruth, 112)
    const early = await client.get('/round')
    expect(rows(early)[0]).toBe('Bed 6 | Low at 07:20 ◆ Low, no treatment charted recheck in 15 min (07:35)')
    expect(rows(early).at(-2)).toMatch(/^Bed 1 \| Before breakfast ◑ Read, dose to work out/)
    expect(early.words()).toContain('2 of 6 done')
    world.clock.set(`${DAY}T08:05`)
    const later = await (await world.signIn(people.nora)).get('/round')
    expect(rows(later)[0]).toBe('Bed 6 | Low at 07:20 ◆ Low, no treatment charted recheck due since 07:35 (30 min)')
    expect(rows(later)[2]).toBe('Bed 2 | Before breakfast ▲ Late due 07:30, late since 08:00 (5 min)')
    // bed 5 is the latest: every 6 h, due 06:00
    expect(
      rows(later)
        .slice(1, 5)
        .map((row) => row.slice(0, 5)),
    ).toEqual(['Bed 5', 'Bed 2', 'Bed 3', 'Bed 4'])
    expect(await checkHtml(later.text)).toEqual([])
  })

  it('lists a treated low above late checks, with its remaining minutes', async () => {
    world = await makeWorld({ at: `${DAY}T08:10` })
    const client = await world.signIn(people.nora)
    openLow(stays.leo)
    append('low-treated', stays.leo, {
      lowId: 'low6'.padEnd(16, '0'),
      arm: 'by-mouth',
      amount: { kind: 'grams', grams: 15 },
      what: '15 g fast carbohydrate',
      directedBy: null,
    } satisfies EventBodies['low-treated'])
    const got = await client.get('/round')
    expect(
      rows(got)
        .slice(0, 2)
        .map((row) => row.slice(0, 54)),
    ).toEqual([
      'Bed 6 | Low at 08:10 ◔ Recheck to come recheck in 15 m',
      'Bed 5 | Before breakfast ▲ Late due 06:00, late since ',
    ])
  })

  it('is up to date at the next request after each write and each time limit', async () => {
    world = await makeWorld()
    // signs in anew each time, because the idle lock ends the login after some minutes
    const list = async (): Promise<string[]> => rows(await (await world.signIn(people.nora)).get('/round/list'))
    append('check-excused', stays.maud, {
      checkKey: key(stays.maud, 't0600'),
      reason: 'refused',
      note: '',
    } satisfies EventBodies['check-excused'])
    expect((await list())[0]).toMatch(/^Bed 1 .*Open/)
    chart(stays.ruth, 112)
    expect((await list()).at(-2)).toMatch(/^Bed 1 .*Read, dose to work out done 07:20/)
    world.clock.set(alderTime(`${DAY}T08:00`))
    expect((await list())[0]).toMatch(/^Bed 2 .*Open/)
    world.clock.set(alderTime(`${DAY}T08:00`) + 1)
    expect((await list())[0]).toMatch(/^Bed 2 .*Late/)
    world.clock.set(alderTime(`${DAY}T09:00`))
    expect((await list()).map((row) => row.slice(0, 5))).toEqual(['Bed 1', 'Bed 5'])
    // a clock set back (a restarted demo, a corrected machine) never gives a response from the future
    world.clock.set(alderTime(`${DAY}T07:30`))
    expect((await list())[0]).toMatch(/^Bed 2 .*Open/)
  })

  it('refreshes with the same list as the page', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    const whole = await client.get('/round')
    const part = await client.get('/round/list', { headers: { 'hx-request': 'true' } })
    const list = byId(whole.root(), 'round-list')
    expect(list === null ? null : textOf(list)).toBe(part.words())
    expect(whole.text).toContain(part.text)
    expect(await checkHtml(part.text)).toEqual([])
    // the refresh replaces no typed field
    expect(byTag(part.root(), 'input')).toEqual([])
    expect(byId(whole.root(), 'wristband')).not.toBeNull()
    expect([
      attr(byId(part.root(), 'round-list') ?? ({ attrs: [] } as never), 'hx-trigger'),
      attr(byId(part.root(), 'round-list') ?? ({ attrs: [] } as never), 'hx-target'),
    ]).toEqual(['every 15s', 'this'])
  })

  it('lists missed checks until they have a reason', async () => {
    world = await makeWorld({ at: `${DAY}T09:30` })
    const client = await world.signIn(people.nora)
    const before = await client.get('/round')
    expect(sections(before)).toContain('Missed: each needs a reason')
    expect(byTag(before.root(), 'a').map((a) => attr(a, 'href'))).toContain(`/checks/${key(stays.tomas)}/excuse`)
    append('check-excused', stays.tomas, {
      checkKey: key(stays.tomas),
      reason: 'off-the-ward',
      note: '',
    } satisfies EventBodies['check-excused'])
    const after = await client.get('/round')
    expect(byTag(after.root(), 'a').map((a) => attr(a, 'href'))).not.toContain(`/checks/${key(stays.tomas)}/excuse`)
    expect(rowOf(after, '2')).toContain('Excused Off the ward')
    expect(after.words()).toContain('1 of 6 done (1 excused)')
  })

  it('lists scheduled insulin in its hour with a link and without units', async () => {
    world = await makeWorld({ at: `${DAY}T19:59` })
    const client = await world.signIn(people.nora)
    const slot = `/stays/${stays.leo.stayId}/scheduled/${DAY}.2100.${stays.leo.orderId}`
    const early = await client.get('/round')
    expect(byTag(early.root(), 'a').map((a) => attr(a, 'href'))).not.toContain(slot)
    // the day before's dose was never given, so it is still listed
    expect(early.words()).toContain('insulin glargine, Mon 9 Mar, 21:00 ▲ Late')
    world.clock.set(`${DAY}T20:00`)
    const got = await client.get('/round')
    expect(sections(got)).toContain('Scheduled insulin')
    expect(byTag(got.root(), 'a').map((a) => attr(a, 'href'))).toContain(slot)
    expect(got.words()).toContain('insulin glargine, 21:00 ◐ Due')
    expect(got.words()).not.toContain('18 units')
  })
})

describe('own beds', () => {
  it('come first when taken; a low elsewhere is still listed', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    append('beds-taken', stays.ruth, {
      staffId: people.nora.staffId,
      beds: ['1', '3'],
    } satisfies EventBodies['beds-taken'])
    const mine = await client.get('/round')
    expect(rows(mine).map((row) => row.slice(0, 5))).toEqual(['Bed 1', 'Bed 3'])
    expect(mine.words()).toContain('0 of 2 done')
    expect(rows(await client.get('/round?beds=all')).length).toBe(6)
    openLow(stays.leo)
    const warned = await client.get('/round/list?beds=mine')
    expect(warned.words()).toContain('One low or missing tray waits on other beds.')
    expect(attr(byId(warned.root(), 'round-list') ?? ({ attrs: [] } as never), 'hx-get')).toBe('/round/list?beds=mine')
    // not another nurse's beds
    expect(rows(await (await world.signIn(people.omar)).get('/round')).length).toBe(7)
  })
})

describe('masking', () => {
  it('hides a reading that may lead to a dose from each possible second checker only', async () => {
    world = await makeWorld()
    const nora = await world.signIn(people.nora)
    const others = [await world.signIn(people.omar), await world.signIn(people.cora)]
    chart(stays.ruth, 317)
    for (const path of ['/round', '/round/list', '/print/round']) {
      // the value must be shown somewhere, or the test proves nothing
      expect((await nora.get(path)).text, path).toContain('317')
      for (const other of others) {
        const got = await other.get(path)
        expect(got.text, path).not.toContain('317')
        expect(got.words(), path).toContain('hidden: a dose may follow, none worked out yet')
      }
    }
    expect((await nora.get('/round')).text).toContain('317') // and again after others were served from memory
  })
  it('never applies to a low, or a value that leads to no dose', async () => {
    world = await makeWorld()
    const omar = await world.signIn(people.omar)
    openLow(stays.ruth, 53)
    chart(stays.tomas, 318) // no insulin order
    const got = await omar.get('/round')
    expect(got.words()).toContain('53 mg/dL')
    expect(got.words()).toContain('318 mg/dL')
  })
  it('ends when the reading is too old for a dose', async () => {
    world = await makeWorld()
    chart(stays.ruth, 317)
    world.clock.advance(60)
    const omar = await world.signIn(people.omar)
    expect((await omar.get('/round')).words()).toContain('hidden: a dose may follow, none worked out yet')
    expect((await omar.get('/round')).text).not.toContain('317')
    world.clock.advance(1)
    expect((await omar.get('/round')).words()).toContain('317 mg/dL')
  })
  it('shows no other ward, whoever loaded the page before', async () => {
    world = await makeWorld()
    const birch = await (await world.signIn(people.bo)).get('/round')
    const alder = await (await world.signIn(people.nora)).get('/round')
    expect(birch.words()).toContain('Farrow')
    expect(birch.words()).not.toMatch(/Dunne|W7304|Brandt/)
    expect(alder.words()).toContain('Dunne')
    expect(alder.words()).not.toMatch(/Farrow|W8801/)
  })
  it('asks for a ward first; educators and administrators have no Round', async () => {
    world = await makeWorld()
    const pia = await world.signIn(people.pia)
    expect((await pia.get('/round')).status).toBe(200)
    for (const path of ['/round', '/round/list', '/print/round', '/print/kit']) {
      expect((await (await world.signIn(people.edda)).get(path)).status, path).toBe(403)
      expect((await world.visitor().get(path)).location, path).toMatch(/^\/sign-in/)
    }
  })
})

describe('clocks and open tasks on the Round', () => {
  const alertsOf = (got: Got, bed: string): readonly string[] => {
    const row = byClass(got.root(), 'row').find((one) => textOf(byClass(one, 'bed')[0] ?? one) === `Bed ${bed}`)
    const list = row === undefined ? undefined : byClass(row, 'alerts')[0]
    return list === undefined ? [] : byTag(list, 'li').map(textOf)
  }
  const dueOf = (got: Got): readonly string[] => [...got.text.matchAll(/data-due="(\d+)"/g)].map(([, ms]) => ms ?? '')

  it.each(['HI', 'LO'] as const)(
    '%s waits for a laboratory value with a clock; a finger stick does not settle it',
    async (value) => {
      world = await makeWorld({ alderPolicy: { idleLockMin: 100_000 } })
      const client = await world.signIn(people.nora)
      const reading = chart(stays.tomas, 0, { glucose: { unit: 'mg/dL', value } })
      const text = `▲ ${value}: chart the laboratory’s value, by 08:20`
      const byMs = String(reading.takenAtMs + 60 * 60_000)
      const waiting = await client.get('/round')
      expect(alertsOf(waiting, '2')).toContain(text)
      expect(dueOf(waiting)).toContain(byMs)
      expect(await checkHtml(waiting.text)).toEqual([])
      // shown to everybody: LO and HI are never masked
      expect(alertsOf(await (await world.signIn(people.omar)).get('/round'), '2')).toContain(text)
      world.clock.advance(10)
      chart(stays.tomas, 320, { checkKey: null })
      expect(alertsOf(await client.get('/round'), '2')).toContain(text)
      chart(stays.tomas, 604, { checkKey: null, source: 'venous', meterId: null, site: null })
      const settled = await client.get('/round')
      expect(alertsOf(settled, '2')).not.toContain(text)
      expect(dueOf(settled)).not.toContain(byMs)
    },
  )

  it('shows every clock of a low, and its food after recovery, until charted', async () => {
    world = await makeWorld({ at: `${DAY}T03:00`, alderPolicy: { idleLockMin: 100_000 } })
    const client = await world.signIn(people.nora)
    const lowId = `low${stays.ruth.bed}`.padEnd(16, '0')
    openLow(stays.ruth)
    expect(alertsOf(await client.get('/round'), '1')).toEqual([
      '▲ Low: treat now, by 03:05',
      '▲ Low: tell the prescriber, by 03:30',
    ])
    append('low-treated', stays.ruth, {
      lowId,
      arm: 'by-mouth',
      amount: { kind: 'grams', grams: 20 },
      what: '',
      directedBy: null,
    } satisfies EventBodies['low-treated'])
    world.clock.advance(15)
    chart(stays.ruth, 96, { checkKey: `low.${lowId}.1` })
    const recovered = await client.get('/round')
    expect(alertsOf(recovered, '1')).toEqual([
      '▲ Recovered low: longer-acting carbohydrate, by 03:30',
      '▲ Low: tell the prescriber, by 03:30',
    ])
    expect(dueOf(recovered)).toContain(String(alderTime(`${DAY}T03:30`)))
    append('low-food-given', stays.ruth, { lowId, grams: 20, what: 'toast' } satisfies EventBodies['low-food-given'])
    append('low-told', stays.ruth, {
      lowId,
      told: 'Dr. Vera Kim',
      readBack: true,
      ordered: '',
    } satisfies EventBodies['low-told'])
    expect(alertsOf(await client.get('/round'), '1')).toEqual(['▲ Low: what to do next'])
  })

  it('level 3 asks for the emergency call first', async () => {
    world = await makeWorld({ at: `${DAY}T03:00` })
    const client = await world.signIn(people.nora)
    openLow(stays.ruth)
    append('low-level-3-found', stays.ruth, {
      lowId: `low${stays.ruth.bed}`.padEnd(16, '0'),
      finding: 'unresponsive-or-seizing',
    } satisfies EventBodies['low-level-3-found'])
    expect(alertsOf(await client.get('/round'), '1')[0]).toMatch(/^▲ Low: emergency call now, by 03:0/)
  })

  it('keeps an expired signed dose, without its number, until it is accounted for', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    const reading = chart(stays.ruth, 215)
    const dose = aDose({
      doseId: 'dose1'.padEnd(16, '0'),
      stayId: stays.ruth.stayId,
      wardId: stays.ruth.wardId,
      readingId: reading.readingId,
      units: 7,
      proposedById: people.nora.staffId,
      proposedAtMs: world.clock.now(),
      inputs: someInputs({ readingTakenAtMs: reading.takenAtMs }),
    })
    append('dose-proposed', stays.ruth, { dose })
    append(
      'second-check-answered',
      stays.ruth,
      {
        doseId: dose.doseId,
        answer: {
          byId: people.omar.staffId,
          atMs: world.clock.now(),
          glucose: reading.glucose,
          units: 7,
          agreed: true,
        },
      },
      people.omar,
    )
    append(
      'dose-verified',
      stays.ruth,
      {
        doseId: dose.doseId,
        byId: people.omar.staffId,
        insulin: dose.insulin,
        concentration: 'U-100',
        expiresOn: '2027-01-31',
        units: 7,
      },
      people.omar,
    )
    const says = '▲ A signed dose was overtaken: chart whether it was given. Until then no other is worked out'
    expect(alertsOf(await client.get('/round'), '1')).toEqual(['▲ Dose verified: give it now'])
    world.clock.advance(1)
    chart(stays.ruth, 230, { checkKey: null })
    const overtaken = await client.get('/round')
    expect(alertsOf(overtaken, '1')).toEqual([says])
    expect(overtaken.text).toContain(`href="/doses/${dose.doseId}"`)
    expect(rowOf(overtaken, '1')).not.toMatch(/\b7 units/)
    // the linked page takes the answer
    expect((await client.get(`/doses/${dose.doseId}`)).status).toBe(200)
    append('dose-not-given', stays.ruth, {
      doseId: dose.doseId,
      kind: 'withheld',
      reason: 'Overtaken',
    } satisfies EventBodies['dose-not-given'])
    // the same reading may give a new dose
    expect(alertsOf(await client.get('/round'), '1')).toEqual([
      expect.stringMatching(/^▲? ?Dose not worked out yet, by /),
    ])
  })
})

describe('a critical result that waits for its call', () => {
  const CALL = 'Critical result: the prescriber is not told yet'
  const places = ['/round', '/round/list', `/stays/${stays.ruth.stayId}`] as const

  it('is hidden from a possible second checker until the time for the call has passed', async () => {
    world = await makeWorld({ alderPolicy: { idleLockMin: 100_000 } })
    const [nora, omar, cora] = [
      await world.signIn(people.nora),
      await world.signIn(people.omar),
      await world.signIn(people.cora),
    ]
    chart(stays.ruth, 452)
    for (const place of places) {
      expect((await nora.get(place)).words(), place).toContain(CALL)
      for (const other of [omar, cora]) {
        const words = (await other.get(place)).words()
        expect(words, place).toContain('hidden: a dose may follow, none worked out yet')
        expect(words, place).not.toMatch(/critical|452/i)
      }
    }
    world.clock.advance(30)
    for (const place of places) expect((await omar.get(place)).words(), place).not.toContain(CALL)
    // then everybody sees it, because a missed call does more harm; the words do not say high or low
    world.clock.advance(1)
    for (const place of places) {
      const words = (await omar.get(place)).words()
      expect(words, place).toContain(CALL)
      expect(words, place).not.toMatch(/452|critical (high|low)/i)
    }
  })
  it('without a check is listed in “Other beds”, not as waiting, for those who may not know', async () => {
    world = await makeWorld({ at: `${DAY}T09:30` })
    chart(stays.maud, 452, { checkKey: null })
    const nora = await (await world.signIn(people.nora)).get('/round')
    const omar = await (await world.signIn(people.omar)).get('/round')
    const restOf = (got: Got): string =>
      byClass(got.root(), 'row')
        .map(textOf)
        .filter((row) => row.startsWith('Bed 5') && row.includes('No check to do now'))
        .join()
    expect(restOf(nora)).toContain(CALL)
    expect(sections(nora)).toContain('Also waiting')
    expect(restOf(omar)).toContain('Extra check')
    expect(omar.words()).not.toContain(CALL)
  })
  it('is listed for its own nurse, though another nurse took the repeat', async () => {
    world = await makeWorld()
    chart(stays.ruth, 452)
    world.clock.advance(5)
    chart(stays.ruth, 447, { checkKey: null }, people.omar)
    const [nora, omar, cora] = [
      await (await world.signIn(people.nora)).get('/round'),
      await (await world.signIn(people.omar)).get('/round'),
      await (await world.signIn(people.cora)).get('/round'),
    ]
    // listed once, by the earliest
    expect(nora.words().split(CALL)).toHaveLength(2)
    expect(rowOf(nora, '1')).toContain(`${CALL}, by 07:50`)
    expect(rowOf(nora, '1')).toContain('hidden: a dose may follow, none worked out yet')
    expect(rowOf(omar, '1')).toContain(CALL)
    expect(cora.words()).not.toContain(CALL)
  })
  it('is shown to everybody at once for a critical low, HI and readings without a dose', async () => {
    world = await makeWorld()
    openLow(stays.ruth, 38)
    chart(stays.yusuf, 0, { glucose: { unit: 'mg/dL', value: 'HI' } })
    chart(stays.tomas, 452) // no insulin order
    const omar = await (await world.signIn(people.omar)).get('/round')
    for (const bed of ['1', '2', '4']) expect(rowOf(omar, bed)).toContain(CALL)
  })
})

describe('the scan box', () => {
  it('opens the form of that patient’s check with the patient confirmed', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    await client.get('/round')
    const got = await client.postRaw('/scan', { wristband: ' W7304 ' })
    expect(got.status).toBe(200)
    expect(got.words()).toContain('Dunne')
    expect(await checkHtml(got.text)).toEqual([])
  })
  it('opens the recheck first', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    openLow(stays.leo)
    const got = await client.postRaw('/scan', { wristband: stays.leo.wristband })
    expect(got.status).toBe(200)
    expect(got.words()).toContain("O'Farrell")
    expect(formsOf(got.root()).map(({ action }) => action)).toContain(`/checks/low.${'low6'.padEnd(16, '0')}.1`)
  })
  it('offers an extra check when none is open', async () => {
    world = await makeWorld({ at: `${DAY}T05:10` })
    const client = await world.signIn(people.nora)
    const got = await client.postRaw('/scan', { wristband: stays.ruth.wristband })
    expect(got.status).toBe(200)
    expect(byTag(got.root(), 'a').map((a) => attr(a, 'href'))).toContain(`/stays/${stays.ruth.stayId}/extra`)
    expect(got.words()).toContain('The next one is due 07:30.')
    expect(await checkHtml(got.text)).toEqual([])
  })
  it.each([
    ['nobody’s', 'W0000', 'This wristband is not on this ward.'],
    ['of a ward she may not see', stays.gwen.wristband, 'This wristband is not on this ward.'],
  ])('stops at a wristband that is %s', async (_name, wristband, sentence) => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    const got = await client.postRaw('/scan', { wristband })
    expect(got.status).toBe(409)
    expect(got.words()).toContain(sentence)
    expect(got.words()).not.toContain('Farrow')
    expect(byClass(got.root(), 'loud').length).toBe(1)
    expect(await checkHtml(got.text)).toEqual([])
  })
  it('names only the bed for a patient of another own ward', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.pia)
    const got = await client.postRaw('/scan', { wristband: stays.gwen.wristband })
    expect(got.status).toBe(409)
    expect(got.words()).toContain('This wristband is bed A on Birch')
    expect(got.words()).not.toContain('Farrow')
  })
  it.each([
    ['nothing', {}],
    ['an empty field', { wristband: '  ' }],
    ['too much', { wristband: 'W'.repeat(41) }],
    ['a field that is none', { wristband: 'W7304', bed: '4' }],
    ['odd characters', { wristband: 'W7304\u0000' }],
  ])('refuses %s with a message', async (_name, fields) => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    const got = await client.postRaw('/scan', fields)
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'wristband')).not.toBeNull()
    expect(await checkHtml(got.text)).toEqual([])
  })
  it('redirects to the Round when its URL is reloaded', async () => {
    world = await makeWorld()
    expect((await (await world.signIn(people.nora)).get('/scan')).location).toBe('/round')
  })
})

describe('paper', () => {
  it('prints every bed, orders in full, blank columns and two signatures', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    chart(stays.tomas, 143)
    const got = await client.get('/print/round')
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    for (const who of [stays.ruth, stays.tomas, stays.ines, stays.yusuf, stays.maud, stays.leo]) {
      expect(got.words()).toContain(`Bed ${who.bed}: ${who.familyName}, ${who.givenName}`)
      expect(got.words()).toContain(`Wristband ${who.wristband}`)
    }
    expect(got.words()).toContain('143 mg/dL (07:20)')
    expect(got.words()).toContain('Repeat in 2 h')
    expect(got.words()).toContain('Call the prescriber')
    expect(got.words()).toContain('NOT VERIFIED by a second person: not to be used')
    expect(got.words()).toContain('No active insulin order.')
    expect(got.words()).toContain('Before breakfast, 07:30')
    expect(got.words()).toMatch(/First nurse signs Second nurse signs/)
    expect(got.words()).toContain('licensed judgement')
    expect(byTag(got.root(), 'button')).toEqual([])
    expect(byTag(got.root(), 'nav')).toEqual([])
  })
  it('counts kit for what is left and names meters that stay behind', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.nora)
    chart(stays.tomas, 143)
    const got = await client.get('/print/kit')
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toContain('Test strips 5 2')
    // beds 1, 3, 4 and 5 by their scales, bed 6 for last night's insulin glargine
    expect(got.words()).toContain('Insulin syringes (patients with an order) 5 1')
    expect(got.words()).toContain('M-4401 ✓ Usable')
    expect(got.words()).toContain('M-4402 ■ Not usable: today’s control is not done')
    expect(got.words()).toContain('■ Expired: do not use')
  })
})

describe('ward settings', () => {
  it('late trays move the round of that meal at once', async () => {
    world = await makeWorld({ at: `${DAY}T08:05` })
    const client = await world.signIn(people.nora)
    expect(rowOf(await client.get('/round'), '1')).toContain('▲ Late due 07:30, late since 08:00 (5 min)')
    world.store.transact(() => {
      const atMs = world.clock.now()
      storeEvents(world.store, [
        {
          type: 'tray-delayed',
          wardId: stays.ruth.wardId,
          stayId: null,
          actorId: people.cora.staffId,
          happenedAtMs: atMs,
          chartedAtMs: atMs,
          body: { date: DAY, meal: 'breakfast', minutes: 45 },
        },
      ])
      return null
    })
    const got = await client.get('/round')
    expect(rowOf(got, '1')).toContain('◐ Open due 08:15, in 10 min')
    expect(got.words()).toContain('tray in 40 min')
  })
  it('an unusual policy changes what is shown', async () => {
    world = await makeWorld({
      alderPolicy: { mealTimes: { ...defaultPolicy('mg/dL', ALDER_ZONE).mealTimes, breakfast: '08:30' } },
    })
    const got = await (await world.signIn(people.nora)).get('/round')
    expect(rows(got)[0]).toMatch(/^Bed 5/)
    expect(rows(got)[1]).toMatch(/^Bed 1 \| Before breakfast ○ Upcoming due 08:00, opens in 10 min/)
  })
})
