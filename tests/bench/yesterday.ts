/** The planned checks of the day before for every patient on every ward, which an unused Round would list as missed. */
import { newId } from '../../server/http/ids.ts'
import type { Store } from '../../server/store/contract.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { FingerSite, Reading } from '../../shared/reading/reading.ts'
import { addDays, localToUtc, wardDate } from '../../shared/time/zone.ts'

const TAKEN = [
  ['before-breakfast', '07:35'],
  ['before-lunch', '11:50'],
  ['before-supper', '17:05'],
  ['bedtime', '21:20'],
] as const
const FINGERS: readonly FingerSite[] = [
  { hand: 'left', finger: 'middle' },
  { hand: 'left', finger: 'ring' },
  { hand: 'left', finger: 'index' },
  { hand: 'left', finger: 'little' },
]

/** Charts them in one transaction, with values in the target range that lead to nothing. `atMs` is on the day after. */
export function chartYesterday(store: Store, atMs: number): void {
  const wardIds = store.wardIds()
  const scope = { staffId: 'loader', role: 'administrator', wardIds } as const
  const events = wardIds.flatMap((wardId): readonly LedgerEvent[] => {
    const policy = store.wardPolicy(scope, wardId, atMs)?.policy
    const nurse = store
      .staffList(scope)
      .find((person) => person.role === 'floor-nurse' && person.wardIds.includes(wardId))
    if (policy === undefined || nurse === undefined) return []
    const date = addDays(wardDate(atMs, policy.zone), -1)
    return store.staysOfWard(scope, wardId).flatMap(({ stayId }, bed) =>
      TAKEN.map(([occasion, time], at): LedgerEvent => {
        const takenAtMs = localToUtc(date, time, policy.zone)
        const reading: Reading = {
          readingId: newId(),
          stayId,
          wardId,
          wardDate: date,
          checkKey: `${stayId}.${date}.${occasion}`,
          glucose: { unit: 'mg/dL', value: 110 + ((bed * 7 + at * 11) % 40) },
          source: 'capillary',
          takenAtMs,
          chartedAtMs: takenAtMs,
          byId: nurse.staffId,
          site: FINGERS[at] ?? null,
          meterId: null,
          stripLot: null,
          doubts: [],
          lateReason: null,
          extraReason: null,
          supersedes: null,
          supersededBy: null,
          voided: null,
        }
        return {
          type: 'reading-recorded',
          wardId,
          stayId,
          actorId: nurse.staffId,
          happenedAtMs: takenAtMs,
          chartedAtMs: takenAtMs,
          body: { reading },
        }
      }),
    )
  })
  store.transact(() => {
    storeEvents(
      store,
      [...events].sort((a, b) => a.happenedAtMs - b.happenedAtMs),
    )
    return null
  })
}
