/** GET and POST /stays/:stayId/ketones: ketones measured in blood or urine, or no strip to measure them with. */
import { z } from 'zod'
import { chartKetones, type KetonesRefusal } from '../../shared/care/ketones.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { isInsulinDependent } from '../../shared/stay/stay.ts'
import { ketonesForm } from '../../views/stay/ketones.ts'
import { KETONES_SENTENCES } from '../../views/words/ketones.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { STAY_GONE } from '../../views/words/stay-refusals.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { PAST } from './fields.ts'
import { decideStay, drawStay, zoneOfStay } from './load.ts'

const KETONES_FORM = z.strictObject({
  by: z.enum(['blood', 'urine', 'no-strip'], { error: 'Choose how they were measured.' }).optional(),
  blood: z.string().trim().max(6, { error: 'Type the value as the meter shows it, as in 0.4.' }).default(''),
  band: z.enum(['negative', 'small', 'moderate', 'large', ''], { error: 'Choose the band of the strip.' }).default(''),
  well: z.enum(['yes', 'no'], { error: 'Choose whether the patient looks well.' }),
  at: PAST,
})

export const ketonesSpec: FormSpec<
  z.output<typeof KETONES_FORM>,
  KetonesRefusal | TakenAtRefusal | 'stay-gone',
  StayRequest
> = {
  name: 'ketones',
  schema: KETONES_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(ctx, 'Ketones', state, (view, { stay }) =>
      ketonesForm({ ...view, dependent: isInsulinDependent(stay.facts) }),
    ),
  decide: (fields, ctx) =>
    decideStay<KetonesRefusal | TakenAtRefusal>(ctx, ({ stay, policy: { policy } }) => {
      const at = parseTakenAt(fields.at, policy.zone, ctx.nowMs)
      if (!at.ok) return at
      return chartKetones(
        {
          entryId: ctx.services.newId(),
          by: fields.by ?? null,
          blood: fields.blood,
          band: fields.band === '' ? null : fields.band,
          well: fields.well === 'yes',
          atMs: at.value,
          byId: ctx.actor.staffId,
        },
        { stay, nowMs: ctx.nowMs },
      )
    }),
  emptyIsNow: { field: 'at', zone: zoneOfStay },
  sentences: { ...KETONES_SENTENCES, ...STAY_GONE, 'time-not-read': READING_SENTENCES['time-not-read'] },
  fieldOf: {
    'ketones-not-chosen': 'by',
    'ketones-not-a-value': 'blood',
    'ketones-no-band': 'band',
    'ketones-in-future': 'at',
    'time-not-read': 'at',
  },
  statusOf: { 'ketones-stay-discharged': 409, 'stay-gone': 404 },
}
