/** GET and POST /doses/:id/take-back: a dose was charted as given in error. */
import { z } from 'zod'
import { takeBackDose, type TakeBackRefusal } from '../../shared/care/taken-back.ts'
import type { TakenBackWhy } from '../../shared/dose/dose.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { takeBackPage } from '../../views/dose/take-back.ts'
import { SECOND_CHECK_SENTENCES, TAKE_BACK_SENTENCES, TAKEN_BACK_WHY } from '../../views/words/dose.ts'
import { roundSnapshot } from '../bedside/ward-now.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { identify } from '../http/identify.ts'
import type { DoseRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import type { IdentifyRefusal } from '../../views/words/http.ts'
import type { Staff } from '../store/contract.ts'
import { badgeField } from './fields.ts'
import { doseContext } from './load.ts'

const TakeBackForm = z.strictObject({
  why: z.enum(Object.keys(TAKEN_BACK_WHY) as TakenBackWhy[], { error: 'Choose what was wrong.' }),
  units: z
    .string()
    .trim()
    .regex(/^(?:\d{1,3}|\d{1,3}\.5)?$/, 'Whole or half units without a trailing zero, such as 7 or 7.5.')
    .transform((text) => (text === '' ? null : Number(text)))
    .optional(),
  otherStayId: z.string().max(40).optional(),
  note: z.string('Say in a few words what happened.').trim().max(200, 'At most 200 characters.'),
  badge: badgeField,
  pin: z.string().max(20, 'At most 20 digits.').optional(),
})
type TakeBackFields = z.output<typeof TakeBackForm>

type Refusal = TakeBackRefusal | IdentifyRefusal | 'dose-gone'

export const takeBackSpec: FormSpec<TakeBackFields, Refusal, DoseRequest, Staff | null> = {
  name: 'take-back',
  schema: TakeBackForm,
  initial: () => ({}),
  draw: drawTakeBack,
  before: proveSecond,
  decide: decideTakeBack,
  sentences: {
    ...TAKE_BACK_SENTENCES,
    'identify-wrong': SECOND_CHECK_SENTENCES['identify-wrong'],
    'identify-locked': SECOND_CHECK_SENTENCES['identify-locked'],
    'identify-too-many': SECOND_CHECK_SENTENCES['identify-too-many'],
    'dose-gone': () => 'This dose is not there.',
  },
  fieldOf: {
    'identify-wrong': 'pin',
    'identify-locked': 'pin',
    'identify-too-many': 'pin',
    'take-back-note-missing': 'note',
    'take-back-units': 'units',
    'take-back-same-units': 'units',
    'take-back-other-missing': 'otherStayId',
    'take-back-second-is-you': 'badge',
    'take-back-second-may-not': 'badge',
  },
  statusOf: { 'take-back-already': 409, 'take-back-not-given': 409, 'dose-gone': 404, 'take-back-second-may-not': 403 },
  secretFields: ['pin'],
}

/** A second nurse is named only where the slot or reading is to open again. */
async function proveSecond(fields: TakeBackFields, ctx: DoseRequest): Promise<Outcome<Staff | null, IdentifyRefusal>> {
  const badge = fields.badge ?? ''
  return badge === '' || fields.why !== 'not-injected' ? accept(null) : identify(ctx, badge, fields.pin ?? '')
}

/** The other patients of the ward, by bed. */
function othersOf(ctx: DoseRequest, stay: Stay): readonly Stay[] {
  const patients = roundSnapshot(ctx, stay.wardId)?.model.patients.values() ?? []
  return [...patients].map((patient) => patient.stay).filter(({ stayId }) => stayId !== stay.stayId)
}

function decideTakeBack(
  fields: TakeBackFields,
  ctx: DoseRequest,
  second: Staff | null,
): Outcome<FormDecision, Refusal> {
  const context = doseContext(ctx)
  if (context === undefined) return refuse('dose-gone')
  const { dose, facts } = context
  const { newId } = ctx.services
  const giverId = dose.outcome?.kind === 'given' ? dose.outcome.byId : ctx.actor.staffId
  const taken = takeBackDose({
    entryIds: [newId(), newId(), newId()],
    dose,
    stay: facts.stay,
    why: fields.why,
    units: fields.units ?? null,
    other: othersOf(ctx, facts.stay).find(({ stayId }) => stayId === fields.otherStayId) ?? null,
    note: fields.note,
    second,
    policy: facts.policy.policy,
    giverName: ctx.store.staffById(giverId)?.name ?? 'somebody',
    byId: ctx.actor.staffId,
    nowMs: ctx.nowMs,
  })
  return taken.ok ? accept({ events: taken.value, location: `/doses/${dose.doseId}` }) : taken
}

function drawTakeBack(ctx: DoseRequest, state: FormState): PageView | undefined {
  const context = doseContext(ctx)
  if (context === undefined) return undefined
  const { dose, facts } = context
  recordPatientRead(ctx, dose.stayId)
  const closed =
    dose.outcome?.kind === 'given'
      ? null
      : TAKE_BACK_SENTENCES[dose.outcome?.kind === 'taken-back' ? 'take-back-already' : 'take-back-not-given']({})
  return {
    title: 'Charted in error',
    body: takeBackPage({
      doseId: dose.doseId,
      patient: facts.stay,
      // a dose that is not charted as given may still wait for its blind second check
      what: closed === null ? { units: dose.units, insulin: dose.insulin } : null,
      others: othersOf(ctx, facts.stay),
      values: state.values,
      errors: state.errors,
      problem: state.problem ?? closed,
    }),
  }
}
