/** The ward board over HTTP: what it shows to whom, its stream, its forms, and all wards. */
import { mkdtempSync, rmSync } from 'node:fs'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { BoardStream } from '../support/board-stream.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byClass, checkHtml, errorOf, findAll, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { ALDER_ZONE, meters, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
const streams: BoardStream[] = []
afterEach(async () => {
  for (const stream of streams.splice(0)) stream.close()
  await world.close()
})

type TestStay = (typeof stays)[keyof typeof stays]
const DAY = '2026-03-10'

function append(type: EventType, who: TestStay | null, body: unknown, by: Person = people.nora): void {
  const atMs = world.clock.now()
  world.store.transact(() => {
    storeEvents(world.store, [
      {
        type,
        wardId: who?.wardId ?? ALDER,
        stayId: who?.stayId ?? null,
        actorId: by.staffId,
        happenedAtMs: atMs,
        chartedAtMs: atMs,
        body,
      } as LedgerEvent,
    ])
    return null
  })
}
let count = 0
function chart(who: TestStay, value: number | 'HI', by: Person = people.nora): Reading {
  const takenAtMs = world.clock.now()
  const reading: Reading = {
    readingId: `reading${String(++count).padStart(9, '0')}`,
    stayId: who.stayId,
    wardId: who.wardId,
    wardDate: wardDate(takenAtMs, ALDER_ZONE),
    checkKey: `${who.stayId}.${DAY}.before-breakfast`,
    glucose: { unit: 'mg/dL', value },
    source: 'capillary',
    takenAtMs,
    chartedAtMs: takenAtMs,
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
  }
  append('reading-recorded', who, { reading } satisfies EventBodies['reading-recorded'], by)
  return reading
}
function openLow(who: TestStay): void {
  append('low-event-opened', who, {
    lowId: `low${who.bed}`.padEnd(16, '0'),
    readingId: chart(who, 52).readingId,
    previousLowId: null,
  } satisfies EventBodies['low-event-opened'])
}
const take = (person: Person, beds: readonly string[]): void => {
  append('beds-taken', null, { staffId: person.staffId, beds } satisfies EventBodies['beds-taken'], person)
}

const parts = (got: Got, start: string): readonly string[] =>
  findAll(got.root(), (element) => (attr(element, 'data-part') ?? '').startsWith(start)).map(textOf)
const tiles = (got: Got): readonly string[] => parts(got, 'bed.')
const needs = (got: Got): readonly string[] => byClass(got.root(), 'need').map(textOf)
const tileOf = (got: Got, bed: string): string =>
  tiles(got).find((tile) => new RegExp(`^(Bed )?${bed} `).test(tile)) ?? ''

async function listen(): Promise<string> {
  await world.server.app.listen({ host: '127.0.0.1', port: 0 })
  return `http://127.0.0.1:${String((world.server.app.server.address() as AddressInfo).port)}`
}
async function watch(origin: string, client: Client, query = '', path = '/board/stream'): Promise<BoardStream> {
  const stream = await BoardStream.open(origin, client.cookies, query, path)
  streams.push(stream)
  return stream
}

describe('the board', () => {
  it('shows every bed in walking order below the open needs, each with age, owner and two links', async () => {
    world = await makeWorld()
    take(people.nora, ['1', '2', '3'])
    openLow(stays.ines)
    const got = await (await world.signIn(people.cora)).get('/board')
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    expect(tiles(got).map((tile) => tile.replace(/^Bed /, '').slice(0, 1))).toEqual([
      '1',
      '2',
      '3',
      '4',
      '5',
      '6',
      '7',
      '8',
    ])
    expect(needs(got)[0]).toMatch(
      /^Bed 3, Calder ◆ Low, no treatment charted since 07:20 by 07:25 Nora Lind Treat.*Hand over/,
    )
    const links = findAll(byClass(got.root(), 'need')[0] ?? got.root(), (element) => element.tagName === 'a').map((a) =>
      attr(a, 'href'),
    )
    expect(links).toEqual([
      `/stays/${stays.ines.stayId}`,
      '/lows/low3000000000000',
      '/board/hand?need=low.low3000000000000.treat.1',
    ])
    expect(needs(got).find((need) => need.startsWith('Bed 5'))).toContain('Nobody has this')
    expect(needs(got).find((need) => need.startsWith('Beds 4, 5, 6'))).toContain('No nurse in this shift')
    expect(needs(got).some((need) => need.startsWith(`Meter ${meters.alderNoControl.serial}`))).toBe(true)
    expect(needs(got).some((need) => need.startsWith('Bed 4, Dunne ◐ Insulin order not verified'))).toBe(true)
    expect(tileOf(got, '7')).toBe('7 Empty')
    expect(got.words()).toContain('A calculation and charting aid')
  })

  it('hides a reading from every possible second checker; all viewers get the same drawing', async () => {
    world = await makeWorld()
    chart(stays.ruth, 215)
    openLow(stays.ines)
    chart(stays.tomas, 133)
    for (const person of [people.nora, people.omar, people.cora, people.edda]) {
      const got = await (await world.signIn(person)).get('/board')
      expect(got.text, person.name).not.toContain('215')
      expect(tileOf(got, '1'), person.name).toContain('Read, dose to work out 07:20 07:20: value hidden')
      expect(tileOf(got, '3'), person.name).toContain('52 mg/dL, 07:20')
      // no order: no dose can follow from it
      expect(tileOf(got, '2'), person.name).toContain('133 mg/dL')
    }
    world.clock.advance(61)
    expect(tileOf(await (await world.signIn(people.omar)).get('/board'), '1')).toContain('215 mg/dL')
  })

  it('keeps a closed low on its bed’s tile for 12 hours', async () => {
    world = await makeWorld({ at: `${DAY}T03:10` })
    openLow(stays.ines)
    world.clock.advance(90)
    append('low-event-closed', stays.ines, {
      lowId: 'low3'.padEnd(16, '0'),
      cause: 'other',
      note: '',
    } satisfies EventBodies['low-event-closed'])
    const tile = async (): Promise<string> => tileOf(await (await world.signIn(people.cora)).get('/board'), '3')
    expect(await tile()).toContain('◇ low 03:10')
    world.clock.set(`${DAY}T15:09`)
    expect(await tile()).toContain('low 03:10')
    world.clock.set(`${DAY}T15:10`)
    expect(await tile()).not.toContain('low 03:10')
  })

  it('describes a late check alike on tile, needs, Round and handover', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.cora)
    const board = await client.get('/board')
    const both = 'due 06:00, late since 06:30'
    expect(tileOf(board, '5')).toContain(`▲ Late ${both}`)
    expect(needs(board).find((need) => need.startsWith('Bed 5'))).toContain(`▲ Check late ${both}`)
    for (const path of ['/round', '/handover'])
      expect((await client.get(path)).words(), path).toContain(`${both} (50 min)`)
  })

  it('assigns a reading without its dose to the nurse who took it; the bed is not done', async () => {
    world = await makeWorld()
    chart(stays.ruth, 215, people.omar)
    const seen = async (person: Person): Promise<readonly string[]> => {
      const got = await (await world.signIn(person)).get('/board')
      return [tileOf(got, '1'), needs(got).find((need) => need.startsWith('Bed 1')) ?? '']
    }
    for (const person of [people.nora, people.omar, people.cora]) {
      const [tile = '', need = ''] = await seen(person)
      expect(tile).toMatch(/^Bed 1 Ashby ◑ Read, dose to work out 07:20 07:20: value hidden ■ No nurse 2 waiting$/)
      expect(need).toMatch(/^Bed 1, Ashby ◑ Reading taken, dose not worked out since 07:20 by 08:00 Omar Reyes Open/)
    }
    for (const path of ['/handover', `/stays/${stays.ruth.stayId}`])
      expect((await (await world.signIn(people.nora)).get(path)).words(), path).toContain(
        'Dose not worked out yet, by 08:00',
      )
  })

  it('agrees with the Round for each bed, at every quarter of a day', async () => {
    world = await makeWorld({ at: `${DAY}T05:00`, alderPolicy: { idleLockMin: 60 } })
    const WORD: readonly (readonly [RegExp, RegExp])[] = [
      [/no treatment charted/, /Low: treat/],
      [/Recheck now/, /Recheck now/],
      [/Late/, /Late/],
      [/Open/, /Open/],
      [/Upcoming/, /Upcoming|Missed/],
      [/Done/, /Done|Missed/],
      [/Read, dose to work out/, /Read, dose to work out/],
      [/Excused/, /Excused|Missed/],
    ]
    let compared = 0
    for (let quarter = 0; quarter < 64; quarter++) {
      const client = await world.signIn(people.cora)
      if (quarter === 9) openLow(stays.leo)
      if (quarter === 10) chart(stays.ruth, 112)
      const [round, board] = [await client.get('/round?beds=all'), await client.get('/board')]
      const seen = new Set<string>()
      for (const row of byClass(round.root(), 'row').filter((one) => !(attr(one, 'class') ?? '').includes('side'))) {
        const bed = /^Bed (\S+)/.exec(textOf(byClass(row, 'bed')[0] ?? row))?.[1] ?? ''
        const said = textOf(byClass(row, 'round-what')[0] ?? row)
        if (seen.has(bed)) continue
        seen.add(bed)
        const pair = WORD.find(([onRound]) => onRound.test(said))
        if (pair === undefined) continue
        expect(tileOf(board, bed), `${bed} ${said}`).toMatch(pair[1])
        compared++
      }
      world.clock.advance(15)
    }
    expect(compared).toBeGreaterThan(200)
  })

  it('offers only actions of the reader’s role, and shows other wards to nobody', async () => {
    world = await makeWorld()
    const viewer = async (person: Person): Promise<string | null> =>
      attr(byClass((await (await world.signIn(person)).get('/board')).root(), 'board')[0] ?? (null as never), 'class')
    expect(await viewer(people.cora)).toBe('board charge')
    expect(await viewer(people.nora)).toBe('board nurse')
    expect(await viewer(people.edda)).toBe('board reader')
    const birch = await (await world.signIn(people.bo)).get('/board')
    expect(birch.words()).toContain('Birch board')
    expect(birch.words()).not.toContain('Ashby')
    expect((await (await world.signIn(people.anna)).get('/board')).status).toBe(403)
  })

  it('shows the pace of each list, or "not enough yet"', async () => {
    world = await makeWorld({ at: `${DAY}T06:40` })
    take(people.nora, ['1', '2', '3', '4', '6'])
    expect((await (await world.signIn(people.cora)).get('/board')).words()).toContain(
      'Not enough yet: 0 of 4 finished checks',
    )
    for (const who of [stays.ruth, stays.tomas, stays.ines, stays.yusuf]) {
      chart(who, 112)
      world.clock.advance(5)
    }
    const got = await (await world.signIn(people.cora)).get('/board')
    expect(got.words()).toMatch(/Nora Lind beds 1–4, 6 4 of 5 07:00, 5 min a bed ✓ In time/)
    expect(got.words()).toContain('Assumed:')
  })
})

describe('the stream', () => {
  it('sends nothing twice, and each change within two seconds, changed parts only', async () => {
    world = await makeWorld()
    const origin = await listen()
    const client = await world.signIn(people.cora)
    const page = await client.get('/board')
    const version = attr(byClass(page.root(), 'board')[0] ?? (null as never), 'data-version') ?? ''
    const stream = await watch(origin, client, `?version=${version}`)
    expect(stream.headers.get('content-type')).toBe('text/event-stream; charset=utf-8')
    expect(stream.headers.get('cache-control')).toBe('no-store')
    expect(stream.headers.get('content-security-policy')).toContain("default-src 'none'")
    await stream.next('beat')
    expect(stream.messages.map(({ event }) => event)).toEqual(['pass', 'beat'])
    chart(stays.tomas, 133)
    const { data } = await stream.next('change')
    expect(data.put?.map(([part]) => part)).toEqual(expect.arrayContaining(['head', 'bed.1']))
    expect(data.put?.some(([part]) => part === 'bed.0')).toBe(false)
    const again = await client.get('/board')
    for (const [part, html] of data.put ?? []) expect(again.text, part).toContain(html.trim())
    // a page drawn in between takes no change from the streams
    chart(stays.ruth, 112)
    await client.get('/board')
    const second = await stream.next('change', stream.messages.length)
    expect(second.data.put?.map(([part]) => part)).toContain('bed.0')
  })

  it('sends the whole board for an unknown version, and several writes as one change', async () => {
    world = await makeWorld()
    const origin = await listen()
    const stream = await watch(origin, await world.signIn(people.nora))
    const { data } = await stream.next('full')
    expect(data.put?.filter(([part]) => part.startsWith('bed.'))).toHaveLength(8)
    for (const who of [stays.ruth, stays.tomas, stays.ines]) chart(who, 112)
    const change = await stream.next('change')
    expect(change.data.put?.map(([part]) => part)).toEqual(expect.arrayContaining(['bed.0', 'bed.1', 'bed.2']))
    expect(stream.messages.filter(({ event }) => event === 'change')).toHaveLength(1)
  })

  it('sends a change caused by the clock alone', async () => {
    world = await makeWorld()
    const origin = await listen()
    const stream = await watch(origin, await world.signIn(people.nora))
    await stream.next('full')
    world.clock.stepWardTime(45)
    const { data } = await stream.next('change')
    expect(data.put?.find(([part]) => part === 'bed.0')?.[1]).toContain('Late')
  })

  it('does not send writes of another ward', async () => {
    world = await makeWorld()
    const origin = await listen()
    const stream = await watch(origin, await world.signIn(people.bo))
    await stream.next('full')
    chart(stays.ruth, 112)
    await stream.next('beat')
    expect(stream.messages.map(({ event }) => event)).toEqual(['pass', 'full', 'beat'])
  })

  it('says why and ends without a login, role or ward; as a page it redirects', async () => {
    world = await makeWorld()
    const origin = await listen()
    const nobody = await watch(origin, world.visitor())
    expect((await nobody.next('ended')).data.reason).toBe('login')
    const administrator = await watch(origin, await world.signIn(people.anna))
    expect((await administrator.next('ended')).data.reason).toBe('ward')
    const noWard = world.visitor()
    await noWard.postRaw('/sign-in', { badge: people.pia.badge, pin: people.pia.pin })
    expect((await (await watch(origin, noWard)).next('ended')).data.reason).toBe('ward')
    const asPage = await (await world.signIn(people.nora)).get('/board/stream')
    expect([asPage.status, asPage.location]).toEqual([303, '/board'])
  })

  it.each<[string, string, (client: Client) => unknown]>([
    ['signing out', 'login', (client) => client.postRaw('/sign-out', {})],
    [
      'the lock of her badge',
      'login',
      () => {
        append('staff-locked', null, { staffId: people.nora.staffId, reason: 'lost' }, people.anna)
      },
    ],
    [
      'the ward taken from her',
      'ward',
      () => {
        append(
          'staff-changed',
          null,
          { staffId: people.nora.staffId, name: people.nora.name, role: 'floor-nurse', wardIds: [BIRCH] },
          people.anna,
        )
      },
    ],
    [
      'a role without a board',
      'ward',
      () => {
        append(
          'staff-changed',
          null,
          { staffId: people.nora.staffId, name: people.nora.name, role: 'administrator', wardIds: [] },
          people.anna,
        )
      },
    ],
    [
      'nobody using the login, which a stream does not',
      'login',
      () => {
        world.clock.advance(11)
      },
    ],
  ])('ends on %s', async (_name, reason, act) => {
    world = await makeWorld({ alderPolicy: { idleLockMin: 10 } })
    const origin = await listen()
    const client = await world.signIn(people.nora)
    const stream = await watch(origin, client)
    await stream.next('full')
    await act(client)
    expect((await stream.next('ended')).data.reason).toBe(reason)
  })

  it('allows three boards for each login: a fourth ends the first', async () => {
    world = await makeWorld()
    const origin = await listen()
    const client = await world.signIn(people.nora)
    const opened: BoardStream[] = []
    for (let one = 0; one < 4; one++) {
      opened.push(await watch(origin, client))
      await opened[one]?.next('full')
    }
    expect((await opened[0]?.next('ended'))?.data.reason).toBe('elsewhere')
    expect(opened.slice(1).map(({ closed }) => closed)).toEqual([false, false, false])
    const other = await watch(origin, await world.signIn(people.omar))
    await other.next('full')
    expect(opened[1]?.closed).toBe(false)
  })

  it('closes with open boards, and resumes read-only by pass until the login ends', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'ward-board-'))
    const file = join(folder, 'ward.sqlite')
    world = await makeWorld({ file, alderPolicy: { idleLockMin: 10 } })
    const client = await world.signIn(people.nora)
    const stream = await watch(await listen(), client)
    const pass = (await stream.next('pass')).data.pass ?? ''
    await world.close()
    await expect.poll(() => stream.closed).toBe(true)

    world = await makeWorld({ file, at: `${DAY}T07:25` })
    const origin = await listen()
    await (await watch(origin, client, `?version=old&pass=${pass}`)).next('full')
    const forged = [
      `${String(Number(pass.split('.')[0]) + 1)}.${pass.split('.')[1] ?? ''}`,
      'x',
      '',
      `${pass}0`,
      pass.replace(/.$/, (last) => (last === '0' ? '1' : '0')),
    ]
    for (const one of forged)
      expect((await (await watch(origin, client, `?pass=${one}`)).next('ended')).data.reason, one).toBe('login')
    const other = world.visitor()
    expect((await (await watch(origin, other, `?pass=${pass}`)).next('ended')).data.reason).toBe('login')
    const visitor = world.visitor()
    for (const [name, value] of client.cookies) visitor.cookies.set(name, value)
    expect((await visitor.get('/board')).location).toMatch(/^\/sign-in/)
    world.clock.set(`${DAY}T07:30`)
    expect((await (await watch(origin, client, `?pass=${pass}`)).next('ended')).data.reason).toBe('login')
    rmSync(folder, { recursive: true })
  })
})

describe('bed assignment', () => {
  const all = (client: Client): Promise<Got> => client.get('/board/assign')
  const fieldsOf = async (
    client: Client,
    change: Readonly<Record<string, string>>,
  ): Promise<Record<string, string>> => {
    const root = (await all(client)).root()
    const seen = attr(findAll(root, (element) => attr(element, 'name') === 'seen')[0] ?? (null as never), 'value') ?? ''
    return {
      seen,
      ...Object.fromEntries(['1', '2', '3', '4', '5', '6', '7', '8'].map((bed) => [`bed.${bed}`, ''])),
      ...change,
    }
  }
  const takenNow = (): unknown =>
    Object.fromEntries(
      (
        world.store.wardFacts(
          { staffId: people.cora.staffId, role: 'charge-nurse', wardIds: [ALDER] },
          ALDER,
          world.clock.now(),
        )?.bedsTaken ?? []
      ).map(({ staffId, beds }) => [staffId, beds]),
    )

  it('charts each nurse’s beds once for each key, and the board shows it', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.cora)
    const key = (await client.keyOf('/board/assign')) ?? ''
    const fields = {
      ...(await fieldsOf(client, {
        'bed.1': people.nora.staffId,
        'bed.2': people.omar.staffId,
        'bed.3': people.omar.staffId,
      })),
      key,
    }
    expect((await client.postRaw('/board/assign', fields)).location).toBe('/board')
    expect((await client.postRaw('/board/assign', fields)).location).toBe('/board')
    expect(takenNow()).toEqual({ [people.nora.staffId]: ['1'], [people.omar.staffId]: ['2', '3'] })
    expect(tileOf(await client.get('/board'), '2')).toContain('Omar Reyes')
    // the nurse's own Round has them
    expect((await (await world.signIn(people.omar, { wardId: ALDER })).get('/round')).status).toBe(200)
  })

  it('does not fill in the previous shift’s list, names it, and shows its beds as unassigned', async () => {
    world = await makeWorld({ at: `${DAY}T03:00` })
    take(people.nora, ['1'])
    world.clock.set(`${DAY}T07:20`)
    const client = await world.signIn(people.cora)
    expect((await all(client)).words()).toContain('Before this shift: Nora Lind')
    expect(tileOf(await client.get('/board'), '1')).toContain('No nurse, earlier Nora Lind')
  })

  it('refuses unknown nurses, other wards, conflicts and no change; keeps what was typed', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.cora)
    const stranger = await client.post(
      '/board/assign',
      await fieldsOf(client, { 'bed.1': people.bo.staffId, 'bed.2': people.omar.staffId }),
    )
    expect(stranger.status).toBe(422)
    expect(errorOf(stranger.root(), 'bed.1')).toContain('no nurse of this ward')
    expect(
      findAll(
        stranger.root(),
        (element) => attr(element, 'selected') !== null && attr(element, 'value') === people.omar.staffId,
      ),
    ).toHaveLength(1)
    expect((await client.post('/board/assign', await fieldsOf(client, {}))).words()).toContain('Nothing is different')
    expect(
      (await client.post('/board/assign', { ...(await fieldsOf(client, {})), 'bed.99': people.omar.staffId })).status,
    ).toBe(422)
    const drawn = await fieldsOf(client, { 'bed.1': people.omar.staffId })
    take(people.nora, ['1'])
    const late = await client.post('/board/assign', drawn)
    expect(late.status).toBe(409)
    expect(late.words()).toContain('Somebody took or gave out beds')
    expect(takenNow()).toEqual({ [people.nora.staffId]: ['1'] })
  })

  it('answers 403 to all but charge nurses, and charts one of two lists sent at once', async () => {
    world = await makeWorld()
    for (const person of [people.nora, people.edda, people.anna])
      expect((await (await world.signIn(person)).get('/board/assign')).status, person.name).toBe(403)
    const [one, two] = [await world.signIn(people.cora), await world.signIn(people.cora)]
    const [a, b] = [
      await fieldsOf(one, { 'bed.1': people.nora.staffId }),
      await fieldsOf(two, { 'bed.1': people.omar.staffId }),
    ]
    const answers = await Promise.all([one.post('/board/assign', a), two.post('/board/assign', b)])
    expect(answers.map(({ status }) => status).sort()).toEqual([303, 409])
  })

  it('stores nothing from a malformed form', async () => {
    world = await makeWorld()
    const client = await world.signIn(people.cora)
    const good = await fieldsOf(client, { 'bed.1': people.nora.staffId })
    for (const { name, body } of malformedPosts(good, await client.keyOf('/board/assign'), 'bed.1')) {
      const got = await client.postRaw('/board/assign', body)
      expect(got.status, name).toBeLessThan(500)
      expect(got.status, name).toBeGreaterThanOrEqual(400)
    }
    expect(takenNow()).toEqual({})
  })
})

describe('handing over a need', () => {
  const KEY = 'low.low3000000000000.treat.1'
  it('charts the new owner once, and the board names that nurse', async () => {
    world = await makeWorld()
    openLow(stays.ines)
    const client = await world.signIn(people.nora)
    const form = await client.get(`/board/hand?need=${KEY}`)
    expect(form.words()).toMatch(/Bed 3, Calder ?: Low, no treatment charted/)
    const key = (await client.keyOf('/board/hand', `/board/hand?need=${KEY}`)) ?? ''
    for (let sent = 0; sent < 2; sent++)
      expect((await client.postRaw('/board/hand', { key, need: KEY, to: people.omar.staffId })).location).toBe('/board')
    expect(needs(await client.get('/board'))[0]).toContain('Omar Reyes (handed over)')
  })

  it('refuses an empty or unknown nurse, the present owner, and a need that is closed', async () => {
    world = await makeWorld()
    openLow(stays.ines)
    const client = await world.signIn(people.nora)
    const post = (to: string, need = KEY): Promise<Got> =>
      client.post('/board/hand', { need, to }, { from: `/board/hand?need=${KEY}` })
    for (const [to, sentence] of [
      ['', 'Choose who sees to it'],
      [people.bo.staffId, 'no nurse of the ward'],
    ] as const) {
      const got = await post(to)
      expect(got.status).toBe(422)
      expect(errorOf(got.root(), 'to')).toContain(sentence)
    }
    await post(people.omar.staffId)
    expect((await post(people.omar.staffId)).status).toBe(409)
    const gone = await post(people.omar.staffId, 'low.gone.treat.1')
    expect(gone.status).toBe(409)
    expect(gone.words()).toContain('does not wait any more')
    expect((await (await world.signIn(people.edda)).get('/board/hand')).status).toBe(403)
    // a need of another ward is not found here
    expect(
      (await (await world.signIn(people.bo)).post('/board/hand', { need: KEY, to: people.bo.staffId })).status,
    ).toBe(409)
  })

  it('stores nothing from a malformed form', async () => {
    world = await makeWorld()
    openLow(stays.ines)
    const client = await world.signIn(people.nora)
    for (const { name, body } of malformedPosts(
      { need: KEY, to: people.omar.staffId },
      await client.keyOf('/board/hand'),
      'to',
    )) {
      const got = await client.postRaw('/board/hand', body)
      expect([400, 409, 413, 422], name).toContain(got.status)
    }
    expect(world.store.handedNeeds({ staffId: '', role: 'charge-nurse', wardIds: [ALDER] }, ALDER).size).toBe(0)
  })
})

describe('all wards', () => {
  it('shows one line for each of the person’s own wards', async () => {
    world = await makeWorld({ at: `${DAY}T08:10` })
    openLow(stays.ines)
    const lines = async (person: Person): Promise<readonly string[]> =>
      findAll((await (await world.signIn(person)).get('/board/wards')).root(), (element) => element.tagName === 'tr')
        .slice(1)
        .map(textOf)
    const educator = await lines(people.edda)
    expect(educator).toHaveLength(2)
    expect(educator[0]).toMatch(/^Alder Before breakfast Due now 5 Late ▲ 5 Lows open ◆ 1 Criticals not told/)
    expect(await lines(people.bo)).toHaveLength(1)
    // so that one line does not look like a broken page
    for (const [person, count] of [
      [people.edda, 2],
      [people.bo, 1],
    ] as const)
      expect((await (await world.signIn(person)).get('/board/wards')).words()).toContain(`Your wards: ${String(count)}`)
  })

  const LINES = '/board/wards/stream'
  it('streams all lines at once, then only the line that changed', async () => {
    world = await makeWorld()
    const origin = await listen()
    const educator = await watch(origin, await world.signIn(people.edda), '', LINES)
    const bo = await watch(origin, await world.signIn(people.bo), '', LINES)
    const full = await educator.next('full')
    expect(full.data.put?.map(([part]) => part).sort()).toEqual([`ward.${ALDER}`, `ward.${BIRCH}`].sort())
    expect((await bo.next('full')).data.put?.map(([part]) => part)).toEqual([`ward.${BIRCH}`])
    openLow(stays.ines)
    const { data } = await educator.next('change')
    expect(data.put?.map(([part]) => part)).toEqual([`ward.${ALDER}`])
    expect(data.put?.[0]?.[1]).toMatch(
      /Lows open<\/span> <strong class="loud-number"><span aria-hidden="true">◆<\/span> 1/,
    )
    // what is sent is what the page has
    expect((await (await world.signIn(people.edda)).get('/board/wards')).text).toContain(data.put?.[0]?.[1].trim())
    await bo.next('beat')
    expect(bo.messages.map(({ event }) => event)).toEqual(['pass', 'full', 'beat'])
  })

  it('receives one heartbeat for all wards, and is not a ward’s board', async () => {
    world = await makeWorld()
    const origin = await listen()
    const client = await world.signIn(people.edda)
    const stream = await watch(origin, client, '', LINES)
    const board = await watch(origin, client)
    await board.next('full')
    await stream.next('beat')
    await board.next('beat')
    expect(stream.messages.map(({ event }) => event)).toEqual(['pass', 'full', 'beat'])
    chart(stays.tomas, 133)
    await board.next('change')
    expect(stream.messages.flatMap(({ data }) => data.put ?? []).every(([part]) => part.startsWith('ward.'))).toBe(true)
    expect(board.messages.flatMap(({ data }) => data.put ?? []).some(([part]) => part.startsWith('ward.'))).toBe(false)
  })

  it('ends without a login, and when a ward is taken from the person', async () => {
    world = await makeWorld()
    const origin = await listen()
    expect((await (await watch(origin, world.visitor(), '', LINES)).next('ended')).data.reason).toBe('login')
    const stream = await watch(origin, await world.signIn(people.edda), '', LINES)
    await stream.next('full')
    append(
      'staff-changed',
      null,
      {
        staffId: people.edda.staffId,
        name: people.edda.name,
        role: people.edda.role,
        wardIds: [BIRCH],
      } satisfies EventBodies['staff-changed'],
      people.cora,
    )
    openLow(stays.ines)
    expect((await stream.next('ended')).data.reason).toBe('ward')
    expect(stream.messages.filter(({ event }) => event === 'change')).toEqual([])
  })
})
