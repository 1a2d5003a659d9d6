/**
 * Wards and their policy over HTTP: opening, beds, every part, two administrators, and the effect of a change on a
 * dose.
 */
import { afterEach, describe, expect, it } from 'vitest'
import type { LedgerEvent, Role } from '../../shared/ledger/events.ts'
import { PARTS } from '../../shared/policy/parts.ts'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import {
  ALL,
  answer,
  dose,
  give,
  giveFields,
  productFields,
  proposeDose,
  takeReading,
  verify,
} from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
afterEach(() => world.close())

const ADMIN = { staffId: 'test000000000000', role: 'administrator', wardIds: [] } as const
const DEFAULT = defaultPolicy('mg/dL', 'America/Chicago')
const POLICY = `/setup/wards/${ALDER}/policy`
const start = async (options: WorldOptions = {}): Promise<void> => {
  world = await makeWorld({ at: '2026-03-10T07:30', ...options })
}
const versions = (wardId = ALDER) => world.store.policyVersions(ADMIN, wardId)
const changes = (wardId = ALDER) => world.store.policyChanges(ADMIN, wardId)

/** The part's own form with the changes. */
async function partFields(
  client: Client,
  part: string,
  changed: Readonly<Record<string, string>> = {},
  wardId = ALDER,
): Promise<Readonly<Record<string, string>>> {
  const path = `/setup/wards/${wardId}/policy/${part}`
  const form = formTo((await client.get(path)).root(), path)
  if (form === undefined) throw new Error(`no form at ${path}`)
  return { ...form.fields, note: 'As the pharmacy committee decided', ...changed }
}
async function change(
  client: Client,
  part: string,
  changed: Readonly<Record<string, string>>,
  wardId = ALDER,
): Promise<Got> {
  return client.postRaw(`/setup/wards/${wardId}/policy/${part}`, await partFields(client, part, changed, wardId))
}
const setPolicy = (policy: WardPolicy, fromMs: number): void => {
  const event: LedgerEvent = {
    wardId: ALDER,
    stayId: null,
    actorId: people.anna.staffId,
    happenedAtMs: world.clock.now(),
    chartedAtMs: world.clock.now(),
    type: 'policy-set-from',
    body: { version: (versions()[0]?.version ?? 0) + 1, policy, fromMs, changeId: null, note: 'test' },
  }
  world.store.transact(() => {
    storeEvents(world.store, [event])
    return null
  })
}

describe('wards', () => {
  const GOOD = { name: 'Cedar', unit: 'mmol/L', zone: 'Europe/Dublin', beds: '1\r\n2\r\n\r\n 3 ' }

  it('opens once with the default policy of its unit and beds in walking order', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    const form = await anna.get('/setup/wards/new')
    expect(await checkHtml(form.text)).toEqual([])
    expect(form.words()).toContain('Its unit and time zone never change once it is open')
    const key = await anna.keyOf('/setup/wards/new')
    const post = (): Promise<Got> => anna.postRaw('/setup/wards/new', { ...GOOD, key: key ?? '' })
    const opened = await post()
    expect(opened.status).toBe(303)
    expect((await post()).location).toBe(opened.location)
    const ward = world.store.setUpWards(ADMIN).find(({ name }) => name === 'Cedar')
    expect(ward?.beds).toEqual(['1', '2', '3'])
    expect(opened.location).toBe(`/setup/wards/${ward?.wardId ?? ''}/policy`)
    expect(versions(ward?.wardId)).toMatchObject([
      { version: 1, policy: defaultPolicy('mmol/L', 'Europe/Dublin'), byId: people.anna.staffId },
    ])
    const list = await anna.get('/setup/wards')
    expect(await checkHtml(list.text)).toEqual([])
    expect(list.words()).toMatch(/Cedar mmol\/L, Europe\/Dublin 3 beds/)
    const again = await anna.post('/setup/wards/new', { ...GOOD, name: ' cedar ' })
    expect([again.status, errorOf(again.root(), 'name')]).toEqual([
      422,
      expect.stringContaining('There is a ward of this name'),
    ])
    expect(formTo(again.root(), '/setup/wards/new')?.fields['zone']).toBe('Europe/Dublin')
  })
  it.each([
    ['name', { ...GOOD, name: ' ' }],
    ['unit', { ...GOOD, unit: 'mg' }],
    ['zone', { ...GOOD, zone: 'Mars/Base' }],
    ['beds', { ...GOOD, beds: '' }],
    ['beds', { ...GOOD, beds: '1\n1' }],
    ['beds', { ...GOOD, beds: 'A bed with a long name' }],
  ])('refuses at %s and opens nothing', async (name, fields) => {
    await start()
    const anna = await world.signIn(people.anna)
    const got = await anna.post('/setup/wards/new', fields)
    expect([got.status, errorOf(got.root(), name)]).toEqual([422, expect.any(String)])
    expect(world.store.setUpWards(ADMIN)).toHaveLength(2)
  })

  it('adds and removes beds; an occupied one stays, without its patient’s name', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    const path = `/setup/wards/${ALDER}/beds`
    const page = await anna.get(path)
    expect(await checkHtml(page.text)).toEqual([])
    expect(formTo(page.root(), path)?.fields['beds']?.split(/\r?\n/)).toEqual(['1', '2', '3', '4', '5', '6', '7', '8'])
    const send = async (beds: string): Promise<Got> =>
      anna.postRaw(path, { ...formTo((await anna.get(path)).root(), path)?.fields, beds })
    const refused = await send('1\n2\n3\n4\n6\n7')
    expect([refused.status, errorOf(refused.root(), 'beds')]).toEqual([
      409,
      expect.stringContaining('Bed 5 is occupied'),
    ])
    for (const { familyName, givenName, wristband } of Object.values(stays))
      for (const word of [familyName, givenName, wristband]) expect(refused.text).not.toContain(word)
    const stale = formTo((await anna.get(path)).root(), path)?.fields ?? {}
    expect((await send('6\n5\n4\n3\n2\n1\n9')).location).toBe('/setup/wards')
    expect(world.store.setUpWards(ADMIN).find(({ wardId }) => wardId === ALDER)?.beds).toEqual([
      '6',
      '5',
      '4',
      '3',
      '2',
      '1',
      '9',
    ])
    const nora = await world.signIn(people.nora)
    expect((await nora.get('/round')).words().indexOf('Bed 6')).toBeLessThan(
      (await nora.get('/round')).words().indexOf('Bed 1'),
    )
    const late = await anna.postRaw(path, {
      ...stale,
      key: (await anna.keyOf(path)) ?? '',
      beds: '1\n2\n3\n4\n5\n6\n10',
    })
    expect([late.status, late.words()]).toEqual([
      409,
      expect.stringContaining('Somebody has changed the beds in the meantime'),
    ])
    expect((await send('6\n5\n4\n3\n2\n1\n9')).status).toBe(422)
  })
})

describe('access', () => {
  const roles: readonly Person[] = [people.nora, people.cora, people.edda, people.anna]
  const may = (role: Role): boolean => role === 'administrator'
  it.each(['/setup/wards', '/setup/wards/new', `/setup/wards/${ALDER}/beds`, `${POLICY}/dose`])(
    '%s: for administrators',
    async (path) => {
      await start()
      for (const person of roles) {
        const client = await world.signIn(person)
        expect([person.role, (await client.get(path)).status]).toEqual([person.role, may(person.role) ? 200 : 403])
        if (path !== '/setup/wards')
          expect([person.role, (await client.postRaw(path, {})).status]).toEqual([
            person.role,
            may(person.role) ? 409 : 403,
          ])
      }
      expect((await world.visitor().get(path)).status).toBe(303)
    },
  )
  it('shows the policy to everybody on the ward and all administrators; nurses get no change form', async () => {
    await start()
    const read = async (person: Person): Promise<readonly number[]> => {
      const client = await world.signIn(person)
      return [(await client.get(POLICY)).status, (await client.get(`/setup/wards/${BIRCH}/policy`)).status]
    }
    expect([await read(people.nora), await read(people.bo), await read(people.edda), await read(people.anna)]).toEqual([
      [200, 404],
      [404, 200],
      [200, 200],
      [200, 200],
    ])
    const nora = await (await world.signIn(people.nora)).get(POLICY)
    expect([nora.words().includes('Change insulin doses'), nora.text.includes(`${POLICY}/dose`)]).toEqual([
      false,
      false,
    ])
  })
  it('answers 404 for unknown wards, parts and versions', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    for (const path of [
      '/setup/wards/nosuchward/policy',
      '/setup/wards/wardnowhere00001/policy',
      `${POLICY}?version=9`,
      `${POLICY}/unit`,
      `${POLICY}/nothing`,
      '/setup/wards/wardnowhere00001/beds',
      '/setup/policy-changes/change0000000001',
    ])
      expect([path, (await anna.get(path)).status]).toEqual([path, 404])
    const key = world.server.appContext.formKeys.make(people.anna.staffId, 'policy-part')
    expect((await anna.postRaw(`${POLICY}/nothing`, { key, note: 'x', shown: '1' })).status).toBe(404)
  })
})

describe('policy page', () => {
  it('shows each setting with value, default and source, and marks those that touch a dose', async () => {
    await start({ alderPolicy: { idleLockMin: 7 }, birchPolicy: {} })
    const anna = await world.signIn(people.anna)
    const page = await anna.get(POLICY)
    expect(await checkHtml(page.text)).toEqual([])
    const words = page.words()
    for (const part of PARTS)
      for (const field of part.fields.filter(({ only }) => only === undefined || only.is === 'fixed'))
        expect(words).toContain(field.label)
    expect(words).toMatch(/An idle device locks after 7 min default: 10 min/)
    expect(words).toMatch(/Low below 70 mg\/dL the default Source: American Diabetes Association since 2019/)
    expect(words).toMatch(
      /Single-dose limit, any insulin 100 units the default Source: the ward’s own setting: no figure is published/,
    )
    expect((await anna.get(`/setup/wards/${BIRCH}/policy`)).words()).toMatch(/Low below 3\.9 mmol\/L the default/)
  })
  it.each(PARTS.filter(({ id }) => id !== 'unit').map(({ id }) => id))(
    'has a form for %s that changes nothing when sent unchanged',
    async (id) => {
      await start()
      const anna = await world.signIn(people.anna)
      const page = await anna.get(`${POLICY}/${id}`)
      expect(await checkHtml(page.text)).toEqual([])
      const got = await change(anna, id, {})
      expect([got.status, got.words()]).toEqual([
        422,
        expect.stringContaining('Nothing differs from the newest version'),
      ])
      expect(versions()).toHaveLength(1)
    },
  )
})

describe('a change that touches no dose', () => {
  it('is set by one administrator at once; the version before stays readable', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    const fields = await partFields(anna, 'ward-day', {
      idleLockMin: '4',
      shifts: '07:00 Early\r\n15:00 Late\r\n23:00 Night',
      note: 'New shifts',
    })
    const done = await anna.postRaw(`${POLICY}/ward-day`, fields)
    expect([done.status, done.location]).toEqual([303, POLICY])
    expect((await anna.postRaw(`${POLICY}/ward-day`, fields)).location).toBe(POLICY)
    expect((await anna.postRaw(`${POLICY}/ward-day`, { ...fields, idleLockMin: '5' })).status).toBe(409)
    expect(versions()).toMatchObject([
      {
        version: 2,
        fromMs: world.clock.now(),
        byId: people.anna.staffId,
        changeId: null,
        note: 'New shifts',
        policy: {
          idleLockMin: 4,
          shifts: [
            { name: 'Early', starts: '07:00' },
            { name: 'Late', starts: '15:00' },
            { name: 'Night', starts: '23:00' },
          ],
        },
      },
      { version: 1 },
    ])
    const page = (await anna.get(POLICY)).words()
    expect(page).toMatch(/In force Version 2, from Tue 10 Mar 2026, 07:30, set by Anna Quill/)
    const old = await anna.get(`${POLICY}?version=1`)
    expect([old.words(), await checkHtml(old.text)]).toEqual([
      expect.stringContaining('This is not the version that counts now'),
      [],
    ])
    expect(old.words()).toMatch(/An idle device locks after 10 min the default/)
  })
  it('applies the idle lock and the finger rotation in force', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    expect((await change(anna, 'ward-day', { idleLockMin: '3' })).status).toBe(303)
    const ticks = Object.fromEntries(
      ['left-middle', 'right-middle', 'left-ring', 'right-ring'].map((one) => [`fingers-${one}`, '']),
    )
    const only = Object.fromEntries(
      Object.entries({ ...(await partFields(anna, 'fingers')), ...ticks, 'fingers-right-little': 'yes' }).filter(
        ([, value]) => value !== '',
      ),
    )
    expect((await anna.postRaw(`${POLICY}/fingers`, only)).status).toBe(303)
    expect(versions()[0]?.policy.fingers).toEqual([{ hand: 'right', finger: 'little' }])
    const nora = await world.signIn(people.nora)
    const key = `${stays.ruth.stayId}.2026-03-10.before-breakfast`
    const check = await nora.postRaw(`/checks/${key}/patient`, { wristband: stays.ruth.wristband })
    expect(formTo(check.root(), `/checks/${key}`)?.fields['finger']).toBe('right-little')
    world.clock.advance(4)
    expect((await nora.get('/round')).status).toBe(303)
  })
  it('starts at a later time if chosen; the old policy counts until then', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    expect(
      (await change(anna, 'windows', { 'windows-timed-opensBefore': '45', from: '2026-03-10T12:00' })).status,
    ).toBe(303)
    expect(world.store.wardPolicy(ALL, ALDER, world.clock.now())?.version).toBe(1)
    const page = (await anna.get(POLICY)).words()
    expect(page).toMatch(/In force Version 1/)
    expect(page).toMatch(/Version 2 ○ ?Counts later Tue 10 Mar 2026, 12:00/)
    const early = await change(anna, 'windows', { 'windows-timed-opensBefore': '20' })
    expect([early.status, errorOf(early.root(), 'from')]).toEqual([
      422,
      expect.stringContaining('Version 2 is written and does not count yet'),
    ])
    expect(
      (await change(anna, 'windows', { 'windows-timed-opensBefore': '30', from: '2026-03-10T12:00' })).status,
    ).toBe(303)
    expect((await anna.get(POLICY)).words()).toMatch(/Version 2 ✕ ?Never counted/)
    world.clock.set('2026-03-10T12:00')
    expect(world.store.wardPolicy(ALL, ALDER, world.clock.now())?.version).toBe(3)
  })
  it.each([
    ['2026-03-10T07:29', 'time gone by'],
    ['2028-01-01T07:00', 'More than a year'],
    ['yesterday', 'Give the date and time'],
  ])('refuses a start of %s', async (from, words) => {
    await start()
    const got = await change(await world.signIn(people.anna), 'ward-day', { idleLockMin: '4', from })
    expect([got.status, errorOf(got.root(), 'from')]).toEqual([422, expect.stringContaining(words)])
    expect(versions()).toHaveLength(1)
  })
})

describe('shows all faults beside their settings and keeps what was typed', () => {
  it.each<[string, Readonly<Record<string, string>>, Readonly<Record<string, string>>]>([
    [
      'limits',
      { 'limits-level2': '75', 'limits-criticalHigh': '60' },
      { 'limits-level2': 'Level 2 lies below', 'limits-criticalHigh': 'lies above the low limit' },
    ],
    [
      'limits',
      { 'limits-low': '3.9', 'limits-level2': '' },
      {
        'limits-low': 'Write a value that a meter shows, 20 to 600 mg/dL, a whole number',
        'limits-level2': 'must not be empty',
      },
    ],
    [
      'meals',
      { 'mealTimes-lunch': '09:00', 'roundStarts-bedtime': '14:00' },
      { 'mealTimes-lunch': 'outside its own round', 'roundStarts-bedtime': 'starts too early' },
    ],
    [
      'windows',
      { 'windows-beforeMeal-opensBefore': '20' },
      { 'windows-beforeMeal-opensBefore': 'opens before it is due' },
    ],
    [
      'low',
      { 'low-dextrose-kind': 'formula', 'low-dextrose-gramsWithoutNumber': '' },
      { 'low-dextrose-gramsWithoutNumber': 'must not be empty' },
    ],
    [
      'dose',
      { 'dose-singleDoseLimit': '0', 'dose-readingAgeMaxMin': '1.5' },
      { 'dose-singleDoseLimit': 'between 0.5 and 200 units', 'dose-readingAgeMaxMin': 'a whole number' },
    ],
    [
      'second-check',
      { 'secondCheck-roles-charge-nurse': '' },
      { 'secondCheck-roles': 'the charge nurse must be one of the roles' },
    ],
    ['ward-day', { shifts: 'Day 07:00', note: '' }, { shifts: '07:00 Day', note: 'Say why' }],
  ])('%s %j', async (part, changed, expected) => {
    await start()
    const anna = await world.signIn(people.anna)
    const fields = Object.fromEntries(
      Object.entries(await partFields(anna, part, changed)).filter(
        ([name, value]) => value !== '' || !name.startsWith('secondCheck-'),
      ),
    )
    const got = await anna.postRaw(`${POLICY}/${part}`, fields)
    expect(got.status).toBe(422)
    for (const [name, words] of Object.entries(expected))
      expect([name, errorOf(got.root(), name)]).toEqual([name, expect.stringContaining(words)])
    const back = formTo(got.root(), `${POLICY}/${part}`)?.fields
    for (const [name, value] of Object.entries(changed))
      if (!name.startsWith('secondCheck-')) expect(back?.[name]).toBe(value)
    expect([versions().length, changes().length]).toEqual([1, 0])
    expect(await checkHtml(got.text)).toEqual([])
  })
  it('answers forty malformed posts and changes nothing', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    const forms: readonly [string, Readonly<Record<string, string>>, string][] = [
      [`${POLICY}/dose`, await partFields(anna, 'dose', { 'dose-singleDoseLimit': '15' }), 'dose-singleDoseLimit'],
      [`${POLICY}/meals`, await partFields(anna, 'meals', { bedtime: '22:00' }), 'bedtime'],
      ['/setup/wards/new', { name: 'Cedar', unit: 'mg/dL', zone: 'America/Chicago', beds: '1' }, 'unit'],
    ]
    for (const [path, fields, strict] of forms) {
      const { key: _key, ...good } = fields
      for (const { name, body } of malformedPosts(good, await anna.keyOf(path), strict)) {
        const got = await anna.postRaw(path, body)
        expect([got.status >= 400, got.status < 500], `${path}, ${name}: ${String(got.status)}`).toEqual([true, true])
      }
    }
    expect([versions().length, changes().length, world.store.setUpWards(ADMIN).length]).toEqual([1, 0, 2])
  })
})

describe('a change that touches a dose', () => {
  const limit = (client: Client, units: string, more: Readonly<Record<string, string>> = {}): Promise<Got> =>
    change(client, 'dose', { 'dose-singleDoseLimit': units, ...more })

  it('waits for another administrator while the old policy counts; then both names are shown', async () => {
    await start()
    const anna = await world.signIn(people.anna)
    const written = await limit(anna, '15')
    expect(written.location).toMatch(/^\/setup\/policy-changes\/[a-z0-9]{16}$/)
    const path = written.location ?? ''
    expect([versions().length, changes()[0]?.outcome]).toEqual([1, null])
    const own = await anna.get(path)
    expect(await checkHtml(own.text)).toEqual([])
    expect(own.words()).toMatch(/You wrote this change: another administrator approves it/)
    expect((await anna.post(path, { answer: 'approve', reason: '' })).status).toBe(403)
    for (const page of [POLICY, '/setup/wards']) {
      const got = await anna.get(page)
      expect(got.words()).toMatch(
        /Waits for a second administrator Alder Single-dose limit, any insulin: 100 units → 15 units Anna Quill, .*: As the pharmacy committee decided/,
      )
      expect(await checkHtml(got.text)).toEqual([])
    }
    const nora = await world.signIn(people.nora)
    const read = await nora.get(POLICY)
    expect([
      read.words().includes('Single-dose limit, any insulin: 100 units → 15 units'),
      read.words().includes('Single-dose limit, any insulin 100 units'),
      read.text.includes(path),
    ]).toEqual([true, true, false])
    expect((await nora.get(path)).status).toBe(403)
    const same = await limit(anna, '15')
    expect([same.status, same.words()]).toEqual([409, expect.stringContaining('The same change waits')])

    const abel = await world.signIn(people.abel)
    const page = await abel.get(path)
    expect(page.words()).toMatch(
      /Single-dose limit, any insulin Insulin doses, touches a dose from 100 units to 15 units/,
    )
    const unanswered = await abel.post(path, { reason: '' })
    expect([unanswered.status, errorOf(unanswered.root(), 'answer')]).toEqual([
      422,
      expect.stringContaining('Choose one'),
    ])
    const key = await abel.keyOf(path)
    const approve = (): Promise<Got> => abel.postRaw(path, { answer: 'approve', reason: '', key: key ?? '' })
    expect((await approve()).location).toBe(POLICY)
    expect((await approve()).location).toBe(POLICY)
    expect(versions()).toMatchObject([
      {
        version: 2,
        byId: people.abel.staffId,
        changeId: path.split('/').pop(),
        note: 'As the pharmacy committee decided',
        policy: { dose: { singleDoseLimit: 15 } },
      },
      { version: 1 },
    ])
    expect((await nora.get(POLICY)).words()).toMatch(/Single-dose limit, any insulin 15 units default: 100 units/)
    expect((await anna.get(POLICY)).words()).toMatch(/set by Anna Quill, approved by Abel Lorne/)
    const settled = await abel.get(path)
    expect([settled.words(), formTo(settled.root(), path), await checkHtml(settled.text)]).toEqual([
      expect.stringContaining('Approved By Abel Lorne'),
      undefined,
      [],
    ])
    expect(
      (
        await anna.postRaw(path, {
          answer: 'refuse',
          reason: 'late',
          key: world.server.appContext.formKeys.make(people.anna.staffId, 'policy-change'),
        })
      ).status,
    ).toBe(409)
  })
  it('is refused with a reason, or withdrawn by its writer', async () => {
    await start()
    const [anna, abel] = [await world.signIn(people.anna), await world.signIn(people.abel)]
    const first = (await limit(anna, '15')).location ?? ''
    const bare = await abel.post(first, { answer: 'refuse', reason: ' ' })
    expect([bare.status, errorOf(bare.root(), 'reason')]).toEqual([422, expect.stringContaining('Say why')])
    expect((await abel.post(first, { answer: 'refuse', reason: 'Twenty was agreed' })).location).toBe(first)
    expect(changes()[0]?.outcome).toMatchObject({
      kind: 'refused',
      byId: people.abel.staffId,
      reason: 'Twenty was agreed',
    })
    const second = (await limit(anna, '14')).location ?? ''
    expect((await anna.post(second, { answer: 'refuse', reason: 'Mistyped' })).status).toBe(303)
    expect(versions()).toHaveLength(1)
    expect((await anna.get('/setup/wards')).words()).not.toContain('Waits for a second administrator')
  })
  it('can only be refused when it replaces a version that is no longer the newest', async () => {
    await start()
    const [anna, abel] = [await world.signIn(people.anna), await world.signIn(people.abel)]
    const path = (await limit(anna, '15')).location ?? ''
    const stale = await partFields(anna, 'dose', { 'dose-singleDoseLimit': '12' })
    expect((await change(abel, 'ward-day', { idleLockMin: '8' })).status).toBe(303)
    expect((await abel.get(path)).words()).toContain('Written over an older version')
    const got = await abel.post(path, { answer: 'approve', reason: '' })
    expect([got.status, got.words()]).toEqual([
      409,
      expect.stringContaining('Somebody has set version 2 in the meantime'),
    ])
    expect(versions()).toHaveLength(2)
    // a form drawn before that is refused too
    const late = await anna.postRaw(`${POLICY}/dose`, stale)
    expect([late.status, late.words()]).toEqual([409, expect.stringContaining('Somebody has set version 2')])
    expect((await abel.post(path, { answer: 'refuse', reason: 'Overtaken' })).status).toBe(303)
  })
  it('counts one of two administrators at once: one version, one decision', async () => {
    await start()
    const [anna, abel] = [await world.signIn(people.anna), await world.signIn(people.abel)]
    const fields = [
      await partFields(anna, 'ward-day', { idleLockMin: '8' }),
      await partFields(abel, 'ward-day', { idleLockMin: '9' }),
    ] as const
    const both = await Promise.all([
      anna.postRaw(`${POLICY}/ward-day`, fields[0]),
      abel.postRaw(`${POLICY}/ward-day`, fields[1]),
    ])
    expect(both.map(({ status }) => status).sort()).toEqual([303, 409])
    expect(versions()).toHaveLength(2)
    const changeOf = [(await limit(anna, '15')).location ?? '', (await limit(abel, '14')).location ?? ''] as const
    const answers = await Promise.all([
      abel.post(changeOf[0], { answer: 'approve', reason: '' }),
      anna.post(changeOf[1], { answer: 'approve', reason: '' }),
    ])
    expect(answers.map(({ status }) => status).sort()).toEqual([303, 409])
    expect(versions()).toHaveLength(3)
  })
})

describe('a dose worked out under an older policy', () => {
  const lower: WardPolicy = { ...DEFAULT, dose: { ...DEFAULT.dose, singleDoseLimit: 15 } }
  it('is void once a policy is set at once; it is worked out again under the new one', async () => {
    await start()
    const nora = await world.signIn(people.nora)
    const readingId = await takeReading(nora, stays.ruth, '243')
    const doseId = await proposeDose(nora, readingId)
    await answer(nora, doseId, people.omar, '243', '4')
    setPolicy(lower, world.clock.now())
    const page = await nora.get(`/doses/${doseId}`)
    expect(page.words()).toContain('The ward policy changed. Do not give it.')
    expect((await nora.get(`/doses/${doseId}/product`)).words()).toContain('This dose no longer counts')
    const again = await proposeDose(nora, readingId)
    expect(dose(world.store, again).working.policyVersion).toBe(2)
    await verify(nora, again, stays.ruth, people.omar, '243', '4')
    await give(nora, again, stays.ruth, '07:30')
  })
  it('is void when a later policy comes into force: not checked, signed or given', async () => {
    await start()
    const nora = await world.signIn(people.nora)
    const readingId = await takeReading(nora, stays.ruth, '243')
    const unanswered = await proposeDose(nora, readingId)
    setPolicy(lower, world.clock.now() + 5 * 60_000)
    expect((await nora.get(`/doses/${unanswered}`)).words()).toContain('Awaiting second check')
    const [checkKey, productKey] = ['second-check', 'product'].map((name) =>
      world.server.appContext.formKeys.make(people.nora.staffId, name),
    )
    world.clock.advance(6)
    expect((await nora.get(`/doses/${unanswered}`)).words()).toContain('The ward policy changed. Do not give it.')
    expect((await nora.get('/second-checks')).words()).not.toContain('insulin lispro')
    expect((await nora.get('/round')).words()).not.toContain('Second check waiting')
    const late = await nora.postRaw(`/doses/${unanswered}/second-check`, {
      glucose: '243',
      units: '4',
      badge: people.omar.badge,
      pin: people.omar.pin,
      key: checkKey ?? '',
    })
    expect([late.status, late.words()]).toEqual([409, expect.stringContaining('no longer counts')])
    expect(
      (
        await nora.postRaw(`/doses/${unanswered}/product`, {
          ...productFields(stays.ruth, people.omar, '4'),
          key: productKey ?? '',
        })
      ).status,
    ).toBe(409)
    // it blocks no other dose
    const again = await proposeDose(nora, readingId)
    expect(dose(world.store, again).working.policyVersion).toBe(2)
  })
  it('is not given after signing; one given in time can still be charted', async () => {
    await start()
    const nora = await world.signIn(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    setPolicy(lower, world.clock.now() + 5 * 60_000)
    world.clock.advance(6)
    const form = await nora.get(`/doses/${doseId}/give`)
    expect(form.words()).toContain(
      'STOP. The ward policy changed. Do not give this dose now. Use this form only if it was injected already.',
    )
    const now = await nora.post(`/doses/${doseId}/give`, giveFields(stays.ruth, '07:36'))
    expect([now.status, dose(world.store, doseId).outcome]).toEqual([409, null])
    await give(nora, doseId, stays.ruth, '07:33')
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'given' })
  })
})

describe('second-check rules', () => {
  const of = (secondCheck: Partial<WardPolicy['secondCheck']>): WorldOptions => ({
    alderPolicy: { secondCheck: { ...DEFAULT.secondCheck, ...secondCheck } },
  })
  it('let the first nurse read, sign and give alone when the insulin is not listed', async () => {
    await start(of({ insulins: ['insulin glargine'] }))
    const nora = await world.signIn(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    expect(dose(world.store, doseId)).toMatchObject({ units: 4, secondCheckRequired: false, outcome: null })
    const page = await nora.get(`/doses/${doseId}`)
    expect([page.words(), await checkHtml(page.text)]).toEqual([
      expect.stringContaining('By the ward’s policy this dose needs no second check'),
      [],
    ])
    expect((await nora.get('/round')).words()).toContain('Dose without a second check: draw up')
    const early = await nora.postRaw(`/doses/${doseId}/give`, {
      ...giveFields(stays.ruth, '07:30'),
      key: world.server.appContext.formKeys.make(people.nora.staffId, 'give'),
    })
    expect([early.status, early.words()]).toEqual([
      409,
      expect.stringContaining('The product is read and signed first'),
    ])
    const check = await answer(nora, doseId, people.omar, '243', '4')
    expect([check.status]).toEqual([409])
    // no other nurse can read it
    const omar = await world.signIn(people.omar)
    const fields = {
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: '4',
      wristband: stays.ruth.wristband,
    }
    expect((await omar.post(`/doses/${doseId}/product`, { ...fields, pin: people.omar.pin })).status).toBe(403)
    const product = await nora.get(`/doses/${doseId}/product`)
    expect([
      formTo(product.root(), `/doses/${doseId}/product`)?.fields['badge'],
      product.words(),
      await checkHtml(product.text),
    ]).toEqual([undefined, expect.stringContaining('with no second check by the ward’s policy: 4 units'), []])
    expect((await nora.post(`/doses/${doseId}/product`, { ...fields, pin: people.omar.pin })).status).toBe(422)
    expect(
      (await nora.post(`/doses/${doseId}/product`, { ...fields, units: '40', pin: people.nora.pin })).words(),
    ).toContain('STOP. The syringe or pen shows 40 units')
    expect((await nora.post(`/doses/${doseId}/product`, { ...fields, pin: people.nora.pin })).status).toBe(303)
    await give(nora, doseId, stays.ruth, '07:30')
    expect(dose(world.store, doseId)).toMatchObject({
      answers: [],
      product: { byId: people.nora.staffId },
      outcome: { kind: 'given', byId: people.nora.staffId },
    })
  })
  it('require a second check for a listed insulin', async () => {
    await start(of({ insulins: ['insulin lispro'] }))
    const nora = await world.signIn(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    expect(dose(world.store, doseId).secondCheckRequired).toBe(true)
  })
  it('allow only the roles that policy names', async () => {
    await start(of({ roles: ['charge-nurse'] }))
    const nora = await world.signIn(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    const floor = await answer(nora, doseId, people.omar, '243', '4')
    expect([floor.status, floor.words()]).toEqual([
      403,
      expect.stringContaining('the second check is by another role than yours'),
    ])
    const omar = await world.signIn(people.omar)
    expect((await omar.get('/second-checks')).text).not.toContain(`/doses/${doseId}/second-check`)
    expect((await (await world.signIn(people.cora)).get('/second-checks')).text).toContain(
      `/doses/${doseId}/second-check`,
    )
    expect((await answer(nora, doseId, people.cora, '243', '4')).status).toBe(303)
    expect(dose(world.store, doseId).answers).toMatchObject([{ byId: people.cora.staffId, agreed: true }])
  })
})
