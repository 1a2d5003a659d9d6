/**
 * The administrators' access report over HTTP: who read which patient, its pages, counts and file, who may request
 * it, and the record of each request.
 */
import { parse } from 'csv-parse/sync'
import Database from 'better-sqlite3'
import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { AccessEntry } from '../../server/store/contract.ts'
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import { chartNight, NIGHT } from '../support/audited-night.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byTag, checkHtml, errorOf, findAll, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { alderTime, makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World
afterEach(() => world.close())
const open = async (options: WorldOptions = {}): Promise<World> =>
  (world = await makeWorld({ alderPolicy: { idleLockMin: 100_000 }, ...options }))

const PAGE = '/setup/access'
const TODAY = '2026-03-10'
const { ruth, tomas, gwen } = stays
const NOBODY = { patient: '', badge: '', ward: '', from: TODAY, to: TODAY } as const
const ask = (client: Client, fields: Readonly<Record<string, string>>) => client.post(PAGE, { ...NOBODY, ...fields })
const report = async (client: Client, fields: Readonly<Record<string, string>>): Promise<Got> =>
  client.follow(await ask(client, fields))
const rowsOf = (got: Got, caption: string): readonly string[] => {
  const table = byTag(got.root(), 'table').find((one) => textOf(byTag(one, 'caption')[0] ?? one) === caption)
  return table === undefined
    ? []
    : byTag(table, 'tr')
        .slice(1)
        .map((row) => textOf(row))
}
const looks = (got: Got): readonly string[] => rowsOf(got, 'Looks, newest first')
const linkTo = (got: Got, words: string): string => {
  const link = findAll(got.root(), (element) => element.tagName === 'a').find((one) => textOf(one) === words)
  return link === undefined ? '' : (attr(link, 'href') ?? '')
}
const chart = <T extends EventType>(
  type: T,
  wardId: string | null,
  stayId: string | null,
  body: EventBodies[T],
  by: Person = people.anna,
): void => {
  const at = world.clock.now()
  world.store.transact(() => {
    world.store.append([
      { type, wardId, stayId, body, actorId: by.staffId, happenedAtMs: at, chartedAtMs: at } as LedgerEvent,
    ])
    return null
  })
}
const entry = (over: Partial<AccessEntry>): AccessEntry => ({
  atMs: world.clock.now(),
  staffId: people.nora.staffId,
  stayId: ruth.stayId,
  wardId: ALDER,
  page: '/stays/:stayId',
  requestId: 'r'.repeat(16),
  role: 'floor-nurse',
  ownWardIds: [ALDER],
  ...over,
})

describe('access report', () => {
  it('lists by patient: reader, role, time in seconds, page and request number, newest first', async () => {
    await open()
    const [nora, pia, anna] = [
      await world.signIn(people.nora),
      await world.signIn(people.pia),
      await world.signIn(people.anna),
    ]
    const first = await nora.get(`/stays/${ruth.stayId}`)
    world.clock.set(world.clock.now() + 65_000)
    const second = await pia.get(`/stays/${ruth.stayId}/orders`)
    await pia.get(`/stays/${tomas.stayId}`)
    await pia.get('/round')
    const got = await report(anna, { by: 'patient', patient: ruth.wristband })
    expect([got.status, await checkHtml(got.text)]).toEqual([200, []])
    expect(got.words()).toContain('About the patient with wristband W7301 (Alder) , 10 Mar 2026 (America/Chicago).')
    expect(looks(got)).toEqual([
      `Tue 10 Mar 2026, 07:21:05 Pia Holm Floor nurse, badge N1003 Patient’s orders wristband W7301 Alder ${String(second.headers['x-request-id'])}`,
      `Tue 10 Mar 2026, 07:20:00 Nora Lind Floor nurse, badge N1001 Patient’s page wristband W7301 Alder ${String(first.headers['x-request-id'])}`,
    ])
    expect(rowsOf(got, 'Looks by person').map((row) => row.replace(/Tue.*/, ''))).toEqual([
      'Nora Lind badge N1001 1 patient’s page ',
      'Pia Holm badge N1003 1 patient’s page ',
    ])
    // no name, date of birth or value
    for (const mark of [ruth.familyName, ruth.givenName, '1948', '1948-02-17']) expect(got.text).not.toContain(mark)
  })

  it('lists by person and by ward, and includes whole-ward pages in both', async () => {
    await open()
    const [nora, bo, anna] = [
      await world.signIn(people.nora),
      await world.signIn(people.bo),
      await world.signIn(people.anna),
    ]
    await nora.get('/round')
    await nora.get(`/stays/${ruth.stayId}`)
    await bo.get(`/stays/${gwen.stayId}`)
    const about = await report(anna, { by: 'person', badge: people.nora.badge })
    expect(about.words()).toContain('About Nora Lind, badge N1001')
    expect(rowsOf(about, 'Looks by person')).toEqual([
      'Nora Lind badge N1001 1 patient’s page, 1 ward list Tue 10 Mar 2026, 07:20:00',
    ])
    expect(looks(about).map((row) => row.replace(/^.*badge N1001 /, '').replace(/ \w{16}$/, ''))).toEqual([
      'Patient’s page wristband W7301 Alder',
      'Round the whole ward Alder',
    ])
    const birch = await report(anna, { by: 'ward', ward: BIRCH })
    expect(birch.words()).toContain('About ward Birch , 10 Mar 2026 (Europe/London)')
    expect(looks(birch)).toEqual([
      expect.stringMatching(
        /^Tue 10 Mar 2026, 12:20:00 Bo Whitlock Floor nurse, badge N2001 Patient’s page wristband W8801 Birch/,
      ),
    ])
  })

  it('marks a denied request for a patient of another ward', async () => {
    await open()
    const [bo, anna] = [await world.signIn(people.bo), await world.signIn(people.anna)]
    await bo.get(`/stays/${ruth.stayId}`)
    const got = await report(anna, { by: 'patient', patient: ruth.wristband })
    expect(looks(got)).toEqual([
      expect.stringContaining(
        'Bo Whitlock Floor nurse, badge N2001 Patient’s page ■ Asked for, not shown wristband W7301',
      ),
    ])
    expect(rowsOf(got, 'Looks by person')).toEqual([
      'Bo Whitlock badge N2001 1 asked for and not shown Tue 10 Mar 2026, 07:20:00',
    ])
  })

  it('marks a reader from outside the ward, such as an audit after a move', async () => {
    await open({ at: '2026-03-10T07:20' })
    chartNight(world)
    const [cora, anna] = [await world.signIn(people.cora), await world.signIn(people.anna)]
    await cora.get(`/audit/lows/${NIGHT.lowId}`)
    world.clock.advance(1)
    chart('stay-moved', ALDER, ruth.stayId, { fromWardId: ALDER, toWardId: BIRCH, bed: 'C' })
    expect((await cora.get(`/audit/lows/${NIGHT.lowId}`)).status).toBe(200)
    const got = await report(anna, { by: 'patient', patient: ruth.wristband })
    expect(looks(got).map((row) => row.includes('◆ Not of this ward'))).toEqual([true, false])
    expect(got.words()).toContain('1 look at a ward that the person did not belong to. It is marked.')
    expect(rowsOf(got, 'Looks by person')).toEqual([
      'Cora Venn badge C1001 2 patients’ pages ◆ Not of this ward: 1 Tue 10 Mar 2026, 12:20:00 to 12:21:00',
    ])
    expect((await report(anna, { by: 'ward', ward: ALDER })).words()).not.toContain('did not belong')
  })

  it('attributes a read to the ward at that moment, though the batch is written later', async () => {
    await open()
    const [nora, anna] = [await world.signIn(people.nora), await world.signIn(people.anna)]
    await nora.get(`/stays/${ruth.stayId}`)
    chart('stay-moved', ALDER, ruth.stayId, { fromWardId: ALDER, toWardId: BIRCH, bed: 'C' })
    const got = await report(anna, { by: 'patient', patient: ruth.wristband })
    expect(looks(got)).toEqual([expect.stringContaining('wristband W7301 Alder')])
    expect(got.text).not.toContain('Not of this ward')
  })

  it('names a reader who left or changed role or badge, with the role at that time', async () => {
    await open()
    const [omar, anna] = [await world.signIn(people.omar), await world.signIn(people.anna)]
    await omar.get(`/stays/${ruth.stayId}`)
    world.server.appContext.accessLog.flush()
    chart('staff-changed', null, null, {
      staffId: people.omar.staffId,
      name: people.omar.name,
      role: 'charge-nurse',
      wardIds: [ALDER],
    })
    chart('staff-left', null, null, { staffId: people.omar.staffId })
    const got = await report(anna, { by: 'person', badge: people.omar.badge })
    expect(looks(got)).toEqual([
      expect.stringContaining('Omar Reyes Floor nurse, badge N1002, no longer works here Patient’s page'),
    ])
  })

  it('includes both end days in ward time, and nothing before or after', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    const at = (local: string): number => alderTime(local)
    world.store.logAccess([
      entry({ atMs: at('2026-03-08T23:59') + 59_999 }),
      entry({ atMs: at('2026-03-09T00:00') }),
      entry({ atMs: at('2026-03-09T23:59') + 59_999 }),
      entry({ atMs: at('2026-03-10T00:00') }),
    ])
    const got = await report(anna, { by: 'patient', patient: ruth.wristband, from: '2026-03-09', to: '2026-03-09' })
    expect(looks(got).map((row) => row.slice(0, 25))).toEqual([
      'Mon 9 Mar 2026, 23:59:59 ',
      'Mon 9 Mar 2026, 00:00:00 ',
    ])
    // 8 March 2026 has 23 hours in Chicago
    expect(
      looks(await report(anna, { by: 'patient', patient: ruth.wristband, from: '2026-03-08', to: '2026-03-08' })),
    ).toHaveLength(1)
  })

  it('pages by key: every row once and in order, with equal times and new rows', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    const now = world.clock.now()
    world.store.logAccess(
      Array.from({ length: 250 }, (_, index) =>
        entry({ atMs: now - Math.floor(index / 120) * 1000, requestId: `request${String(index).padStart(9, '0')}` }),
      ),
    )
    let got = await report(anna, { by: 'patient', patient: ruth.wristband })
    expect(got.words()).toContain('250 looks, newest first')
    const seen: string[] = []
    for (let pages = 1; ; pages++) {
      seen.push(...looks(got).map((row) => row.slice(-16)))
      expect(looks(got).length).toBe(pages < 3 ? 100 : 50)
      const older = linkTo(got, 'Older')
      if (older === '') break
      world.store.logAccess([entry({ atMs: now, requestId: 'm'.repeat(16) })])
      got = await anna.get(older)
      expect(linkTo(got, 'Newest')).toMatch(/^\/setup\/access\/report\?by=patient&/)
    }
    expect(seen.filter((id) => id !== 'm'.repeat(16))).toHaveLength(250)
    expect(new Set(seen).size).toBe(250)
    const numbers = seen.map((id) => Number(id.slice(-9)))
    // rows of one instant: the last one written comes first
    expect(numbers).toEqual([
      ...Array.from({ length: 120 }, (_, index) => 119 - index),
      ...Array.from({ length: 120 }, (_, index) => 239 - index),
      ...Array.from({ length: 10 }, (_, index) => 249 - index),
    ])
  })

  it('records each request for the report: by whom, about whom, on screen or as a file', async () => {
    await open()
    const [anna, abel] = [await world.signIn(people.anna), await world.signIn(people.abel)]
    for (const fields of [
      { by: 'patient', patient: ruth.wristband },
      { by: 'person', badge: people.nora.badge },
    ])
      await report(anna, fields)
    // the ward's report now holds one read: the reader's own report on its patient
    await anna.get(linkTo(await report(anna, { by: 'ward', ward: ALDER }), 'Take it as a file (CSV)'))
    const got = await report(abel, { by: 'person', badge: people.anna.badge })
    expect(looks(got).map((row) => row.replace(/^.*badge A1001 /, '').replace(/ \w{16}$/, ''))).toEqual([
      'Access report as a file about the ward the whole ward Alder',
      'Access report about the ward the whole ward Alder',
      'Access report about Nora Lind nobody',
      'Access report about the patient wristband W7301 Alder',
    ])
    expect(rowsOf(got, 'Looks by person')).toEqual(['Anna Quill badge A1001 4 reports Tue 10 Mar 2026, 07:20:00'])
    // and so does the patient's own report
    expect(looks(await report(abel, { by: 'patient', patient: ruth.wristband }))).toEqual([
      expect.stringContaining('Anna Quill Administrator, badge A1001 Access report about the patient'),
    ])
  })

  it('says when nobody read the patient', async () => {
    await open()
    const got = await report(await world.signIn(people.anna), { by: 'patient', patient: gwen.wristband })
    expect(got.words()).toContain('Nobody looked in these days.')
    expect(looks(got)).toEqual([])
  })
})

describe('file', () => {
  it("has the report's rows as RFC 4180 CSV, without a cell that a spreadsheet would run", async () => {
    await open()
    const anna = await world.signIn(people.anna)
    chart('staff-changed', null, null, {
      staffId: people.nora.staffId,
      name: '=HYPERLINK("http://x","Nora, the first")',
      role: 'floor-nurse',
      wardIds: [ALDER],
    })
    await (await world.signIn(people.nora)).get(`/stays/${ruth.stayId}`)
    await (await world.signIn(people.bo)).get(`/stays/${ruth.stayId}`)
    const got = await report(anna, { by: 'patient', patient: ruth.wristband })
    const path = linkTo(got, 'Take it as a file (CSV)')
    const file = await anna.get(path)
    expect([
      file.status,
      file.headers['content-type'],
      file.headers['content-disposition'],
      file.headers['cache-control'],
    ]).toEqual([
      200,
      'text/csv; charset=utf-8',
      `attachment; filename="access-by-patient-${TODAY}-to-${TODAY}.csv"`,
      'no-store',
    ])
    const rows = parse<Record<string, string>>(file.text, { columns: true, record_delimiter: '\r\n' })
    const head = {
      date: TODAY,
      time: '07:20:00',
      clock: 'America/Chicago',
      page: 'Patient’s page',
      wristband: 'W7301',
      ward: 'Alder',
      role: 'Floor nurse',
    }
    expect(rows.map(({ answer, ...rest }) => [rest, /^[a-z0-9]{16}$/.test(answer ?? '')])).toEqual([
      [
        {
          date: TODAY,
          time: '07:20:00',
          clock: 'America/Chicago',
          person: 'Anna Quill',
          badge: 'A1001',
          role: 'Administrator',
          done: 'report made',
          page: 'Access report about the patient',
          wristband: 'W7301',
          ward: 'Alder',
          person_of_this_ward: '',
        },
        true,
      ],
      [
        { ...head, person: 'Bo Whitlock', badge: 'N2001', done: 'asked for, not shown', person_of_this_ward: 'no' },
        true,
      ],
      [
        {
          ...head,
          person: `'=HYPERLINK("http://x","Nora, the first")`,
          badge: 'N1001',
          done: 'patient shown',
          person_of_this_ward: 'yes',
        },
        true,
      ],
    ])
  })

  it('is not made above its row limit, and the page then offers none', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    const batch = Array.from({ length: 20_001 }, (_, index) =>
      entry({ requestId: `request${String(index).padStart(9, '0')}` }),
    )
    world.store.logAccess(batch.slice(1))
    const got = await report(anna, { by: 'patient', patient: ruth.wristband })
    const path = linkTo(got, 'Take it as a file (CSV)')
    world.store.logAccess(batch.slice(0, 1))
    const refused = await anna.get(path)
    expect([refused.status, refused.words()]).toEqual([422, expect.stringContaining('Ask about fewer days')])
    expect(linkTo(await report(anna, { by: 'patient', patient: ruth.wristband }), 'Take it as a file (CSV)')).toBe('')
  })
})

describe('request form', () => {
  it.each([
    [
      'a wristband that nobody has',
      { by: 'patient', patient: 'W0000' },
      'patient',
      'No patient has this wristband number',
    ],
    ['no wristband', { by: 'patient' }, 'patient', 'No patient has this wristband number'],
    ['a badge that nobody has', { by: 'person', badge: 'N0000' }, 'badge', 'Nobody has this badge'],
    ['no ward', { by: 'ward' }, 'ward', 'Choose one of these wards'],
    ['a ward that is not there', { by: 'ward', ward: 'nobodys000000000' }, 'ward', 'Choose one of these wards'],
    ['a date that is none', { by: 'ward', ward: ALDER, from: '2026-02-30' }, 'from', 'This is not a date'],
    ['days turned round', { by: 'ward', ward: ALDER, from: TODAY, to: '2026-03-09' }, 'to', 'Turn them round'],
    ['more than a year', { by: 'ward', ward: ALDER, from: '2025-03-09' }, 'to', 'At most 366 days'],
    ['days ahead', { by: 'ward', ward: ALDER, from: '2026-03-11', to: '2026-03-11' }, 'from', '10 Mar 2026'],
  ])('refuses beside its field: %s', async (_name, fields, field, words) => {
    await open()
    const got = await ask(await world.signIn(people.anna), fields)
    expect([got.status, await checkHtml(got.text)]).toEqual([422, []])
    expect(errorOf(got.root(), field)).toContain(words)
  })

  it('accepts the id of a stay, and asks which stay when a wristband had several', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    expect((await ask(anna, { by: 'patient', patient: tomas.stayId })).location).toContain(`id=${tomas.stayId}`)
    chart('stay-discharged', ALDER, tomas.stayId, {})
    const facts = world.store.stayFacts(
      { staffId: 'x', role: 'charge-nurse', wardIds: [ALDER] },
      ruth.stayId,
      world.clock.now(),
    )?.stay.facts
    chart('stay-admitted', ALDER, 'stayagain0000001', {
      bed: '7',
      wristband: tomas.wristband,
      familyName: 'X',
      givenName: 'Y',
      bornOn: '1950-01-01',
      facts: facts ?? ({} as never),
    })
    const got = await ask(anna, { by: 'patient', patient: tomas.wristband })
    expect(got.status).toBe(422)
    for (const id of [tomas.stayId, 'stayagain0000001']) expect(errorOf(got.root(), 'patient')).toContain(id)
    expect((await ask(anna, { by: 'patient', patient: 'stayagain0000001' })).status).toBe(303)
  })

  it('keeps wristbands and badges out of URLs; they are sent in the body only', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    for (const fields of [
      { by: 'patient', patient: ruth.wristband },
      { by: 'person', badge: people.nora.badge },
    ]) {
      const got = await report(anna, fields)
      for (const link of byTag(got.root(), 'a')) expect(attr(link, 'href')).not.toMatch(/W7301|N1001/)
      expect((await ask(anna, fields)).location).not.toMatch(/W7301|N1001/)
    }
  })

  it('leads to the same report when sent twice, or ten times at once', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    const key = (await anna.keyOf(PAGE)) ?? ''
    const send = () => anna.postRaw(PAGE, { ...NOBODY, by: 'ward', ward: ALDER, key })
    const all = [await send(), ...(await Promise.all(Array.from({ length: 10 }, send)))]
    expect(new Set(all.map(({ status, location }) => `${String(status)} ${location ?? ''}`)).size).toBe(1)
    expect(all[0]?.status).toBe(303)
    expect((await anna.postRaw(PAGE, { ...NOBODY, by: 'ward', ward: BIRCH, key })).status).toBe(409)
  })

  it('refuses forty malformed forms', async () => {
    await open()
    const anna = await world.signIn(people.anna)
    const key = await anna.keyOf(PAGE)
    for (const { name, body } of malformedPosts({ ...NOBODY, by: 'ward', ward: ALDER }, key, 'by'))
      expect([name, (await anna.postRaw(PAGE, body)).status]).toEqual([name, 422])
  })

  it.each([
    '',
    '?by=patient',
    `?by=ward&id=${ALDER}`,
    `?by=ward&id=${ALDER}&from=${TODAY}&to=soon`,
    `?by=all&id=${ALDER}&from=${TODAY}&to=${TODAY}`,
    `?by=patient&id=W7301&from=${TODAY}&to=${TODAY}`,
    `?by=person&id=${ALDER}&from=${TODAY}&to=${TODAY}`,
    `?by=ward&by=person&id=${ALDER}&from=${TODAY}&to=${TODAY}`,
  ])('answers 404 for a URL that is no report: %j', async (query) => {
    await open()
    const anna = await world.signIn(people.anna)
    for (const path of ['report', 'file']) expect((await anna.get(`${PAGE}/${path}${query}`)).status).toBe(404)
  })

  it('is for administrators only, at every URL', async () => {
    await open()
    const query = `?by=patient&id=${ruth.stayId}&from=${TODAY}&to=${TODAY}`
    for (const person of [people.nora, people.cora, people.edda]) {
      const client = await world.signIn(person)
      for (const path of [PAGE, `${PAGE}/report${query}`, `${PAGE}/file${query}`])
        expect((await client.get(path)).status).toBe(403)
      expect((await client.postRaw(PAGE, { ...NOBODY, by: 'ward', ward: ALDER })).status).toBe(403)
      // the store returns nothing for such a scope
      const scope = { staffId: person.staffId, role: person.role, wardIds: person.wardIds }
      const asked = { by: 'patient', id: ruth.stayId, fromMs: 0, toMs: Number.MAX_SAFE_INTEGER } as const
      world.store.logAccess([entry({})])
      expect([
        world.store.accessRows(scope, asked, { before: null, most: 10 }),
        world.store.accessTotals(scope, asked),
        world.store.accessStays(scope, ruth.wristband),
      ]).toEqual([[], [], []])
    }
    for (const path of [PAGE, `${PAGE}/report${query}`, `${PAGE}/file${query}`])
      expect((await world.visitor().get(path)).location).toMatch(/^\/sign-in/)
  })

  it('is linked from Setup for administrators only', async () => {
    await open()
    expect(linkTo(await (await world.signIn(people.anna)).get('/setup'), 'Access report')).toBe(PAGE)
    expect(linkTo(await (await world.signIn(people.cora)).get('/setup'), 'Access report')).toBe('')
  })
})

describe('a log written before the report existed', () => {
  it('is migrated: old rows stay, the ward comes from the record, gaps are marked as unknown', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'access-'))
    const file = join(folder, 'ward.sqlite')
    try {
      await open({ file })
      const anna = people.anna
      await world.close()
      // the table as the previous schema had it
      const db = new Database(file)
      db.exec(
        'DROP TABLE access_log; DROP INDEX stay_by_wristband; DROP INDEX ledger_marked_once; DROP TABLE meter_control; DROP TABLE stay_entry; DROP INDEX low_event_followed; CREATE UNIQUE INDEX low_event_open ON low_event (stay_id) WHERE closed_at_ms IS NULL',
      )
      db.exec(
        /CREATE TABLE access_log[\s\S]*?END;\s*CREATE TRIGGER access_log_not_deleted[\s\S]*?END;/.exec(
          readFileSync('migrations/0001_ledger.sql', 'utf8'),
        )?.[0] ?? '',
      )
      const insert = db.prepare(
        'INSERT INTO access_log (at_ms, staff_id, stay_id, ward_id, page, request_id) VALUES (?, ?, ?, ?, ?, ?)',
      )
      const at = alderTime('2026-03-10T07:00')
      insert.run(at, people.nora.staffId, ruth.stayId, ALDER, '/stays/:stayId', 'a'.repeat(16))
      insert.run(at + 1000, people.edda.staffId, null, BIRCH, '/board', 'b'.repeat(16))
      insert.run(at + 2000, people.nora.staffId, ruth.stayId, ALDER, '/no/longer/:there', 'c'.repeat(16))
      const before = db.prepare('SELECT at_ms, staff_id, stay_id, ward_id, page, request_id FROM access_log').all()
      db.pragma(`user_version = ${String(readdirSync('migrations').indexOf('0009_access.sql'))}`)
      db.close()
      await open({ file })
      const client = await world.signIn(anna)
      const got = await report(client, { by: 'ward', ward: ALDER })
      expect(looks(got)).toEqual([
        expect.stringMatching(
          /07:00:02 Nora Lind role not noted, badge N1001 A page that is no longer there wristband W7301 Alder/,
        ),
        expect.stringMatching(/07:00:00 Nora Lind role not noted, badge N1001 Patient’s page wristband W7301 Alder/),
      ])
      expect(looks(await report(client, { by: 'ward', ward: BIRCH }))).toEqual([
        expect.stringContaining('Edda Sorel role not noted, badge E1001 Board the whole ward Birch'),
      ])
      const again = new Database(file)
      expect(
        again
          .prepare('SELECT at_ms, staff_id, stay_id, ward_id, page, request_id FROM access_log WHERE access_id <= 3')
          .all(),
      ).toEqual(before)
      expect(() => again.exec('UPDATE access_log SET own_ward = 1')).toThrow('never changed')
      again.close()
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
})
