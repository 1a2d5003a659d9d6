/** The form that assigns one need of the board to a nurse of the ward. */
import { z } from 'zod'
import { assignNeed, type AssignNeedRefusal } from '../../shared/board/hand.ts'
import type { Need } from '../../shared/board/needs.ts'
import { accept } from '../../shared/outcome.ts'
import { handPage } from '../../views/board/forms.ts'
import { ASSIGN_NEED_SENTENCES, needMark } from '../../views/words/board.ts'
import { queryText } from '../http/parameters.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import { whereOf } from './draw.ts'
import { loadBoard, type WardBoard } from './load.ts'

const HAND_FORM = z.strictObject({
  need: z
    .string()
    .min(1, { error: 'Open the board and choose what to hand over.' })
    .max(160, { error: 'Open the board and choose what to hand over.' }),
  to: z.string().max(40, { error: 'Choose one of these.' }).default(''),
})
/** `need`: the key of what is handed over. */
export const HAND_QUERY = z.object({ need: queryText })
type HandForm = z.infer<typeof HAND_FORM>

export const handForm: FormSpec<HandForm, AssignNeedRefusal, RequestContext<object, z.output<typeof HAND_QUERY>>> = {
  name: 'hand-over-need',
  schema: HAND_FORM,
  initial: ({ query }) => ({ need: query.need.slice(0, 160), to: '' }),
  draw: (ctx, state) => {
    const loaded = loadedOf(ctx)
    if (loaded === undefined) return undefined
    const need = loaded.board.needs.find(({ key }) => key === state.values['need'])
    const nurses = [...loaded.inputs.facts.nurses].map(([value, label]) => ({ value, label }))
    return {
      title: 'Hand over',
      body: handPage({ need: need === undefined ? null : needView(need, loaded), nurses, state }),
    }
  },
  decide: (form, ctx) => {
    const loaded = loadedOf(ctx)
    if (loaded === undefined) throw new Error('a need is handed over on no ward')
    const {
      snapshot: {
        facts: { ward },
      },
      board: { needs },
      inputs: {
        facts: { nurses },
      },
    } = loaded
    const decided = assignNeed(
      { needKey: form.need, toStaffId: form.to, byId: ctx.actor.staffId },
      { wardId: ward.wardId, needs, nurses },
      ctx.nowMs,
    )
    return decided.ok ? accept({ events: decided.value, location: '/board' }) : decided
  },
  sentences: ASSIGN_NEED_SENTENCES,
  fieldOf: { 'hand-to-nobody': 'to', 'hand-not-of-ward': 'to', 'hand-same': 'to' },
  statusOf: { 'need-gone': 409, 'hand-same': 409 },
}

function loadedOf(ctx: RequestContext): WardBoard | undefined {
  return ctx.wardId === null ? undefined : loadBoard(ctx, ctx.wardId)
}

function needView(
  need: Need,
  { inputs: { model } }: WardBoard,
): { readonly where: string; readonly what: string; readonly whose: string } {
  const { owner } = need
  return {
    where: whereOf(need, (stayId) => model.patients.get(stayId)?.stay.familyName ?? ''),
    what: needMark(need).word,
    whose:
      owner.kind === 'nobody'
        ? 'Nobody has it now.'
        : owner.kind === 'handed'
          ? `${owner.name} has it: it was handed over.`
          : `${owner.name} has the bed.`,
  }
}
