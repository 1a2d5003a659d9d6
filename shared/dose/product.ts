/** The product and the syringe, read with the wristband: by the second nurse, or by the first where no second check is needed. */
import type { InsulinName } from '../order/order.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Stay } from '../stay/stay.ts'
import type { Dose, ProductRead } from './dose.ts'
import { agreedAnswer, doseState } from './state.ts'

export type ProductRefusal =
  | 'dose-void'
  | 'dose-lapsed'
  | 'dose-not-agreed'
  | 'product-already-read'
  | 'not-the-second-nurse'
  | 'not-the-first-nurse'
  | 'wristband-wrong'
  | 'insulin-differs'
  | 'concentration-not-u100'
  | 'product-expired'
  | 'syringe-differs'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'insulin-differs': { read: string; ordered: string }
    'concentration-not-u100': { concentration: string }
    /** Units. */
    'syringe-differs': { read: number; ordered: number }
  }
}

/**
 * Accepts what was read off the vial or pen and the syringe. The signer is the nurse whose answer agreed; of a dose that
 * needs no second check it is the nurse who worked it out. `wristband`
 * is what was scanned, `patient` says what the patient wears; `today` and `expiresOn` are calendar dates
 * YYYY-MM-DD, and the day printed is the last one of use.
 */
export function readProduct(given: {
  readonly dose: Dose
  readonly policy: WardPolicy
  readonly nowMs: number
  readonly today: string
  readonly signerId: string
  readonly wristband: string
  readonly patient: Pick<Stay, 'wristband' | 'bed'>
  readonly insulin: InsulinName
  readonly concentration: string
  readonly expiresOn: string
  readonly units: number
}): Outcome<ProductRead, ProductRefusal> {
  const { dose, policy, nowMs, insulin, concentration, expiresOn, units } = given
  const state = doseState(dose, policy, nowMs)
  if (state === 'void') return refuse('dose-void')
  if (dose.product !== null) return refuse('product-already-read')
  if (state === 'lapsed') return refuse('dose-lapsed')
  if (state !== 'agreed' && state !== 'to-draw-up') return refuse('dose-not-agreed')
  if (state === 'agreed' && agreedAnswer(dose)?.byId !== given.signerId) return refuse('not-the-second-nurse')
  if (state === 'to-draw-up' && dose.proposedById !== given.signerId) return refuse('not-the-first-nurse')
  if (given.wristband !== given.patient.wristband) return refuse('wristband-wrong', { expected: given.patient.bed })
  if (insulin !== dose.insulin) return refuse('insulin-differs', { read: insulin, ordered: dose.insulin })
  if (concentration !== 'U-100') return refuse('concentration-not-u100', { concentration })
  if (expiresOn < given.today) return refuse('product-expired')
  if (units !== dose.units) return refuse('syringe-differs', { read: units, ordered: dose.units })
  return accept({ byId: given.signerId, atMs: nowMs, insulin, concentration, expiresOn, units })
}
