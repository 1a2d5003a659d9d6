/** GET and POST /stays/:stayId/move and /discharge: moves a patient to another bed, or discharges; what was left open is handed over. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import type { Task } from '../../shared/care/task.ts'
import { tasksOf } from '../../shared/care/tasks.ts'
import { isInForce } from '../../shared/order/order.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import {
  dischargeStay,
  handOverLeft,
  moveStay,
  unchartedDose,
  type DischargeRefusal,
  type HandedRefusal,
  type MoveRefusal,
} from '../../shared/stay/move.ts'
import { dischargeForm, handedForm, moveForm } from '../../views/stay/move.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { ITEM_WAITS, LOW_GOES_ON } from '../../views/words/round.ts'
import { TASK_WORDS } from '../../views/words/tasks.ts'
import { DISCHARGE_SENTENCES, HANDED_SENTENCES, MOVE_SENTENCES, STAY_GONE } from '../../views/words/stay-refusals.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import { isCriticalHidden } from '../bedside/masking.ts'
import { itemPath } from '../bedside/alerts.ts'
import type { OpenItem, StayFacts } from '../store/contract.ts'
import { careFactsOf, taskPath } from '../bedside/tasks.ts'
import { PAST } from './fields.ts'
import { decideStay, drawStay, zoneOfStay } from './load.ts'

const BED = { error: 'Choose a bed.' }
const MOVE_FORM = z.strictObject({ to: z.string(BED).min(1, BED).max(60, BED) })

/** A bed as a form value: the ward's id, a dot, the bed. */
function bedValue(wardId: string, bed: string): string {
  return `${wardId}.${bed}`
}

export const moveSpec: FormSpec<z.output<typeof MOVE_FORM>, MoveRefusal | 'stay-gone', StayRequest> = {
  name: 'move',
  schema: MOVE_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(ctx, 'Move', state, (view, facts) =>
      moveForm({
        ...view,
        wards: wardsFor(ctx, facts),
        unit: facts.policy.policy.unit,
        hasOrder: facts.orders.some((version) => isInForce(version, ctx.nowMs)),
        uncharted: unchartedDose(facts)?.doseId ?? null,
      }),
    ),
  decide: (fields, ctx) =>
    decideStay(
      ctx,
      ({ stay, doses }) => {
        const [toWardId = '', ...rest] = fields.to.split('.')
        return moveStay(
          { toWardId, bed: rest.join('.'), byId: ctx.actor.staffId },
          { stay, doses, wards: ctx.store.wardBeds(ctx.nowMs), nowMs: ctx.nowMs },
        )
      },
      ({ stay }) =>
        ctx.actor.wardIds.includes(fields.to.split('.')[0] ?? '') ? `/stays/${stay.stayId}` : '/setup/beds',
    ),
  sentences: { ...MOVE_SENTENCES, ...STAY_GONE },
  fieldOf: { 'move-same-bed': 'to', 'move-no-such-bed': 'to', 'move-bed-taken': 'to' },
  statusOf: { 'move-stay-discharged': 409, 'move-bed-taken': 409, 'move-dose-uncharted': 409, 'stay-gone': 404 },
}

/** Every ward with its empty beds, the patient's own ward first. */
function wardsFor(ctx: StayRequest, { stay }: StayFacts) {
  const wards = ctx.store.wardBeds(ctx.nowMs)
  const ownFirst = [
    ...wards.filter(({ wardId }) => wardId === stay.wardId),
    ...wards.filter(({ wardId }) => wardId !== stay.wardId),
  ]
  return ownFirst.map(({ wardId, name, beds, taken, unit }) => ({
    name,
    unit,
    own: wardId === stay.wardId,
    beds: beds
      .filter((bed) => !taken.includes(bed))
      .map((bed) => ({ value: bedValue(wardId, bed), label: `Bed ${bed}` })),
  }))
}

const DISCHARGE_FORM = z.strictObject({
  at: PAST,
  handover: z.enum(['named', 'not-yet', 'died'], { error: 'Choose who has what is still open.' }).optional(),
  to: z.string().trim().max(100, { error: 'At most 100 characters.' }).default(''),
})
type DischargeFields = z.output<typeof DISCHARGE_FORM>

export const dischargeSpec: FormSpec<DischargeFields, DischargeRefusal | TakenAtRefusal | 'stay-gone', StayRequest> = {
  name: 'discharge',
  schema: DISCHARGE_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(ctx, 'Discharge', state, (view, facts) =>
      dischargeForm({
        ...view,
        discharged: facts.stay.dischargedAtMs !== null,
        uncharted: unchartedDose(facts)?.doseId ?? null,
        open: leftOpen(ctx, facts).map((item) => {
          if (item.kind === 'task') return { text: TASK_WORDS[item.task.kind].says, path: taskPath(item.task) }
          // a possible second checker must not learn that a value is critical before answering
          if (item.kind === 'critical' && isCriticalHidden(ctx, facts, item))
            return { text: 'A reading waits for its second check: ask who took it', path: `stays/${facts.stay.stayId}` }
          return { text: item.kind === 'low' ? LOW_GOES_ON : (ITEM_WAITS[item.kind] ?? ''), path: itemPath(item) }
        }),
      }),
    ),
  decide: (fields, ctx) =>
    decideStay(
      ctx,
      (facts) => {
        const at = parseTakenAt(fields.at, facts.policy.policy.zone, ctx.nowMs)
        if (!at.ok) return at
        const history = ctx.store.stayHistory(ctx.scope, facts.stay.stayId)
        if (history === undefined) return refuse('stay-gone')
        return dischargeStay(
          {
            entryId: ctx.services.newId(),
            atMs: at.value,
            handover: fields.handover ?? null,
            to: fields.to,
            byId: ctx.actor.staffId,
          },
          {
            stay: facts.stay,
            doses: facts.doses,
            nowMs: ctx.nowMs,
            leftOpen: leftOpen(ctx, facts),
            lastChartedMs: Math.max(lastChartedMs(facts), ...history.beds.map(({ fromMs }) => fromMs)),
          },
        )
      },
      () => '/setup/beds',
    ),
  emptyIsNow: { field: 'at', zone: zoneOfStay },
  sentences: { ...DISCHARGE_SENTENCES, ...STAY_GONE, 'time-not-read': READING_SENTENCES['time-not-read'] },
  fieldOf: {
    'discharge-in-future': 'at',
    'discharge-before-charted': 'at',
    'time-not-read': 'at',
    'discharge-not-handed': 'handover',
    'discharge-handed-to-nobody': 'to',
  },
  statusOf: { 'discharge-already': 409, 'discharge-dose-uncharted': 409, 'stay-gone': 404 },
}

type Left = (OpenItem & { readonly kind: 'low' | 'critical' | 'flag' }) | { readonly kind: 'task'; readonly task: Task }

function leftOpen(ctx: RequestContext, facts: StayFacts): readonly Left[] {
  return [
    ...facts.openItems.filter(
      (item): item is Extract<Left, OpenItem> =>
        item.kind === 'low' || item.kind === 'critical' || item.kind === 'flag',
    ),
    ...tasksOf(careFactsOf(facts, ctx.nowMs), ctx.nowMs).tasks.map((task) => ({ kind: 'task' as const, task })),
  ]
}

const HANDED_FORM = z.strictObject({ to: z.string().trim().max(100, { error: 'At most 100 characters.' }).default('') })

/** GET and POST /stays/:stayId/handed-over: to whom what a patient left open was handed over. */
export const handedSpec: FormSpec<z.output<typeof HANDED_FORM>, HandedRefusal | 'stay-gone', StayRequest> = {
  name: 'handed-over',
  schema: HANDED_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(ctx, 'Hand over what was left open', state, (view, facts) =>
      handedForm({ ...view, waits: handoverWaits(facts) }),
    ),
  decide: (fields, ctx) =>
    decideStay(
      ctx,
      (facts) =>
        handOverLeft(
          { entryId: ctx.services.newId(), to: fields.to, byId: ctx.actor.staffId },
          { stay: facts.stay, waits: handoverWaits(facts), nowMs: ctx.nowMs },
        ),
      () => '/board',
    ),
  sentences: { ...HANDED_SENTENCES, ...STAY_GONE },
  fieldOf: { 'handed-to-nobody': 'to' },
  statusOf: { 'handed-nothing-left': 409, 'stay-gone': 404 },
}

function handoverWaits({ openItems }: StayFacts): boolean {
  return openItems.some(({ kind }) => kind === 'handover')
}

/** When the newest charted event of the patient happened here. */
function lastChartedMs({ stay, readings, insulinGiven, lows, trays }: StayFacts): number {
  return Math.max(
    stay.admittedAtMs,
    ...readings.map(({ takenAtMs }) => takenAtMs),
    ...insulinGiven.map(({ givenAtMs }) => givenAtMs),
    ...lows.map(({ openedAtMs }) => openedAtMs),
    ...trays.map(({ servedAtMs }) => servedAtMs ?? 0),
  )
}
