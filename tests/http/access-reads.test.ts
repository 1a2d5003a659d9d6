/** Each page that shows a patient writes to the access log, and no other page does. The tests walk the route table. */
import { afterEach, describe, expect, it } from 'vitest'
import { routeTable } from '../../server/http/route.ts'
import type { RouteSpec } from '../../server/http/route-spec.ts'
import type { AccessEntry } from '../../server/store/contract.ts'
import { PATIENT_PAGES, WARD_PAGES, pageWords } from '../../views/words/access.ts'
import { BoardStream } from '../support/board-stream.ts'
import { ALL, DATE, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { lots, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let entries: AccessEntry[] = []
afterEach(() => world.close())

/** A ward with a reading, a dose, a low, a flag and an order for every id that a path can contain. */
type Ids = {
  readonly reading: string
  readonly low: string
  readonly lowReading: string
  readonly dose: string
  readonly flag: string
}

async function openWard(): Promise<Ids> {
  entries = []
  world = await makeWorld({
    alderPolicy: { idleLockMin: 100_000 },
    wrapStore: (store) =>
      Object.assign(Object.create(store) as typeof store, {
        logAccess: (batch: readonly AccessEntry[]) => {
          entries.push(...batch)
          store.logAccess(batch)
        },
      }),
  })
  const nora = await world.signIn(people.nora)
  const reading = await takeReading(nora, stays.ruth, '215')
  const dose = await proposeDose(nora, reading)
  const lowReading = await takeReading(nora, stays.ines, '45')
  const low = world.store.stayFacts(ALL, stays.ines.stayId, world.clock.now())?.lows[0]?.lowId ?? ''
  // voiding the value while its low is open sets a flag
  const other = await takeReading(nora, stays.tomas, '44')
  await nora.post(`/readings/${other}/void`, { reason: 'Taken from the patient in bed 5' })
  const flag =
    world.store.stayFacts(ALL, stays.tomas.stayId, world.clock.now())?.openItems.find(({ kind }) => kind === 'flag')
      ?.itemId ?? ''
  expect([reading, dose, low, lowReading, flag].filter((id) => id === '')).toEqual([])
  const answers = [
    await nora.post(`/stays/${stays.leo.stayId}/plan`, {
      times: '',
      onceAt: '',
      from: '',
      until: '',
      kind: 'overnight',
    }),
    await nora.post(`/stays/${stays.maud.stayId}/discharge`, { at: '07:10' }),
  ]
  expect(answers.map(({ status }) => status)).toEqual([303, 303])
  world.server.appContext.accessLog.flush()
  entries.length = 0
  return { reading, low, lowReading, dose, flag }
}

const WHO: Readonly<Record<string, Person>> = {
  'floor-nurse': people.nora,
  'charge-nurse': people.cora,
  educator: people.edda,
  administrator: people.anna,
}
const whoMay = ({ roles }: RouteSpec): Person =>
  roles === 'anyone' ? people.nora : (WHO[roles[0] ?? ''] ?? people.nora)

/** The pattern's path for the named patient. Null: the path names no patient. */
function addressOf(pattern: string, ids: Ids): { readonly path: string; readonly stayId: string | null } {
  const { ruth, ines, tomas, leo, yusuf, maud } = stays
  const to = (path: string, stayId: string | null): { readonly path: string; readonly stayId: string | null } => ({
    path,
    stayId,
  })
  const day = `ward=${ALDER}&from=${DATE}T00:00&to=${DATE}T07:30`
  switch (pattern) {
    case '/second-checks':
    case '/handover':
    case '/print/handover':
    case '/print/round':
      return to(pattern, ruth.stayId)
    case '/audit/shift':
    case '/print/audit/shift':
      return to(`${pattern}?${day}`, ines.stayId)
    case '/recall':
      return to(`/recall?meter=&lot=${lots.good}&from=2026-03-09T00:00&to=2026-03-11T00:00`, ruth.stayId)
    case '/audit/measures':
    case '/audit/export':
    case '/setup/beds/:bed/admit':
      return to(pattern.replace(':bed', '7'), null)
    case '/flags/:itemId':
      return to(`/flags/${ids.flag}`, tomas.stayId)
    case '/stays/:stayId/tasks/:taskKey':
      return to(`/stays/${ines.stayId}/tasks/basal-not-ordered.${ines.stayId}`, ines.stayId)
    case '/stays/:stayId/scheduled/:slot':
      return to(`/stays/${leo.stayId}/scheduled/${DATE}.2100`, leo.stayId)
    case '/setup/discharged/:stayId/readmit':
      return to(`/setup/discharged/${maud.stayId}/readmit`, maud.stayId)
    case '/stays/:stayId/plan/:version/end':
      return to(`/stays/${leo.stayId}/plan/2/end`, leo.stayId)
    case '/orders/:orderId/:version/verify':
      return to(`/orders/${yusuf.orderId}/1/verify`, yusuf.stayId)
    default:
      break
  }
  if (pattern.includes('/lows/')) return to(pattern.replace(':lowId', ids.low), ines.stayId)
  if (pattern.includes('/readings/')) {
    const isLow = pattern.endsWith('critical-call') || pattern.endsWith('direction')
    return to(pattern.replace(':id', isLow ? ids.lowReading : ids.reading), isLow ? ines.stayId : ruth.stayId)
  }
  return to(
    pattern
      .replace(':stayId', ruth.stayId)
      .replace(':orderId', ruth.orderId)
      .replace(':version', '1')
      .replace('/doses/:id', `/doses/${ids.dose}`)
      .replace(':key', `${ruth.stayId}.${DATE}.before-breakfast`),
    ruth.stayId,
  )
}

/** Pages that show no patient of a ward. Each is listed by name, so that a new page needs a decision. */
const SHOW_NO_PATIENT = new Set([
  '/',
  '/ward',
  '/my-pin',
  '/setup',
  '/setup/people',
  '/setup/people/new',
  '/setup/people/:staffId',
  '/setup/people/:staffId/role',
  '/setup/people/:staffId/badge',
  '/setup/people/:staffId/lock',
  '/setup/people/:staffId/unlock',
  '/setup/people/:staffId/leave',
  '/setup/people/:staffId/training',
  '/setup/people/:staffId/pin-code',
  '/board/wards',
  '/board/wards/stream',
  '/setup/standard-orders',
  '/setup/standard-orders/new',
  '/setup/standard-orders/:id',
  '/setup/standard-orders/:id/approve',
  '/setup/standard-orders/:id/withdraw',
  '/orders/preview',
  '/audit',
  '/audit/rates',
  '/audit/export/columns',
  '/setup/meters',
  '/setup/meters/new',
  '/setup/meters/:meterId',
  '/setup/meters/:meterId/controls',
  '/setup/meters/:meterId/move',
  '/setup/meters/:meterId/retire',
  '/setup/meters/:meterId/comparisons',
  '/setup/strips',
  '/setup/strips/new',
  '/setup/wards',
  '/setup/wards/new',
  '/setup/wards/:wardId/beds',
  '/setup/wards/:wardId/policy',
  '/setup/wards/:wardId/policy/:part',
  '/setup/policy-changes/:changeId',
  // names patients by wristband number; it is logged as a report
  '/setup/access',
  '/setup/access/report',
  '/setup/access/file',
  // shows the state of the service
  '/setup/service',
])

/** Names, wristbands and dates of birth that no page may show without a log entry. */
const MARKS = Object.values(stays).flatMap(({ familyName, wristband }) => [familyName, wristband])

describe('the route table', () => {
  it('puts every route for people in exactly one list, with its label', async () => {
    await openWard()
    const patterns = [
      ...new Set(
        routeTable(world.server)
          .filter(({ roles }) => roles !== 'anyone')
          .map(({ url }) => url),
      ),
    ]
    expect(
      patterns.filter(
        (one) =>
          [PATIENT_PAGES, WARD_PAGES].filter((list) => Object.hasOwn(list, one)).length +
            (SHOW_NO_PATIENT.has(one) ? 1 : 0) !==
          1,
      ),
    ).toEqual([])
    for (const pattern of patterns)
      if (!SHOW_NO_PATIENT.has(pattern)) expect(pageWords(pattern)).not.toMatch(/[:/]|no longer/)
    // the lists name only routes that exist
    expect(
      [...Object.keys(PATIENT_PAGES), ...Object.keys(WARD_PAGES)].filter((one) => !patterns.includes(one)),
    ).toEqual([])
    const words = [...Object.values(PATIENT_PAGES), ...Object.values(WARD_PAGES)]
    expect(new Set(words).size).toBe(words.length)
  })

  it('logs each patient page once, with its reader', async () => {
    const ids = await openWard()
    const table = routeTable(world.server).filter(
      ({ method, url }) => method === 'GET' && Object.hasOwn(PATIENT_PAGES, url),
    )
    expect(table.length).toBeGreaterThan(55)
    for (const spec of table) {
      const who = whoMay(spec)
      const client = await world.signIn(who)
      // a redirect shows no patient
      if (['/scan', '/checks/:key/patient', '/stays/:stayId/extra'].includes(spec.url)) continue
      await noted(client, spec, who, ids)
    }
  })

  async function noted(client: Client, spec: RouteSpec, who: Person, ids: Ids): Promise<void> {
    const { path, stayId } = addressOf(spec.url, ids)
    world.server.appContext.accessLog.flush()
    entries.length = 0
    const got = await client.get(path)
    world.server.appContext.accessLog.flush()
    expect([path, got.status]).toEqual([path, 200])
    const own = entries.filter(({ page }) => page === spec.url)
    if (stayId === null) {
      expect(
        MARKS.filter((mark) => got.text.includes(mark)),
        path,
      ).toEqual([])
      return
    }
    const read = own.filter((entry) => entry.stayId === stayId)
    expect([path, read]).toEqual([
      path,
      [
        {
          atMs: world.clock.now(),
          staffId: who.staffId,
          stayId,
          wardId: ALDER,
          page: spec.url,
          requestId: got.headers['x-request-id'],
          role: who.role,
          ownWardIds: who.wardIds,
          ofWardId: ALDER,
        },
      ],
    ])
    // everyone named on the page is logged, and nobody else
    const shown = Object.values(stays)
      .filter(({ familyName }) => got.text.includes(familyName.replace("'", '&#39;')))
      .map((one) => one.stayId)
    expect([path, own.map((entry) => entry.stayId).sort()]).toEqual([path, shown.sort()])
  }

  it('logs each page of a whole ward, once a minute for each person', async () => {
    await openWard()
    const table = routeTable(world.server).filter(
      ({ method, url }) => method === 'GET' && Object.hasOwn(WARD_PAGES, url) && url !== '/board/stream',
    )
    for (const spec of table) {
      const who = whoMay(spec)
      const client = await world.signIn(who)
      world.server.appContext.accessLog.flush()
      for (const [minutes, lines] of [
        [0, 1],
        [0, 0],
        [1, 1],
      ] as const) {
        world.clock.advance(minutes)
        entries.length = 0
        expect((await client.get(spec.url)).status, spec.url).toBe(200)
        world.server.appContext.accessLog.flush()
        expect([
          spec.url,
          entries.map(({ page, stayId, wardId, staffId }) => ({ page, stayId, wardId, staffId })),
        ]).toEqual([
          spec.url,
          Array.from({ length: lines }, () => ({ page: spec.url, stayId: null, wardId: ALDER, staffId: who.staffId })),
        ])
      }
    }
  })

  it("logs the ward when a board's stream begins", async () => {
    await openWard()
    const nora = await world.signIn(people.nora)
    const address = await world.server.app.listen({ host: '127.0.0.1', port: 0 })
    world.server.appContext.accessLog.flush()
    entries.length = 0
    const board = await BoardStream.open(address, nora.cookies)
    await board.next('pass')
    world.server.appContext.accessLog.flush()
    expect(entries).toMatchObject([
      {
        page: '/board/stream',
        stayId: null,
        wardId: ALDER,
        staffId: people.nora.staffId,
        role: 'floor-nurse',
        ownWardIds: [ALDER],
        requestId: board.headers.get('x-request-id'),
      },
    ])
    board.close()
    // a refused stream shows nothing
    const stranger = await BoardStream.open(address, new Map())
    await stranger.next('ended')
    world.server.appContext.accessLog.flush()
    expect(entries).toHaveLength(1)
  })

  it('logs nothing for other pages, which show no patient by name', async () => {
    await openWard()
    for (const spec of routeTable(world.server)) {
      if (
        spec.method !== 'GET' ||
        spec.roles === 'anyone' ||
        !SHOW_NO_PATIENT.has(spec.url) ||
        spec.url.includes('stream')
      )
        continue
      const client = await world.signIn(whoMay(spec))
      world.server.appContext.accessLog.flush()
      entries.length = 0
      const got = await client.get(
        spec.url.replace(':wardId', ALDER).replace(':staffId', people.omar.staffId).replace(/:\w+/, 'nobodys000000000'),
      )
      world.server.appContext.accessLog.flush()
      expect(
        MARKS.filter((mark) => got.text.includes(mark)),
        spec.url,
      ).toEqual([])
      expect([spec.url, entries]).toEqual([spec.url, []])
    }
  })
})

describe('requests that read no patient', () => {
  /** Everything logged since the last call, including batches that were written by the timer. */
  const flushed = (): readonly AccessEntry[] => {
    world.server.appContext.accessLog.flush()
    return entries.splice(0)
  }
  const kept = (from: { readonly by: 'patient' | 'person'; readonly id: string }) => {
    world.server.appContext.accessLog.flush()
    return world.store.accessRows(
      { staffId: people.anna.staffId, role: 'administrator', wardIds: [] },
      { ...from, fromMs: 0, toMs: Number.MAX_SAFE_INTEGER },
      { before: null, most: 1000 },
    )
  }

  it('logs a request for a patient of another ward as denied, with reader and ward', async () => {
    const ids = await openWard()
    const bo = await world.signIn(people.bo)
    for (const path of [
      `/stays/${stays.ruth.stayId}`,
      `/readings/${ids.reading}`,
      `/doses/${ids.dose}/give`,
      `/orders/${stays.ruth.orderId}/1`,
      `/checks/${stays.ruth.stayId}.${DATE}.before-breakfast`,
    ])
      expect((await bo.get(path)).status).toBe(404)
    const rows = kept({ by: 'patient', id: stays.ruth.stayId }).filter(({ staffId }) => staffId === people.bo.staffId)
    expect(rows.map(({ kind, page, ownWard, wardId, role }) => [kind, page, ownWard, wardId, role])).toEqual(
      ['/checks/:key', '/orders/:orderId/:version', '/doses/:id/give', '/readings/:id', '/stays/:stayId'].map(
        (page) => ['refused', page, false, ALDER, 'floor-nurse'],
      ),
    )
    // also for a POST and for a low
    expect((await bo.postRaw(`/lows/${ids.low}/close`, {})).status).toBe(409)
    expect(
      (
        await bo.postRaw(`/lows/${ids.low}/close`, {
          cause: 'not-known',
          note: '',
          key: world.server.appContext.formKeys.make(people.bo.staffId, 'low-close'),
        })
      ).status,
    ).toBeGreaterThan(403)
    await bo.get(`/lows/${ids.low}`)
    expect(
      kept({ by: 'patient', id: stays.ines.stayId })
        .filter(({ staffId }) => staffId === people.bo.staffId)
        .map(({ kind, page }) => [kind, page]),
    ).toEqual(['/lows/:lowId', '/lows/:lowId/close', '/lows/:lowId/close'].map((page) => ['refused', page]))
  })

  it('logs a page that the role may not open as denied', async () => {
    await openWard()
    expect((await (await world.signIn(people.anna)).get(`/stays/${stays.ruth.stayId}`)).status).toBe(403)
    expect(kept({ by: 'person', id: people.anna.staffId })).toMatchObject([
      { kind: 'refused', stayId: stays.ruth.stayId, wardId: ALDER, ownWard: false, role: 'administrator' },
    ])
  })

  it('logs nothing for unknown ids, missing pages and redirects to sign-in', async () => {
    await openWard()
    const nora = await world.signIn(people.nora)
    flushed()
    for (const path of [
      '/stays/nobodys000000000',
      '/readings/x',
      '/checks/none',
      `/orders/${stays.ruth.orderId}/99`,
      '/no-such-page',
    ])
      expect((await nora.get(path)).status).toBe(404)
    expect(kept({ by: 'person', id: people.nora.staffId }).filter(({ kind }) => kind === 'refused')).toEqual([])
    flushed()
    expect((await world.visitor().get(`/stays/${stays.ruth.stayId}`)).status).toBe(303)
    expect(flushed()).toEqual([])
  })

  it('logs no patient when the service fails', async () => {
    const ids = await openWard()
    const nora = await world.signIn(people.nora)
    flushed()
    Object.assign(world.store, {
      wards: () => {
        throw new Error('gone')
      },
    })
    expect((await nora.get(`/doses/${ids.dose}`)).status).toBe(500)
    expect(flushed()).toEqual([])
  })

  it('logs nothing for an accepted form, and the patient for a form that comes back', async () => {
    await openWard()
    const nora = await world.signIn(people.nora)
    const path = `/stays/${stays.tomas.stayId}/tray`
    const key = await nora.keyOf(path)
    flushed()
    expect((await nora.postRaw(path, { key: key ?? '' })).status).toBe(422)
    expect(flushed().map(({ page, stayId }) => [page, stayId])).toEqual([
      [path.replace(stays.tomas.stayId, ':stayId'), stays.tomas.stayId],
    ])
    const good = { meal: 'breakfast', what: 'served', key: (await nora.keyOf(path)) ?? '' }
    flushed()
    expect((await nora.postRaw(path, good)).status).toBe(303)
    expect(flushed()).toEqual([])
    // the stream's path, opened as a page, redirects to the board
    expect((await nora.get('/board/stream')).status).toBe(303)
    expect(flushed()).toEqual([])
  })

  it('logs automatic refreshes once a minute, and each manual reload', async () => {
    const ids = await openWard()
    const nora = await world.signIn(people.nora)
    flushed()
    const again = { headers: { 'hx-request': 'true' } }
    for (let time = 0; time < 3; time++) await nora.get(`/lows/${ids.low}/now`, again)
    expect(flushed()).toHaveLength(1)
    world.clock.advance(1)
    await nora.get(`/lows/${ids.low}/now`, again)
    expect(flushed()).toHaveLength(1)
    for (let time = 0; time < 3; time++) await nora.get(`/lows/${ids.low}`)
    expect(flushed()).toHaveLength(3)
  })

  it('logs another person, ward or page separately within one minute', async () => {
    await openWard()
    const pia = await world.signIn(people.pia)
    const nora = await world.signIn(people.nora)
    flushed()
    for (const client of [pia, nora]) for (const path of ['/round', '/setup/beds', '/round']) await client.get(path)
    await pia.post('/ward', { wardId: BIRCH })
    await pia.get('/round')
    expect(flushed().map(({ staffId, wardId, page }) => [staffId, wardId, page])).toEqual([
      [people.pia.staffId, ALDER, '/round'],
      [people.pia.staffId, ALDER, '/setup/beds'],
      [people.nora.staffId, ALDER, '/round'],
      [people.nora.staffId, ALDER, '/setup/beds'],
      [people.pia.staffId, BIRCH, '/round'],
    ])
  })
})
