/** Exports over HTTP: their content, names only with a recorded reason, one record for each file, and roles. */
import { parse } from 'csv-parse/sync'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { EventBodies } from '../../shared/ledger/events.ts'
import { columnsOf, EXPORT_KINDS } from '../../server/audit/export-rows.ts'
import { afterThreeDays, AUDITED, FORMULA } from '../support/three-days.ts'
import type { Client, Got } from '../support/client.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let made: EventBodies['export-made'][]
const watched = async (): Promise<World> =>
  makeWorld({
    wrapStore: (store) => ({
      ...store,
      append: (events) => {
        made.push(...events.flatMap((one) => (one.type === 'export-made' ? [one.body] : [])))
        store.append(events)
      },
    }),
  })
beforeEach(async () => {
  made = []
  world = await watched()
  afterThreeDays(world)
})
afterEach(() => world.close())

const PATH = '/audit/export'
const FIELDS = { what: 'readings', format: 'csv', ward: ALDER, ...AUDITED, reason: '' } as const
type Fields = Readonly<Record<string, string>>
const rowsOf = (got: Got): readonly Fields[] => parse<Fields>(got.text, { columns: true, record_delimiter: '\r\n' })
const ask = async (fields: Fields = {}, client?: Client): Promise<Got> =>
  (client ?? (await world.signIn(people.edda))).post(PATH, { ...FIELDS, ...fields })
/** Everything that would identify a patient or the dates of the stay. */
const NAMING = [
  'Ashby',
  'Brandt',
  'Ruth',
  'Tomas',
  'HYPERLINK',
  'W7301',
  'W7302',
  '1948',
  '1961',
  '2026-03',
  'stayw73',
  'Nora',
  'staffn',
]

describe('readings as CSV', () => {
  it('is a download without caching or a patient in its name', async () => {
    const got = await ask()
    expect(got.status).toBe(200)
    expect(got.headers).toMatchObject({
      'content-type': 'text/csv; charset=utf-8',
      'content-disposition': 'attachment; filename="readings-without-names-2026.csv"',
      'cache-control': 'no-store',
    })
    expect(got.text.endsWith('\r\n')).toBe(true)
  })
  it('has every reading of the days once, with a number instead of the patient', async () => {
    const got = await ask()
    const rows = rowsOf(got)
    expect(rows.map(({ value, out_of_range }) => (value === '' ? out_of_range : value))).toEqual([
      '150',
      '65',
      '88',
      '210',
      '180',
      'LO',
      '320',
      '35',
    ])
    expect(new Set(rows.map(({ stay }) => stay)).size).toBe(2)
    expect(rows[0]).toMatchObject({
      ward: 'Alder',
      taken_day: '0',
      taken_time: '11:50',
      unit: 'mg/dL',
      mg_per_dl: '150',
      occasion: 'before-lunch',
      age_years: '78',
    })
    expect(rows[2]).toMatchObject({ occasion: 'recheck' })
    for (const one of NAMING) expect(got.text).not.toContain(one)
  })
  it('has one number for a stay in a file without names, and another in each other file', async () => {
    const numbers = async (fields: Fields = {}): Promise<ReadonlySet<string>> =>
      new Set(rowsOf(await ask(fields)).map(({ stay }) => stay ?? ''))
    const files = [
      await numbers(),
      await numbers(),
      await numbers({ what: 'lows' }),
      await numbers({ identified: 'yes', reason: 'Incident 14' }),
    ]
    expect(files.map(({ size }) => size)).toEqual([2, 2, 1, 2])
    for (const number of files.flatMap((file) => [...file])) expect(number).toMatch(/^s[0-9a-f]{16}$/)
    expect(new Set(files.flatMap((file) => [...file])).size).toBe(7)
  })
  it('uses one number for a stay in all named files, and another in other databases', async () => {
    const named = { identified: 'yes', reason: 'Incident 14' }
    const [first] = rowsOf(await ask(named))
    const [low] = rowsOf(await ask({ ...named, what: 'lows' }))
    expect(low?.['stay']).toBe(first?.['stay'])
    const other = await makeWorld()
    afterThreeDays(other)
    const there = rowsOf(await (await other.signIn(people.edda)).post(PATH, { ...FIELDS, ...named }))
    await other.close()
    expect(there[0]?.['stay']).not.toBe(first?.['stay'])
  })
  it.each(['csv', 'json'])('as %s shows only the year in the file and its name', async (format) => {
    const got = await ask({ format, from: '2026-03-09', to: '2026-03-09' })
    expect(got.headers['content-disposition']).toBe(`attachment; filename="readings-without-names-2026.${format}"`)
    expect(`${got.text} ${String(got.headers['content-disposition'])}`).not.toMatch(/2026-03|Mar 2026/)
  })
  it('keeps the ward’s own number beside the converted one in mmol/L', async () => {
    const rows = rowsOf(await ask({ ward: 'all' })).filter(({ ward }) => ward === 'Birch')
    expect(rows.map(({ value, unit }) => [value, unit])).toEqual([
      ['3.8', 'mmol/L'],
      ['14.5', 'mmol/L'],
    ])
    expect(Number(rows[0]?.['mg_per_dl'])).toBeCloseTo(3.8 * 18.0156, 9)
  })
})

describe('named patients', () => {
  it('need a reason; the form keeps what was typed', async () => {
    const got = await ask({ identified: 'yes' })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'reason')).toContain('needs a reason')
    expect(formTo(got.root(), PATH)?.fields).toMatchObject({ from: '2026-03-09', identified: 'yes' })
    expect(made).toEqual([])
  })
  it('have names, wristband and dates, and no cell that a spreadsheet would run', async () => {
    const got = await ask({ identified: 'yes', reason: 'Incident 14 of March' })
    expect(got.headers['content-disposition']).toContain('readings-2026-03-09-to-2026-03-11-identified.csv')
    const rows = rowsOf(got)
    expect(rows[0]).toMatchObject({
      family_name: 'Ashby',
      wristband: 'W7301',
      born_on: '1948-02-17',
      taken_at: '2026-03-09T11:50',
    })
    expect(rows.at(-1)).toMatchObject({ family_name: `'${FORMULA}` })
    for (const row of rows)
      for (const [column, cell] of Object.entries(row))
        if (!Number.isFinite(Number(cell))) expect(cell, column).not.toMatch(/^[=+\-@\t\r]/)
    expect(made).toMatchObject([
      { what: 'readings', format: 'csv', identified: true, reason: 'Incident 14 of March', rows: 8 },
    ])
  })
  it('log each patient as read', async () => {
    const seen: (string | null)[] = []
    await world.close()
    world = await makeWorld({
      wrapStore: (store) => ({
        ...store,
        logAccess: (entries) => {
          seen.push(...entries.filter(({ page }) => page === PATH).map(({ stayId }) => stayId))
        },
      }),
    })
    afterThreeDays(world)
    const edda = await world.signIn(people.edda)
    await ask({}, edda)
    await ask({ identified: 'yes', reason: 'Incident 14' }, edda)
    world.server.appContext.accessLog.flush()
    expect(seen).toEqual([stays.ruth.stayId, stays.tomas.stayId])
  })
})

describe('lows, rates and measures', () => {
  it('lists a low with its times', async () => {
    expect(rowsOf(await ask({ what: 'lows' }))).toMatchObject([
      {
        began_day: '0',
        began_time: '15:00',
        lowest: '65',
        level: '1',
        minutes_to_treatment: '3',
        minutes_to_recheck: '18',
        minutes_to_70: '18',
        again_in_stay: 'no',
        cause: '',
      },
    ])
  })
  it('gives the page’s own rates, unrounded', async () => {
    const rows = rowsOf(await ask({ what: 'rates' }))
    expect(
      rows.find(
        ({ grouping, denominator, figure }) => grouping === 'all' && denominator === 'readings' && figure === 'below70',
      ),
    ).toMatchObject({ count: '2', of: '7', value: String(2 / 7) })
    expect(
      rows.find(
        ({ grouping, denominator, figure }) =>
          grouping === 'month' && denominator === 'patient-days' && figure === 'below70',
      ),
    ).toMatchObject({ group: '2026-03', count: '2', of: '2' })
    expect(rows.find(({ grouping, figure }) => grouping === 'all' && figure === 'lo')).toMatchObject({
      value: '1',
      of: '8',
    })
  })
  it('lists every ended stay by both rules', async () => {
    const rows = rowsOf(await ask({ what: 'measures' }))
    expect(
      rows.map(({ rule, severe_low_numerator, severe_high_event_days }) => [
        rule,
        severe_low_numerator,
        severe_high_event_days,
      ]),
    ).toEqual([
      ['published', 'yes', '1'],
      ['classed', 'yes', '1'],
    ])
  })
  it.each(EXPORT_KINDS)('exports %s as JSON with the same columns, rows and descriptions', async (what) => {
    const edda = await world.signIn(people.edda)
    const json = JSON.parse((await ask({ what, format: 'json' }, edda)).text) as {
      format: string
      identified: boolean
      columns: { name: string }[]
      rows: Record<string, string | number | null>[]
    }
    const csv = await ask({ what }, edda)
    expect(json.columns.map(({ name }) => name)).toEqual(csv.text.split('\r\n')[0]?.split(','))
    expect(json.columns.map(({ name }) => name)).toEqual(columnsOf(what, false).map(({ name }) => name))
    // without names a stay has another number in each file
    const cells = (row: Readonly<Record<string, string | number | null>>): readonly string[] =>
      Object.entries(row)
        .filter(([column]) => column !== 'stay')
        .map(([, value]) => (value === null ? '' : String(value)))
    expect(json.rows.map(cells)).toEqual(rowsOf(csv).map(cells))
    expect(json).toMatchObject({ format: 'ward-glucose-round export 1', identified: false })
  })
})

describe('export record', () => {
  it('is written first: when it fails, no file is sent', async () => {
    await world.close()
    world = await makeWorld({
      wrapStore: (store) => ({
        ...store,
        append: (events) => {
          if (events.some(({ type }) => type === 'export-made')) throw new Error('disk full')
          store.append(events)
        },
      }),
    })
    afterThreeDays(world)
    const got = await ask()
    expect(got.status).toBe(500)
    expect(got.text).not.toContain('taken_day')
  })
  it('is made once for the same form; the second request gets a message and a new key', async () => {
    const edda = await world.signIn(people.edda)
    const key = (await edda.keyOf(PATH)) ?? ''
    const answers = await Promise.all([edda.postRaw(PATH, { ...FIELDS, key }), edda.postRaw(PATH, { ...FIELDS, key })])
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 409])
    const again = await edda.postRaw(PATH, { ...FIELDS, key })
    expect(again.status).toBe(409)
    expect(again.words()).toContain('This file was made already, and making it is recorded.')
    expect(made).toHaveLength(1)
    const fresh = formTo(again.root(), PATH)?.fields ?? {}
    expect(fresh).toMatchObject({ what: 'readings', from: '2026-03-09' })
    expect((await edda.postRaw(PATH, fresh)).status).toBe(200)
    expect(made).toHaveLength(2)
  })
  it('answers 409 for the same key with another request', async () => {
    const edda = await world.signIn(people.edda)
    const key = (await edda.keyOf(PATH)) ?? ''
    await edda.postRaw(PATH, { ...FIELDS, key })
    expect((await edda.postRaw(PATH, { ...FIELDS, what: 'lows', key })).status).toBe(409)
    expect(made).toHaveLength(1)
  })
})

describe('column list', () => {
  const COLUMNS = '/audit/export/columns'
  it('has each column of each file, no names, and is not recorded as an export', async () => {
    const got = await (await world.signIn(people.edda)).get(COLUMNS)
    expect(got.headers).toMatchObject({
      'content-type': 'text/csv; charset=utf-8',
      'content-disposition': 'attachment; filename="export-columns.csv"',
    })
    const rows = rowsOf(got)
    expect(rows.map(({ file, column }) => `${file ?? ''} ${column ?? ''}`)).toEqual(
      EXPORT_KINDS.flatMap((what) => columnsOf(what, true).map(({ name }) => `${what} ${name}`)),
    )
    expect(rows.find(({ column }) => column === 'family_name')).toMatchObject({
      file: 'readings',
      holds: 'family name',
      only_with_names: 'yes',
    })
    expect(made).toEqual([])
  })
  it.each([people.nora, people.cora, people.anna])('refuses $role', async (person) => {
    expect((await (await world.signIn(person)).get(COLUMNS)).status).toBe(403)
  })
  it('requires a login', async () => {
    expect((await world.visitor().get(COLUMNS)).status).toBe(303)
  })
})

describe('the form', () => {
  it('documents every column of every file', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(PATH)
    expect(await checkHtml(got.text)).toEqual([])
    for (const what of EXPORT_KINDS)
      for (const { name, says } of columnsOf(what, true)) {
        expect(got.words()).toContain(name)
        expect(got.words()).toContain(says)
      }
  })
  it.each([
    ['a day that is not over', { to: '2026-03-12' }, 'to'],
    ['another’s ward', { ward: 'wardnowhere00001' }, 'ward'],
    ['too much at once', { ward: 'all', from: '2025-06-01' }, 'from'],
    ['nothing of the kind', { what: 'everything' }, 'what'],
    ['a reason as long as a letter', { reason: 'x'.repeat(201) }, 'reason'],
  ])('refuses %s', async (_name, fields, field) => {
    const got = await ask(fields)
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), field)).not.toBeNull()
    expect(made).toEqual([])
  })
  it('refuses forty malformed forms', async () => {
    const edda = await world.signIn(people.edda)
    const key = await edda.keyOf(PATH)
    for (const { name, body } of malformedPosts(FIELDS, key, 'from')) {
      const got = await edda.postRaw(PATH, body)
      expect([409, 422], name).toContain(got.status)
    }
    expect(made).toEqual([])
  })
  it.each([people.nora, people.cora, people.anna])('refuses $role', async (person) => {
    const client = await world.signIn(person)
    expect((await client.get(PATH)).status).toBe(403)
    expect((await client.postRaw(PATH, { ...FIELDS, key: 'x' })).status).toBe(403)
    expect(made).toEqual([])
  })
})
