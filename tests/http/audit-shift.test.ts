/** The shift audit over HTTP: lows, antecedents, near misses, notes and the report, by role and ward. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, DATE, takeExtra, takeReading } from '../support/bedside.ts'
import { AWAKE, auditedDay, lowOf, treatShown, type AuditedDay } from '../support/audited-day.ts'
import type { Client, Got } from '../support/client.ts'
import { attr, byClass, byTag, checkHtml, errorOf, findAll, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
afterEach(() => world.close())

const DAY = `ward=${ALDER}&from=${DATE}T07%3A00&to=${DATE}T19%3A00`
const rowsOf = (got: Got, caption: string): readonly string[] => {
  const table = byTag(got.root(), 'table').find((one) => textOf(byTag(one, 'caption')[0] ?? one).startsWith(caption))
  return table === undefined
    ? []
    : byTag(table, 'tr')
        .slice(1)
        .map((row) => textOf(row))
}
const keyFor = (client: 'nora', form: string): string =>
  world.server.appContext.formKeys.make(people[client].staffId, form)
const misses = () => world.store.nearMisses(ALL, { wardIds: [ALDER, BIRCH], fromMs: 0, toMs: world.clock.now() + 1 })

describe('a day with one low', () => {
  let day: AuditedDay
  let edda: Client
  beforeEach(async () => {
    world = await makeWorld({ at: `${DATE}T07:10`, alderPolicy: AWAKE })
    day = await auditedDay(world)
    edda = await world.signIn(people.edda)
  })

  it('opens first for the educator, with each shift’s number of lows and its lowest level', async () => {
    const start = await edda.follow(await edda.get('/'))
    expect(await checkHtml(start.text)).toEqual([])
    const shifts = byClass(start.root(), 'row').map((row) => textOf(row))
    expect(shifts).toEqual([
      'Day , Tue 10 Mar 2026, 07:00 to 19:00 ◆ 1 low, level 2 so far 3 near misses',
      'Night , Mon 9 Mar 2026, 19:00 to 07:00 no low',
    ])
    expect(start.words()).toContain('13 other shifts of these days had no low and no near miss.')
    expect(textOf(byClass(start.root(), 'audit-wards')[0] ?? (start.root() as never))).toBe(
      'Alder: 1 low Birch: no low',
    )
    const link = findAll(start.root(), (element) => (attr(element, 'href') ?? '').startsWith('/audit/shift'))[0]
    expect((await edda.get(link === undefined ? '' : (attr(link, 'href') ?? ''))).words()).toContain('Ashby, Ruth')
    expect((await edda.get(`/audit?ward=${BIRCH}`)).words()).toContain('Audit: Birch')
  })

  it('lists each low in one line, with the delay of each step, and the totals', async () => {
    const shift = await edda.get(`/audit/shift?${DAY}`)
    expect(shift.status).toBe(200)
    expect(await checkHtml(shift.text)).toEqual([])
    expect(shift.words()).toContain('Day, Tue 10 Mar 2026, 07:00 to Tue 10 Mar 2026, 19:00, so far')
    expect(rowsOf(shift, 'Lows of the period')).toEqual([
      expect.stringMatching(
        /Tue 10 Mar, 09:50 Bed 1: Ashby, Ruth 52 mg\/dL ◆ level 2 .*7 min after the first value \(limit 5 min\) ◷ late by 2 min \(1st of 2\) .*15 min after treatment \(limit 15 min\) ✓ all 2 kept \(the slowest\) .*37 min after the first value .*20 min after the first value \(limit 30 min\) ✓ kept .*first low of this stay/,
      ),
    ])
    expect(rowsOf(shift, 'Protocol steps')).toEqual([
      'Treat Due 09:55 Done 09:57, 7 min after the first value (limit 5 min) ◷ late by 2 min',
      'Recheck after treatment Due 10:12 Done 10:12, 15 min after treatment (limit 15 min) ✓ kept',
      'Treat (2) Due 10:17 Done 10:12, 0 min after the value that asked for it (limit 5 min) ✓ kept',
      'Tell the prescriber Due 10:20 Done 10:10, 20 min after the first value (limit 30 min) ✓ kept',
      'Recheck after treatment (2) Due 10:27 Done 10:27, 15 min after treatment (limit 15 min) ✓ kept',
      'Longer-acting carbohydrate Due 10:42 Done not done ○ not due yet',
      'Follow-up recheck Due 11:27 Done not done ○ not due yet',
    ])
    expect(shift.words()).toContain('Every treatment within 5 min 0 of 1')
    expect(shift.words()).toContain('Every recheck within 15 min 1 of 1')
    expect(shift.words()).toContain('Prescriber told within 30 min 1 of 1')
    expect(textOf(byClass(shift.root(), 'levels')[0] ?? (shift.root() as never))).toBe(
      '◇ level 1 0 ◆ level 2 1 ■ level 3 0',
    )
    expect(byClass(shift.root(), 'caution').length).toBeGreaterThan(1)
  })

  it('shows antecedents: insulin with its reading and nurses, the late tray and the share eaten', async () => {
    const low = await edda.get(`/audit/lows/${day.low.lowId}`)
    expect(await checkHtml(low.text)).toEqual([])
    expect(
      byClass(low.root(), 'telling')
        .flatMap((list) => byTag(list, 'li'))
        .map((item) => textOf(item)),
    ).toEqual([
      '08:20 (1 h 30 min before): Breakfast tray 25 % eaten',
      '07:35 (2 h 15 min before): Insulin given 4 units of insulin lispro , from 215 mg/dL of 07:20, worked out and given by Nora Lind, second check by Omar Reyes at 07:24, NO TRAY within 15 min: breakfast tray 45 min after the insulin',
      '07:20 (2 h 30 min before): Reading 215 mg/dL',
    ])
    expect(low.words()).toContain('Closest first. Nothing is left out.')
    expect(
      rowsOf(low, 'Everything charted from Tue 10 Mar 2026, 08:50 up to Tue 10 Mar 2026, 10:28').map(
        (row) => row.split(' ')[0],
      ),
    ).toEqual(['09:50', '09:57', '09:57', '10:10', '10:12', '10:12', '10:12', '10:27'])
    expect(
      byTag(low.root(), 'svg').some((svg) =>
        (attr(svg, 'aria-label') ?? '').includes('52 mg/dL at 09:50, 60 mg/dL at 10:12, 88 mg/dL at 10:27'),
      ),
    ).toBe(true)
  })

  it('lists only what happened between two times', async () => {
    const got = await edda.get(`/audit/lows/${day.low.lowId}?from=${DATE}T07%3A00&to=${DATE}T09%3A57`)
    expect(got.status).toBe(200)
    const rows = rowsOf(got, 'Everything charted from')
    expect(rows.map((row) => row.slice(0, 5))).toEqual(['07:20', '07:35', '08:20', '09:50'])
    expect(byTag(got.root(), 'table').filter((one) => textOf(one).includes('Everything charted'))).toHaveLength(1)
    const later = rowsOf(
      await edda.get(`/audit/lows/${day.low.lowId}?from=${DATE}T09%3A55&to=${DATE}T10%3A12`),
      'Everything charted from',
    )
    expect(later.map((row) => row.split(' ').slice(0, 4).join(' '))).toEqual([
      '09:57 +7 min Looked',
      '09:57 +7 min Treated:',
      '10:10 +20 min Told:',
    ])
    const bad = await edda.get(`/audit/lows/${day.low.lowId}?from=${DATE}T10%3A00&to=${DATE}T09%3A00`)
    expect([bad.status, errorOf(bad.root(), 'to')]).toEqual([
      422,
      expect.stringContaining('The end must lie after the beginning.'),
    ])
  })

  it('lists near misses: wrong unit without its number, difference with both, wrong wristband', async () => {
    const shift = await edda.get(`/audit/shift?${DAY}`)
    expect(rowsOf(shift, 'Near misses')).toEqual([
      expect.stringMatching(/07:20 Wrong unit refused at a check; nothing was stored Bed 1: Ashby, Ruth Nora Lind$/),
      expect.stringMatching(
        /07:24 Second check differed second nurse: 215 mg\/dL and 6 units; first nurse: 215 mg\/dL and 4 units; both started again from the meter and the order Bed 1: Ashby, Ruth Omar Reyes$/,
      ),
      expect.stringMatching(
        /07:35 Wrong wristband stopped before giving insulin; it was another patient’s Bed 1: Ashby, Ruth Nora Lind$/,
      ),
    ])
    expect(JSON.stringify(misses())).not.toContain('6.2')
    // another ward lists none of them
    expect((await edda.get(`/audit/shift?${DAY.replace(ALDER, BIRCH)}`)).words()).toContain('None in this period.')
  })

  it('lists a low opened before the period and still open in it, not one closed before or opened after', async () => {
    const asked = async (from: string, to: string): Promise<number> =>
      rowsOf(await edda.get(`/audit/shift?ward=${ALDER}&from=${DATE}T${from}&to=${DATE}T${to}`), 'Lows of the period')
        .length
    expect(await asked('10:00', '10:20')).toBe(1)
    expect(await asked('09:50', '09:51')).toBe(1)
    expect(await asked('09:30', '09:50')).toBe(0)
    const at = Date.parse(`${DATE}T15:40:00Z`)
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          type: 'low-event-closed',
          wardId: ALDER,
          stayId: stays.ruth.stayId,
          actorId: people.nora.staffId,
          happenedAtMs: at,
          chartedAtMs: at,
          body: { lowId: day.low.lowId, cause: 'missed-or-delayed-meal', note: '' },
        },
      ])
      return null
    })
    world.clock.set(`${DATE}T11:00`)
    expect(await asked('10:39', '10:50')).toBe(1)
    expect(await asked('10:41', '10:50')).toBe(0)
  })

  it('lists a low whose reading was corrected, and counts it in no figure', async () => {
    const nora = day.nora
    world.clock.set(`${DATE}T10:40`)
    await takeExtra(nora, stays.tomas, '60', 'slip')
    const opened = lowOf(world, stays.tomas)
    const readingId = opened.openedByReadingId
    expect(
      (
        await nora.post(`/readings/${readingId}/correct`, {
          wristband: stays.tomas.wristband,
          glucose: '160',
          reason: 'Read the 1 as nothing',
        })
      ).status,
    ).toBe(303)
    const shift = await edda.get(`/audit/shift?${DAY}`)
    expect(shift.words()).toContain('1 event is listed and in none of these figures')
    expect(shift.words()).toContain('Every treatment within 5 min 0 of 1')
    expect(rowsOf(shift, 'Lows of the period')).toHaveLength(2)
    expect(shift.words()).toContain('No value of this event counts as low any more: nothing was asked for.')
  })

  it('has the same content expanded on the printed report', async () => {
    const report = await edda.get(`/print/audit/shift?${DAY}`)
    expect(report.status).toBe(200)
    expect(await checkHtml(report.text)).toEqual([])
    expect([
      byTag(report.root(), 'nav').length,
      byTag(report.root(), 'button').length,
      byTag(report.root(), 'details').length,
    ]).toEqual([0, 0, 0])
    for (const caption of ['Lows of the period', 'Protocol steps', 'Everything charted from'])
      expect(rowsOf(report, caption).length, caption).toBeGreaterThan(0)
    expect(report.words()).toContain('by Edda Sorel')
    expect(byClass(report.root(), 'caution').length).toBeGreaterThan(1)
  })

  it('logs each patient shown in the access log', async () => {
    const seen: (string | null)[] = []
    const { accessLog } = world.server.appContext
    const add = accessLog.add.bind(accessLog)
    accessLog.add = (entry) => {
      if (entry.staffId === people.edda.staffId) seen.push(`${entry.page} ${entry.stayId ?? ''}`)
      add(entry)
    }
    await edda.get(`/audit/shift?${DAY}`)
    await edda.get(`/audit/lows/${day.low.lowId}`)
    await edda.get(`/print/audit/shift?${DAY}`)
    await edda.get(`/audit/lows/${day.low.lowId}/notes`)
    await edda.get('/audit')
    expect(new Set(seen)).toEqual(
      new Set(
        ['/audit/shift', '/audit/lows/:lowId', '/print/audit/shift', '/audit/lows/:lowId/notes'].map(
          (page) => `${page} ${stays.ruth.stayId}`,
        ),
      ),
    )
  })

  describe('educator’s notes', () => {
    const path = (): string => `/audit/lows/${day.low.lowId}/notes`
    const NOTE = { finding: 'Tray 45 min after the insulin', followUp: 'Kitchen told on Tuesday' }
    const stored = () => world.store.auditNotes(ALL, day.low.lowId)

    it('are added once when sent twice, listed with author and time, and do not change the low', async () => {
      const before = JSON.stringify(lowOf(world, stays.ruth))
      const form = formTo((await edda.get(path())).root(), path())
      const first = await edda.postRaw(path(), { ...NOTE, key: form?.fields['key'] ?? '' })
      expect([first.status, first.location]).toEqual([
        303,
        `/audit/lows/${day.low.lowId}?note=${stored()[0]?.noteId ?? ''}`,
      ])
      expect((await edda.postRaw(path(), { ...NOTE, key: form?.fields['key'] ?? '' })).status).toBe(303)
      expect(stored()).toMatchObject([{ ...NOTE, byId: people.edda.staffId, atMs: world.clock.now() }])
      expect((await edda.postRaw(path(), { ...NOTE, finding: 'another', key: form?.fields['key'] ?? '' })).status).toBe(
        409,
      )
      world.clock.advance(5)
      expect((await edda.post(path(), { finding: '', followUp: 'Taught at handover' })).status).toBe(303)
      expect(stored()).toHaveLength(2)
      const page = await edda.get(`/audit/lows/${day.low.lowId}`)
      expect(page.words()).toContain(
        'Tue 10 Mar 2026, 10:27, Edda Sorel Finding: Tray 45 min after the insulin Follow-up: Kitchen told on Tuesday',
      )
      expect(page.words()).toContain('Tue 10 Mar 2026, 10:32, Edda Sorel Follow-up: Taught at handover')
      expect(JSON.stringify(lowOf(world, stays.ruth))).toBe(before)
      expect((await edda.get(`/audit/shift?${DAY}`)).words()).toContain('Kitchen told on Tuesday')
    })

    it('come back filled in when both are empty or one is too long', async () => {
      const empty = await edda.post(path(), { finding: '  ', followUp: '' })
      expect([empty.status, errorOf(empty.root(), 'finding')]).toEqual([
        422,
        expect.stringContaining('Write a finding or a follow-up.'),
      ])
      const long = await edda.post(path(), { finding: 'x'.repeat(1001), followUp: 'kept' })
      expect([long.status, formTo(long.root(), path())?.fields['followUp']]).toEqual([422, 'kept'])
      expect(stored()).toEqual([])
    })

    it('are both kept when two devices send at once', async () => {
      const other = await world.signIn(people.edda)
      const [a, b] = await Promise.all([
        edda.post(path(), { ...NOTE, finding: 'one' }),
        other.post(path(), { ...NOTE, finding: 'two' }),
      ])
      expect([a.status, b.status]).toEqual([303, 303])
      expect(
        stored()
          .map(({ finding }) => finding)
          .sort(),
      ).toEqual(['one', 'two'])
    })

    it('answer forty malformed forms without a fault or an empty note', async () => {
      const key = (await edda.keyOf(path())) ?? ''
      for (const { name, body } of malformedPosts({ finding: 'a', followUp: '' }, key, 'finding')) {
        const got = await edda.postRaw(path(), body)
        expect(got.status, name).toBeLessThan(500)
      }
      expect(stored().every(({ finding, followUp }) => finding !== '' || followUp !== '')).toBe(true)
    })

    it('are readable but not writable for a charge nurse', async () => {
      const cora = await world.signIn(people.cora)
      expect((await edda.post(path(), NOTE)).status).toBe(303)
      const page = await cora.get(`/audit/lows/${day.low.lowId}`)
      expect(page.words()).toContain('Kitchen told on Tuesday')
      expect(page.text).not.toContain('/notes"')
      expect((await cora.get(path())).status).toBe(403)
      expect((await cora.postRaw(path(), NOTE)).status).toBe(403)
    })
  })

  it('refuse floor nurses and administrators; another ward and its lows are not found', async () => {
    const paths = [
      '/audit',
      `/audit/shift?${DAY}`,
      `/print/audit/shift?${DAY}`,
      `/audit/lows/${day.low.lowId}`,
      `/audit/lows/${day.low.lowId}/notes`,
    ]
    for (const person of [people.nora, people.anna]) {
      const client = await world.signIn(person)
      for (const path of paths) expect((await client.get(path)).status, `${person.name} ${path}`).toBe(403)
    }
    for (const path of paths) expect((await world.visitor().get(path)).location, path).toMatch(/^\/sign-in/)
    const carl = await world.signIn(people.carl)
    expect((await carl.get(`/audit/lows/${day.low.lowId}`)).status).toBe(404)
    expect((await carl.get(`/audit/shift?${DAY}`)).status).toBe(404)
    expect((await carl.get(`/audit?ward=${ALDER}`)).status).toBe(404)
    for (const id of ['abcdefghijklmnop', 'x', '..%2F..'])
      expect((await edda.get(`/audit/lows/${id}`)).status).toBe(404)
  })

  it('keeps a low with its ward and bed after the patient moved', async () => {
    const at = world.clock.now()
    const head = { stayId: stays.ruth.stayId, actorId: 'loader', happenedAtMs: at, chartedAtMs: at }
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          ...head,
          wardId: ALDER,
          type: 'low-event-closed',
          body: { lowId: day.low.lowId, cause: 'dose-too-high', note: '' },
        },
        { ...head, type: 'stay-moved', wardId: BIRCH, body: { fromWardId: ALDER, toWardId: BIRCH, bed: 'C' } },
      ])
      return null
    })
    world.clock.advance(1)
    const cora = await world.signIn(people.cora)
    expect((await cora.get(`/audit/lows/${day.low.lowId}`)).words()).toContain('Low: Bed 1 (now another ward, bed C)')
    expect(rowsOf(await cora.get(`/audit/shift?${DAY}`), 'Lows of the period')).toHaveLength(1)
    const carl = await world.signIn(people.carl)
    expect((await carl.get(`/audit/lows/${day.low.lowId}`)).status).toBe(404)
  })

  it('moves an open low with the patient, judged by the limits and unit of its first ward', async () => {
    const at = world.clock.now()
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          stayId: stays.ruth.stayId,
          actorId: 'loader',
          happenedAtMs: at,
          chartedAtMs: at,
          type: 'stay-moved',
          wardId: BIRCH,
          body: { fromWardId: ALDER, toWardId: BIRCH, bed: 'C' },
        },
      ])
      return null
    })
    world.clock.advance(1)
    const carl = await world.signIn(people.carl)
    const page = await carl.get(`/audit/lows/${day.low.lowId}`)
    expect(page.words()).toContain('Lowest 52 mg/dL ◆ level 2')
    expect(rowsOf(page, 'Protocol steps')[0]).toContain('late by 2 min')
  })

  it.each([
    ['no ends', '', 'from', 'Choose the date and time of both ends.'],
    ['no date', '&from=yesterday&to=today', 'from', 'Choose the date and time of both ends.'],
    [
      'a day that is none',
      '&from=2026-02-30T07%3A00&to=2026-03-10T07%3A00',
      'from',
      'Choose the date and time of both ends.',
    ],
    ['turned round', `&from=${DATE}T07%3A00&to=${DATE}T07%3A00`, 'to', 'The end must lie after the beginning.'],
    ['still to come', '&from=2026-04-01T07%3A00&to=2026-04-02T07%3A00', 'from', 'This period has not begun yet.'],
    ['too long', '&from=2026-01-01T07%3A00&to=2026-02-01T07%3A01', 'to', 'Ask about at most 31 days at once.'],
  ])('comes back with a message for a period with %s', async (_name, query, field, sentence) => {
    for (const page of ['audit/shift', 'print/audit/shift']) {
      const got = await edda.get(`/${page}?ward=${ALDER}${query}`)
      expect([got.status, errorOf(got.root(), field)]).toEqual([422, expect.stringContaining(sentence)])
    }
  })
  it('accepts a period of 31 days, also across a clock change', async () => {
    expect((await edda.get(`/audit/shift?ward=${ALDER}&from=2026-03-01T07%3A00&to=2026-04-01T07%3A00`)).status).toBe(
      200,
    )
  })
})

describe('near misses kept from refusals', () => {
  beforeEach(async () => {
    world = await makeWorld({ at: `${DATE}T07:20`, alderPolicy: AWAKE })
  })

  it('keeps a value in the other unit once for each form and content: check, paper, correction', async () => {
    const nora = await world.signIn(people.nora)
    const who = stays.tomas
    const paper = `/stays/${who.stayId}/paper-reading`
    const fields = { wristband: who.wristband, glucose: '6.2', takenAt: '07:00', takenBy: '', meterId: '' }
    const key = (await nora.keyOf(paper)) ?? ''
    for (let time = 0; time < 3; time++) expect((await nora.postRaw(paper, { ...fields, key })).status).toBe(422)
    expect((await nora.postRaw(paper, { ...fields, glucose: '5.9', key })).status).toBe(422)
    const readingId = await takeReading(nora, who, '112')
    expect(
      (await nora.post(`/readings/${readingId}/correct`, { wristband: who.wristband, glucose: '6.3', reason: 'slip' }))
        .status,
    ).toBe(422)
    expect(misses().map(({ kind, details, stayId }) => [kind, details['at'], stayId])).toEqual([
      ['wrong-unit', 'paper-reading', who.stayId],
      ['wrong-unit', 'paper-reading', who.stayId],
      ['wrong-unit', 'correction', who.stayId],
    ])
    expect(JSON.stringify(misses())).not.toMatch(/6\.2|5\.9|6\.3/)
    // an ordinary typing error is not a near miss
    expect(
      (await nora.post(`/readings/${readingId}/correct`, { wristband: who.wristband, glucose: '11x', reason: 'slip' }))
        .status,
    ).toBe(422)
    expect(misses()).toHaveLength(3)
  })

  it('keeps guards that stopped a dose, by reading or by clock, but not unanswered questions', async () => {
    const nora = await world.signIn(people.nora)
    const readingId = await takeReading(nora, stays.yusuf, '215')
    const key = keyFor('nora', 'dose')
    for (let time = 0; time < 2; time++)
      expect((await nora.postRaw(`/readings/${readingId}/dose`, { elsewhere: 'none', key })).status).toBe(409)
    expect(misses()).toMatchObject([
      {
        kind: 'guard-stopped',
        stayId: stays.yusuf.stayId,
        subjectId: readingId,
        details: { guards: 'order-verified', orderId: stays.yusuf.orderId },
      },
    ])
    const other = await takeReading(nora, stays.ruth, '215')
    expect((await nora.post(`/readings/${other}/dose`, {})).status).toBe(422)
    expect(misses()).toHaveLength(1)
    expect(
      (
        await nora.postRaw(`/stays/${stays.leo.stayId}/scheduled/${DATE}.2100`, {
          elsewhere: 'none',
          key: keyFor('nora', 'scheduled'),
        })
      ).status,
    ).toBe(409)
    expect(misses().at(-1)).toMatchObject({
      kind: 'guard-stopped',
      subjectId: null,
      details: { guards: 'scheduled-time', orderId: stays.leo.orderId },
    })
    const edda = await world.signIn(people.edda)
    const rows = rowsOf(await edda.get(`/audit/shift?${DAY}`), 'Near misses')
    expect(rows.map((row) => row.replace(/^.*?A guard/, 'A guard'))).toEqual([
      'A guard stopped a dose Verification of the order Bed 4: Dunne, Yusuf Nora Lind',
      'A guard stopped a dose Scheduled time Bed 6: O’Farrell, Leo Nora Lind'.replace('’', "'"),
    ])
    // the guard would reveal the reading to somebody who may still be the second checker
    const cora = await world.signIn(people.cora)
    expect(rowsOf(await cora.get(`/audit/shift?${DAY}`), 'Near misses')[0]).toContain('which guard is shown later')
  })
})

it('hides a value that awaits its second check from a charge nurse, in lists and plots', async () => {
  world = await makeWorld({ at: `${DATE}T06:50`, alderPolicy: AWAKE })
  const nora = await world.signIn(people.nora)
  await takeExtra(nora, stays.ruth, '55', 'blind')
  const { lowId } = lowOf(world, stays.ruth)
  await treatShown(nora, `/lows/${lowId}`)
  world.clock.set(`${DATE}T07:06`)
  await takeReading(nora, stays.ruth, '118', { key: `low.${lowId}.1` })
  const cora = await world.signIn(people.cora)
  const edda = await world.signIn(people.edda)
  for (const path of [
    `/audit/lows/${lowId}`,
    `/audit/lows/${lowId}?from=${DATE}T06%3A00&to=${DATE}T08%3A00`,
    `/audit/shift?ward=${ALDER}&from=${DATE}T06%3A00&to=${DATE}T08%3A00`,
  ]) {
    expect((await edda.get(path)).text).toContain('118 mg/dL')
    const hers = await cora.get(path)
    expect(hers.status).toBe(200)
    expect(hers.text).not.toContain('118')
    expect(hers.words()).toContain('awaiting second check')
  }
})
