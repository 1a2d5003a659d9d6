/** The second check's first part: a second nurse's own answer, given without seeing the first. */
import { compareGlucose, type Glucose } from '../glucose/value.ts'
import type { Role } from '../ledger/events.ts'
import type { InsulinName } from '../order/order.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import type { Dose, SecondAnswer } from './dose.ts'
import { mayCheckInsulin, mayGiveInsulin } from './may-give.ts'
import { doseState, mismatches } from './state.ts'

/** Who is at the bedside, as the server knows them. */
export type Signer = { readonly staffId: string; readonly role: Role; readonly wardIds: readonly string[] }

export type SignerRefusal =
  | 'signer-is-first-nurse'
  | 'signer-took-reading'
  | 'signer-role-may-not'
  | 'signer-role-not-by-policy'
  | 'signer-not-on-ward'

/**
 * True when the dose needs a second check by the ward's policy: its insulin is listed, and a dose of 0 units only where
 * the policy says so. Decided once, when the dose is proposed, and kept with it.
 */
export function needsSecondCheck(insulin: InsulinName, units: number, { secondCheck, dose }: WardPolicy): boolean {
  return secondCheck.insulins.includes(insulin) && (units > 0 || dose.zeroNeedsSecondCheck)
}

export type SecondCheckRefusal =
  | SignerRefusal
  | 'second-check-not-needed'
  | 'dose-void'
  | 'dose-lapsed'
  | 'dose-differed'
  | 'dose-already-checked'
  | 'dose-settled'
  | 'charge-nurse-needed'
  | 'charge-nurse-for-sum'
  | 'second-value-missing'

/**
 * Never somebody who knows the first answer: not who proposed the dose, and none of `knows`, who took the reading or
 * charted a value that it corrects; and a role that may give insulin, may check it by the ward's policy, with access to
 * the ward.
 */
export function refuseSigner(
  dose: Dose,
  knows: ReadonlySet<string>,
  signer: Signer,
  policy: WardPolicy,
): Outcome<null, SignerRefusal> {
  if (!mayGiveInsulin(signer.role)) return refuse('signer-role-may-not')
  if (!mayCheckInsulin(signer.role, policy)) return refuse('signer-role-not-by-policy')
  if (!signer.wardIds.includes(dose.wardId)) return refuse('signer-not-on-ward')
  if (signer.staffId === dose.proposedById) return refuse('signer-is-first-nurse')
  if (knows.has(signer.staffId)) return refuse('signer-took-reading')
  return accept(null)
}

/**
 * The second answer, agreed when the value read off the meter's memory and the units worked out both equal the first
 * nurse's. A difference is an accepted answer too: it is kept, and neither number is shown as right. After the
 * policy's number of differences the charge nurse is called in.
 */
export function answerSecondCheck(given: {
  readonly dose: Dose
  readonly reading: Reading | null
  /** Everybody who had the reading's number before them: `nursesWhoKnow`. */
  readonly knows: ReadonlySet<string>
  readonly policy: WardPolicy
  readonly signer: Signer
  /** Null only for a dose that rests on no reading. */
  readonly glucose: Glucose | null
  readonly units: number
  readonly nowMs: number
}): Outcome<SecondAnswer, SecondCheckRefusal> {
  const { dose, reading, policy, signer, glucose, units, nowMs } = given
  const allowed = refuseSigner(dose, given.knows, signer, policy)
  if (!allowed.ok) return allowed
  const state = doseState(dose, policy, nowMs)
  if (state === 'void') return refuse('dose-void')
  if (state === 'lapsed') return refuse('dose-lapsed')
  if (state === 'differed') return refuse('dose-differed')
  if (!dose.secondCheckRequired && (state === 'to-draw-up' || state === 'verified'))
    return refuse('second-check-not-needed')
  if (state === 'agreed' || state === 'verified') return refuse('dose-already-checked')
  if (state !== 'awaiting-second-check') return refuse('dose-settled')
  if (signer.role !== 'charge-nurse') {
    if (mismatches(dose) >= policy.dose.mismatchesBeforeCharge) return refuse('charge-nurse-needed')
    if (needsChargeNurse(dose)) return refuse('charge-nurse-for-sum')
  }
  if (dose.readingId !== null && (glucose === null || reading === null)) return refuse('second-value-missing')
  const sameValue =
    dose.readingId === null || (glucose !== null && reading !== null && sameGlucose(glucose, reading.glucose))
  return accept({ byId: signer.staffId, atMs: nowMs, glucose, units, agreed: sameValue && units === dose.units })
}

/** Insulin by direction adds up to more than the ward lets another floor nurse check. */
export function needsChargeNurse({ working }: Dose): boolean {
  return working.guards.some(({ guard, outcome }) => guard === 'directed-sum' && outcome === 'warns')
}

/** Equal in unit and value; LO and HI equal only themselves. */
export function sameGlucose(a: Glucose, b: Glucose): boolean {
  return a.unit === b.unit && compareGlucose(a, b) === 0
}

export type StartAgainRefusal = 'not-first-nurse' | 'dose-not-differed' | 'meter-value-differs'

/**
 * After a difference the first nurse reads the meter again. The value must be the recorded one; if it is not, the
 * reading was wrong and is corrected first, which voids the dose.
 */
export function startAgain(given: {
  readonly dose: Dose
  readonly reading: Reading | null
  readonly policy: WardPolicy
  readonly staffId: string
  readonly glucose: Glucose | null
  readonly nowMs: number
}): Outcome<null, StartAgainRefusal> {
  const { dose, reading, policy, staffId, glucose, nowMs } = given
  if (doseState(dose, policy, nowMs) !== 'differed') return refuse('dose-not-differed')
  if (staffId !== dose.proposedById) return refuse('not-first-nurse')
  if (dose.readingId !== null && (glucose === null || reading === null || !sameGlucose(glucose, reading.glucose)))
    return refuse('meter-value-differs')
  return accept(null)
}
