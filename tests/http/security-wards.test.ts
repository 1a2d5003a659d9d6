/**
 * Insecure direct object references across wards: every route, each role, with ids of another ward. The routes come
 * from the server's own table. A path with an unknown parameter fails the test.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { routeTable } from '../../server/http/route.ts'
import type { RouteSpec } from '../../server/http/route-spec.ts'
import { answer, giveFields, productFields } from '../support/bedside.ts'
import type { Got } from '../support/client.ts'
import { fillIn, type Fields } from '../support/filled-form.ts'
import { people, type Person } from '../support/people.ts'
import { addressesOn, makeTwoWardsHeld, type Side, type TwoWards } from '../support/two-wards.ts'
import { lots, stays } from '../support/wards.ts'

let two: TwoWards
/** Every event that anybody could append. */
const appended: LedgerEvent[] = []
beforeAll(async () => {
  two = await makeTwoWardsHeld(appended)
})
afterAll(() => two.world.close())

const routes = (method: RouteSpec['method']): readonly RouteSpec[] =>
  routeTable(two.world.server).filter((spec) => spec.method === method && spec.roles !== 'anyone')
const mayUse = (person: Person, { roles }: RouteSpec): boolean => roles === 'anyone' || roles.includes(person.role)
/** Whole words in a response, not parts of words. */
const shown = (got: Got, words: readonly string[]): readonly string[] =>
  words.filter((word) =>
    new RegExp(`(?<![\\w.])${word.replace('.', '\\.')}(?![\\w.])`).test(`${got.text} ${JSON.stringify(got.headers)}`),
  )
const patientWords = ({ words }: Side): readonly string[] =>
  words.filter((word) => word !== 'Birch' && word !== 'Alder')

type Stranger = readonly [name: string, person: () => Person, theirs: () => Side]
const STRANGERS: readonly Stranger[] = [
  ['a floor nurse of Alder on Birch', () => two.alder.first, () => two.birch],
  ['a charge nurse of Alder on Birch', () => two.alder.charge, () => two.birch],
  ['an educator of Alder on Birch', () => two.alderEducator, () => two.birch],
  ['a floor nurse of Birch on Alder', () => two.birch.first, () => two.alder],
  ['a charge nurse of Birch on Alder', () => two.birch.charge, () => two.alder],
]

/** The least number of forms with ids that the own ward must accept, so that the test proves something. */
const LEAST_ACCEPTED = { 'floor-nurse': 25, 'charge-nurse': 20, educator: 1, administrator: 0 } as const

describe('IDOR: ids of another ward', () => {
  it('the test can fail: each path shows its own ward something, and an unknown parameter is a fault', async () => {
    const open = new Set<string>()
    for (const person of [two.birch.first, two.birch.charge, people.edda, people.anna]) {
      const client = await two.world.signIn(person)
      for (const spec of routes('GET')) {
        for (const path of addressesOn(two.birch, spec))
          if ([200, 303].includes((await client.get(path)).status)) open.add(spec.url)
      }
    }
    const holed = routes('GET')
      .filter(({ url }) => url.includes(':'))
      .map(({ url }) => url)
    expect(holed.length).toBeGreaterThan(60)
    expect(holed.filter((url) => !open.has(url))).toEqual([])
    expect(() => addressesOn(two.birch, { method: 'GET', url: '/beakers/:beakerId', roles: 'anyone' })).toThrow(
      'does not know',
    )
    expect(() =>
      addressesOn(two.birch, { method: 'GET', url: '/stays/:stayId/beakers/:beakerId', roles: 'anyone' }),
    ).toThrow('beakerId')
  })

  it('redirects to sign-in without a login and shows nothing', async () => {
    for (const spec of [...routes('GET'), ...routes('POST')]) {
      for (const path of addressesOn(two.birch, spec)) {
        const visitor = two.world.visitor()
        const got =
          spec.method === 'GET'
            ? await visitor.get(path)
            : await visitor.postRaw(path, { wristband: two.birch.wristband })
        expect([spec.url, got.status, got.text]).toEqual([spec.url, 303, ''])
        expect(shown(got, two.birch.words), spec.url).toEqual([])
      }
    }
  })

  it.each(STRANGERS)('%s: answers 404, or 403 by role, and shows nothing', async (_name, person, theirs) => {
    const client = await two.world.signIn(person())
    let asked = 0
    for (const spec of routes('GET')) {
      for (const path of addressesOn(theirs(), spec)) {
        const got = await client.get(path)
        expect([spec.url, got.status]).toEqual([spec.url, mayUse(person(), spec) ? 404 : 403])
        expect(shown(got, theirs().words), spec.url).toEqual([])
        asked++
      }
    }
    expect(asked).toBeGreaterThan(60)
  })

  it.each(STRANGERS)(
    '%s: refuses a valid form for a patient of another ward and appends nothing',
    async (_name, person, theirs) => {
      const client = await two.world.signIn(person())
      const mine = theirs() === two.birch ? two.alder : two.birch
      const accepted = new Set<string>()
      for (const spec of routes('POST')) {
        const own = addressesOn(mine, spec)
        for (const [at, path] of addressesOn(theirs(), spec).entries()) {
          const filled = mayUse(person(), spec) ? await fillIn(client, own[at] ?? '', knownFor(spec, mine)) : undefined
          if (filled?.got.status === 303) accepted.add(spec.url)
          appended.length = 0
          for (const fields of [filled?.fields ?? {}, { ...filled?.fields, wristband: theirs().wristband }, {}]) {
            const got = await client.postRaw(path, fields)
            expect([403, 404, 409], `${spec.url} ${String(got.status)}`).toContain(got.status)
            if (!mayUse(person(), spec)) expect(got.status, spec.url).toBe(403)
            expect(
              shown(
                got,
                theirs().words.filter((word) => word !== theirs().wristband),
              ),
              spec.url,
            ).toEqual([])
          }
          expect([spec.url, appended]).toEqual([spec.url, []])
        }
      }
      // the own ward accepts the same fields, so the ward caused the refusal
      expect(accepted.size, [...accepted].join()).toBeGreaterThanOrEqual(LEAST_ACCEPTED[person().role])
    },
  )

  it('lets an administrator set up every ward and shows no patient', async () => {
    const client = await two.world.signIn(people.anna)
    for (const spec of routes('GET')) {
      for (const side of [two.alder, two.birch]) {
        for (const path of spec.url.includes(':') ? addressesOn(side, spec) : [spec.url]) {
          const got = await client.get(path)
          expect(got.status === 403, spec.url).toBe(!mayUse(people.anna, spec))
          expect(shown(got, patientWords(side)), spec.url).toEqual([])
        }
      }
    }
  })
})

describe('IDOR: lists and queries', () => {
  const asking = (side: Side): readonly string[] => {
    const names: Fields = {
      ward: side.wardId,
      wardId: side.wardId,
      meter: side.meterId,
      meterId: side.meterId,
      lot: side === two.birch ? lots.birch : lots.good,
      stay: side.stayId,
      need: side.flagId,
      beds: 'all',
      from: '2026-03-01T00:00',
      to: '2026-03-11T00:00',
      since: '2026-03-01T00:00',
      date: '2026-03-10',
      shift: 'night',
    }
    const each = Object.entries(names).map(([name, value]) => new URLSearchParams({ [name]: value }).toString())
    return ['', ...each, new URLSearchParams(names).toString(), `ward=${side.wardId}&ward=${two.alder.wardId}`]
  }

  it.each(STRANGERS)('%s: shows it in no list, for any query', async (_name, person, theirs) => {
    const client = await two.world.signIn(person())
    let answered = 0
    for (const spec of routes('GET').filter(
      (one) => !one.url.includes(':') && mayUse(person(), one) && one.url !== '/board/stream',
    )) {
      for (const query of asking(theirs())) {
        const got = await client.get(`${spec.url}?${query}`)
        expect(got.status, `${spec.url}?${query}`).toBeLessThan(500)
        expect(shown(got, patientWords(theirs())), `${spec.url}?${query}`).toEqual([])
        if (got.status === 200) answered++
      }
    }
    expect(answered).toBeGreaterThan(100)
  })

  it.each<[string, () => string, () => Fields]>([
    [
      'the product',
      () => `/doses/${two.alder.doses.agreed}/product`,
      () => ({ ...productFields(stays.ruth, two.alder.second, '4'), wristband: two.birch.wristband }),
    ],
    [
      'the giving',
      () => `/doses/${two.alder.doses.signed}/give`,
      () => ({ ...giveFields(stays.ruth, '07:30'), wristband: two.birch.wristband }),
    ],
    ['the check', () => `/checks/${two.alder.checkKeys[1] ?? ''}/patient`, () => ({ wristband: two.birch.wristband })],
    ['the scan', () => '/scan', () => ({ wristband: two.birch.wristband })],
  ])(
    'distinguishes at %s another ward’s wristband from the right one, without its bed or ward',
    async (_name, path, fields) => {
      const client = await two.world.signIn(two.alder.first)
      const got = await client.postRaw(path(), { ...fields(), key: 'any' })
      expect(got.status).toBe(409)
      expect(got.words()).not.toMatch(/\bbed A\b/i)
      expect(
        shown(
          got,
          two.birch.words.filter((word) => word !== two.birch.wristband),
        ),
      ).toEqual([])
      // somebody of both wards reads where it belongs
      const both = await (
        await two.world.signIn(people.pia, { wardId: two.alder.wardId })
      ).postRaw(path(), { ...fields(), key: 'any' })
      if (path().endsWith('/give') || path() === '/scan') expect(both.words()).toMatch(/bed A/i)
    },
  )

  it('refuses a second nurse of another ward on any device', async () => {
    const client = await two.world.signIn(two.alder.first)
    appended.length = 0
    const got = await answer(client, two.alder.doses.waiting, two.birch.second, '243', '4')
    expect([got.status, appended]).toEqual([403, []])
  })
})

/** What a route's form needs besides its first choices for its own ward to accept it. */
function knownFor({ url }: RouteSpec, side: Side): Fields {
  const signer = { badge: side.second.badge, pin: side.second.pin }
  const ward = { wristband: side.wristband, lot: side.wardId === two.alder.wardId ? lots.good : lots.birch }
  if (url.startsWith('/setup/beds/') || url.startsWith('/setup/discharged/')) return { wristband: 'W9999' }
  if (url.endsWith('/lab-value')) return { ...ward, glucose: '180', unit: 'mg/dL' }
  return { ...ward, ...signer }
}
