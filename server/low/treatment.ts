/** GET and POST /lows/:lowId/treatments: what was given for the low. */
import { z } from 'zod'
import { treatLow } from '../../shared/low/chart.ts'
import type { LowArm } from '../../shared/low/low.ts'
import { treatmentForm, type Option } from '../../views/low/forms.ts'
import { ARM } from '../../views/words/low.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import type { LowContext } from './context.ts'
import { NAME_MOST, TEXT_MOST, TICK, TIME } from './fields.ts'
import {
  decideLow,
  DONE_AT,
  drawLow,
  LOW_FIELDS,
  LOW_SENTENCES,
  LOW_STATUS,
  lowForm,
  timeOf,
  type LowRefusal,
} from './form.ts'

const ARMS: readonly LowArm[] = ['by-mouth', 'by-tube', 'iv-dextrose', 'glucagon', 'by-direction']

const TREATMENT_FORM = z.strictObject({
  /** The arm and amount that the page showed; left out when something else was given. */
  shown: z.string().max(60, TEXT_MOST).optional(),
  arm: z.enum(ARMS, { error: 'Choose how it was given.' }),
  what: z.string().trim().max(200, TEXT_MOST).default(''),
  directedBy: z.string().trim().max(100, NAME_MOST).default(''),
  readBack: TICK,
  at: TIME,
})

const ARM_OPTIONS: readonly Option[] = (Object.keys(ARM) as readonly LowArm[]).map((arm) => ({
  value: arm,
  label: ARM[arm],
}))

export const treatmentSpec: FormSpec<z.output<typeof TREATMENT_FORM>, LowRefusal, LowRequest> = {
  name: 'low-treatment',
  schema: TREATMENT_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'What was given', (context) =>
      treatmentForm({ ...lowForm(ctx, context, state), arms: ARM_OPTIONS, signed: signedText(context) }),
    ),
  decide: (fields, ctx) =>
    decideLow(ctx, (context) => {
      const at = timeOf(fields.at, ctx, context)
      if (!at.ok) return at
      const { arm, what, directedBy, readBack } = fields
      return treatLow(
        { byId: ctx.actor.staffId, shown: fields.shown ?? null, arm, what, directedBy, readBack, atMs: at.value },
        context.lowFacts,
      )
    }),
  emptyIsNow: DONE_AT,
  sentences: LOW_SENTENCES,
  fieldOf: LOW_FIELDS,
  statusOf: LOW_STATUS,
}

function signedText({
  lowFacts: {
    policy: {
      low: {
        standingOrders: { dextrose, glucagon },
      },
    },
  },
}: LowContext): string {
  if (dextrose && glucagon) return 'Dextrose into the vein and glucagon are covered by this ward’s standing orders.'
  if (!dextrose && !glucagon)
    return 'No standing order is signed for dextrose into the vein or glucagon: each needs who directed it.'
  return dextrose
    ? 'Dextrose into the vein is covered by a standing order; glucagon needs who directed it.'
    : 'Glucagon is covered by a standing order; dextrose into the vein needs who directed it.'
}
