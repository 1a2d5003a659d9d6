/** GET and POST /doses/:id/product: label and syringe, read and signed by the second nurse, or by the first where no second check is needed. */
import { z } from 'zod'
import { readProduct } from '../../shared/dose/product.ts'
import { agreedAnswer } from '../../shared/dose/state.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { isCalendarDate, wardDate } from '../../shared/time/zone.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { productPage } from '../../views/dose/product.ts'
import { maskedPage } from '../../views/dose/propose.ts'
import { PRODUCT_SENTENCES } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { DoseRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import type { Staff } from '../store/contract.ts'
import { headOf } from '../bedside/event-head.ts'
import { mismatchEvent, refuseWristband } from '../bedside/near-misses.ts'
import { insulinField, INSULINS, unitsField } from '../bedside/fields.ts'
import { badgeField, pinField, wristbandField } from './fields.ts'
import { doseContext, type DoseContext } from './load.ts'
import { proveSigner } from './second-check-form.ts'

const ProductForm = z.strictObject({
  insulin: insulinField,
  concentration: z.enum(['U-100', 'U-200', 'U-300', 'U-500'], 'Choose the concentration on the label.'),
  expiresOn: z
    .string('Read the date off the label.')
    .trim()
    .refine(isCalendarDate, 'A date of the calendar, year-month-day.'),
  units: unitsField,
  wristband: wristbandField,
  badge: badgeField,
  pin: pinField,
})
type ProductFields = z.output<typeof ProductForm>

type Refusal = keyof typeof PRODUCT_SENTENCES

export const productSpec: FormSpec<ProductFields, Refusal, DoseRequest, Staff> = {
  name: 'product',
  schema: ProductForm,
  initial: () => ({}),
  draw: drawProduct,
  before: proveSigner,
  decide: decideProduct,
  sentences: PRODUCT_SENTENCES,
  fieldOf: {
    'identify-wrong': 'pin',
    'identify-locked': 'pin',
    'identify-too-many': 'pin',
    'badge-missing': 'badge',
    'insulin-differs': 'insulin',
    'concentration-not-u100': 'concentration',
    'product-expired': 'expiresOn',
    'syringe-differs': 'units',
  },
  statusOf: {
    'dose-void': 409,
    'dose-lapsed': 409,
    'dose-not-agreed': 409,
    'product-already-read': 409,
    'not-the-second-nurse': 403,
    'not-the-first-nurse': 403,
    'wristband-wrong': 409,
  },
  keep: (reason, fields, ctx): readonly LedgerEvent[] => {
    const context = reason === 'wristband-wrong' ? doseContext(ctx) : undefined
    return context === undefined ? [] : [mismatchEvent(ctx, context.facts, fields.wristband, 'product')]
  },
  secretFields: ['pin'],
}

function decideProduct(fields: ProductFields, ctx: DoseRequest, signer: Staff): Outcome<FormDecision, Refusal> {
  const context = doseContext(ctx)
  if (context === undefined) return refuse('dose-void')
  const { dose, facts, zone } = context
  const read = readProduct({
    dose,
    policy: facts.policy.policy,
    nowMs: ctx.nowMs,
    today: wardDate(ctx.nowMs, zone),
    signerId: signer.staffId,
    wristband: fields.wristband,
    patient: facts.stay,
    insulin: fields.insulin,
    concentration: fields.concentration,
    expiresOn: fields.expiresOn,
    units: fields.units,
  })
  if (!read.ok) return read.reason === 'wristband-wrong' ? refuseWristband(ctx, facts, fields.wristband) : read
  const { byId, insulin, concentration, expiresOn, units } = read.value
  return accept({
    events: [
      {
        ...headOf(ctx, dose),
        type: 'dose-verified',
        body: { doseId: dose.doseId, byId, insulin, concentration, expiresOn, units },
      },
    ],
    location: `/doses/${dose.doseId}`,
  })
}

function drawProduct(ctx: DoseRequest, state: FormState): PageView | undefined {
  const context = doseContext(ctx)
  if (context === undefined) return undefined
  const { dose, facts } = context
  recordPatientRead(ctx, dose.stayId)
  // before agreement nobody but the first nurse may see a number here
  if (context.masked)
    return {
      title: 'Awaiting second check',
      body: maskedPage({ patient: facts.stay, secondCheckPath: `doses/${dose.doseId}/second-check` }),
    }
  const signerId = dose.secondCheckRequired ? agreedAnswer(dose)?.byId : dose.proposedById
  return {
    title: 'Read the product',
    chrome: 'bare',
    body: productPage({
      doseId: dose.doseId,
      patient: facts.stay,
      insulin: dose.insulin,
      units: dose.units,
      insulins: INSULINS,
      signerName: signerId === undefined ? '–' : (ctx.store.staffById(signerId)?.name ?? '–'),
      checked: dose.secondCheckRequired,
      asksBadge: dose.secondCheckRequired && dose.proposedById === ctx.actor.staffId,
      closed: closedBecause(context),
      values: state.values,
      errors: state.errors,
      problem: state.problem,
    }),
  }
}

function closedBecause({ state, dose }: DoseContext): string | null {
  if (state === 'agreed' || state === 'to-draw-up') return null
  if (dose.product !== null) return PRODUCT_SENTENCES['product-already-read']({})
  if (state === 'void') return PRODUCT_SENTENCES['dose-void']({})
  return state === 'lapsed' ? PRODUCT_SENTENCES['dose-lapsed']({}) : PRODUCT_SENTENCES['dose-not-agreed']({})
}
