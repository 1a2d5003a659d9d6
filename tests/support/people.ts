/** The people of the test wards, by name, with badge and PIN. All invented. */
import type { Role } from '../../shared/ledger/events.ts'
import { hashPin, type PinCost } from '../../server/http/pins.ts'

export type Person = {
  readonly staffId: string
  readonly badge: string
  readonly pin: string
  readonly name: string
  readonly role: Role
  readonly wardIds: readonly string[]
}

export const ALDER = 'wardalder0000001'
export const BIRCH = 'wardbirch0000001'

const person = (name: string, badge: string, pin: string, role: Role, wardIds: readonly string[]): Person => ({
  staffId: `staff${badge.toLowerCase()}`.padEnd(16, '0').slice(0, 16),
  badge,
  pin,
  name,
  role,
  wardIds,
})

/** Alder counts in mg/dL, Birch in mmol/L. */
export const people = {
  /** floor nurse on Alder */
  nora: person('Nora Lind', 'N1001', '274916', 'floor-nurse', [ALDER]),
  /** floor nurse on Alder: the usual second checker */
  omar: person('Omar Reyes', 'N1002', '593827', 'floor-nurse', [ALDER]),
  /** floor nurse on both wards */
  pia: person('Pia Holm', 'N1003', '816402', 'floor-nurse', [ALDER, BIRCH]),
  /** floor nurse on Birch */
  bo: person('Bo Whitlock', 'N2001', '305718', 'floor-nurse', [BIRCH]),
  /** floor nurse on Birch: the usual second checker */
  bea: person('Bea Thorne', 'N2002', '660294', 'floor-nurse', [BIRCH]),
  /** charge nurse on Alder */
  cora: person('Cora Venn', 'C1001', '482039', 'charge-nurse', [ALDER]),
  /** charge nurse on Birch */
  carl: person('Carl Moss', 'C2001', '917350', 'charge-nurse', [BIRCH]),
  /** educator of both wards */
  edda: person('Edda Sorel', 'E1001', '730184', 'educator', [ALDER, BIRCH]),
  /** administrator of no ward */
  anna: person('Anna Quill', 'A1001', '158603', 'administrator', []),
  /** the second administrator, of no ward */
  abel: person('Abel Lorne', 'A1002', '460271', 'administrator', []),
} as const satisfies Readonly<Record<string, Person>>

/** The lowest cost that Argon2id allows, because tests sign in hundreds of times. */
export const CHEAP_PIN: PinCost = { memoryKiB: 8, passes: 1, lanes: 1 }

const hashes = new Map<string, Promise<string>>()

/** The PIN's hash at the low cost, made once for each run. */
export function cheapHash(pin: string): Promise<string> {
  let hash = hashes.get(pin)
  if (hash === undefined) {
    hash = hashPin(pin, CHEAP_PIN)
    hashes.set(pin, hash)
  }
  return hash
}
