/**
 * Alder and Birch with one of everything that a path can name: what a person of one ward must not find on the other.
 */
import type { RouteSpec } from '../../server/http/route-spec.ts'
import type { EventBodies, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import { newId } from '../../server/http/ids.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { ALL, answer, DATE, productFields, proposeDose, takeReading } from './bedside.ts'
import type { Client } from './client.ts'
import { someFacts } from './makers.ts'
import { ALDER, BIRCH, people, type Person } from './people.ts'
import { ALDER_SCALE, ALDER_ZONE, BIRCH_SCALE, meters, scaleOrder, stays, type TestStay } from './wards.ts'
import { makeWorld, type World, type WorldOptions } from './world.ts'

/** The ids on one ward. Several of a kind where a form needs its own state. */
export type Side = {
  readonly wardId: string
  readonly first: Person
  readonly second: Person
  readonly charge: Person
  /** every word of its patients and of the ward that must not appear in a response to others */
  readonly words: readonly string[]
  readonly stayId: string
  readonly dischargedStayId: string
  readonly freeBed: string
  readonly readingId: string
  /** of a second reading, for a form that works out a dose */
  readonly freshReadingId: string
  /** awaits its second check; agreed and not yet read; signed and not yet given; differed */
  readonly doses: {
    readonly waiting: string
    readonly agreed: string
    readonly signed: string
    readonly differed: string
  }
  readonly lowId: string
  readonly flagId: string
  readonly taskKey: string
  readonly orderId: string
  readonly unverifiedOrderId: string
  readonly slot: { readonly stayId: string; readonly slot: string }
  readonly addition: { readonly stayId: string; readonly version: string }
  readonly checkKeys: readonly string[]
  readonly meterId: string
  readonly standardOrderId: string
  readonly changeId: string
  readonly wristband: string
}

export type TwoWards = {
  readonly world: World
  readonly alder: Side
  readonly birch: Side
  /** educator of Alder alone */ readonly alderEducator: Person
}

const extra = (wardId: string, bed: string, wristband: string, familyName: string, givenName: string): TestStay => ({
  stayId: `stay${wristband.toLowerCase()}`.padEnd(16, '0'),
  wardId,
  bed,
  wristband,
  familyName,
  givenName,
  bornOn: '1944-05-09',
  orderId: `order${wristband.toLowerCase()}`.padEnd(16, '0'),
})

type Plan = {
  readonly wardId: string
  readonly first: Person
  readonly second: Person
  readonly charge: Person
  readonly freeBed: string
  /** readings of these stays, in this order: waiting, agreed, signed, differed, fresh */
  readonly dosed: readonly TestStay[]
  readonly low: TestStay
  readonly scheduled: TestStay
  readonly discharged: TestStay
  /** a value that gives 4 units, a low, and the low corrected */
  readonly values: readonly [high: string, low: string, corrected: string]
  readonly meterId: string
}

const ALDER_PLAN: Plan = {
  wardId: ALDER,
  first: people.nora,
  second: people.omar,
  charge: people.cora,
  freeBed: '12',
  low: stays.tomas,
  scheduled: stays.leo,
  values: ['243', '52', '152'],
  meterId: meters.alder.meterId,
  dosed: [
    stays.ruth,
    extra(ALDER, '7', 'W7307', 'Hale', 'Ada'),
    extra(ALDER, '8', 'W7308', 'Ingram', 'Bram'),
    extra(ALDER, '9', 'W7309', 'Jessop', 'Cleo'),
    extra(ALDER, '10', 'W7310', 'Kemble', 'Dora'),
  ],
  discharged: extra(ALDER, '11', 'W7311', 'Lowther', 'Esme'),
}
const BIRCH_PLAN: Plan = {
  wardId: BIRCH,
  first: people.bo,
  second: people.bea,
  charge: people.carl,
  freeBed: 'J',
  low: stays.ivor,
  scheduled: extra(BIRCH, 'G', 'W8807', 'Sotheby', 'Wanda'),
  values: ['13.7', '3.1', '7.9'],
  meterId: meters.birch.meterId,
  dosed: [
    stays.gwen,
    extra(BIRCH, 'C', 'W8803', 'Norcott', 'Silas'),
    extra(BIRCH, 'D', 'W8804', 'Oakham', 'Thea'),
    extra(BIRCH, 'E', 'W8805', 'Pelham', 'Ursel'),
    extra(BIRCH, 'F', 'W8806', 'Rudge', 'Viktor'),
  ],
  discharged: extra(BIRCH, 'H', 'W8808', 'Thornbury', 'Xenia'),
}

export const alderEducator: Person = {
  staffId: 'staffe1002000000',
  badge: 'E1002',
  pin: '602815',
  name: 'Fay Redmond',
  role: 'educator',
  wardIds: [ALDER],
}

/** Both wards before breakfast, Birch on Alder's clock so that both have the same checks open. */
export async function makeTwoWards(options: WorldOptions = {}): Promise<TwoWards> {
  const world = await makeWorld({ at: `${DATE}T07:30`, birchPolicy: { zone: ALDER_ZONE }, ...options })
  const hash = world.store.pinHash(people.edda.staffId) ?? ''
  const { staffId, badge, name, role, wardIds } = alderEducator
  append(world, 'staff-added', null, null, { staffId, badge, name, role, wardIds })
  // her PIN is the other educator's, since the tests only need her session
  world.store.transact(() => {
    world.store.setPinHash(staffId, hash)
    return null
  })
  const alder = await furnish(world, ALDER_PLAN)
  const birch = await furnish(world, BIRCH_PLAN)
  return { world, alder, birch, alderEducator: { ...alderEducator, pin: people.edda.pin } }
}

/**
 * Both wards with a store that refuses to write and accepts every one-time key, so that only the decision can refuse.
 * `appended` gets every event that anybody could append.
 */
export async function makeTwoWardsHeld(appended: LedgerEvent[]): Promise<TwoWards> {
  const two = await makeTwoWards()
  Object.assign(two.world.store, {
    append: (events: readonly LedgerEvent[]) => {
      appended.push(...events)
    },
  })
  Object.assign(two.world.server.appContext.formKeys, { nonceOf: () => newId() })
  return two
}

function append<T extends EventType>(
  world: World,
  type: T,
  wardId: string | null,
  stayId: string | null,
  body: EventBodies[T],
  by: Person = people.anna,
): void {
  const atMs = world.clock.now()
  const event = {
    type,
    wardId,
    stayId,
    actorId: by.staffId,
    happenedAtMs: atMs,
    chartedAtMs: atMs,
    body,
  } as LedgerEvent
  world.store.transact(() => {
    storeEvents(world.store, [event])
    return null
  })
}

async function furnish(world: World, plan: Plan): Promise<Side> {
  const {
    wardId,
    first,
    second,
    charge,
    values: [high, lowValue, corrected],
  } = plan
  const scale = wardId === ALDER ? ALDER_SCALE : BIRCH_SCALE
  const startsAtMs = world.clock.now() - 3_600_000
  const unit = scale.unit
  append(world, 'ward-beds-set', wardId, null, {
    beds: [
      ...new Set([
        ...(wardId === ALDER ? ['1', '2', '3', '4', '5', '6'] : ['A', 'B']),
        ...plan.dosed.map(({ bed }) => bed),
        plan.scheduled.bed,
        plan.discharged.bed,
        plan.freeBed,
      ]),
    ],
  })
  const admit = (who: TestStay): void => {
    append(
      world,
      'stay-admitted',
      wardId,
      who.stayId,
      {
        bed: who.bed,
        wristband: who.wristband,
        familyName: who.familyName,
        givenName: who.givenName,
        bornOn: who.bornOn,
        facts: someFacts(),
      },
      first,
    )
  }
  for (const who of [...plan.dosed.slice(1), plan.discharged]) {
    admit(who)
    append(world, 'plan-set', wardId, who.stayId, { version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null }, first)
    append(
      world,
      'order-written',
      wardId,
      who.stayId,
      { orderId: who.orderId, version: 1, order: scaleOrder(scale, startsAtMs) },
      first,
    )
    append(world, 'order-verified', wardId, who.stayId, { orderId: who.orderId, version: 1 }, charge)
  }
  append(world, 'stay-discharged', wardId, plan.discharged.stayId, {}, first)
  if (wardId === BIRCH) {
    admit(plan.scheduled)
    append(
      world,
      'plan-set',
      wardId,
      plan.scheduled.stayId,
      { version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null },
      first,
    )
    const order = scaleOrder(scale, startsAtMs, {
      insulin: 'insulin glargine',
      correction: null,
      occasions: [],
      scheduled: [{ time: '21:00', units: 18, holdBelow: null }],
      maxSingleDose: 30,
    })
    append(
      world,
      'order-written',
      wardId,
      plan.scheduled.stayId,
      { orderId: plan.scheduled.orderId, version: 1, order },
      first,
    )
    append(
      world,
      'order-verified',
      wardId,
      plan.scheduled.stayId,
      { orderId: plan.scheduled.orderId, version: 1 },
      charge,
    )
  }
  append(
    world,
    'plan-set',
    wardId,
    plan.scheduled.stayId,
    { version: 2, plan: { kind: 'overnight' }, untilMs: null },
    first,
  )
  const unverifiedOrderId = `orderx${wardId.slice(4)}`.slice(0, 16)
  append(
    world,
    'order-written',
    wardId,
    plan.low.stayId,
    { orderId: unverifiedOrderId, version: 1, order: scaleOrder(scale, startsAtMs) },
    charge,
  )
  const standardOrderId = `standard${wardId.slice(4, 9)}001`
  append(world, 'standard-order-written', wardId, null, {
    standardOrderId,
    version: 1,
    name: 'Correction, usual',
    order: scaleOrder(scale, startsAtMs),
  })
  const changeId = `change${wardId.slice(4, 9)}00001`
  append(world, 'policy-change-written', wardId, null, {
    changeId,
    basedOn: 1,
    policy: { ...defaultPolicy(unit, ALDER_ZONE), idleLockMin: 7 },
    fromMs: world.clock.now(),
    note: 'Shorter idle lock',
  })

  append(world, 'meter-controlled', wardId, null, { meterId: plan.meterId, passed: true }, charge)

  const nurse = await world.signIn(first)
  const readings: string[] = []
  for (const who of plan.dosed) readings.push(await takeReading(nurse, who, high))
  const doses: string[] = []
  for (const readingId of readings.slice(0, 4)) doses.push(await proposeDose(nurse, readingId))
  const [waiting = '', agreed = '', signed = '', differed = ''] = doses
  const [, , signedStay] = plan.dosed
  await expectLed(answer(nurse, agreed, second, high, '4'))
  await expectLed(answer(nurse, signed, second, high, '4'))
  await expectLed(nurse.post(`/doses/${signed}/product`, productFields(signedStay ?? stays.ruth, second, '4')))
  await expectLed(answer(nurse, differed, second, high, '6'))
  const lowReading = await takeReading(nurse, plan.low, lowValue)
  await expectLed(
    nurse.post(`/readings/${lowReading}/correct`, {
      wristband: plan.low.wristband,
      glucose: corrected,
      reason: 'typed wrongly',
    }),
  )
  const facts = world.store.stayFacts(ALL, plan.low.stayId, world.clock.now())
  const main = plan.dosed[0] ?? plan.low
  const [readingId = ''] = readings
  const entryId = `${readingId}c`
  append(
    world,
    'entry-charted',
    wardId,
    main.stayId,
    { entryId, kind: 'no-dose-call', fact: { readingId, orderId: main.orderId, repeatInMin: null } },
    first,
  )
  return {
    wardId,
    first,
    second,
    charge,
    words: [
      ...[...plan.dosed, plan.low, plan.scheduled, plan.discharged].flatMap(({ familyName, givenName, wristband }) => [
        familyName,
        givenName,
        wristband,
      ]),
      wardId === ALDER ? 'Alder' : 'Birch',
      ...(wardId === ALDER ? [] : [high]),
    ],
    stayId: main.stayId,
    dischargedStayId: plan.discharged.stayId,
    freeBed: plan.freeBed,
    readingId,
    taskKey: `no-dose-call.${entryId}`,
    freshReadingId: readings[4] ?? '',
    doses: { waiting, agreed, signed, differed },
    lowId: facts?.lows[0]?.lowId ?? '',
    flagId: facts?.openItems.find(({ kind }) => kind === 'flag')?.itemId ?? '',
    orderId: main.orderId,
    unverifiedOrderId,
    slot: { stayId: plan.scheduled.stayId, slot: `${DATE}.2100` },
    addition: { stayId: plan.scheduled.stayId, version: '2' },
    checkKeys: [
      `${main.stayId}.${DATE}.before-lunch`,
      `extra.${main.stayId}.attack0000000000`,
      `low.${facts?.lows[0]?.lowId ?? ''}.1`,
    ],
    meterId: plan.meterId,
    standardOrderId,
    changeId,
    wristband: main.wristband,
  }
}

async function expectLed(asked: ReturnType<Client['post']>): Promise<void> {
  const got = await asked
  if (got.status !== 303) throw new Error(`answered ${String(got.status)}: ${got.words().slice(0, 600)}`)
}

/** The dose state that a dose's form needs. */
const DOSE_OF: Readonly<Record<string, keyof Side['doses']>> = {
  product: 'agreed',
  give: 'signed',
  'start-again': 'differed',
}

/**
 * The paths of a route with every parameter filled in from one ward. Throws for an unknown parameter, so that a new
 * kind of path cannot stay untested.
 */
export function addressesOn(side: Side, { url }: RouteSpec): readonly string[] {
  const holes = [...url.matchAll(/:(\w+)/g)].map(([, name = '']) => name)
  const fill = (values: Readonly<Record<string, string>>): string =>
    url.replace(/:(\w+)/g, (_hole, name: string) => values[name] ?? unknown(name, url))
  const last = url.split('/').at(-1) ?? ''
  if (holes.length === 0) return []
  if (url.startsWith('/assets/')) return [fill({ file: 'ward.000000000000.css' })]
  if (url.startsWith('/checks/')) return side.checkKeys.map((key) => fill({ key }))
  if (url.startsWith('/setup/people/')) return [fill({ staffId: side.first.staffId })]
  if (url.startsWith('/setup/beds/')) return [fill({ bed: side.freeBed })]
  if (url.startsWith('/setup/meters/')) return [fill({ meterId: side.meterId })]
  if (url.startsWith('/setup/standard-orders/')) return [fill({ id: side.standardOrderId })]
  if (url.startsWith('/setup/policy-changes/')) return [fill({ changeId: side.changeId })]
  if (url.startsWith('/setup/wards/')) return [fill({ wardId: side.wardId, part: 'fingers' })]
  if (url.startsWith('/setup/discharged/')) return [fill({ stayId: side.dischargedStayId })]
  if (url.startsWith('/readings/'))
    return [fill({ id: last === 'dose' || last === 'direction' ? side.freshReadingId : side.readingId })]
  if (url.startsWith('/doses/')) return [fill({ id: side.doses[DOSE_OF[last] ?? 'waiting'] })]
  if (url.startsWith('/flags/')) return [fill({ itemId: side.flagId })]
  if (url.startsWith('/lows/') || url.startsWith('/audit/lows/')) return [fill({ lowId: side.lowId })]
  if (url.startsWith('/orders/') || url.startsWith('/print/orders/'))
    return [fill({ orderId: last === 'verify' ? side.unverifiedOrderId : side.orderId, version: '1' })]
  if (url.includes(':taskKey')) return [fill({ stayId: side.stayId, taskKey: side.taskKey })]
  if (url.startsWith('/stays/'))
    return [
      fill(url.includes(':slot') ? side.slot : url.includes(':version') ? side.addition : { stayId: side.stayId }),
    ]
  return unknown(holes.join(), url)
}

function unknown(name: string, url: string): never {
  throw new Error(`the test does not know what ${name} of ${url} names: fill it in for both wards`)
}
