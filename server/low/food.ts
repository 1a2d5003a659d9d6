/** GET and POST /lows/:lowId/food: longer-acting carbohydrate after recovery. */
import { z } from 'zod'
import { giveFood } from '../../shared/low/chart.ts'
import { foodForm } from '../../views/low/forms.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { TEXT_MOST, TIME } from './fields.ts'
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
import { lowContext } from './load.ts'

const GRAMS_WRONG = { error: 'Type the grams of carbohydrate, from 1 to 100.' }
const FOOD_FORM = z.strictObject({
  grams: z
    .string(GRAMS_WRONG)
    .trim()
    .regex(/^\d{1,3}$/, GRAMS_WRONG)
    .transform(Number),
  what: z.string().trim().max(200, TEXT_MOST).default(''),
  at: TIME,
})

export const foodSpec: FormSpec<z.output<typeof FOOD_FORM>, LowRefusal, LowRequest> = {
  name: 'low-food',
  schema: FOOD_FORM,
  initial: (ctx) => {
    const lasting = lowContext(ctx)?.state.lasting
    return lasting?.kind === 'grams' ? { grams: String(lasting.grams) } : {}
  },
  draw: (ctx, state) => drawLow(ctx, 'Longer-acting carbohydrate', (context) => foodForm(lowForm(ctx, context, state))),
  decide: (fields, ctx) =>
    decideLow(ctx, (context) => {
      const at = timeOf(fields.at, ctx, context)
      if (!at.ok) return at
      return giveFood(
        { byId: ctx.actor.staffId, grams: fields.grams, what: fields.what, atMs: at.value },
        context.lowFacts,
        context.state,
      )
    }),
  emptyIsNow: DONE_AT,
  sentences: LOW_SENTENCES,
  fieldOf: LOW_FIELDS,
  statusOf: { ...LOW_STATUS, 'low-food-before-recovery': 409 },
}
