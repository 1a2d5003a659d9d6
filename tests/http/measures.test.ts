/** The harm measures over HTTP: both figures, their stays with reasons, logged reads, and roles. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { highestText } from '../../server/audit/measures.ts'
import { inMgPerDl } from '../../shared/glucose/convert.ts'
import { afterThreeDays, AUDITED } from '../support/three-days.ts'
import { byClass, byTag, checkHtml, errorOf, textOf } from '../support/html.ts'
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
  `/audit/measures?${new URLSearchParams({ ward: ALDER, ...AUDITED, ...over }).toString()}`
const tables = (root: Parameters<typeof byTag>[0]): readonly string[] =>
  byClass(root, 'rates')
    .flatMap((table) => byTag(table, 'tr').slice(1))
    .map((row) => textOf(row))
const listed = (root: Parameters<typeof byTag>[0]): readonly string[] =>
  byClass(root, 'measured').map((row) => textOf(row))

describe('one ended stay with a low after insulin', () => {
  it('is in the numerator with its reason; no other stay ended', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked())
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toContain('1 stay ended on these days.')
    expect(got.words()).toContain('Where the two rows differ, LO and HI make the difference.')
    // harm by both rules: 35 mg/dL at 14:00, insulin elsewhere at 10:00; the LO at 08:00 lies before it
    expect(tables(got.root()).slice(0, 2)).toEqual([
      'As published: LO and HI left out 1 stay none by rule 1 stay 100 % 20.7 to 100 %',
      'Classed: LO counts below, HI above 1 stay none by rule 1 stay 100 % 20.7 to 100 %',
    ])
    const [low = '', high = ''] = listed(got.root())
    expect(low).toContain('Alder, bed 2, wristband W7302')
    expect(low).toContain('14:00: 35 mg/dL. Harm: insulin in the 24 h before')
    expect(high).toContain('In the denominator: diabetes charted, insulin given, a value of 200 mg/dL or above.')
    expect(high).toContain('EVENT: above 300 mg/dL')
    expect(got.text).not.toContain('Brandt')
  })
  it('lists follow the chosen rule', async () => {
    const edda = await world.signIn(people.edda)
    const [low = ''] = listed((await edda.get(asked({ rule: 'classed' }))).root())
    expect(low).toContain('LO. No harm by this measure: no insulin in the 24 h before.')
  })
  it('logs each patient shown as read, and nobody else', async () => {
    const seen: (string | null)[] = []
    await world.close()
    world = await makeWorld({
      wrapStore: (store) => ({
        ...store,
        logAccess: (entries) => {
          seen.push(...entries.filter(({ page }) => page === '/audit/measures').map(({ stayId }) => stayId))
        },
      }),
    })
    afterThreeDays(world)
    await (await world.signIn(people.edda)).get(asked())
    world.server.appContext.accessLog.flush()
    expect(seen).toEqual([stays.tomas.stayId])
  })
  it('shows no result for a ward without discharges', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked({ ward: BIRCH }))
    expect(got.words()).toContain('No patient was discharged on these days, so there is nothing to measure.')
    // and nothing that looks like a result
    expect(got.words()).not.toMatch(/0 stays|Every stay that ended|Stays in the denominator/)
    expect(byClass(got.root(), 'rates')).toEqual([])
    expect(await checkHtml(got.text)).toEqual([])
  })
})

it.each([
  [{ unit: 'mg/dL', value: 312 } as const, ', highest 312 mg/dL'],
  [{ unit: 'mmol/L', value: 78 } as const, ', highest 140.52 mg/dL'],
  // below 200 and shown so: 11.1 times 18.0156 is 199.973
  [{ unit: 'mmol/L', value: 111 } as const, ', highest 199.97 mg/dL'],
])('shows the highest of a day, %j, as%s', (glucose, says) => {
  expect(highestText(inMgPerDl(glucose))).toBe(says)
  expect([highestText(null), highestText(Number.POSITIVE_INFINITY)]).toEqual(['', ', highest HI'])
})

describe('request and roles', () => {
  it('refuses too long a period beside its field', async () => {
    const edda = await world.signIn(people.edda)
    const got = await edda.get(asked({ ward: 'all', from: '2025-06-01' }))
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'from')).toContain('days times wards at most 400')
  })
  it('does not accept a ward of another person', async () => {
    world.store.transact(() => {
      world.store.append([
        {
          type: 'staff-changed',
          wardId: null,
          stayId: null,
          actorId: people.anna.staffId,
          happenedAtMs: world.clock.now(),
          chartedAtMs: world.clock.now(),
          body: { staffId: people.edda.staffId, name: people.edda.name, role: 'educator', wardIds: [BIRCH] },
        },
      ])
      return null
    })
    const edda = await world.signIn(people.edda, { wardId: BIRCH })
    const got = await edda.get(asked())
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'ward')).toContain('Choose one of your wards')
    expect(listed((await edda.get(asked({ ward: BIRCH }))).root())).toEqual([])
  })
  it.each([people.nora, people.cora, people.anna])('refuses $role', async (person) => {
    expect((await (await world.signIn(person)).get(asked())).status).toBe(403)
  })
})
