/**
 * The page of one low over HTTP: its head, timeline, plot, antecedents, list and notes, and the links to and from it.
 */
import { parse } from 'csv-parse/sync'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, DATE, takeReading } from '../support/bedside.ts'
import { AWAKE } from '../support/audited-day.ts'
import { chartNight, NIGHT } from '../support/audited-night.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byClass, byTag, checkHtml, findAll, textOf } from '../support/html.ts'
import { ALDER, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

const LOW = `/audit/lows/${NIGHT.lowId}`
const SHIFT = `ward=${ALDER}&from=${NIGHT.evening}T19%3A00&to=${NIGHT.morning}T07%3A00`
const OLD_WORDS = [
  'Until before',
  'Came again',
  'Came back',
  'Not the first of the stay',
  'number 2 of the stay',
  'Minute by minute',
]

let world: World
let edda: Client
beforeEach(async () => {
  world = await makeWorld({ at: `${DATE}T07:10`, alderPolicy: AWAKE })
  chartNight(world)
  edda = await world.signIn(people.edda)
})
afterEach(() => world.close())

const list = (got: Got, name: string): readonly string[] =>
  byClass(got.root(), name)
    .flatMap((one) => byTag(one, 'li'))
    .map((item) => textOf(item))
/** The label and value pairs of the low: "Treated" to the value beside it. */
const pairs = (got: Got): Readonly<Record<string, string>> =>
  Object.fromEntries(
    byTag(byTag(got.root(), 'dl')[0] ?? (got.root() as never), 'div').map((pair) => [
      textOf(byTag(pair, 'dt')[0] ?? pair),
      textOf(byTag(pair, 'dd')[0] ?? pair),
    ]),
  )
const tableRows = (got: Got, caption: string): readonly string[] =>
  byTag(got.root(), 'table')
    .filter((one) => textOf(byTag(one, 'caption')[0] ?? one).startsWith(caption))
    .flatMap((table) => byTag(table, 'tr').slice(1))
    .map((row) => textOf(row))

describe('page of one low', () => {
  let page: Got
  beforeEach(async () => {
    page = await edda.get(LOW)
    expect(await checkHtml(page.text)).toEqual([])
  })

  it('shows one time for each step, the one that its verdict uses', () => {
    expect(pairs(page)).toMatchObject({
      Treated: '7 min after the first value (limit 5 min) ◷ late by 2 min (1st of 2)',
      Rechecked: '16 min after treatment (limit 15 min) ◷ late by 1 min (1st of 2)',
      Recovered: '41 min after the first value',
      'Prescriber told': '48 min after the first value (limit 30 min) ◷ late by 18 min',
    })
    expect(tableRows(page, 'Protocol steps')).toContain(
      'Recheck after treatment Due 03:12 Done 03:13, 16 min after treatment (limit 15 min) ◷ late by 1 min',
    )
  })

  it('shows the first value, the type of low and the symptoms in its head', () => {
    expect(page.words()).toContain(
      'First value 48 mg/dL at 02:50, extra check; symptoms: yes, not described . Lowest 48 mg/dL ◆ level 2',
    )
  })

  it('summarises the event beside the plot, with the number of late steps', () => {
    expect(list(page, 'low-story')).toEqual([
      '02:50 48 mg/dL, extra check (symptoms)',
      '02:57 Treated: 20 g orange juice, N. Lind',
      '03:13 58 mg/dL, recheck: not recovered',
      '03:16 Treated: 15 g orange juice, N. Lind',
      '03:31 84 mg/dL, recheck: recovered',
      '03:38 Dr. Vera Kim told: Measure again at 06:00',
      '03:42 toast and milk, 20 g, N. Lind',
      '04:31 104 mg/dL, recheck: follow-up',
      '04:50 Closed, N. Lind',
    ])
    expect(textOf(byClass(page.root(), 'low-story')[0] ?? (page.root() as never))).toContain('3 of 8 steps late.')
  })

  it('lists the previous 24 h, closest first, one line each, and what it leaves out', () => {
    expect(list(page, 'telling').map((line) => line.replace(/ \(.*? before\)/, ''))).toEqual([
      'Mon 9 Mar, 21:20: Reading 131 mg/dL , symptoms',
      'Mon 9 Mar, 20:30: Order written insulin glargine, version 1 , Dr Sanna Weir, written',
      'Mon 9 Mar, 20:05: Facts changed Renal impairment: no → yes; Other glucose-lowering drugs: none → gliclazide',
      'Mon 9 Mar, 18:20: Supper tray 25 % eaten',
      'Mon 9 Mar, 17:26: Insulin given 6 units of insulin lispro , from 268 mg/dL of 17:10, worked out and given by Nora Lind, second check by Omar Reyes at 17:20, NO TRAY within 15 min: supper tray 54 min after the insulin',
      'Mon 9 Mar, 05:10: Order written insulin lispro, version 1 , Dr Sanna Weir, written',
      'Mon 9 Mar, 05:10: Admitted Alder, bed 1',
    ])
    expect(page.words()).toContain(
      'Closest first. Left out here: 1 other reading and 3 lines about check plans, verified orders, calls and closed lows.',
    )
    // each fact once: the tray does not repeat the insulin
    expect(page.text).not.toContain('min before it')
  })

  it('shows the cause that the nurse chose beside the antecedents on record', () => {
    expect(pairs(page)).toMatchObject({
      'Cause chosen by the nurse': 'meal missed or delayed',
      'Last meal': 'Supper tray, 25 % eaten: Mon 9 Mar, 18:20, 8 h 30 min before',
      'Last insulin': '6 units of insulin lispro: Mon 9 Mar, 17:26, 9 h 24 min before',
      'Repeat low': 'first low of this stay',
    })
  })

  it('lists from an hour before the first value to closing, below its filled-in form', () => {
    const [section] = findAll(page.root(), (element) => attr(element, 'id') === 'charted')
    const [from, to] = ['from', 'to'].map(
      (name) => findAll(page.root(), (element) => attr(element, 'name') === name)[0],
    )
    expect([from, to].map((input) => attr(input ?? (page.root() as never), 'value'))).toEqual([
      `${NIGHT.morning}T01:50`,
      `${NIGHT.morning}T04:51`,
    ])
    const text = textOf(section ?? page.root())
    expect(text.indexOf('List everything charted')).toBeLessThan(text.indexOf('02:50'))
    const rows = tableRows(page, 'Everything charted from Tue 10 Mar 2026, 01:50 up to Tue 10 Mar 2026, 04:51')
    expect(rows[0]).toContain('02:50 Reading 48 mg/dL first value, low, level 2, symptoms')
    expect(rows.find((row) => row.includes('84 mg/dL'))).toContain('03:31 +41 min Reading 84 mg/dL recovered')
    expect(rows.find((row) => row.includes('104 mg/dL'))).toContain('+1 h 41 min Reading 104 mg/dL follow-up')
    expect(rows.at(-1)).toContain('04:50 +2 h Closed Meal missed or delayed')
  })

  it('replaces the list when a period is chosen, including meals and insulin', async () => {
    const asked = await edda.get(`${LOW}?from=${NIGHT.evening}T17%3A00&to=${NIGHT.morning}T04%3A00`)
    expect(asked.status).toBe(200)
    const rows = tableRows(asked, 'Everything charted from')
    expect(
      byTag(asked.root(), 'table')
        .map((table) => textOf(byTag(table, 'caption')[0] ?? table))
        .filter((caption) => caption.startsWith('Everything')),
    ).toEqual(['Everything charted from Mon 9 Mar 2026, 17:00 up to Tue 10 Mar 2026, 04:00'])
    for (const wanted of ['Insulin given 6 units', 'Supper tray 25 % eaten', '84 mg/dL recovered', 'Treated: 20 g'])
      expect(
        rows.some((row) => row.includes(wanted)),
        wanted,
      ).toBe(true)
    expect(rows.some((row) => row.includes('104 mg/dL'))).toBe(false)
    // a tray whose insulin is outside the period names it
    const tray = tableRows(
      await edda.get(`${LOW}?from=${NIGHT.evening}T18%3A00&to=${NIGHT.evening}T19%3A00`),
      'Everything charted from',
    )
    expect(tray.find((row) => row.includes('Supper tray'))).toContain('6 units of insulin lispro 54 min before it')
  })

  it('uses level signs for levels only, and its legend has each sign that is drawn', () => {
    const keys = list(page, 'legend')
    expect(keys).toEqual(['value of the low', 'recheck or follow-up', 'treatment', 'prescriber called', 'meal or food'])
    // the plot draws no filled diamond or square
    const [plot] = byClass(page.root(), 'low-plot')
    const drawn = findAll(plot ?? page.root(), (element) => (attr(element, 'class') ?? '').includes('mark full'))
    expect(drawn.length).toBeGreaterThan(5)
    expect(drawn.filter(({ tagName }) => tagName === 'rect')).toEqual([])
    expect(drawn.filter((element) => (attr(element, 'd') ?? '').split('L').length === 4)).toEqual([])
  })

  it('contains none of the old wording', async () => {
    for (const got of [
      page,
      await edda.get(`/audit/shift?${SHIFT}`),
      await edda.get('/audit'),
      await edda.get(`/print/audit/shift?${SHIFT}`),
    ]) {
      for (const old of OLD_WORDS) expect(got.words()).not.toContain(old)
      expect(got.words()).not.toMatch(/\+ \d+:\d\d/)
    }
  })
})

it('says that symptoms were not charted', async () => {
  const nora = await world.signIn(people.nora)
  await takeReading(nora, stays.tomas, '61')
  const low = world.store.lowsOfStay(ALL, stays.tomas.stayId).at(-1)
  expect((await edda.get(`/audit/lows/${low?.lowId ?? ''}`)).words()).toContain(
    'First value 61 mg/dL at 07:10, check before breakfast; symptoms: not charted . Lowest 61 mg/dL ◇ level 1',
  )
  expect(list(await edda.get('/audit'), 'rows')[0]).toContain('◇ 1 low, level 1 so far')
})

it('lists the lows of the shift before its totals, and marks repeated lows of one patient', async () => {
  const before = await edda.get(`/audit/shift?${SHIFT}`)
  expect(before.words().indexOf('The lows, by time')).toBeGreaterThan(0)
  expect(before.words().indexOf('The lows, by time')).toBeLessThan(before.words().indexOf('Every treatment within'))
  expect(before.words()).not.toContain('lows in')
  const nora = await world.signIn(people.nora)
  await takeReading(nora, stays.ruth, '66')
  const shift = await edda.get(`/audit/shift?ward=${ALDER}&from=${NIGHT.evening}T19%3A00&to=${NIGHT.morning}T12%3A00`)
  expect(shift.words()).toContain('Bed 1: 2 lows in 1 day.')
  expect(tableRows(shift, 'Lows of the period')[1]).toContain(
    '2nd low of this stay; repeat low in 24 h: 4 h 20 min after the last one',
  )
  expect(shift.words()).toContain('Repeat low in 24 h 1 of 2')
})

it('prints each low with its own head, and the whole 24 h before only on request', async () => {
  const report = await edda.get(`/print/audit/shift?${SHIFT}`)
  expect(await checkHtml(report.text)).toEqual([])
  expect(byClass(report.root(), 'sheet-running').map((head) => textOf(head))).toEqual([
    'Audit of lows: Alder. Night, Mon 9 Mar 2026, 19:00 to Tue 10 Mar 2026, 07:00',
    'Bed 1: Ashby, Ruth, born 17 Feb 1948, wristband W7301. Alder. Low of Tue 10 Mar 2026, 02:50',
  ])
  // as the last element of its sheet it could move to a sheet of its own
  const onPaper = byClass(report.root(), 'audit-low').map((low) => textOf(low))
  expect(
    onPaper.map((text) => [
      text.includes('A calculation and charting aid'),
      text.lastIndexOf('A calculation and charting aid') < text.indexOf('Protocol steps'),
    ]),
  ).toEqual([[true, true]])
  expect(report.words()).toContain('16 min after treatment (limit 15 min) ◷ late by 1 min')
  expect(tableRows(report, 'Everything charted in the 24 h before')).toEqual([])
  const whole = await edda.get(`/print/audit/shift?${SHIFT}&before=all`)
  expect(tableRows(whole, 'Everything charted in the 24 h before').length).toBeGreaterThan(6)
})

describe('a saved note', () => {
  it('is confirmed, with the notes first; the low is then reviewed in every list', async () => {
    const saved = await edda.follow(await edda.post(`${LOW}/notes`, { finding: 'Supper late', followUp: '' }))
    expect(await checkHtml(saved.text)).toEqual([])
    expect(saved.words()).toContain('✓ Note saved')
    expect(saved.words().indexOf('Supper late')).toBeLessThan(saved.words().indexOf('First value'))
    expect((await edda.get(LOW)).words()).not.toContain('Note saved')
    expect(tableRows(await edda.get(`/audit/shift?${SHIFT}`), 'Lows of the period')[0]).toContain(
      '✓ reviewed by E. Sorel',
    )
    expect(list(await edda.get('/audit'), 'rows').find((row) => row.startsWith('Night'))).toContain(
      '✓ reviewed by E. Sorel',
    )
  })
  it('is not confirmed by a made-up URL, nor to another reader', async () => {
    await edda.post(`${LOW}/notes`, { finding: 'Supper late', followUp: '' })
    const noteId = world.store.auditNotes(ALL, NIGHT.lowId)[0]?.noteId ?? ''
    expect((await edda.get(`${LOW}?note=${noteId}`)).words()).toContain('Note saved')
    const cora = await world.signIn(people.cora)
    expect((await cora.get(`${LOW}?note=${noteId}`)).words()).not.toContain('Note saved')
    expect((await edda.get(`${LOW}?note=abcdefghijklmnop`)).words()).not.toContain('Note saved')
  })
})

describe('a reading opened from the audit', () => {
  const reading = '/readings/readnight0000004'
  it('links back to the low', async () => {
    const link = findAll((await edda.get(LOW)).root(), (element) =>
      (attr(element, 'href') ?? '').startsWith(reading),
    )[0]
    const page = await edda.get(link === undefined ? '' : (attr(link, 'href') ?? ''))
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.text).toContain(`href="${LOW}"`)
    expect(page.words()).toContain('Back to the low in the audit')
    expect(page.words()).not.toContain('Back to the round')
  })
  it('links to no other place: another stay’s low, a floor nurse, a made-up URL', async () => {
    const nora = await world.signIn(people.nora)
    await takeReading(nora, stays.tomas, '61')
    const other = world.store.lowsOfStay(ALL, stays.tomas.stayId).at(-1)?.lowId ?? ''
    for (const [client, low] of [
      [edda, other],
      [edda, 'abcdefghijklmnop'],
      [edda, '..%2F'],
      [nora, NIGHT.lowId],
    ] as const) {
      const page = await client.get(`${reading}?low=${low}`)
      expect([
        page.status,
        page.words().includes('Back to the low'),
        page.words().includes('Back to the round'),
      ]).toEqual([200, false, true])
    }
  })
})

it('lists every shift of the last seven days with a low or a near miss', async () => {
  world.clock.set('2026-03-16T09:00')
  edda = await world.signIn(people.edda)
  expect(list(await edda.get('/audit'), 'rows').map((row) => row.replace(/ , .*?(\d+ Mar) .*? to \S+/, ' $1'))).toEqual(
    [
      'Day 16 Mar no low so far',
      'Night 15 Mar no low',
      'Night 9 Mar ◆ 1 low, level 2 2 near misses',
      'Day 9 Mar no low 2 near misses',
    ],
  )
  world.clock.set('2026-03-17T09:00')
  edda = await world.signIn(people.edda)
  expect(list(await edda.get('/audit'), 'rows')).toHaveLength(2)
})

it('exports the recheck by the same time as the page', async () => {
  // a day can be exported once it is over
  world.clock.set('2026-03-11T05:00')
  edda = await world.signIn(people.edda)
  const got = await edda.post('/audit/export', {
    what: 'lows',
    format: 'csv',
    ward: ALDER,
    from: NIGHT.evening,
    to: NIGHT.morning,
    reason: '',
  })
  const [row] = parse<Readonly<Record<string, string>>>(got.text, { columns: true, record_delimiter: '\r\n' })
  expect(row).toMatchObject({
    minutes_to_treatment: '7',
    minutes_to_recheck: '23',
    minutes_treatment_to_recheck: '16',
    recheck: 'late',
  })
})
