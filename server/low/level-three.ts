/** GET and POST /lows/:lowId/findings and /emergency-calls: a level 3 finding and the call that it needs. */
import { z } from 'zod'
import { callEmergency, findLevelThree } from '../../shared/low/chart.ts'
import type { LevelThree } from '../../shared/low/low.ts'
import { emergencyForm, findingForm } from '../../views/low/forms.ts'
import { LEVEL_THREE } from '../../views/words/low.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { decideLow, drawLow, LOW_FIELDS, LOW_SENTENCES, LOW_STATUS, lowForm, type LowRefusal } from './form.ts'

const FINDINGS: readonly LevelThree[] = ['unresponsive-or-seizing', 'confused-needs-help']
const FINDING_FORM = z.strictObject({ finding: z.enum(FINDINGS, { error: 'Choose what was found.' }) })

export const findingSpec: FormSpec<z.output<typeof FINDING_FORM>, LowRefusal, LowRequest> = {
  name: 'low-finding',
  schema: FINDING_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Level 3', (context) =>
      findingForm({
        ...lowForm(ctx, context, state),
        findings: Object.entries(LEVEL_THREE).map(([value, label]) => ({ value, label })),
      }),
    ),
  decide: (fields, ctx) =>
    decideLow(ctx, ({ lowFacts }) => findLevelThree({ byId: ctx.actor.staffId, finding: fields.finding }, lowFacts)),
  sentences: LOW_SENTENCES,
  fieldOf: LOW_FIELDS,
  statusOf: LOW_STATUS,
}

/** The button itself is the whole message; the field keeps a stray post from counting as a call. */
const EMERGENCY_FORM = z.strictObject({
  called: z.literal('yes', { error: 'Press the button when the call was made.' }),
})

export const emergencySpec: FormSpec<z.output<typeof EMERGENCY_FORM>, LowRefusal, LowRequest> = {
  name: 'low-emergency',
  schema: EMERGENCY_FORM,
  initial: () => ({}),
  draw: (ctx, state) => drawLow(ctx, 'Emergency call', (context) => emergencyForm(lowForm(ctx, context, state))),
  decide: (_fields, ctx) => decideLow(ctx, ({ lowFacts }) => callEmergency({ byId: ctx.actor.staffId }, lowFacts)),
  sentences: LOW_SENTENCES,
  fieldOf: LOW_FIELDS,
  statusOf: LOW_STATUS,
}
