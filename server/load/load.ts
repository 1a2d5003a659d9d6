/** Loads a file into a store: all of it in one transaction, or nothing and every fault. */
import { randomInt } from 'node:crypto'
import { PIN_DIGITS } from '../../shared/staff/pin.ts'
import { hashPin, WARD_PIN_COST, type PinCost } from '../http/pins.ts'
import type { Store } from '../store/contract.ts'
import { storeEvents } from '../store/store-events.ts'
import { decideLoad } from './decide.ts'
import { existingRecords } from './existing-records.ts'
import { parseLoadFile, type LoadFault } from './schema.ts'

export type LoadServices = {
  readonly store: Store
  readonly nowMs: number
  readonly newId: () => string
  /** Work of one PIN hash; the ward's own when absent. */
  readonly pinCost?: PinCost
}

/** `made` PINs were made here because the file gave none: they are shown once and kept nowhere but as a hash. */
export type Loaded = {
  readonly counts: Readonly<Record<'wards' | 'staff' | 'meters' | 'strip lots' | 'stays' | 'orders' | 'events', number>>
  readonly made: readonly { readonly badge: string; readonly name: string; readonly pin: string }[]
}

export type LoadResult =
  { readonly ok: true; readonly loaded: Loaded } | { readonly ok: false; readonly faults: readonly LoadFault[] }

/** `json` is the file's content after JSON.parse. PINs are hashed before the transaction, which must not wait. */
export async function loadInto(json: unknown, services: LoadServices): Promise<LoadResult> {
  const parsed = parseLoadFile(json)
  if (!parsed.ok) return parsed
  const { file } = parsed
  const pins = new Map<string, { readonly pin: string; readonly hash: string }>()
  for (const person of file.staff) {
    const pin = person.pin ?? makePin()
    pins.set(person.badge, { pin, hash: await hashPin(pin, services.pinCost ?? WARD_PIN_COST) })
  }
  const { store } = services
  const decision = store.transact(() => {
    const decided = decideLoad(file, existingRecords(store, services.nowMs), services)
    if (decided.faults.length > 0) return decided
    storeEvents(store, decided.events)
    for (const person of decided.staff) store.setPinHash(person.staffId, pins.get(person.badge)?.hash ?? '')
    return decided
  })
  if (decision.faults.length > 0) return { ok: false, faults: decision.faults }
  return {
    ok: true,
    loaded: {
      counts: {
        wards: file.wards.length,
        staff: file.staff.length,
        meters: file.meters.length,
        'strip lots': file.stripLots.length,
        stays: file.stays.length,
        orders: file.stays.reduce((sum, stay) => sum + stay.orders.length, 0),
        events: decision.events.length,
      },
      made: decision.staff
        .filter((person) => person.pin === null)
        .map(({ badge, name }) => ({ badge, name, pin: pins.get(badge)?.pin ?? '' })),
    },
  }
}

/** A PIN out of the operating system's randomness. */
function makePin(): string {
  return String(randomInt(10 ** PIN_DIGITS.least)).padStart(PIN_DIGITS.least, '0')
}
