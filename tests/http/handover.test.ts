/** The handover sheet and the plot of a patient's page over HTTP: roles, masking and the number of reads. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Store } from '../../server/store/contract.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { LAST_VALUE, threeDays, VERA, WAITING_UNITS } from '../support/course.ts'
import type { Got } from '../support/client.ts'
import { attr, byClass, byId, byTag, checkHtml, textOf } from '../support/html.ts'
import { aReading, HOUR, idOf } from '../support/makers.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
/** The number of calls of each store read. */
let reads: Map<string, number>
/** Stays logged as read. */
let noted: (string | null)[]
const counting = (store: Store): Store =>
  new Proxy<Store>(
    {
      ...store,
      logAccess: (entries) => {
        noted.push(...entries.map(({ stayId }) => stayId))
        store.logAccess(entries)
      },
    },
    {
      get: (all, name, self): unknown => {
        reads.set(String(name), (reads.get(String(name)) ?? 0) + 1)
        return Reflect.get(all, name, self)
      },
    },
  )

beforeEach(async () => {
  reads = new Map()
  noted = []
  world = await makeWorld({ at: '2026-03-10T07:20', wrapStore: counting })
  append(...threeDays(world.clock.now()))
})
afterEach(() => world.close())

function append(...events: readonly LedgerEvent[]): void {
  world.store.transact(() => {
    storeEvents(world.store, events)
    return null
  })
}
const PAGES = ['/handover', '/print/handover'] as const
const STAY = `/stays/${VERA.stayId}`
async function read(person: Person, path: string): Promise<Got> {
  return (await world.signIn(person)).get(path)
}
/** The bed's part of the sheet as text. */
function bedOf(got: Got, bed: string): string {
  const found = byClass(got.root(), 'handover-bed').find((section) => textOf(section).startsWith(`Bed ${bed}:`))
  if (found === undefined) throw new Error(`no bed ${bed} on the sheet`)
  return textOf(found)
}
const head = (who: Pick<TestStay, 'stayId' | 'wardId'>, hoursAgo: number, actorId: string = people.nora.staffId) => ({
  wardId: who.wardId,
  stayId: who.stayId,
  actorId,
  happenedAtMs: world.clock.now() - hoursAgo * HOUR,
  chartedAtMs: world.clock.now() - hoursAgo * HOUR,
})
const reading = (
  who: TestStay,
  hoursAgo: number,
  value: number,
  over: Partial<Parameters<typeof aReading>[0]> = {},
): LedgerEvent => ({
  ...head(who, hoursAgo),
  type: 'reading-recorded',
  body: {
    reading: aReading({
      readingId: idOf(`ho${who.bed}${String(hoursAgo).replace('.', 'p')}x`),
      stayId: who.stayId,
      wardId: who.wardId,
      glucose: { unit: who.wardId === ALDER ? 'mg/dL' : 'mmol/L', value },
      takenAtMs: world.clock.now() - hoursAgo * HOUR,
      byId: people.nora.staffId,
      ...over,
    }),
  },
})

describe('access', () => {
  it.each(PAGES)('%s: open to the nurses of a ward only', async (path) => {
    for (const person of [people.nora, people.cora]) expect((await read(person, path)).status).toBe(200)
    for (const person of [people.edda, people.anna]) expect((await read(person, path)).status).toBe(403)
    expect((await world.visitor().get(path)).location).toContain('/sign-in')
  })
  it.each(PAGES)('%s: shows the ward chosen at sign-in and no other ward’s patient', async (path) => {
    const alder = (await read(people.nora, path)).words()
    expect(alder).toContain('Hollis, Vera')
    for (const who of [stays.gwen, stays.ivor]) expect(alder).not.toContain(who.familyName)
    const birch = (await read(people.bo, path)).words()
    expect(birch).toContain('Farrow, Gwen')
    expect(birch).not.toContain('Hollis')
  })
  it.each(PAGES)('%s: logs each patient shown as read', async (path) => {
    const nora = await world.signIn(people.nora)
    await nora.get(path)
    world.server.appContext.accessLog.flush()
    expect(noted.sort()).toEqual(
      [
        ...Object.values(stays)
          .filter(({ wardId }) => wardId === ALDER)
          .map(({ stayId }) => stayId),
        VERA.stayId,
      ].sort(),
    )
  })
  it('shows the nurse’s own beds, or the whole ward on request', async () => {
    const nora = await world.signIn(people.nora)
    append({
      ...head(stays.ruth, 0),
      stayId: null,
      type: 'beds-taken',
      body: { staffId: people.nora.staffId, beds: ['1', '8'] },
    })
    const own = (await nora.get('/handover')).words()
    expect(own).toContain('Ashby, Ruth')
    expect(own).not.toContain('Hollis')
    expect(own).toContain('Empty beds: 8')
    expect((await nora.get('/print/handover?beds=mine')).words()).not.toContain('Hollis')
    expect((await nora.get('/handover?beds=all')).words()).toContain('Hollis, Vera')
  })
})

describe('content of a bed', () => {
  it.each(PAGES)('%s is valid HTML with both identifiers, the facts and a plot with its numbers', async (path) => {
    const got = await read(people.nora, path)
    expect(await checkHtml(got.text)).toEqual([])
    const said = bedOf(got, '7')
    for (const part of [
      'W7307',
      '2 May 1944',
      'Not the right hand: fistula',
      'Contact isolation',
      'Type 1 diabetes',
      'renal impairment',
      'on a steroid',
    ])
      expect(said).toContain(part)
    const [plot] = byTag(got.root(), 'svg').filter((svg) => attr(svg, 'aria-label')?.startsWith('Last 24 h') === true)
    if (plot === undefined) throw new Error('no plot')
    expect(attr(plot, 'role')).toBe('img')
    const numbers = textOf(byId(got.root(), attr(plot, 'aria-describedby') ?? '') ?? got.root())
    for (const value of ['167 mg/dL', 'HI', '342 mg/dL', '49 mg/dL', '88 mg/dL']) expect(numbers).toContain(value)
    // corrected or more than a day old: shown nowhere
    expect(numbers).not.toContain('205')
  })
  it('lists insulin with units and time, also from elsewhere; lows with their state; meals', async () => {
    append({
      ...head(VERA_STAY, 2),
      type: 'outside-dose-recorded',
      body: {
        outsideDose: {
          outsideDoseId: idOf('hoout'),
          stayId: VERA.stayId,
          insulin: 'regular insulin',
          units: 3,
          givenAtMs: world.clock.now() - 5 * HOUR,
          chartedAtMs: world.clock.now() - 2 * HOUR,
          source: 'paper',
          givenBy: 'Night nurse',
          checkedBy: null,
          byId: people.nora.staffId,
        },
      },
    })
    const said = bedOf(await read(people.nora, '/handover'), '7')
    expect(said).toMatch(/Mon 17:38 Insulin given: 11.units of insulin lispro/)
    expect(said).toMatch(/02:20 Insulin given: 3.units of regular insulin, on paper or elsewhere/)
    expect(said).toMatch(/04:14: level 2, lowest 49.mg\/dL, recovered 04:50, open/)
    expect(said).toMatch(/Supper Mon 17:56: 100.% eaten/)
  })
  it('shows the plan, checks due in the next shift, and the order with its verification', async () => {
    // at 07:20 the day shift takes over, from 08:00 on the night shift
    const early = bedOf(await read(people.nora, '/handover'), '7')
    expect(early).toContain('Due up to 19:00')
    for (const due of ['Before lunch, 11:45', 'Before supper, 17:00']) expect(early).toContain(due)
    expect(early).not.toMatch(/Bedtime, 21:30|Scheduled, 21:00/)
    world.clock.set('2026-03-10T08:00')
    const got = await read(people.nora, '/handover')
    const said = bedOf(got, '7')
    expect(said).toContain('Due up to Wed 07:00')
    expect(said).toContain('Before meals and at bedtime')
    for (const due of ['Before lunch, 11:45', 'Bedtime, 21:30']) expect(said).toContain(due)
    expect(said).toMatch(/Scheduled, 21:00: 18.units of insulin lispro, held below 100.mg\/dL/)
    expect(said).not.toContain('Wed 07:30')
    expect(said).toMatch(
      /Verified insulin lispro U-100, .* correction by scale, 2 to 10.units, from 151.mg\/dL, “no dose, call” from 401.mg\/dL; meal part/,
    )
    expect(bedOf(got, '4')).toContain('Not verified')
    expect(bedOf(got, '4')).toContain('no dose comes from it')
    expect(bedOf(got, '2')).toContain('No active insulin order.')
    expect(bedOf(got, '5')).toContain('Nil by mouth')
  })
  it('shows open calls, second checks, insulin questions and missed checks, but no voided reading', async () => {
    append(reading(stays.tomas, 5, 140), {
      ...head(stays.tomas, 4),
      type: 'reading-voided',
      body: { readingId: idOf('ho25x'), reason: 'Taken from the patient beside' },
    })
    const got = await read(people.nora, '/handover')
    for (const open of [
      'Second check waiting',
      'Critical result: the prescriber is not told yet',
      'Ask the prescriber about meal and long-acting insulin',
      'tell the prescriber',
      'Missed Before lunch',
    ])
      expect(bedOf(got, '7')).toContain(open)
    expect(bedOf(got, '2')).not.toContain('140')
    expect(bedOf(got, '2')).toMatch(/Readings, last 24 h None\./)
  })
  it('shows a withheld dose with its reason', async () => {
    const nora = await world.signIn(people.nora)
    append({
      ...head(VERA_STAY, 0),
      type: 'dose-not-given',
      body: { doseId: idOf('verawaits'), kind: 'withheld', reason: 'Going to theatre' },
    })
    expect(bedOf(await nora.get('/handover'), '7')).toMatch(
      /07:20 13.units of insulin lispro withheld: Going to theatre/,
    )
  })
  it('has no links on paper and says that no dose is worked out from it', async () => {
    const got = await read(people.nora, '/print/handover')
    expect(byTag(got.root(), 'main').flatMap((main) => byTag(main, 'a'))).toEqual([])
    expect(byTag(got.root(), 'button')).toEqual([])
    expect(got.words()).toContain('no dose is worked out from this sheet')
    expect(got.words()).toContain('printed by Nora Lind')
  })
  it('shows a transferred patient’s last day in the unit it was measured in', async () => {
    append(reading(stays.gwen, 3, 72, { byId: people.bo.staffId }), {
      ...head(stays.gwen, 1),
      type: 'stay-moved',
      body: { fromWardId: BIRCH, toWardId: ALDER, bed: '8' },
    })
    const nora = await world.signIn(people.nora)
    expect(bedOf(await nora.get('/handover'), '8')).toMatch(/7\.2.mmol\/L/)
    expect((await nora.get(`/stays/${stays.gwen.stayId}`)).status).toBe(200)
  })
})

const VERA_STAY = { stayId: VERA.stayId, wardId: ALDER }

describe('masking', () => {
  /** Everything sent except random ids and keys, and drawing positions, which do not depend on a masked reading. */
  const everything = (got: Got): string =>
    got.text
      .replace(/name="key" value="[^"]*"/g, '')
      .replace(/\/assets\/[\w.-]+/g, '')
      .replace(/(?<![a-z0-9])[a-z0-9]{16}(?![a-z0-9])/g, '')
      .replace(/ (?:x|y|x1|x2|y1|y2|cx|cy|d|viewBox)="[^"]*"/g, '')
  /** The positions of a plot's marks. */
  const drawn = (got: Got): string =>
    byTag(got.root(), 'svg')
      .filter((svg) => attr(svg, 'class')?.includes('course-plot') === true)
      .map(
        (svg) =>
          byClass(svg, 'course-line')
            .map((path) => attr(path, 'd'))
            .join() +
          byTag(svg, 'circle')
            .map((circle) => `${attr(circle, 'cx') ?? ''},${attr(circle, 'cy') ?? ''}`)
            .join(' '),
      )
      .join('\n')

  it.each([...PAGES, STAY])('%s: hides value and units from a possible second checker and says so', async (path) => {
    for (const person of [people.omar, people.cora]) {
      const got = await read(person, path)
      expect(everything(got)).not.toContain(String(LAST_VALUE))
      expect(everything(got)).not.toContain(`${String(WAITING_UNITS)} units`)
      expect(everything(got)).not.toContain(`${String(WAITING_UNITS)}\u00a0units`)
      expect(got.words()).toContain('awaiting second check')
    }
  })
  it.each([...PAGES, STAY])('%s: shows both to the nurse who took the reading, and plots it', async (path) => {
    const [nora, omar] = [await read(people.nora, path), await read(people.omar, path)]
    expect(nora.words()).toContain(`${String(LAST_VALUE)}`)
    expect(nora.words()).toMatch(new RegExp(`${String(WAITING_UNITS)}.units`))
    expect(drawn(nora)).not.toBe(drawn(omar))
  })
  it('draws the same for a possible second checker whatever the value', async () => {
    const before = await read(people.omar, STAY)
    await world.close()
    world = await makeWorld({ at: '2026-03-10T07:20', wrapStore: counting })
    append(
      ...threeDays(world.clock.now()).map((event) =>
        event.type === 'reading-recorded' && event.body.reading.glucose.value === LAST_VALUE
          ? { ...event, body: { reading: { ...event.body.reading, glucose: { unit: 'mg/dL' as const, value: 590 } } } }
          : event,
      ),
    )
    expect(drawn(await read(people.omar, STAY))).toBe(drawn(before))
  })
  it('shows the value to an educator, who cannot check, on the patient’s page', async () => {
    expect((await read(people.edda, STAY)).words()).toContain(`${String(LAST_VALUE)} mg/dL`)
  })
  it('shows the value to everybody after the reading’s age limit', async () => {
    world.clock.advance(61)
    expect((await read(people.omar, STAY)).words()).toContain(`${String(LAST_VALUE)} mg/dL`)
  })
})

describe('plot of the patient’s page', () => {
  it('has a name, a description and a table with every number', async () => {
    const got = await read(people.nora, STAY)
    expect(await checkHtml(got.text)).toEqual([])
    const [plot] = byClass(got.root(), 'course-plot')
    if (plot === undefined) throw new Error('no plot')
    expect(attr(plot, 'role')).toBe('img')
    expect(attr(plot, 'aria-label')).toMatch(/^Readings, insulin, lows and meals of the last 72 h: \d+ readings/)
    expect(byId(got.root(), attr(plot, 'aria-describedby') ?? '')).toBeDefined()
    const [table] = byClass(got.root(), 'course-table')
    const rows = textOf(table ?? got.root())
    for (const said of byClass(plot, 'said').flatMap((text) => textOf(text).split(', '))) expect(rows).toContain(said)
    for (const part of [
      '18 units of insulin glargine',
      '4 units of regular insulin, on paper or elsewhere',
      'level 1, lowest 58 mg/dL',
      'closed: meal missed or delayed',
      'Laboratory value',
      'meter or strips in doubt',
      '0 % eaten',
    ])
      expect(rows).toContain(part)
  })
  it('leaves out a corrected reading; the full list keeps it', async () => {
    append(
      reading(stays.tomas, 3, 311),
      reading(stays.tomas, 3, 113, {
        readingId: idOf('hofixed'),
        supersedes: { readingId: idOf('ho23x'), reason: 'digits swapped' },
      }),
    )
    const got = await read(people.nora, `/stays/${stays.tomas.stayId}`)
    expect(byTag(got.root(), 's').map(textOf)).toContain('311 mg/dL')
    expect(textOf(byClass(got.root(), 'course-table')[0] ?? got.root())).not.toContain('311')
    expect(byClass(got.root(), 'course-plot').flatMap((svg) => byTag(svg, 'text').map(textOf))).not.toContain('311')
  })
})

describe('head of the sheet', () => {
  const summary = (got: Got): readonly (readonly string[])[] =>
    byClass(got.root(), 'summary').map((list) => byTag(list, 'li').map(textOf))
  it.each(PAGES)('%s: names the shifts that hand over at that time', async (path) => {
    const heading = async (time: string): Promise<string> => {
      world.clock.set(`2026-03-10T${time}`)
      return /(\w+ to \w+, \w+ \d+ Mar)/.exec((await read(people.nora, path)).words())?.[1] ?? ''
    }
    expect(await heading('07:59')).toBe('Night to Day, Tue 10 Mar')
    expect(await heading('08:00')).toBe('Day to Night, Tue 10 Mar')
    expect(await heading('19:30')).toBe('Day to Night, Tue 10 Mar')
    expect(await heading('20:00')).toBe('Night to Day, Wed 11 Mar')
  })
  it('lists needs first, one line each with age, owner and its link on screen', async () => {
    append({
      ...head(stays.ruth, 0),
      stayId: null,
      type: 'beds-taken',
      body: { staffId: people.omar.staffId, beds: ['5', '7'] },
    })
    const got = await read(people.nora, '/handover')
    const [needs = []] = summary(got)
    expect(needs[0]).toMatch(/^Bed 7, Hollis ■ Insulin given, no tray charted since Mon 21:02; Omar Reyes$/)
    expect(needs).toContain('Bed 5, Ekström ▲ Check late due 06:00, late since 06:30; Omar Reyes')
    expect(needs.some((line) => line.startsWith('Meter '))).toBe(true)
    // the board's own list in another layout
    const board = byClass((await read(people.cora, '/board')).root(), 'need')
    expect(needs).toHaveLength(board.length)
    expect(got.text.indexOf('Needs a person')).toBeLessThan(got.text.indexOf('class="handover-bed"'))
    // the bed's own part says the same of the late check
    expect(bedOf(got, '5')).toContain('▲ Late Before breakfast: due 06:00, late since 06:30 (50 min)')
    expect(bedOf(got, '5')).not.toContain('Nothing is left open')
  })
  it('lists lows of the last 12 hours, also closed ones, and older open ones', async () => {
    const lowOf = (hoursAgo: number, name: string, previousLowId: string | null): readonly LedgerEvent[] => [
      reading(stays.leo, hoursAgo, 61, { readingId: idOf(`r${name}`) }),
      {
        ...head(stays.leo, hoursAgo),
        type: 'low-event-opened',
        body: { lowId: idOf(name), readingId: idOf(`r${name}`), previousLowId },
      },
      reading(stays.leo, hoursAgo - 0.5, 98, { readingId: idOf(`f${name}`) }),
      {
        ...head(stays.leo, hoursAgo - 1),
        type: 'low-event-closed',
        body: { lowId: idOf(name), cause: 'other', note: '' },
      },
    ]
    append(...lowOf(14, 'early', null), ...lowOf(5, 'late', idOf('early')))
    const [, lows = []] = summary(await read(people.nora, '/handover'))
    expect(lows.filter((line) => line.startsWith('Bed 6'))).toEqual([
      expect.stringMatching(/^Bed 6, O'Farrell, Leo 02:20: level 1, lowest 61.mg\/dL, .*closed/),
    ])
    expect(lows.some((line) => line.startsWith('Bed 7') && line.includes('◆ Not closed'))).toBe(true)
  })
  it('lists only the nurse’s own beds on request', async () => {
    const nora = await world.signIn(people.nora)
    append({
      ...head(stays.ruth, 0),
      stayId: null,
      type: 'beds-taken',
      body: { staffId: people.nora.staffId, beds: ['5'] },
    })
    const [needs = []] = summary(await nora.get('/handover?beds=mine'))
    expect(needs.length).toBeGreaterThan(0)
    for (const line of needs) expect(line).toMatch(/^Bed 5,/)
  })
})

describe('a sheet with many beds', () => {
  it('calls no read more often than for one bed', async () => {
    const nora = await world.signIn(people.nora)
    append({
      ...head(stays.ruth, 0),
      stayId: null,
      type: 'beds-taken',
      body: { staffId: people.nora.staffId, beds: ['7'] },
    })
    const asked = async (path: string): Promise<Readonly<Record<string, number>>> => {
      await nora.get(path)
      reads.clear()
      await nora.get(path)
      return Object.fromEntries([...reads].filter(([name]) => name !== 'logAccess'))
    }
    const one = await asked('/print/handover?beds=mine')
    expect(one['presentCare']).toBe(1)
    expect(await asked('/print/handover?beds=all')).toEqual(one)
  })
  it('limits the read for the whole ward to the scope and period', () => {
    const scope = { staffId: people.bo.staffId, role: 'floor-nurse', wardIds: [BIRCH] } as const
    const span = { fromMs: world.clock.now() - 24 * HOUR, toMs: world.clock.now() + 1 }
    expect(world.store.presentCare(scope, ALDER, span)).toBeUndefined()
    expect(world.store.presentCare(scope, BIRCH, span)).toEqual({ readings: [], doses: [], outsideDoses: [] })
    const alder = world.store.presentCare({ ...scope, wardIds: [ALDER] }, ALDER, span)
    expect(alder?.readings.map(({ glucose }) => glucose.value)).toEqual([
      167,
      'HI',
      342,
      231,
      178,
      49,
      64,
      88,
      LAST_VALUE,
    ])
    expect(alder?.doses.map(({ units }) => units)).toEqual([6, 11, 18, WAITING_UNITS])
  })
})
