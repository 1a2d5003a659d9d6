/** The rates page over HTTP: figures, denominators, wards, days and roles. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Scope } from '../../server/store/contract.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { afterThreeDays, AUDITED } from '../support/three-days.ts'
import type { Client } from '../support/client.ts'
import { attr, byClass, byId, byTag, checkHtml, errorOf, textOf } from '../support/html.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
beforeEach(async () => {
  world = await makeWorld()
  afterThreeDays(world)
})
afterEach(() => world.close())

const asked = (over: Readonly<Record<string, string>> = {}): string =>
  `/audit/rates?${new URLSearchParams({ ward: ALDER, ...AUDITED, ...over }).toString()}`
/** The rows of a table in a section, as text. */
const rowsIn = (root: Parameters<typeof byTag>[0], id: string): readonly string[] => {
  const table = byClass(root, 'scroll').find((one) => attr(one, 'aria-labelledby') === id)
  if (byId(root, id) === null || table === undefined) throw new Error(`no table ${id}`)
  return byTag(byTag(table, 'tbody')[0] ?? table, 'tr').map((row) =>
    [...byTag(row, 'th'), ...byTag(row, 'td')].map((cell) => textOf(cell)).join(' | '),
  )
}
const figure = (root: Parameters<typeof byTag>[0], label: string): string =>
  textOf(byTag(root, 'tr').find((row) => textOf(row).startsWith(label)) as never)

describe('Alder’s three days, as the educator sees them', () => {
  it('names each denominator with its numbers; LO is separate in readings and low in a day', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked())
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    // 150, 65, 88, 210, 180 of Ruth; 320, 35 of Tomas; his LO is separate
    expect(rowsIn(got.root(), 'by-band')[1]).toBe(
      'Below 70 mg/dL | By reading: 28.6 % ○ few 2 of 7, 8.2 to 64.1 % | By patient-day: 100 % ○ few 2 of 2, 34.2 to 100 % | By stay: 100 % ○ few 2 of 2, 34.2 to 100 %',
    )
    expect(got.words()).toContain('By reading of 7 readings with a number; 1 LO and 0 HI are counted apart')
    expect(got.words()).toContain('By patient-day of 2 patient-days with a reading')
    expect(rowsIn(got.root(), 'by-band')[5]).toContain('By stay: 50 % ○ few 1 of 2')
    // mean (150 + 65 + 88 + 210 + 180 + 320 + 35) / 7
    expect(figure(got.root(), 'Mean of readings')).toContain('149.7 mg/dL')
  })

  it('shows month, ward, occasion and hour, each with plot and table', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked())
    expect(rowsIn(got.root(), 'by-month')).toHaveLength(1)
    expect(rowsIn(got.root(), 'by-ward')[0]).toMatch(/^Alder \| By reading: 28\.6 %/)
    expect(rowsIn(got.root(), 'by-occasion').map((row) => row.split(' |')[0])).toEqual([
      'Before breakfast',
      'Before lunch',
      'Before supper',
      'Bedtime',
      'Rechecks of a low',
      'Extra checks',
    ])
    expect(rowsIn(got.root(), 'by-hour').map((row) => row.split(' |')[0])).toEqual(
      Array.from({ length: 24 }, (_, hour) => `${String(hour).padStart(2, '0')}:00`),
    )
    // an hour without a reading is an empty place; one with few readings is marked
    expect(rowsIn(got.root(), 'by-hour')[9]).toContain('By reading: none of 0')
    expect(rowsIn(got.root(), 'by-hour')[14]).toMatch(/By reading: 100 % ○ few 1 of 1/)
    // one month is not a trend
    expect(byClass(got.root(), 'share-plot')).toHaveLength(3)
    for (const plot of byClass(got.root(), 'shares'))
      expect(attr(plot, 'aria-label')).toContain('The table below has the numbers')
  })

  it('shows checks, lows, minutes and what second checks caught', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked({ from: '2026-03-09', to: '2026-03-09' }))
    // only Ruth had checks: three done, bedtime 10 min late
    const checks = rowsIn(got.root(), 'checks')
    expect(checks[0]).toMatch(/^Done on time \| .* 2 of /)
    expect(checks[1]).toMatch(/^Done late \| .* 1 of /)
    expect(rowsIn(got.root(), 'lows')[0]).toMatch(/^Level 1 \| 100 % ○ few 1 of 1/)
    expect(figure(got.root(), 'Reading to insulin')).toContain('12 min (12 min to 12 min) 1 of 1 dose given')
    expect(figure(got.root(), 'Insulin to its meal')).toContain('8 min')
    expect(figure(got.root(), 'First value below')).toContain('18 min')
    expect(got.words()).toContain('Second checks that differed: 1, beside 1 dose given.')
  })

  it('judges each value in its own unit when both wards show in mmol/L, and says so', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked({ ward: 'all', unit: 'mmol/L' }))
    expect(rowsIn(got.root(), 'by-band')[1]).toMatch(/^Below 3\.9 mmol\/L \| By reading: 33\.3 % ○ few 3 of 9,/)
    expect(got.words()).toContain(
      'Alder measured in mg/dL. Each value was compared with the limits in the unit it was measured in',
    )
    expect(rowsIn(got.root(), 'by-ward').map((row) => row.split(' |')[0])).toEqual(['Alder', 'Birch'])
  })

  it('uses another band by month, ward and hour', async () => {
    const edda = await world.signIn(people.edda)
    expect(rowsIn((await edda.get(asked({ band: 'above180' }))).root(), 'by-ward')[0]).toMatch(
      /^Alder \| By reading: 28\.6 % ○ few 2 of 7/,
    )
  })

  it('says which days have readings, the last possible day, and what the intervals leave out', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked({ from: '2026-02-01' }))
    // Ruth on the 9th, Tomas on the 10th; nobody in February or on the 11th
    expect(got.words()).toContain('Readings found: 9 Mar 2026 to 10 Mar 2026 (2 days).')
    expect(got.words()).toContain('Up to 11 Mar 2026: a day counts from two hours after it ended.')
    expect(got.words()).toContain('not independent of each other')
    expect((await edda.get(asked({ from: '2026-03-10', to: '2026-03-10' }))).words()).toContain(
      'Readings found: 10 Mar 2026 (1 day).',
    )
    expect((await edda.get(asked({ from: '2026-02-01', to: '2026-02-20' }))).words()).toContain(
      'No readings on these days.',
    )
  })

  it('can leave out the rechecks after lows, and counts them', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked())
    expect(got.words()).toContain('1 of 8 readings above are rechecks')
    // 88 mg/dL at 15:18 is left out: 2 of 6 instead of 2 of 7
    expect(rowsIn(got.root(), 'without-rechecks')[1]).toMatch(
      /By reading: 33\.3 % ○ few 2 of 6,.*By patient-day: .*2 of 2,/,
    )
    const none = await edda.get(asked({ from: '2026-03-10', to: '2026-03-10' }))
    expect(none.words()).toContain('nothing would change without them')
    expect(byId(none.root(), 'without-rechecks')).not.toBeNull()
  })

  it('counts lows and stays with lows, and links to them', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked())
    expect(got.words()).toContain('1 low in 1 stay.')
    const way =
      byTag(got.root(), 'a')
        .map((a) => attr(a, 'href') ?? '')
        .find((href) => href.startsWith('/audit/shift?')) ?? ''
    const lows = await edda.get(way)
    expect(lows.status).toBe(200)
    expect(lows.words()).toContain('65 mg/dL')
    // a quarter is longer than the audit of lows accepts
    expect(
      byTag((await edda.get(asked({ from: '2026-01-15' }))).root(), 'a')
        .map((a) => attr(a, 'href') ?? '')
        .filter((href) => href.startsWith('/audit/shift?')),
    ).toEqual([])
  })

  it('explains each figure of the spread in a sentence', async () => {
    const words = (await (await world.signIn(people.edda)).get(asked())).words()
    for (const figure of ['CV: ', 'LBGI: ', 'HBGI: ']) expect(words).toContain(figure)
  })

  it('names no patient', async () => {
    const edda = await world.signIn(people.edda)
    const { text } = await edda.get(asked())
    for (const name of ['Ashby', 'Brandt', 'W7301', 'W7302']) expect(text).not.toContain(name)
  })
})

describe('wards and days', () => {
  it('defaults to the sign-in ward and the last 30 full days', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get('/audit/rates')
    expect(got.status).toBe(200)
    expect(got.words()).toContain('Alder, 10 Feb 2026 to 11 Mar 2026')
  })
  it.each([
    ['today is not over', { to: '2026-03-12' }, 'to', 'Whole days only. The last day that is over is 11 Mar 2026'],
    ['turned round', { from: '2026-03-11', to: '2026-03-09' }, 'to', 'lies before'],
    ['no date', { from: '2026-02-30' }, 'from', 'Give a date'],
    ['not a date at all', { to: '"><script>' }, 'to', 'Give a date'],
    ['too long', { from: '2022-01-01' }, 'from', 'At most 1100 days'],
    ['a ward that is not there', { ward: 'wardnowhere00001' }, 'ward', 'Choose one of your wards'],
  ])('%s', async (_name, over, field, sentence) => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked(over))
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), field)).toContain(sentence)
    expect(byId(got.root(), 'by-band')).toBeNull()
  })
  it('counts a day from two hours past midnight, so that no figure reveals a value to a second nurse', async () => {
    world.clock.set('2026-03-13T01:59')
    const before = await (await world.signIn(people.cora)).get(asked({ to: '2026-03-12' }))
    world.clock.set('2026-03-13T02:00')
    const after = await (await world.signIn(people.cora)).get(asked({ to: '2026-03-12' }))
    expect([before.status, after.status]).toEqual([422, 200])
  })
  it('shows only sums for a long period, and says what is left out', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked({ from: '2025-09-01' }))
    expect(got.words()).toContain('All of it is shown for at most 92 days')
    expect(byId(got.root(), 'by-hour')).toBeNull()
    expect(rowsIn(got.root(), 'by-band')[1]).toContain('2 of 7')
  })
})

describe('by whom', () => {
  const status = async (client: Client, path: string): Promise<number> => (await client.get(path)).status
  it('opens for charge nurses and educators, on their own wards', async () => {
    expect(await status(await world.signIn(people.cora), asked())).toBe(200)
    expect(await status(await world.signIn(people.carl), asked())).toBe(422)
    const all = await (await world.signIn(people.carl)).get(asked({ ward: 'all' }))
    expect(all.words()).toContain('of 2 readings with a number')
    expect(all.text).not.toContain('Alder')
    expect(await status(await world.signIn(people.carl), asked({ ward: BIRCH }))).toBe(200)
  })
  it.each([people.nora, people.anna])('refuses $role', async (person) => {
    expect(await status(await world.signIn(person), asked())).toBe(403)
  })
  it('requires a login', async () => {
    expect((await world.visitor().get(asked())).status).toBe(303)
  })
})

describe('reads', () => {
  const dates = { fromDate: AUDITED.from, toDate: AUDITED.to }
  const scopeOf = (wardIds: readonly string[]): Scope => ({ staffId: people.edda.staffId, role: 'educator', wardIds })
  const span = { fromMs: 0, toMs: Date.parse('2026-04-01T00:00:00Z') }

  it('keep to the wards of the scope', () => {
    const [own, other] = [scopeOf([ALDER]), scopeOf([BIRCH])]
    expect(world.store.readingsOfStay(own, stays.ruth.stayId, span).map(({ glucose }) => glucose.value)).toEqual([
      150, 65, 88, 210, 180,
    ])
    expect(world.store.readingsOfStay(other, stays.ruth.stayId, span)).toEqual([])
    expect(
      world.store.traysOfWards(own, { wardIds: [ALDER, BIRCH], ...dates }).map(({ stayId, meal }) => [stayId, meal]),
    ).toEqual([[stays.ruth.stayId, 'supper']])
    expect(world.store.traysOfWards(other, { wardIds: [ALDER, BIRCH], ...dates })).toEqual([])
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          type: 'tray-delayed',
          wardId: ALDER,
          stayId: null,
          actorId: people.nora.staffId,
          happenedAtMs: world.clock.now(),
          chartedAtMs: world.clock.now(),
          body: { date: '2026-03-10', meal: 'lunch', minutes: 20 },
        },
      ])
      return null
    })
    expect(world.store.trayDelays(own, ALDER, dates)).toEqual([{ date: '2026-03-10', meal: 'lunch', minutes: 20 }])
    expect(world.store.trayDelays(other, ALDER, dates)).toEqual([])
    const both = { wardIds: [ALDER, BIRCH], ...dates }
    expect(world.store.daysWithReadings(own, both)).toEqual({ first: '2026-03-09', last: '2026-03-10', days: 2 })
    expect(world.store.daysWithReadings(other, both)).toEqual({ first: '2026-03-10', last: '2026-03-10', days: 1 })
    expect(world.store.daysWithReadings(scopeOf([]), both)).toBeNull()
  })
})
