/** People over HTTP: added, changed, locked, left; their PINs and codes; and which sessions end. */
import { afterEach, describe, expect, it } from 'vitest'
import { BADGE_LIMIT } from '../../server/http/attempts.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Store } from '../../server/store/contract.ts'
import { ALL, answer, DATE, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client, Fields, Got } from '../support/client.ts'
import { byClass, byId, checkHtml, errorOf, formTo, textOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World
afterEach(() => world.close())

/** Moves the clock by days without the idle lock between two steps. */
const AWAKE: Partial<WardPolicy> = { idleLockMin: 100_000 }
let appended: LedgerEvent[]
async function open(options: WorldOptions = {}): Promise<Client> {
  appended = []
  const wrapStore = (store: Store): Store => ({
    ...store,
    append: (events) => {
      store.append(events)
      appended.push(...events)
    },
  })
  world = await makeWorld({ alderPolicy: AWAKE, birchPolicy: AWAKE, wrapStore, ...options })
  return world.signIn(people.anna)
}

const pathOf = ({ staffId }: { readonly staffId: string }, form = ''): string => `/setup/people/${staffId}${form}`
const about = (person: Person) => world.store.staffById(person.staffId)
const NEW = { name: 'Ida Marsh', role: 'floor-nurse', [`ward.${ALDER}`]: 'yes', trainingUntil: '', badge: 'N5005' }
const roleOf = (person: Person, over: Fields = {}): Fields => ({
  name: person.name,
  role: person.role,
  ...Object.fromEntries(person.wardIds.map((wardId) => [`ward.${wardId}`, 'yes'])),
  ...over,
})
const bedsTaken = (wardId: string): readonly string[] =>
  (world.store.wardFacts(ALL, wardId, world.clock.now())?.bedsTaken ?? []).map(({ staffId }) => staffId)
/** Makes a code for the person and reads it from the response, as an administrator would. */
async function makeCode(anna: Client, person: { readonly staffId: string }): Promise<string> {
  const got = await anna.post(pathOf(person, '/pin-code'), {})
  expect([got.status, got.location]).toEqual([303, pathOf(person, '/pin-code')])
  const shown = await anna.follow(got)
  expect(await checkHtml(shown.text)).toEqual([])
  return textOf(byId(shown.root(), 'pin-code') ?? shown.root())
}
const setPin = (code: string, over: Fields = {}, client = world.visitor()): Promise<Got> =>
  client.postRaw('/set-pin', { badge: NEW.badge, code, pin: '839201', pinAgain: '839201', ...over })
/** What the ledger records about PINs: type, author and full text. */
const pinTraces = () =>
  appended.filter(({ type }) => type.startsWith('pin-')).map(({ type, actorId, body }) => [type, actorId, body])
const isLive = async (client: Client): Promise<boolean> => (await client.get('/setup')).status === 200
const added = () => world.store.staffByBadge(NEW.badge)

describe('adding a person', () => {
  it('opens the person’s page without a PIN; sent again, it adds nobody', async () => {
    const anna = await open()
    const page = await anna.get('/setup/people/new')
    expect(await checkHtml(page.text)).toEqual([])
    const form = formTo(page.root(), '/setup/people/new')
    // the badge comes last, because a scanner's Enter submits the form
    expect(form?.names.at(-1)).toBe('badge')
    const fields = { ...NEW, trainingUntil: '2026-12-31', key: form?.fields['key'] ?? '' }
    const got = await anna.postRaw('/setup/people/new', fields)
    const again = await anna.postRaw('/setup/people/new', fields)
    expect(got.status).toBe(303)
    expect([again.status, again.location]).toEqual([303, got.location])
    expect(added()).toMatchObject({
      name: 'Ida Marsh',
      role: 'floor-nurse',
      wardIds: [ALDER],
      trainingUntil: '2026-12-31',
      locked: null,
      leftAtMs: null,
    })
    expect(world.store.staffList(ALL).filter(({ name }) => name === 'Ida Marsh')).toHaveLength(1)
    const person = await anna.follow(got)
    expect(person.words()).toContain('No PIN yet')
    expect(person.words()).toContain('until 31 Dec 2026')
    expect(await checkHtml(person.text)).toEqual([])
    // nobody can sign in without a PIN
    expect((await world.visitor().postRaw('/sign-in', { badge: NEW.badge, pin: '839201' })).status).toBe(422)
  })

  it.each<[string, Fields, string, string]>([
    ['no name', { name: ' ' }, 'name', 'Type the name'],
    ['a long name', { name: 'x'.repeat(81) }, 'name', 'at most 80'],
    ['no role', { role: '' }, 'role', 'Choose a role'],
    ['a role there is not', { role: 'owner' }, 'role', 'Choose a role'],
    ['no badge', { badge: '' }, 'badge', 'Scan or type'],
    ['somebody’s badge', { badge: people.nora.badge }, 'badge', 'Nora Lind'],
    ['no date of the calendar', { trainingUntil: '2026-02-30' }, 'trainingUntil', 'date of the calendar'],
    ['a date too far ahead', { trainingUntil: '2062-02-03' }, 'trainingUntil', 'three years'],
  ])('%s: answers 422 beside the field and keeps what was typed', async (_name, over, field, sentence) => {
    const anna = await open()
    const got = await anna.post('/setup/people/new', { ...NEW, ...over })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), field)).toContain(sentence)
    const back = formTo(got.root(), '/setup/people/new')?.fields ?? {}
    expect(back).toMatchObject({ ...(field === 'name' ? {} : { name: NEW.name }), [`ward.${ALDER}`]: 'yes' })
    expect(await checkHtml(got.text)).toEqual([])
    expect(added()).toBeUndefined()
  })

  it.each<[string, Fields, string]>([
    ['no ward', { name: 'Ida Marsh', role: 'floor-nurse', badge: 'N5005' }, 'at least one ward'],
    ['a ward there is not', { ...NEW, 'ward.nosuchward000000': 'yes' }, 'no such ward'],
  ])('%s: answers 422', async (_name, fields, sentence) => {
    const anna = await open()
    const got = await anna.post('/setup/people/new', fields)
    expect([got.status, got.words().includes(sentence)]).toEqual([422, true])
    expect(added()).toBeUndefined()
  })

  it('answers 422 to forty malformed posts and adds nobody', async () => {
    const anna = await open()
    const key = await anna.keyOf('/setup/people/new')
    const before = world.store.staffList(ALL).length
    for (const { name, body } of malformedPosts(NEW, key, 'role')) {
      const got = await anna.postRaw('/setup/people/new', body)
      expect([409, 422], name).toContain(got.status)
      expect(world.store.staffList(ALL).length, name).toBe(before)
    }
  })

  it('adds one of two people with the same badge sent at once', async () => {
    const anna = await open()
    const abel = await world.signIn(people.abel)
    const answers = await Promise.all([
      anna.post('/setup/people/new', NEW),
      abel.post('/setup/people/new', { ...NEW, name: 'Ida March' }),
    ])
    expect(answers.map(({ status }) => status).sort()).toEqual([303, 422])
  })
})

describe('access', () => {
  const READ = ['/setup/people', pathOf(people.nora)]
  const FORMS = [
    '/setup/people/new',
    ...['/role', '/badge', '/lock', '/unlock', '/leave', '/training', '/pin-code'].map((form) =>
      pathOf(people.nora, form),
    ),
  ]

  it('lets a floor nurse read only; charge nurse and educator read people of their wards', async () => {
    await open()
    for (const person of [people.nora, people.cora, people.edda]) {
      const client = await world.signIn(person)
      for (const path of FORMS) {
        expect((await client.get(path)).status, `${person.name} ${path}`).toBe(403)
        expect((await client.postRaw(path, {})).status, `${person.name} ${path}`).toBe(403)
      }
      for (const path of READ)
        expect((await client.get(path)).status, `${person.name} ${path}`).toBe(person === people.nora ? 403 : 200)
    }
    expect(about(people.nora)).toMatchObject({ role: 'floor-nurse', locked: null, leftAtMs: null })
  })

  it('shows a charge nurse the people of the same ward only, without forms', async () => {
    await open()
    const cora = await world.signIn(people.cora)
    const list = await cora.get('/setup/people')
    expect(list.words()).toContain('Nora Lind')
    expect(list.words()).not.toContain('Bo Whitlock')
    expect(list.words()).not.toContain('Anna Quill')
    // names only the reader's own ward of a person on two wards
    const pia = await cora.get(pathOf(people.pia))
    expect(pia.words()).toContain('Alder')
    expect(pia.words()).not.toContain('Birch')
    expect(pia.text).not.toContain('/role')
    expect((await cora.get(pathOf(people.bo))).status).toBe(404)
    expect((await cora.get(pathOf(people.anna))).status).toBe(404)
    for (const got of [list, pia]) expect(await checkHtml(got.text)).toEqual([])
  })

  it('shows an educator whose training ends within 30 days or has ended', async () => {
    const anna = await open()
    await anna.post(pathOf(people.nora, '/training'), { until: '2026-03-20' })
    await anna.post(pathOf(people.omar, '/training'), { until: '2026-03-09' })
    await anna.post(pathOf(people.pia, '/training'), { until: '2026-11-01' })
    const edda = await world.signIn(people.edda)
    const got = await edda.get('/setup/people')
    const renew = textOf(byClass(got.root(), 'warning')[0] ?? got.root())
    expect(renew).toContain('Nora Lind (ends soon: 20 Mar 2026)')
    expect(renew).toContain('Omar Reyes (ended: 9 Mar 2026)')
    expect(renew).not.toContain('Pia Holm')
    expect((await edda.get('/setup')).words()).toContain('Meter training of 2 people has ended, or ends within 30 days')
  })

  it('answers 404 for an unknown person, in reading and in changing', async () => {
    const anna = await open()
    const nobody = { staffId: 'nobodys000000000' }
    expect((await anna.get(pathOf(nobody))).status).toBe(404)
    for (const form of ['/role', '/badge', '/lock', '/unlock', '/leave', '/training', '/pin-code'])
      expect((await anna.get(pathOf(nobody, form))).status, form).toBe(404)
    const key = world.server.appContext.formKeys.make(people.anna.staffId, 'person-lock')
    expect((await anna.postRaw(pathOf(nobody, '/lock'), { reason: 'x', key })).status).toBe(404)
  })
})

describe('name, role and wards', () => {
  it('ends every session when the role changes, and none when the name changes', async () => {
    const anna = await open()
    const [first, second] = [await world.signIn(people.nora), await world.signIn(people.nora)]
    expect(
      (await anna.post(pathOf(people.nora, '/role'), roleOf(people.nora, { name: 'Nora Lind-Hall' }))).status,
    ).toBe(303)
    expect([await isLive(first), await isLive(second)]).toEqual([true, true])
    expect((await anna.post(pathOf(people.nora, '/role'), roleOf(people.nora, { role: 'charge-nurse' }))).status).toBe(
      303,
    )
    expect(about(people.nora)).toMatchObject({ role: 'charge-nurse', wardIds: [ALDER] })
    for (const client of [first, second]) expect((await client.get('/round')).location).toBe('/sign-in?next=%2Fround')
  })

  it('removing a ward releases its beds, also after signing in again', async () => {
    const anna = await open()
    const pia = await world.signIn(people.pia)
    await pia.post('/ward', { wardId: ALDER, [`bed.${ALDER}.1`]: 'yes' })
    await pia.post('/ward', { wardId: BIRCH, [`bed.${BIRCH}.A`]: 'yes' })
    expect([bedsTaken(ALDER), bedsTaken(BIRCH)]).toEqual([[people.pia.staffId], [people.pia.staffId]])
    expect(
      (
        await anna.post(pathOf(people.pia, '/role'), {
          name: people.pia.name,
          role: 'floor-nurse',
          [`ward.${BIRCH}`]: 'yes',
        })
      ).status,
    ).toBe(303)
    expect([bedsTaken(ALDER), bedsTaken(BIRCH)]).toEqual([[], [people.pia.staffId]])
    expect(await isLive(pia)).toBe(false)
    const again = await world.signIn(people.pia, { wardId: BIRCH })
    expect((await again.get(`/stays/${stays.ruth.stayId}`)).status).toBe(404)
    expect((await again.get(`/stays/${stays.gwen.stayId}`)).status).toBe(200)
  })

  it('answers 403 to changes of one’s own role or ward; one’s own name can change', async () => {
    const anna = await open()
    for (const over of [{ role: 'charge-nurse', [`ward.${ALDER}`]: 'yes' }, { [`ward.${ALDER}`]: 'yes' }]) {
      const got = await anna.post(pathOf(people.anna, '/role'), roleOf(people.anna, over))
      expect(got.status).toBe(403)
      expect(got.words()).toContain('Nobody changes their own role or wards')
    }
    expect(about(people.anna)).toMatchObject({ role: 'administrator', wardIds: [] })
    expect(
      (await anna.post(pathOf(people.anna, '/role'), roleOf(people.anna, { name: 'Anna Quill-Bray' }))).status,
    ).toBe(303)
    expect(about(people.anna)?.name).toBe('Anna Quill-Bray')
    expect(await isLive(anna)).toBe(true)
  })

  it('answers 422 to forty malformed posts and changes nothing', async () => {
    const anna = await open()
    const key = await anna.keyOf(pathOf(people.nora, '/role'))
    for (const { name, body } of malformedPosts(roleOf(people.nora), key, 'role'))
      expect([409, 422], name).toContain((await anna.postRaw(pathOf(people.nora, '/role'), body)).status)
    expect(about(people.nora)).toMatchObject({ name: people.nora.name, role: 'floor-nurse', wardIds: [ALDER] })
  })
})

describe('the last administrator who can sign in', () => {
  it('cannot be locked or leave until there is a second one', async () => {
    const anna = await open()
    await anna.post(pathOf(people.abel, '/lock'), { reason: 'Away' })
    // a new administrator without a PIN cannot sign in, so does not count
    await anna.post('/setup/people/new', {
      name: 'Ada Stone',
      role: 'administrator',
      trainingUntil: '',
      badge: 'A5005',
    })
    for (const [form, fields] of [
      ['/lock', { reason: 'x' }],
      ['/leave', { gone: 'yes' }],
    ] as const) {
      const got = await anna.post(pathOf(people.anna, form), fields)
      expect([got.status, got.words().includes('last administrator who can sign in')], form).toEqual([409, true])
    }
    expect(await isLive(anna)).toBe(true)
    await anna.post(pathOf(people.abel, '/unlock'), {})
    expect((await anna.post(pathOf(people.anna, '/leave'), { gone: 'yes' })).status).toBe(303)
    expect(await isLive(anna)).toBe(false)
    expect(about(people.anna)?.leftAtMs).toBe(world.clock.now())
  })

  it('keeps one of two administrators who lock each other at once', async () => {
    const anna = await open()
    const abel = await world.signIn(people.abel)
    const statuses = await Promise.all([
      anna.post(pathOf(people.abel, '/lock'), { reason: 'x' }),
      abel.post(pathOf(people.anna, '/lock'), { reason: 'x' }),
    ])
    expect(statuses.filter(({ status }) => status === 303).length).toBeGreaterThan(0)
    expect([about(people.anna), about(people.abel)].filter((person) => person?.locked === null)).toHaveLength(1)
  })
})

describe('locking', () => {
  it('ends the session, releases the beds, and shows the reason to administrator and charge nurse', async () => {
    const anna = await open()
    const nora = await world.signIn(people.nora)
    await nora.post('/ward', { wardId: ALDER, [`bed.${ALDER}.1`]: 'yes' })
    expect((await nora.get('/round')).status).toBe(200)
    const got = await anna.post(pathOf(people.nora, '/lock'), { reason: 'Badge lost on the bus' })
    expect([got.status, got.location]).toEqual([303, pathOf(people.nora)])
    expect((await nora.get('/round')).location).toBe('/sign-in?next=%2Fround')
    expect(bedsTaken(ALDER)).toEqual([])
    expect((await anna.follow(got)).words()).toContain('Badge lost on the bus')
    expect((await (await world.signIn(people.cora)).get(pathOf(people.nora))).words()).toContain(
      'Badge lost on the bus',
    )
    const again = await anna.post(pathOf(people.nora, '/lock'), { reason: 'x' })
    expect([again.status, about(people.nora)?.locked?.reason]).toEqual([409, 'Badge lost on the bus'])
  })

  it('refuses a session that still exists', async () => {
    const anna = await open()
    const nora = await world.signIn(people.nora)
    const drop = world.store.dropSessionsOf.bind(world.store)
    Object.assign(world.store, { dropSessionsOf: () => undefined })
    await anna.post(pathOf(people.nora, '/lock'), { reason: 'x' })
    expect((await nora.get('/round')).location).toBe('/sign-in?next=%2Fround')
    Object.assign(world.store, { dropSessionsOf: drop })
  })

  it('looks like a wrong PIN in words and work; with the right PIN it says locked', async () => {
    const anna = await open()
    await anna.post(pathOf(people.nora, '/lock'), { reason: 'x' })
    const client = world.visitor()
    const wrong = await client.postRaw('/sign-in', { badge: people.nora.badge, pin: '998877' })
    const usedBefore = world.server.appContext.decoyPinHash.used
    const unknown = await client.postRaw('/sign-in', { badge: 'N9999', pin: '998877' })
    expect(world.server.appContext.decoyPinHash.used).toBe(usedBefore + 1)
    expect(unknown.text.replaceAll('N9999', people.nora.badge)).toBe(wrong.text)
    const right = await client.postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })
    expect([right.status, right.words().includes('This badge is locked. Ask the charge nurse')]).toEqual([422, true])
    expect(client.cookies.size).toBe(0)
    expect((await anna.post(pathOf(people.nora, '/unlock'), {})).status).toBe(303)
    expect((await client.postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).status).toBe(303)
    expect((await anna.post(pathOf(people.nora, '/unlock'), {})).status).toBe(409)
  })

  it('refuses a second check by a locked nurse, and the dose still waits', async () => {
    const anna = await open({ at: `${DATE}T07:20` })
    const nora = await world.signIn(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '215'))
    await anna.post(pathOf(people.omar, '/lock'), { reason: 'x' })
    const refused = await answer(nora, doseId, people.omar, '215', '4')
    expect(refused.status).toBe(422)
    expect(errorOf(refused.root(), 'pin')).toContain('This badge is locked')
    expect(world.store.doseById(ALL, doseId)?.answers).toEqual([])
    await anna.post(pathOf(people.omar, '/unlock'), {})
    expect((await answer(nora, doseId, people.omar, '215', '4')).status).toBe(303)
    expect(world.store.doseById(ALL, doseId)?.answers).toHaveLength(1)
  })

  it('refuses a nurse locked while the PIN is being hashed', async () => {
    await open()
    const real = world.store.pinHash.bind(world.store)
    Object.assign(world.store, {
      pinHash: (staffId: string) => {
        const hash = real(staffId)
        if (staffId !== people.nora.staffId) return hash
        Object.assign(world.store, { pinHash: real })
        world.store.transact(() => {
          const at = world.clock.now()
          world.store.append([
            {
              type: 'staff-locked',
              wardId: null,
              stayId: null,
              actorId: people.anna.staffId,
              happenedAtMs: at,
              chartedAtMs: at,
              body: { staffId, reason: 'x' },
            },
          ])
          return null
        })
        return hash
      },
    })
    const got = await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })
    expect([got.status, got.words().includes('locked')]).toEqual([422, true])
  })

  it.each([
    ['/lock', { reason: 'Badge lost' }, 'reason'],
    ['/leave', { gone: 'yes' }, 'gone'],
    ['/badge', { badge: 'N7777' }, 'badge'],
    ['/training', { until: '2026-12-31' }, 'until'],
  ] as const)('%s sent empty: answers 422, or clears the date', async (form, _good, field) => {
    const anna = await open()
    const before = JSON.stringify(about(people.nora))
    const got = await anna.post(pathOf(people.nora, form), { [field]: '' })
    expect(got.status).toBe(422)
    expect(await checkHtml(got.text)).toEqual([])
    expect(JSON.stringify(about(people.nora))).toBe(before)
  })

  it.each([
    ['/leave', { gone: 'yes' }, 'gone'],
    ['/training', { until: '2026-12-31' }, 'until'],
  ] as const)('%s: forty malformed posts change nothing', async (form, good, strict) => {
    const anna = await open()
    const before = JSON.stringify(about(people.nora))
    const key = await anna.keyOf(pathOf(people.nora, form))
    for (const { name, body } of malformedPosts(good, key, strict))
      expect([409, 422], name).toContain((await anna.postRaw(pathOf(people.nora, form), body)).status)
    expect(JSON.stringify(about(people.nora))).toBe(before)
  })
})

describe('leaving', () => {
  it('is permanent, and the name stays on what was charted', async () => {
    const anna = await open({ at: `${DATE}T07:20` })
    const nora = await world.signIn(people.nora)
    const reading = await takeReading(nora, stays.tomas, '112')
    expect((await anna.post(pathOf(people.nora, '/leave'), { gone: 'yes' })).status).toBe(303)
    expect((await nora.get('/round')).status).toBe(303)
    const right = await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })
    expect(right.words()).toContain('This badge is locked')
    const cora = await world.signIn(people.cora)
    expect((await cora.get(`/readings/${reading}`)).words()).toContain('Nora Lind')
    expect((await cora.get('/setup/people')).words()).toContain('No longer works here')
    // nothing restores the person or changes the record
    for (const [form, fields] of [
      ['/role', roleOf(people.nora, { name: 'Somebody Else' })],
      ['/badge', { badge: 'N7777' }],
      ['/lock', { reason: 'x' }],
      ['/unlock', {}],
      ['/leave', { gone: 'yes' }],
      ['/training', { until: '2026-12-31' }],
      ['/pin-code', {}],
    ] as const) {
      const key = world.server.appContext.formKeys.make(people.anna.staffId, `person-${form.slice(1)}`)
      expect((await anna.postRaw(pathOf(people.nora, form), { ...fields, key })).status, form).toBe(409)
    }
    expect(about(people.nora)).toMatchObject({
      name: 'Nora Lind',
      badge: people.nora.badge,
      locked: null,
      trainingUntil: null,
    })
    // the badge stays with this person's name
    expect(
      errorOf((await anna.post('/setup/people/new', { ...NEW, badge: people.nora.badge })).root(), 'badge'),
    ).toContain('Nora Lind')
  })
})

describe('replacing a badge', () => {
  it('keeps the PIN; the old badge no longer works', async () => {
    const anna = await open()
    expect((await anna.post(pathOf(people.nora, '/badge'), { badge: people.omar.badge })).status).toBe(422)
    expect((await anna.post(pathOf(people.nora, '/badge'), { badge: people.nora.badge })).status).toBe(422)
    expect((await anna.post(pathOf(people.nora, '/badge'), { badge: 'N7777' })).status).toBe(303)
    expect((await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).status).toBe(
      422,
    )
    expect((await world.visitor().postRaw('/sign-in', { badge: 'N7777', pin: people.nora.pin })).status).toBe(303)
  })
})

describe('meter training', () => {
  const sentence = 'Your meter training ended on 9 Mar 2026: ask your educator.'
  const training = async (anna: Client, until: string): Promise<Got> =>
    anna.post(pathOf(people.nora, '/training'), { until })
  const seen = async (nora: Client): Promise<readonly boolean[]> => {
    const check = await nora.postRaw('/scan', { wristband: stays.tomas.wristband })
    return [(await nora.get('/round')).words().includes('meter training'), check.words().includes('meter training')]
  }

  it('shows ended training on the Round and at the check without stopping anything', async () => {
    const anna = await open({ at: `${DATE}T07:20` })
    const nora = await world.signIn(people.nora)
    expect(await seen(nora)).toEqual([false, false])
    await training(anna, '2026-03-10')
    expect(await seen(nora)).toEqual([false, false])
    await training(anna, '2026-03-09')
    expect(await seen(nora)).toEqual([true, true])
    expect((await nora.get('/round')).words()).toContain(sentence)
    expect(await checkHtml((await nora.get('/round')).text)).toEqual([])
    await takeReading(nora, stays.tomas, '112')
    expect((await training(anna, '2026-03-09')).status).toBe(422)
    expect((await training(anna, '')).status).toBe(303)
    expect(about(people.nora)?.trainingUntil).toBeNull()
    expect((await nora.get('/round')).words()).not.toContain('meter training')
  })

  it('cannot be entered for oneself', async () => {
    const anna = await open()
    expect((await anna.post(pathOf(people.anna, '/training'), { until: '2026-12-31' })).status).toBe(403)
    expect(about(people.anna)?.trainingUntil).toBeNull()
  })
})

describe('one-time code', () => {
  async function withNew(): Promise<{ readonly anna: Client; readonly ida: { readonly staffId: string } }> {
    const anna = await open()
    await anna.post('/setup/people/new', NEW)
    const ida = added()
    if (ida === undefined) throw new Error('nobody was added')
    return { anna, ida }
  }

  it('is shown once, stored as a hash, and in no URL, log or draft', async () => {
    const lines: string[] = []
    const anna = await open({
      logTo: {
        write: (line) => {
          lines.push(line)
        },
      },
      config: { logLevel: 'info' },
    })
    await anna.post('/setup/people/new', NEW)
    const ida = added() ?? { staffId: '' }
    const shown = await makeCode(anna, ida)
    expect(shown).toMatch(/^[A-Z0-9]{4} [A-Z0-9]{4}$/)
    const code = shown.replace(' ', '')
    const reload = await anna.get(pathOf(ida, '/pin-code'))
    expect(reload.status).toBe(200)
    expect(reload.text).not.toContain(shown)
    expect(world.store.pinCode(ida.staffId)?.codeHash).toMatch(/^\$argon2id\$/)
    expect((await anna.get(pathOf(ida))).words()).toContain('A code for a new one holds until Wed 11 Mar, 07:20')
    const wrong = await setPin(code, { pin: '111111' })
    expect(wrong.text.replaceAll(' ', '')).not.toContain(code)
    expect((await setPin(shown)).status).toBe(303)
    expect(lines.length).toBeGreaterThan(4)
    expect(lines.join('')).not.toContain(code)
    expect(lines.join('')).not.toContain('839201')
  })

  it('lets the person set a PIN and sign in, once', async () => {
    const { anna, ida } = await withNew()
    const code = await makeCode(anna, ida)
    const client = world.visitor()
    expect(await checkHtml((await client.get('/set-pin')).text)).toEqual([])
    const got = await setPin(` ${code.toLowerCase().replace(' ', '-')} `, {}, client)
    expect([got.status, got.location]).toEqual([303, '/sign-in?pin=set'])
    expect((await client.follow(got)).words()).toContain('Your PIN is set')
    expect(pinTraces()).toEqual([
      ['pin-code-made', people.anna.staffId, { staffId: ida.staffId }],
      ['pin-set', ida.staffId, { by: 'code', staffId: ida.staffId }],
    ])
    expect((await client.postRaw('/sign-in', { badge: NEW.badge, pin: '839201' })).status).toBe(303)
    const again = await setPin(code, { pin: '740293', pinAgain: '740293' })
    expect(again.status).toBe(422)
    expect(errorOf(again.root(), 'code')).toContain('used already')
    expect(world.store.pinCode(ida.staffId)).toBeUndefined()
    expect((await anna.get(pathOf(ida))).words()).toContain('Set by the person')
  })

  it('replaces a forgotten PIN: the old PIN and every session end', async () => {
    const anna = await open()
    const nora = await world.signIn(people.nora)
    const code = await makeCode(anna, people.nora)
    expect(await isLive(nora)).toBe(true)
    expect((await setPin(code, { badge: people.nora.badge })).status).toBe(303)
    expect(await isLive(nora)).toBe(false)
    expect((await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).status).toBe(
      422,
    )
    expect((await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: '839201' })).status).toBe(303)
  })

  it('expires after 24 hours exactly', async () => {
    const { anna, ida } = await withNew()
    const code = await makeCode(anna, ida)
    world.clock.advance(24 * 60)
    const late = await setPin(code)
    expect(late.status).toBe(422)
    expect(errorOf(late.root(), 'code')).toContain('older than 24 hours')
    world.clock.advance(-1)
    expect((await setPin(code)).status).toBe(303)
  })

  it('fails alike in words and work: wrong, another person’s, replaced, or unknown', async () => {
    const { anna, ida } = await withNew()
    const first = await makeCode(anna, ida)
    const second = await makeCode(anna, ida)
    const replaced = await setPin(first)
    const { decoyPinHash } = world.server.appContext
    const used = decoyPinHash.used
    const noCode = await setPin(second, { badge: people.omar.badge })
    const nobody = await setPin(second, { badge: 'N9999' })
    expect(decoyPinHash.used).toBe(used + 2)
    expect([replaced.status, noCode.status, nobody.status]).toEqual([422, 422, 422])
    expect(nobody.text.replaceAll('N9999', NEW.badge)).toBe(replaced.text)
    expect(noCode.text.replaceAll(people.omar.badge, NEW.badge)).toBe(replaced.text)
    expect((await setPin(second)).status).toBe(303)
  })

  it('counts under the sign-in limits: the right code also waits after five wrong ones', async () => {
    const { anna, ida } = await withNew()
    const code = await makeCode(anna, ida)
    for (let time = 0; time < BADGE_LIMIT.most; time++) expect((await setPin('ACDEFHJK')).status).toBe(422)
    const limited = await setPin(code)
    expect([limited.status, limited.words().includes('Too many attempts. Wait 5 minutes')]).toEqual([429, true])
    // the same count as signing in
    expect((await world.visitor().postRaw('/sign-in', { badge: NEW.badge, pin: '839201' })).status).toBe(429)
    world.clock.advance(5)
    expect((await setPin(code)).status).toBe(303)
  })

  it('ends with a lock, and is refused when made at that moment', async () => {
    const { anna, ida } = await withNew()
    const code = await makeCode(anna, ida)
    const kept = world.store.pinCode(ida.staffId)
    await anna.post(pathOf(ida, '/lock'), { reason: 'x' })
    expect(world.store.pinCode(ida.staffId)).toBeUndefined()
    expect((await anna.post(pathOf(ida, '/pin-code'), {})).status).toBe(409)
    if (kept === undefined) throw new Error('no code was kept')
    world.store.transact(() => {
      world.store.putPinCode({ staffId: ida.staffId, ...kept })
      return null
    })
    const got = await setPin(code)
    expect([got.status, got.words().includes('This badge is locked')]).toEqual([422, true])
    expect(world.store.pinHash(ida.staffId)).toBeUndefined()
  })

  it('sets one PIN when used twice at the same moment', async () => {
    const { anna, ida } = await withNew()
    const code = await makeCode(anna, ida)
    const answers = await Promise.all([setPin(code), setPin(code, { pin: '740293', pinAgain: '740293' })])
    expect(answers.map(({ status }) => status).sort()).toEqual([303, 422])
  })

  it('cannot be made for oneself, and only administrators make one', async () => {
    const anna = await open()
    const got = await anna.post(pathOf(people.anna, '/pin-code'), {
      key: world.server.appContext.formKeys.make(people.anna.staffId, 'person-pin-code'),
    })
    expect(got.status).toBe(403)
    expect(world.store.pinCode(people.anna.staffId)).toBeUndefined()
    expect((await anna.get(pathOf(people.anna, '/pin-code'))).words()).toContain('This is you')
  })

  it('is not shown to another administrator’s session', async () => {
    const { anna, ida } = await withNew()
    const abel = await world.signIn(people.abel)
    const got = await anna.post(pathOf(ida, '/pin-code'), {})
    expect(byId((await abel.get(pathOf(ida, '/pin-code'))).root(), 'pin-code')).toBeNull()
    expect(byId((await anna.follow(got)).root(), 'pin-code')).not.toBeNull()
  })

  it.each<[string, Fields, string, string]>([
    ['too short', { pin: '12345', pinAgain: '12345' }, 'pin', '6 to 12 digits'],
    ['one digit', { pin: '222222', pinAgain: '222222' }, 'pin', 'too easy'],
    ['a run', { pin: '345678', pinAgain: '345678' }, 'pin', 'too easy'],
    ['the badge', { pin: '500574', pinAgain: '500574' }, 'pin', 'stand on the badge'],
    ['two PINs', { pin: '839201', pinAgain: '839202' }, 'pinAgain', 'differ'],
    ['no code', { code: '' }, 'code', '8 letters and digits'],
    ['a code with a zero', { code: 'ACDEFHJ0' }, 'code', '8 letters and digits'],
  ])(
    '%s: answers 422 beside the field, keeps the badge and counts no attempt',
    async (_name, over, field, sentence) => {
      const { anna, ida } = await withNew()
      const code = await makeCode(anna, ida)
      for (let time = 0; time <= BADGE_LIMIT.most; time++) {
        const got = await setPin(code, over)
        expect(got.status).toBe(422)
        expect(errorOf(got.root(), field)).toContain(sentence)
        expect(formTo(got.root(), '/set-pin')?.fields).toEqual({ badge: NEW.badge, code: '', pin: '', pinAgain: '' })
      }
      expect((await setPin(code)).status).toBe(303)
    },
  )

  it('is asked for after a scanned badge, without an error', async () => {
    await open()
    const got = await world.visitor().postRaw('/set-pin', { badge: NEW.badge, code: '', pin: '', pinAgain: '' })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'code')).toBeNull()
    expect(byClass(got.root(), 'problem')).toEqual([])
  })

  it('answers forty malformed posts without a fault and sets no PIN', async () => {
    const { anna, ida } = await withNew()
    const code = (await makeCode(anna, ida)).replace(' ', '')
    for (const { name, body } of malformedPosts(
      { badge: NEW.badge, code, pin: '839201', pinAgain: '839201' },
      null,
      'code',
    )) {
      expect([422, 429], name).toContain((await world.visitor().postRaw('/set-pin', body)).status)
    }
    expect(world.store.pinHash(ida.staffId)).toBeUndefined()
  })
})

describe('one’s own PIN', () => {
  const change = (client: Client, over: Fields = {}): Promise<Got> =>
    client.post('/my-pin', { oldPin: people.nora.pin, pin: '839201', pinAgain: '839201', ...over })

  it('changes with the old one; other sessions end, this one stays', async () => {
    await open()
    const [here, elsewhere] = [await world.signIn(people.nora), await world.signIn(people.nora)]
    expect(await checkHtml((await here.get('/my-pin')).text)).toEqual([])
    const got = await change(here)
    expect(got.status).toBe(303)
    expect((await here.follow(got)).words()).toContain('Your PIN is changed')
    expect(pinTraces()).toEqual([['pin-set', people.nora.staffId, { by: 'self', staffId: people.nora.staffId }]])
    expect([await isLive(here), await isLive(elsewhere)]).toEqual([true, false])
    expect((await here.get('/round')).status).toBe(200)
    expect((await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).status).toBe(
      422,
    )
    expect((await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: '839201' })).status).toBe(303)
  })

  it.each<[string, Fields, string, string]>([
    ['a wrong old one', { oldPin: '998877' }, 'oldPin', 'not your present PIN'],
    ['none', { oldPin: '' }, 'oldPin', 'Type your PIN'],
    ['the same again', { pin: people.nora.pin, pinAgain: people.nora.pin }, 'pin', 'the PIN you have'],
    ['an easy one', { pin: '111111', pinAgain: '111111' }, 'pin', 'too easy'],
    ['the badge’s digits', { pin: '100155', pinAgain: '100155' }, 'pin', 'stand on the badge'],
    ['two new ones', { pinAgain: '839202' }, 'pinAgain', 'differ'],
  ])('%s: answers 422, returns no PIN and changes nothing', async (_name, over, field, sentence) => {
    await open()
    const nora = await world.signIn(people.nora)
    const before = world.store.pinHash(people.nora.staffId)
    const got = await change(nora, over)
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), field)).toContain(sentence)
    expect(got.text).not.toContain('839201')
    expect([world.store.pinHash(people.nora.staffId), pinTraces()]).toEqual([before, []])
  })

  it('counts guesses under the sign-in limits', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      expect((await change(nora, { oldPin: '998877' })).status).toBe(422)
    const limited = await change(nora)
    expect(errorOf(limited.root(), 'oldPin')).toContain('Too many attempts')
    world.clock.advance(5)
    expect((await change(nora)).status).toBe(303)
  })

  it('is not kept in a draft when the session ends', async () => {
    world = await makeWorld({ alderPolicy: { idleLockMin: 5 } })
    const nora = await world.signIn(people.nora)
    await nora.get('/my-pin')
    world.clock.advance(6)
    const got = await nora.postRaw('/my-pin', { oldPin: people.nora.pin, pin: '839201', pinAgain: '839201', key: 'x' })
    expect([got.status, got.location]).toEqual([303, '/sign-in?next=%2Fmy-pin'])
  })

  it('ignores forty malformed posts', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const key = await nora.keyOf('/my-pin')
    const before = world.store.pinHash(people.nora.staffId)
    for (const { name, body } of malformedPosts(
      { oldPin: people.nora.pin, pin: '839201', pinAgain: '839201' },
      key,
      'pinAgain',
    ))
      expect([409, 422], name).toContain((await nora.postRaw('/my-pin', body)).status)
    expect(world.store.pinHash(people.nora.staffId)).toBe(before)
  })
})

describe('Setup page', () => {
  it.each(['nora', 'cora', 'edda', 'anna'] as const)('%s: each of its links opens a page', async (who) => {
    await open()
    const client = await world.signIn(people[who])
    const hub = await client.get('/setup')
    expect(hub.status).toBe(200)
    expect(await checkHtml(hub.text)).toEqual([])
    const main = hub.text.slice(hub.text.indexOf('<main'))
    const paths = [...main.matchAll(/href="(\/[^"]+)"/g)].map(([, path]) => path ?? '')
    expect(paths).toContain('/my-pin')
    expect(paths.includes('/setup/people')).toBe(who !== 'nora')
    for (const path of paths) expect((await client.get(path)).status, path).toBe(200)
  })

  it.each([
    ['nora', ['/setup/beds', '/setup/discharged', '/round/trays-late']],
    ['cora', ['/setup/beds', '/setup/discharged', '/round/trays-late', '/setup/standard-orders', '/recall']],
    ['edda', ['/recall']],
    ['anna', ['/setup/standard-orders']],
  ] as const)('%s: shows the links of the role only', async (who, expected) => {
    await open()
    const { text } = await (await world.signIn(people[who])).get('/setup')
    const ways = ['/setup/beds', '/setup/discharged', '/round/trays-late', '/setup/standard-orders', '/recall']
    expect(ways.filter((path) => text.includes(`href="${path}"`))).toEqual(expected)
  })

  it('lists another administrator’s policy change that waits, and not one’s own', async () => {
    const anna = await open()
    const at = world.clock.now()
    world.store.transact(() => {
      world.store.append([
        {
          type: 'policy-change-written',
          wardId: ALDER,
          stayId: null,
          actorId: people.abel.staffId,
          happenedAtMs: at,
          chartedAtMs: at,
          body: {
            changeId: 'change0000000001',
            basedOn: 1,
            policy: defaultPolicy('mg/dL', 'America/Chicago'),
            fromMs: at,
            note: 'x',
          },
        },
      ])
      return null
    })
    expect((await anna.get('/setup')).words()).toContain('A change of policy on Alder, written by Abel Lorne')
    expect((await (await world.signIn(people.abel)).get('/setup')).words()).not.toContain('A change of policy')
  })
})
