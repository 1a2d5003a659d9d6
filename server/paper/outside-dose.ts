/** GET and POST /stays/:stayId/outside-dose */
import { z } from 'zod'
import { recordOutsideDose } from '../../shared/dose/outside.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { parseLocalDateTime } from '../../shared/time/zone.ts'
import { outsideDosePage } from '../../views/paper/outside-dose.ts'
import { OUTSIDE_DOSE_SENTENCES } from '../../views/words/paper.ts'
import { headOf } from '../bedside/event-head.ts'
import { insulinField, INSULINS, unitsField, whenField } from '../bedside/fields.ts'
import { stayContext } from '../bedside/facts-now.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'

const name = (missing: string) => z.string(missing).trim().min(1, missing).max(80, 'At most 80 characters.')

const OutsideDoseForm = z.strictObject({
  source: z.enum(['paper', 'elsewhere'], 'Where does it come from?'),
  insulin: insulinField,
  units: unitsField,
  givenAt: whenField,
  givenBy: name('Who gave it?'),
  checkedBy: z.string().trim().max(80, 'At most 80 characters.').optional(),
})
type OutsideDoseFields = z.output<typeof OutsideDoseForm>

type Refusal = keyof typeof OUTSIDE_DOSE_SENTENCES

export const outsideDoseSpec: FormSpec<OutsideDoseFields, Refusal, StayRequest> = {
  name: 'outside-dose',
  schema: OutsideDoseForm,
  initial: () => ({}),
  draw: drawOutsideDose,
  decide: decideOutsideDose,
  sentences: OUTSIDE_DOSE_SENTENCES,
  fieldOf: {
    'time-not-a-time': 'givenAt',
    'outside-in-future': 'givenAt',
    'outside-too-old': 'givenAt',
    'outside-before-admission': 'givenAt',
    'outside-units-not-deliverable': 'units',
    'outside-checker-missing': 'checkedBy',
    'outside-same-person': 'checkedBy',
  },
  statusOf: { 'stay-gone': 404, 'outside-already-charted': 409 },
}

function decideOutsideDose(fields: OutsideDoseFields, ctx: StayRequest): Outcome<FormDecision, Refusal> {
  const facts = stayContext(ctx)
  if (facts === undefined) return refuse('stay-gone')
  const givenAtMs = parseLocalDateTime(fields.givenAt, facts.policy.policy.zone, ctx.nowMs)
  if (givenAtMs === null) return refuse('time-not-a-time')
  const { stay } = facts
  const checkedBy = fields.checkedBy === undefined || fields.checkedBy === '' ? null : fields.checkedBy
  const recorded = recordOutsideDose({
    outsideDose: {
      outsideDoseId: ctx.services.newId(),
      stayId: stay.stayId,
      insulin: fields.insulin,
      units: fields.units,
      givenAtMs,
      chartedAtMs: ctx.nowMs,
      source: fields.source,
      givenBy: fields.givenBy,
      checkedBy,
      byId: ctx.actor.staffId,
    },
    admittedAtMs: stay.admittedAtMs,
    earlierDoses: facts.insulinGiven,
  })
  if (!recorded.ok) return recorded
  return accept({
    events: [{ ...headOf(ctx, stay, givenAtMs), type: 'outside-dose-recorded', body: { outsideDose: recorded.value } }],
    location: `/stays/${stay.stayId}`,
  })
}

function drawOutsideDose(ctx: StayRequest, state: FormState): PageView | undefined {
  const facts = stayContext(ctx)
  if (facts === undefined) return undefined
  recordPatientRead(ctx, facts.stay.stayId)
  return {
    title: 'Insulin from paper or elsewhere',
    body: outsideDosePage({
      patient: facts.stay,
      insulins: INSULINS,
      values: state.values,
      errors: state.errors,
      problem: state.problem,
    }),
  }
}
