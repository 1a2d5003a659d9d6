/** GET and POST /stays/:stayId/other-insulin: an insulin infusion, the patient's own pump, or insulin for potassium. */
import { z } from 'zod'
import { endWay, runningWays, startWay, type OtherInsulinRefusal } from '../../shared/care/other-insulin.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { formatWhen } from '../../views/format.ts'
import { otherInsulinForm } from '../../views/stay/other-insulin.ts'
import { INSULIN_WAY, OTHER_INSULIN_SENTENCES } from '../../views/words/other-insulin.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { STAY_GONE } from '../../views/words/stay-refusals.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { PAST, TICK } from './fields.ts'
import { decideStay, drawStay, zoneOfStay } from './load.ts'

const OTHER_FORM = z.strictObject({
  way: z.enum(['infusion', 'pump', 'potassium'], { error: 'Choose the way.' }),
  what: z.enum(['started', 'ended'], { error: 'Choose what happened.' }),
  noBasal: TICK,
  at: PAST,
})

export const otherInsulinSpec: FormSpec<
  z.output<typeof OTHER_FORM>,
  OtherInsulinRefusal | TakenAtRefusal | 'stay-gone',
  StayRequest
> = {
  name: 'other-insulin',
  schema: OTHER_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(ctx, 'Insulin by another way', state, (view, { entries, policy: { policy } }) =>
      otherInsulinForm({
        ...view,
        running: runningWays(entries, ctx.nowMs).map(
          ({ atMs, fact }) => `${INSULIN_WAY[fact.way]}, since ${formatWhen(atMs, ctx.nowMs, policy.zone)}`,
        ),
        asksNoBasal: state.errors['noBasal'] !== undefined,
      }),
    ),
  decide: (fields, ctx) =>
    decideStay<OtherInsulinRefusal | TakenAtRefusal>(ctx, ({ stay, entries, insulinGiven, policy: { policy } }) => {
      const at = parseTakenAt(fields.at, policy.zone, ctx.nowMs)
      if (!at.ok) return at
      const entry = { entryId: ctx.services.newId(), way: fields.way, atMs: at.value, byId: ctx.actor.staffId }
      return fields.what === 'started'
        ? startWay(entry, { stay, entries, nowMs: ctx.nowMs })
        : endWay({ ...entry, noBasal: fields.noBasal }, { stay, entries, insulinGiven }, ctx.nowMs)
    }),
  emptyIsNow: { field: 'at', zone: zoneOfStay },
  sentences: { ...OTHER_INSULIN_SENTENCES, ...STAY_GONE, 'time-not-read': READING_SENTENCES['time-not-read'] },
  fieldOf: {
    'other-insulin-in-future': 'at',
    'other-insulin-before-admission': 'at',
    'time-not-read': 'at',
    'other-insulin-no-basal': 'noBasal',
  },
  statusOf: {
    'other-insulin-stay-discharged': 409,
    'other-insulin-runs': 409,
    'other-insulin-runs-not': 409,
    'stay-gone': 404,
  },
}
