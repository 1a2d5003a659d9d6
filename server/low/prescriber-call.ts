/** GET and POST /lows/:lowId/prescriber-calls: the prescriber is told of the low. */
import { openLows } from '../../shared/low/current.ts'
import { z } from 'zod'
import { tellPrescriber } from '../../shared/low/chart.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { formatMinutes, formatTime } from '../../views/format.ts'
import { toldForm } from '../../views/low/forms.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import type { LowContext } from './context.ts'
import { ORDERED, TICK, TIME, TOLD } from './fields.ts'
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
import { criticalsWaiting } from './load.ts'

const TOLD_FORM = z.strictObject({ told: TOLD, readBack: TICK, ordered: ORDERED, at: TIME })

export const toldSpec: FormSpec<z.output<typeof TOLD_FORM>, LowRefusal, LowRequest> = {
  name: 'low-told',
  schema: TOLD_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawLow(ctx, 'Tell the prescriber', (context) => {
      const waiting = criticalsWaiting(ctx, context).length
      return toldForm({
        ...lowForm(ctx, context, state),
        deadline: tellDeadline(ctx, context),
        alsoCritical: waiting === 0 ? null : 'This call tells the critical result as well.',
      })
    }),
  decide: (fields, ctx) =>
    decideLow(ctx, (context) => {
      const at = timeOf(fields.at, ctx, context)
      if (!at.ok) return at
      const { told, readBack, ordered } = fields
      return tellPrescriber(
        { byId: ctx.actor.staffId, told, readBack, ordered, atMs: at.value },
        context.lowFacts,
        criticalsWaiting(ctx, context),
        openLows(context.facts.lows).filter(({ lowId }) => lowId !== context.lowFacts.low.lowId),
      )
    }),
  emptyIsNow: DONE_AT,
  sentences: LOW_SENTENCES,
  fieldOf: LOW_FIELDS,
  statusOf: LOW_STATUS,
}

function tellDeadline(ctx: LowRequest, { state, zone }: LowContext): string {
  const step = state.steps.find(({ kind }) => kind === 'escalate' || kind === 'tell-prescriber')
  if (step === undefined) return 'The prescriber was told. Chart another call when there is one.'
  const minutes = (step.deadlineMs - ctx.nowMs) / MINUTE_MS
  const clock =
    minutes >= 0
      ? `by ${formatTime(step.deadlineMs, zone)}, ${formatMinutes(Math.ceil(minutes))} left`
      : `was due ${formatTime(step.deadlineMs, zone)}, ${formatMinutes(-minutes)} ago`
  return step.kind === 'escalate'
    ? `Escalate now: not recovered after the protocol’s cycles or time (${clock}).`
    : `Tell the prescriber ${clock}.`
}
