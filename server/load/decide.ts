/**
 * Whether a load file can be true beside what is already there, and the events that it comes to. Decides only: all of
 * the file's faults at once, each with its path, or every event and no fault.
 */
import { mayGiveInsulin } from '../../shared/dose/may-give.ts'
import type { CheckPlan } from '../../shared/check/check.ts'
import type { EventBodies, EventHead, EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import { eventHead } from '../../shared/ledger/head.ts'
import { checkPolicy } from '../../shared/policy/check.ts'
import { changePolicy, defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { BedsideFacts } from '../../shared/stay/stay.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { LOAD_SENTENCES, type LoadRefusal } from '../../views/words/load.ts'
import { ORDER_SENTENCES } from '../../views/words/order.ts'
import { SET_SENTENCES } from '../../views/words/policy.ts'
import type { ExistingRecords, ExistingStaff, ExistingWard } from './existing-records.ts'
import { instantOf, orderFrom } from './order.ts'
import type { LoadFault, LoadFile, LoadOrder } from './schema.ts'
import { refuse, sentenceOf, type Refused } from '../../shared/outcome.ts'

export type LoadedStaff = {
  readonly staffId: string
  readonly badge: string
  readonly name: string
  readonly pin: string | null
}
export type LoadDecision = {
  readonly events: readonly LedgerEvent[]
  readonly faults: readonly LoadFault[]
  readonly staff: readonly LoadedStaff[]
}

/** `chartedAtMs` of every event is `nowMs`; nothing may have happened after it. */
export function decideLoad(
  file: LoadFile,
  already: ExistingRecords,
  at: { readonly nowMs: number; readonly newId: () => string },
): LoadDecision {
  const load = new Load(already, at)
  file.wards.forEach((ward, index) => {
    load.ward(ward, `wards[${index}]`)
  })
  file.staff.forEach((person, index) => {
    load.person(person, `staff[${index}]`)
  })
  file.meters.forEach((meter, index) => {
    load.meter(meter, `meters[${index}]`)
  })
  file.stripLots.forEach((lot, index) => {
    load.stripLot(lot, `stripLots[${index}]`)
  })
  file.stays.forEach((stay, index) => {
    load.stay(stay, `stays[${index}]`)
  })
  return { events: load.faults.length === 0 ? load.events : [], faults: load.faults, staff: load.staff }
}

type SightedWard = Omit<ExistingWard, 'occupied' | 'meterSerials' | 'stripLots'> & {
  readonly occupied: Set<string>
  readonly meterSerials: Set<string>
  readonly stripLots: Set<string>
}

const SENTENCES = { ...LOAD_SENTENCES, ...ORDER_SENTENCES }

/** One pass over a file: what is known so far (store and file together), the events and the faults. */
class Load {
  readonly events: LedgerEvent[] = []
  readonly faults: LoadFault[] = []
  readonly staff: LoadedStaff[] = []
  readonly #already: ExistingRecords
  readonly #nowMs: number
  readonly #newId: () => string
  readonly #wards = new Map<string, SightedWard>()
  readonly #badges = new Map<string, ExistingStaff>()
  readonly #wristbands = new Set<string>()

  constructor(already: ExistingRecords, at: { readonly nowMs: number; readonly newId: () => string }) {
    this.#already = already
    this.#nowMs = at.nowMs
    this.#newId = at.newId
    for (const ward of already.wards)
      this.#wards.set(ward.name, {
        ...ward,
        occupied: new Set(ward.occupied),
        meterSerials: new Set(ward.meterSerials),
        stripLots: new Set(ward.stripLots),
      })
  }

  ward(ward: LoadFile['wards'][number], path: string): void {
    if (this.#wards.has(ward.name)) {
      this.#fault(`${path}.name`, refuse('ward-already-there', { name: ward.name }))
      return
    }
    const repeated = ward.beds.find((bed, index) => ward.beds.indexOf(bed) !== index)
    if (repeated !== undefined) this.#fault(`${path}.beds`, refuse('bed-named-twice', { bed: repeated }))
    const policy = changePolicy(defaultPolicy(ward.unit, ward.zone), ward.policy ?? {})
    this.#policy(policy, `${path}.policy`)
    const wardId = this.#newId()
    this.#wards.set(ward.name, {
      wardId,
      name: ward.name,
      beds: ward.beds,
      policy,
      occupied: new Set(),
      meterSerials: new Set(),
      stripLots: new Set(),
    })
    this.#event('ward-opened', { name: ward.name, beds: ward.beds }, { wardId })
    this.#event('policy-set', { version: 1, policy }, { wardId })
  }

  /** The policy holds together as one that is set in the pages does. */
  #policy(policy: WardPolicy, path: string): void {
    const { limits } = policy
    const contradict = !(
      limits.criticalLow <= limits.low &&
      limits.level2 <= limits.low &&
      limits.low <= limits.recovered &&
      limits.recovered < limits.criticalHigh
    )
    if (contradict) this.#fault(`${path}.limits`, refuse('limits-out-of-order'))
    for (const fault of checkPolicy(policy)) {
      if (contradict && fault.name.startsWith('limits.')) continue
      this.faults.push({ path: `${path}.${fault.name}`, sentence: sentenceOf(SET_SENTENCES, fault) })
    }
  }

  person(person: LoadFile['staff'][number], path: string): void {
    if (this.#staffOf(person.badge) !== undefined) {
      this.#fault(`${path}.badge`, refuse('badge-already-there', { badge: person.badge }))
      return
    }
    const wardIds: string[] = []
    person.wards.forEach((name, index) => {
      const ward = this.#wardOf(name, `${path}.wards[${index}]`)
      if (ward !== undefined) wardIds.push(ward.wardId)
    })
    const staffId = this.#newId()
    this.#badges.set(person.badge, { staffId, role: person.role, wardIds })
    this.staff.push({ staffId, badge: person.badge, name: person.name, pin: person.pin ?? null })
    this.#event('staff-added', { staffId, badge: person.badge, name: person.name, role: person.role, wardIds }, {})
  }

  meter(meter: LoadFile['meters'][number], path: string): void {
    const ward = this.#wardOf(meter.ward, `${path}.ward`)
    if (ward === undefined) return
    if ([...this.#wards.values()].some((other) => other.meterSerials.has(meter.serial))) {
      this.#fault(`${path}.serial`, refuse('meter-already-there', { serial: meter.serial }))
      return
    }
    ward.meterSerials.add(meter.serial)
    const meterId = this.#newId()
    this.#event(
      'meter-added',
      { meterId, serial: meter.serial, unit: meter.unit ?? ward.policy.unit },
      { wardId: ward.wardId },
    )
    if (meter.controlsPassedAt === undefined) return
    const happenedAtMs = this.#past(meter.controlsPassedAt, ward, `${path}.controlsPassedAt`)
    this.#event('meter-controlled', { meterId, passed: true }, { wardId: ward.wardId, happenedAtMs })
  }

  stripLot(lot: LoadFile['stripLots'][number], path: string): void {
    const ward = this.#wardOf(lot.ward, `${path}.ward`)
    if (ward === undefined) return
    if (ward.stripLots.has(lot.lot)) {
      this.#fault(`${path}.lot`, refuse('strip-lot-already-there', { lot: lot.lot }))
      return
    }
    ward.stripLots.add(lot.lot)
    this.#event('strip-lot-added', { lot: lot.lot, expiresOn: lot.expiresOn }, { wardId: ward.wardId })
  }

  stay(stay: LoadFile['stays'][number], path: string): void {
    const ward = this.#wardOf(stay.ward, `${path}.ward`)
    if (ward === undefined) return
    if (!ward.beds.includes(stay.bed))
      this.#fault(`${path}.bed`, refuse('no-such-bed', { bed: stay.bed, ward: ward.name }))
    else if (ward.occupied.has(stay.bed)) this.#fault(`${path}.bed`, refuse('bed-taken', { bed: stay.bed }))
    if (this.#wristbands.has(stay.wristband) || this.#already.wristband(stay.wristband))
      this.#fault(`${path}.wristband`, refuse('wristband-already-there', { wristband: stay.wristband }))
    ward.occupied.add(stay.bed)
    this.#wristbands.add(stay.wristband)
    const admittedAtMs = this.#past(stay.admittedAt, ward, `${path}.admittedAt`)
    if (stay.bornOn > wardDate(admittedAtMs, ward.policy.zone))
      this.#fault(`${path}.bornOn`, refuse('born-after-admission'))
    const stayId = this.#newId()
    const of = { wardId: ward.wardId, stayId, happenedAtMs: admittedAtMs }
    const { bed, wristband, familyName, givenName, bornOn } = stay
    this.#event(
      'stay-admitted',
      { bed, wristband, familyName, givenName, bornOn, facts: factsFrom(stay.facts, ward.policy.zone) },
      of,
    )
    if (stay.plan !== null)
      this.#event('plan-set', { version: 1, plan: planFrom(stay.plan, ward.policy.zone), untilMs: null }, of)
    stay.orders.forEach((order, index) => {
      this.#order(order, { ward, stayId, admittedAtMs }, `${path}.orders[${index}]`)
    })
  }

  /** A written order carries the name of whoever copied it, and of the second person who compared it with the paper. */
  #order(
    written: LoadOrder,
    of: { readonly ward: SightedWard; readonly stayId: string; readonly admittedAtMs: number },
    path: string,
  ): void {
    const { ward, stayId } = of
    const order = orderFrom(written, ward.policy)
    if (!order.ok) this.faults.push({ path, sentence: sentenceOf(SENTENCES, order) })
    const transcriber = this.#nurse(written.transcribedBy, ward, `${path}.transcribedBy`)
    const writtenAtMs = this.#past(written.writtenAt, ward, `${path}.writtenAt`)
    if (writtenAtMs < of.admittedAtMs) this.#fault(`${path}.writtenAt`, refuse('before-admission'))
    const orderId = this.#newId()
    if (order.ok)
      this.#event(
        'order-written',
        { orderId, version: 1, order: order.value },
        { wardId: ward.wardId, stayId, happenedAtMs: writtenAtMs, actorId: transcriber?.staffId ?? '' },
      )
    if (written.verified === null) return
    if (written.verified.by === written.transcribedBy)
      this.#fault(`${path}.verified.by`, refuse('verified-by-the-transcriber', { badge: written.verified.by }))
    const verifier = this.#nurse(written.verified.by, ward, `${path}.verified.by`)
    const verifiedAtMs = this.#past(written.verified.at, ward, `${path}.verified.at`)
    if (verifiedAtMs < writtenAtMs) this.#fault(`${path}.verified.at`, refuse('verified-before-written'))
    this.#event(
      'order-verified',
      { orderId, version: 1 },
      { wardId: ward.wardId, stayId, happenedAtMs: verifiedAtMs, actorId: verifier?.staffId ?? '' },
    )
  }

  #nurse(badge: string, ward: SightedWard, path: string): ExistingStaff | undefined {
    const person = this.#staffOf(badge)
    if (person === undefined) this.#fault(path, refuse('no-such-badge', { badge }))
    else if (!mayGiveInsulin(person.role)) this.#fault(path, refuse('not-a-nurse', { badge }))
    else if (!person.wardIds.includes(ward.wardId))
      this.#fault(path, refuse('not-on-this-ward', { badge, ward: ward.name }))
    return person
  }

  #staffOf(badge: string): ExistingStaff | undefined {
    return this.#badges.get(badge) ?? this.#already.staff(badge)
  }

  #wardOf(name: string, path: string): SightedWard | undefined {
    const ward = this.#wards.get(name)
    if (ward === undefined) this.#fault(path, refuse('ward-not-there', { name }))
    return ward
  }

  #past(text: string, ward: SightedWard, path: string): number {
    const ms = instantOf(text, ward.policy.zone)
    if (ms > this.#nowMs) this.#fault(path, refuse('in-the-future', { at: text }))
    return ms
  }

  #fault(path: string, refused: Refused<LoadRefusal>): void {
    this.faults.push({ path, sentence: sentenceOf(SENTENCES, refused) })
  }

  #event<T extends EventType>(type: T, body: Readonly<EventBodies[T]>, head: Partial<EventHead>): void {
    const byLoader = eventHead({ wardId: null }, 'loader', this.#nowMs)
    this.events.push({ ...byLoader, ...head, type, body } as LedgerEvent)
  }
}

function factsFrom(facts: LoadFile['stays'][number]['facts'], zone: string): BedsideFacts {
  const { nilByMouth: nil, pastKetoacidosis, insulinAtHome, laboratoryOnly, ...always } = facts
  return {
    ...always,
    ...(pastKetoacidosis === undefined ? {} : { pastKetoacidosis }),
    ...(insulinAtHome === undefined ? {} : { insulinAtHome }),
    ...(laboratoryOnly === undefined ? {} : { laboratoryOnly }),
    nilByMouth:
      nil === null
        ? null
        : { fromMs: instantOf(nil.from, zone), untilMs: nil.until === null ? null : instantOf(nil.until, zone) },
  }
}

function planFrom(plan: NonNullable<LoadFile['stays'][number]['plan']>, zone: string): CheckPlan {
  return plan.kind === 'once' ? { kind: 'once', atMs: instantOf(plan.at, zone) } : plan
}
