/** A patient's identity: the name and two more identifiers, wristband number and date of birth. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome, type Refused } from '../outcome.ts'
import { addDays, isCalendarDate, wardDate } from '../time/zone.ts'
import type { Stay } from './stay.ts'

export type Identity = {
  readonly wristband: string
  readonly familyName: string
  readonly givenName: string
  /** YYYY-MM-DD */
  readonly bornOn: string
}

/** The patient's identity as charted from an instant on. `reason` is null for the admission. */
export type IdentityVersion = Identity & {
  readonly reason: string | null
  readonly byId: string
  readonly atMs: number
}

/**
 * Who wears a wristband, as far as the person asking may know. Both null: a patient on a ward that this person may not
 * see.
 */
export type WornElsewhere = { readonly bed: string | null; readonly ward: string | null }

export type IdentityFault =
  | 'identity-wristband-missing'
  | 'identity-name-missing'
  | 'identity-born-not-a-date'
  | 'identity-born-in-future'
  | 'identity-born-too-long-ago'
  | 'identity-wristband-worn'
export type IdentityRefusal = IdentityFault | 'identity-unchanged' | 'identity-reason-missing'

declare module '../outcome.ts' {
  interface RefusalDetails {
    /** Where it is worn, as far as this person may know. */
    'identity-wristband-worn': { bed?: string; ward?: string }
  }
}

/** The longest documented life is 122 years (general knowledge). An earlier date of birth is a typing error. */
const OLDEST_YEARS = 123

/** What is wrong with an identity by itself or with its wristband. Null: nothing. */
export function identityFault(
  identity: Identity,
  { worn, nowMs, zone }: { readonly worn: WornElsewhere | null; readonly nowMs: number; readonly zone: string },
): Refused<IdentityFault> | null {
  if (identity.wristband === '') return refuse('identity-wristband-missing')
  if (identity.familyName === '' || identity.givenName === '') return refuse('identity-name-missing')
  if (!isCalendarDate(identity.bornOn)) return refuse('identity-born-not-a-date')
  const today = wardDate(nowMs, zone)
  if (identity.bornOn > today) return refuse('identity-born-in-future')
  if (identity.bornOn < addDays(today, -OLDEST_YEARS * 366)) return refuse('identity-born-too-long-ago')
  if (worn === null) return null
  return refuse('identity-wristband-worn', {
    ...(worn.bed === null ? {} : { bed: worn.bed }),
    ...(worn.ward === null ? {} : { ward: worn.ward }),
  })
}

/** True when name and date of birth are the same, ignoring case. */
export function isSamePerson(one: Omit<Identity, 'wristband'>, other: Omit<Identity, 'wristband'>): boolean {
  const nameOf = ({ familyName, givenName }: Omit<Identity, 'wristband'>): string =>
    `${familyName} ${givenName}`.toLowerCase().replace(/\s+/g, ' ').trim()
  return one.bornOn === other.bornOn && nameOf(one) === nameOf(other)
}

/**
 * Corrects a name, date of birth or wristband, or replaces a wristband, with the reason. All four are charted from now
 * on, also after the discharge, when nobody wears the wristband any more. Refuses a wristband in use, no change, and no
 * reason.
 */
export function identifyStay(
  entry: { readonly identity: Identity; readonly reason: string; readonly byId: string },
  facts: { readonly stay: Stay; readonly worn: WornElsewhere | null; readonly nowMs: number; readonly zone: string },
): Outcome<LedgerEvent[], IdentityRefusal> {
  const { identity, reason, byId } = entry
  const { stay, nowMs } = facts
  const fault = identityFault(identity, { ...facts, worn: stay.dischargedAtMs === null ? facts.worn : null })
  if (fault !== null) return fault
  if ((Object.keys(identity) as (keyof Identity)[]).every((name) => identity[name] === stay[name]))
    return refuse('identity-unchanged')
  if (reason.trim() === '') return refuse('identity-reason-missing')
  const { wristband, familyName, givenName, bornOn } = identity
  return accept([
    {
      ...eventHead(stay, byId, nowMs),
      type: 'stay-identified',
      body: { wristband, familyName, givenName, bornOn, reason },
    },
  ])
}
