/**
 * Malformed requests to every route, as every role and without a login: paths, queries, headers, cookies, content types
 * and bodies. Every request gets a response, none is a server fault (5xx), no promise rejection is unhandled, and no
 * row is stored except the near misses that a refusal keeps on purpose (a wrong wristband).
 *
 * A posted form is a real one with its key, so that it reaches the route's own code. It contains something that
 * no form may contain: an odd character, a field twice, an unknown field, a broken key, another type, another site.
 */
import { routeTable } from '../../server/http/route.ts'
import type { RouteSpec } from '../../server/http/route-spec.ts'
import type { Role } from '../../shared/ledger/events.ts'
import { formsOf, parseHtml } from '../support/html.ts'
import { makeWorld } from '../support/world.ts'
import { startChild } from './child.ts'
import {
  encodePairs,
  JUNK_BODIES,
  JUNK_LINES,
  JUNK_TYPES,
  junkHeader,
  junkParameter,
  junkQuery,
  junkValue,
  oddValue,
  pick,
  type Random,
} from './junk.ts'
import { Nurse, type Fields } from './nurse.ts'
import { differences, inScratch, look, randomFrom, type Result, type Size } from './part.ts'
import { RawConnection } from './raw.ts'
import { METER, patientOf, WARD, wardInstant } from './ward.ts'

const BEDS = 4
const CONNECTIONS = 8
/** Numbers of people, from 1. */
const ROLES: readonly Role[] = ['charge-nurse', 'floor-nurse', 'educator', 'administrator']
/** Events that a refusal keeps on purpose. */
const KEPT = ['wristband-mismatched', 'entry-refused']

type Form = { readonly action: string; readonly fields: Fields }
type Actor = { readonly role: Role; readonly cookie: string; readonly forms: readonly Form[] }
type Route = RouteSpec

export async function malformed(size: Size, seed: number): Promise<Result> {
  const count = size === 'full' ? 100_000 : 3000
  const routes = await everyRoute()
  const faults: string[] = []
  const statuses = new Map<number, number>()
  const reached = new Set<string>()
  let kept = 0
  await inScratch(async (files) => {
    const service = await startChild({
      ...files,
      beds: BEDS,
      nurses: ROLES.length,
      roles: Object.fromEntries(ROLES.map((role, at) => [at + 1, role])),
      atMs: wardInstant('2026-03-10T07:20'),
    })
    const nurses = await Promise.all(ROLES.map((_, at) => Nurse.signIn(service.port, at + 1)))
    const actors = await Promise.all(nurses.map((nurse, at) => actorOf(nurse, ROLES[at] ?? 'floor-nurse', routes)))
    const rows = (): ReadonlyMap<string, number> =>
      new Map(
        look(files.file, (db) =>
          db
            .prepare<[], { type: string; count: number }>('SELECT type, count(*) AS count FROM ledger GROUP BY type')
            .all(),
        ).map(({ type, count: found }) => [type, found]),
      )
    const before = rows()
    let next = 0
    const worker = async (): Promise<void> => {
      const connection = new RawConnection(service.port)
      for (let number = next++; number < count; number = next++) {
        // each request has its own seed, so it can be repeated alone
        const made = requestOf(randomFrom(seed + number), routes, actors)
        reached.add(made.route)
        const answer = await connection.send(Buffer.from(made.bytes, 'latin1'), made.isHead)
        const status = answer?.status ?? 0
        statuses.set(status, (statuses.get(status) ?? 0) + 1)
        const isAccepted =
          made.route.startsWith('POST ') && status === 303 && answer?.location?.startsWith('/sign-in') !== true
        if ((answer === null && made.mustAnswer) || status >= 500 || isAccepted)
          faults.push(
            `seed=${String(seed + number)} answered ${String(status)}: ${JSON.stringify(made.bytes.slice(0, 1200))}`,
          )
      }
      connection.close()
    }
    await Promise.all(Array.from({ length: CONNECTIONS }, worker))
    faults.push(...(await service.state()).unhandled)
    // afterwards the service still accepts a reading
    const [nurse] = nurses
    const alive = await (nurse ?? (await Nurse.signIn(service.port, 1))).get('/round')
    if (alive.status !== 200) faults.push(`afterwards the round answers ${String(alive.status)}`)
    for (const [type, found] of rows()) {
      const more = found - (before.get(type) ?? 0)
      if (KEPT.includes(type)) kept += more
      else if (more > 0) faults.push(`${String(more)} rows of ${type} were stored`)
    }
    for (const one of nurses) one.close()
    if ((await service.stop()) !== 0) faults.push('the service did not stop cleanly')
    faults.push(...differences(files))
  })
  const missed = routes.map(({ method, url }) => `${method} ${url}`).filter((route) => !reached.has(route))
  if (missed.length > 0 && size === 'full') faults.push(`routes never asked: ${missed.join(', ')}`)
  return {
    part: 'malformed',
    done: `${count.toLocaleString('en')} malformed requests over ${String(routes.length)} routes, four roles and nobody (seed ${String(seed)})`,
    counted: `${[...statuses]
      .sort(([a], [b]) => a - b)
      .map(([status, found]) => `${status === 0 ? 'closed' : String(status)}: ${String(found)}`)
      .join(', ')}; ${String(kept)} near misses kept`,
    faults,
  }
}

/** The route table of a service that is not listening. */
async function everyRoute(): Promise<readonly Route[]> {
  const world = await makeWorld({ empty: true })
  const routes = [...routeTable(world.server)]
  await world.close()
  return routes
}

const KNOWN: Readonly<Record<string, readonly string[]>> = {
  ':stayId': [patientOf(1).stayId, patientOf(2).stayId],
  ':key': [`${patientOf(1).stayId}.2026-03-10.before-breakfast`, `extra.${patientOf(2).stayId}.abcd000000000000`],
  ':wardId': [WARD],
  ':meterId': [METER],
  ':orderId': ['orderrowan000001'],
  ':version': ['1'],
  ':bed': ['1', '2', '7'],
  ':staffId': ['staffrowan000002'],
  ':part': ['limits', 'dose', 'low'],
  ':slot': ['2026-03-10.21:00'],
}

function pathOf(url: string, parameter: (name: string) => string): string {
  return url.replaceAll(/:[A-Za-z]+/g, parameter)
}

/** Every form that this person can open, with its key. */
async function actorOf(nurse: Nurse, role: Role, routes: readonly Route[]): Promise<Actor> {
  const forms: Form[] = []
  for (const { method, url } of routes) {
    if (method !== 'GET' || url === '/board/stream') continue
    const page = await nurse.get(pathOf(url, (name) => KNOWN[name]?.[0] ?? 'none'))
    for (const { action, fields } of formsOf(parseHtml(page.text)))
      if (action !== '' && action !== '/sign-out') forms.push({ action, fields })
  }
  const patient = patientOf(1)
  const key = `${patient.stayId}.2026-03-10.before-breakfast`
  const check = await nurse.check(key, patient, '131')
  if (check !== null) forms.push({ action: `/checks/${key}`, fields: check })
  return { role, cookie: nurse.cookie, forms }
}

type Made = { readonly bytes: string; readonly route: string; readonly isHead: boolean; readonly mustAnswer: boolean }

function requestOf(random: Random, routes: readonly Route[], actors: readonly Actor[]): Made {
  if (random() < 0.03) {
    const line = pick(random, JUNK_LINES)
    return {
      bytes: `${line}\r\nhost: ward.test\r\n${random() < 0.5 ? `${junkHeader(random)}\r\n` : ''}connection: close\r\n\r\n`,
      route: 'none',
      isHead: line.startsWith('HEAD'),
      mustAnswer: false,
    }
  }
  const route = pick(random, routes)
  // mostly a permitted person: a refusal by role does not reach the code behind it
  const { roles } = route
  const allowed = roles === 'anyone' ? actors : actors.filter(({ role }) => roles.includes(role))
  const actor = random() < 0.1 ? null : pick(random, allowed.length > 0 && random() < 0.85 ? allowed : actors)
  const isPost = route.method === 'POST'
  // a form of this person's, on its own route where it has one
  const own = isPost && actor !== null ? actor.forms.filter(({ action }) => matches(route.url, action)) : []
  const form = own.length > 0 && random() < 0.8 ? pick(random, own) : null
  const path =
    form?.action ??
    pathOf(route.url, (name) =>
      random() < 0.5 && KNOWN[name] !== undefined ? pick(random, KNOWN[name]) : junkParameter(random),
    )
  const headers = ['host: ward.test']
  let body = ''
  let isPoisoned = false
  if (isPost) {
    const poison = pick(random, ['odd', 'twice', 'unknown', 'key', 'type', 'site', 'body'] as const)
    isPoisoned = true
    headers.push(
      poison === 'site'
        ? pick(random, ['origin: http://other.test', 'sec-fetch-site: cross-site', 'x-none: 1'])
        : 'origin: http://ward.test',
    )
    const type = poison === 'type' ? pick(random, JUNK_TYPES) : 'application/x-www-form-urlencoded'
    if (type !== '') headers.push(`content-type: ${type}`)
    body = poison === 'body' ? pick(random, JUNK_BODIES) : encodePairs(poisoned(random, form?.fields ?? {}, poison))
    headers.push(`content-length: ${String(body.length)}`)
  }
  // signing out is a valid request, and would end the others' session
  if (actor !== null && route.url !== '/sign-out') headers.push(`cookie: ${actor.cookie}`)
  const extra = random() < 0.3 ? [junkHeader(random)] : []
  // a header that allows an empty response, and one that opens a stream
  const isStream = route.url === '/board/stream' || extra.some((header) => /event-stream|upgrade|expect/.test(header))
  const bytes = `${route.method} ${path}${junkQuery(random)} HTTP/1.1\r\n${[...headers, ...extra, ...(isStream ? ['connection: close'] : [])].join('\r\n')}\r\n\r\n${body}`
  return {
    bytes: isStream && !isPoisoned ? bytes.replace('accept: text/event-stream', 'accept: text/html') : bytes,
    route: `${route.method} ${route.url}`,
    isHead: false,
    mustAnswer: !isStream,
  }
}

function poisoned(
  random: Random,
  good: Fields,
  poison: 'odd' | 'twice' | 'unknown' | 'key' | 'type' | 'site',
): readonly (readonly [string, string])[] {
  const names = Object.keys(good).filter((name) => name !== 'key')
  const pairs: [string, string][] = Object.entries(good).filter(() => random() > 0.1)
  // any field may also contain anything
  for (const pair of pairs) if (pair[0] !== 'key' && random() < 0.3) pair[1] = junkValue(random)
  const name = names.length === 0 ? 'a' : pick(random, names)
  switch (poison) {
    case 'odd':
      return [...pairs.filter(([one]) => one !== name), [name, oddValue(random)]]
    case 'twice':
      return [...pairs, [name, good[name] ?? '1'], [name, good[name] ?? '1']]
    case 'unknown':
      return [
        ...pairs,
        [pick(random, ['surprise', '__proto__', 'constructor', 'a[b]', '<script>', 'n'.repeat(2000)]), '1'],
      ]
    case 'key':
      return [
        ...pairs.filter(([one]) => one !== 'key'),
        [
          'key',
          pick(random, ['', 'x', 'a.b', 'a'.repeat(16), `${'a'.repeat(16)}.${'b'.repeat(43)}`, junkValue(random)]),
        ],
      ]
    case 'type':
    case 'site':
      return pairs
  }
}

function matches(url: string, action: string): boolean {
  const [wanted, found] = [url.split('/'), action.split('?')[0]?.split('/') ?? []]
  return wanted.length === found.length && wanted.every((part, at) => part.startsWith(':') || part === found[at])
}
