/** Bedside actions of nurses over HTTP for the dose tests: a reading, a dose, its check, and giving. */
import type { Dose } from '../../shared/dose/dose.ts'
import type { Store } from '../../server/store/contract.ts'
import type { Client, Got } from './client.ts'
import { formTo } from './html.ts'
import { meters, lots, type TestStay } from './wards.ts'
import { ALDER, BIRCH, type Person } from './people.ts'
import type { World } from './world.ts'

export const DATE = '2026-03-10'

/** Access to all wards, for the test's own reads of the store. */
export const ALL = { staffId: 'test000000000000', role: 'charge-nurse', wardIds: [ALDER, BIRCH] } as const

function expectStatus(got: Got, status: number, what: string): Got {
  if (got.status !== status)
    throw new Error(
      `${what}: answered ${String(got.status)} instead of ${String(status)}: ${got.words().slice(0, 900)}`,
    )
  return got
}

/** The id in a path such as /doses/abc. */
export function idOf(got: Got): string {
  return got.location?.split('/')[2] ?? ''
}

/** Takes a reading at the occasion's planned check (or at any check key) and returns its id. */
export async function takeReading(
  client: Client,
  stay: TestStay,
  glucose: string,
  options: {
    readonly key?: string
    readonly occasion?: string
    readonly extraReason?: string
    readonly meterId?: string
    /** Ward time; now when left out. */
    readonly takenAt?: string
  } = {},
): Promise<string> {
  const key = options.key ?? `${stay.stayId}.${DATE}.${options.occasion ?? 'before-breakfast'}`
  const confirmed = expectStatus(
    await client.postRaw(`/checks/${key}/patient`, { wristband: stay.wristband }),
    200,
    'wristband',
  )
  const form = formTo(confirmed.root(), `/checks/${key}`)
  if (form === undefined) throw new Error(`no form for ${key}: ${confirmed.words().slice(0, 600)}`)
  const alder = stay.wardId === ALDER
  const fields = {
    ...form.fields,
    glucose,
    meterId: options.meterId ?? (alder ? meters.alder.meterId : meters.birch.meterId),
    stripLot: alder ? lots.good : lots.birch,
    ...(options.extraReason === undefined ? {} : { extraReason: options.extraReason }),
    ...(options.takenAt === undefined ? {} : { takenAt: options.takenAt }),
  }
  return idOf(expectStatus(await client.postRaw(`/checks/${key}`, fields), 303, `reading ${glucose}`))
}

/** An extra reading now. */
export function takeExtra(client: Client, stay: TestStay, glucose: string, id: string): Promise<string> {
  return takeReading(client, stay, glucose, { key: `extra.${stay.stayId}.${id.padEnd(16, '0')}`, extraReason: 'other' })
}

export const NONE_ELSEWHERE = { elsewhere: 'none' } as const

/** Works out the dose and returns its id. */
export async function proposeDose(
  client: Client,
  readingId: string,
  fields: Readonly<Record<string, string>> = NONE_ELSEWHERE,
): Promise<string> {
  return idOf(expectStatus(await client.post(`/readings/${readingId}/dose`, fields), 303, 'dose'))
}

/** The second nurse's answer on the first nurse's device. */
export function answer(client: Client, doseId: string, by: Person, glucose: string, units: string): Promise<Got> {
  return client.post(`/doses/${doseId}/second-check`, { glucose, units, badge: by.badge, pin: by.pin })
}

/** The same with a key from a page opened earlier, when the form can no longer be opened. */
export function answerLate(
  world: World,
  client: Client,
  holder: Person,
  doseId: string,
  by: Person,
  glucose: string,
  units: string,
): Promise<Got> {
  return client.postRaw(`/doses/${doseId}/second-check`, {
    glucose,
    units,
    badge: by.badge,
    pin: by.pin,
    key: world.server.appContext.formKeys.make(holder.staffId, 'second-check'),
  })
}

export function productFields(
  stay: TestStay,
  by: Person,
  units: string,
  insulin = 'insulin lispro',
): Readonly<Record<string, string>> {
  return {
    insulin,
    concentration: 'U-100',
    expiresOn: '2027-01-31',
    units,
    wristband: stay.wristband,
    badge: by.badge,
    pin: by.pin,
  }
}

export function giveFields(stay: TestStay, at: string): Readonly<Record<string, string>> {
  return {
    wristband: stay.wristband,
    food: 'tray-coming',
    trayInMin: '10',
    willEat: 'yes',
    site: 'left.abdomen',
    at: `${DATE}T${at}`,
  }
}

/** From the proposal to both signatures. */
export async function verify(
  client: Client,
  doseId: string,
  stay: TestStay,
  by: Person,
  glucose: string,
  units: string,
): Promise<void> {
  expectStatus(await answer(client, doseId, by, glucose, units), 303, 'second check')
  expectStatus(await client.post(`/doses/${doseId}/product`, productFields(stay, by, units)), 303, 'product')
}

export async function give(
  client: Client,
  doseId: string,
  stay: TestStay,
  at: string,
  fields: Readonly<Record<string, string>> = {},
): Promise<void> {
  expectStatus(await client.post(`/doses/${doseId}/give`, { ...giveFields(stay, at), ...fields }), 303, 'give')
}

export function dose(store: Store, doseId: string): Dose {
  const found = store.doseById(ALL, doseId)
  if (found === undefined) throw new Error(`no dose ${doseId}`)
  return found
}

/** Everything charted about the stay except near misses, to show that a refused form charts nothing else. */
export function charted(world: World, stay: TestStay): string {
  const facts = world.store.stayFacts(ALL, stay.stayId, world.clock.now())
  const nearMisses = world.store.nearMisses(ALL, {
    wardIds: [stay.wardId],
    fromMs: 0,
    toMs: Number.MAX_SAFE_INTEGER,
  }).length
  const version = (world.store.wardVersion(ALL, stay.wardId) ?? 0) - nearMisses
  return JSON.stringify([
    facts?.doses,
    facts?.directions,
    facts?.earlierDoses,
    facts?.trays,
    facts?.readings.length,
    world.store.lastEventAtMs(),
    version,
  ])
}
