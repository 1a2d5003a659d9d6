/** The charge nurse's form that assigns the ward's beds for the current shift. */
import { z } from 'zod'
import { assignBeds, assignmentSeen, type AssignRefusal } from '../../shared/board/assign.ts'
import { bedNurses, shiftAt } from '../../shared/board/shift.ts'
import { accept } from '../../shared/outcome.ts'
import { assignPage } from '../../views/board/forms.ts'
import { formatName, formatWhen } from '../../views/format.ts'
import { ASSIGN_SENTENCES } from '../../views/words/board.ts'
import { sha256 } from '../http/ids.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import type { WardFacts } from '../store/contract.ts'
import { nursesOf } from './load.ts'

const ASSIGN_FORM = z
  .object({ seen: z.string().max(64).default('') })
  .catchall(z.string().max(40, { error: 'This is longer than it can be.' }))
type AssignForm = z.infer<typeof ASSIGN_FORM>

export const assignForm: FormSpec<AssignForm, AssignRefusal> = {
  name: 'give-out-beds',
  schema: ASSIGN_FORM,
  initial: (ctx) => {
    const facts = factsOf(ctx)
    if (facts === undefined) return {}
    const { now } = bedNurses(facts.bedsTaken, shiftAt(facts.policy.policy, ctx.nowMs))
    return { seen: seenOf(facts), ...Object.fromEntries([...now].map(([bed, { staffId }]) => [fieldOf(bed), staffId])) }
  },
  draw: (ctx, state) => {
    const facts = factsOf(ctx)
    if (facts === undefined) return undefined
    const {
      ward,
      stays,
      policy: { policy },
      bedsTaken,
    } = facts
    const shift = shiftAt(policy, ctx.nowMs)
    const { earlier } = bedNurses(bedsTaken, shift)
    const inBed = new Map(stays.map((stay) => [stay.bed, formatName(stay)]))
    const beds = ward.beds.map((bed) => {
      const before = earlier.get(bed)
      return {
        bed,
        field: fieldOf(bed),
        note: `${inBed.get(bed) ?? 'Empty'}${before === undefined ? '' : `. Before this shift: ${before.name}`}`,
      }
    })
    const nurses = [...nursesOf(ctx, ward.wardId)].map(([value, label]) => ({ value, label }))
    return {
      title: 'Give out beds',
      body: assignPage({
        wardName: ward.name,
        shift: `${shift.name} shift, since ${formatWhen(shift.startsMs, ctx.nowMs, policy.zone)}`,
        beds,
        nurses,
        state,
      }),
    }
  },
  decide: (form, ctx) => {
    const facts = factsOf(ctx)
    if (facts === undefined) throw new Error('beds are given out on no ward')
    const {
      ward,
      bedsTaken,
      policy: { policy },
    } = facts
    const { seen, ...choices } = form
    const nurses = [...nursesOf(ctx, ward.wardId).keys()].map((staffId) => ({ staffId }))
    const entry = {
      choices: new Map(Object.entries(choices).map(([field, staffId]) => [field.replace(/^bed\./, ''), staffId])),
      seen: seen === seenOf(facts) ? assignmentSeen(bedsTaken) : '-',
      byId: ctx.actor.staffId,
    }
    const decided = assignBeds(
      entry,
      { wardId: ward.wardId, beds: ward.beds, nurses, taken: bedsTaken, shift: shiftAt(policy, ctx.nowMs) },
      ctx.nowMs,
    )
    return decided.ok ? accept({ events: decided.value, location: '/board' }) : decided
  },
  sentences: ASSIGN_SENTENCES,
  fieldOf: {},
  statusOf: { 'assigned-meanwhile': 409 },
}

function fieldOf(bed: string): string {
  return `bed.${bed}`
}

function factsOf(ctx: RequestContext): WardFacts | undefined {
  return ctx.wardId === null ? undefined : ctx.store.wardFacts(ctx.scope, ctx.wardId, ctx.nowMs)
}

/** Identifies the assignment behind the form, short enough for a field. */
function seenOf({ bedsTaken }: WardFacts): string {
  return sha256(assignmentSeen(bedsTaken)).slice(0, 32)
}
