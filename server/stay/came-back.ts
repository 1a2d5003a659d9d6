/** GET and POST /stays/:stayId/came-back: the patient is back from theatre, dialysis or leave. */
import { z } from 'zod'
import type { CameBackFrom } from '../../shared/care/entries.ts'
import { comeBack, type CameBackRefusal } from '../../shared/care/elsewhere.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { cameBackForm } from '../../views/stay/came-back.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { CAME_BACK_FROM, CAME_BACK_SENTENCES, STAY_GONE } from '../../views/words/stay-refusals.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { PAST } from './fields.ts'
import { decideStay, drawStay, zoneOfStay } from './load.ts'

const CAME_BACK_FORM = z.strictObject({
  from: z.enum(Object.keys(CAME_BACK_FROM) as CameBackFrom[], { error: 'Choose where the patient was.' }),
  at: PAST,
})

export const cameBackSpec: FormSpec<
  z.output<typeof CAME_BACK_FORM>,
  CameBackRefusal | TakenAtRefusal | 'stay-gone',
  StayRequest
> = {
  name: 'came-back',
  schema: CAME_BACK_FORM,
  initial: () => ({}),
  draw: (ctx, state) => drawStay(ctx, 'Back on the ward', state, (view) => cameBackForm(view)),
  decide: (fields, ctx) =>
    decideStay<CameBackRefusal | TakenAtRefusal>(ctx, ({ stay, policy: { policy } }) => {
      const at = parseTakenAt(fields.at, policy.zone, ctx.nowMs)
      if (!at.ok) return at
      return comeBack(
        { entryId: ctx.services.newId(), from: fields.from, atMs: at.value, byId: ctx.actor.staffId },
        { stay, nowMs: ctx.nowMs },
      )
    }),
  emptyIsNow: { field: 'at', zone: zoneOfStay },
  sentences: { ...CAME_BACK_SENTENCES, ...STAY_GONE, 'time-not-read': READING_SENTENCES['time-not-read'] },
  fieldOf: { 'back-in-future': 'at', 'back-before-admission': 'at', 'time-not-read': 'at' },
  statusOf: { 'back-stay-discharged': 409, 'stay-gone': 404 },
}
