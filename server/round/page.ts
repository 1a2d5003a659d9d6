/** The Round's page and list for one person: their beds or the ward, with masking. */
import { MEAL_OF } from '../../shared/check/check.ts'
import { trayDelayMin } from '../../shared/check/round.ts'
import { progressOf } from '../../shared/check/round-order.ts'
import { isRunning } from '../../shared/order/stop.ts'
import { maskedFor } from '../../shared/reading/mask.ts'
import type { Html } from '../../views/html.ts'
import { otherBedsNote, type RoundListView } from '../../views/round/page.ts'
import type { RequestContext } from '../http/request-context.ts'
import { type RoundSnapshot } from '../bedside/ward-now.ts'
import { requestedBeds, bedsTakenBy, type BedsRequest } from '../bedside/beds-taken.ts'
import { renderedRound, type ForEach, type RenderedSide } from './render.ts'
import { kitView } from './views.ts'
import { progressText } from '../bedside/progress.ts'

/** The list as this person may see it. */
export function listView(ctx: BedsRequest, snapshot: RoundSnapshot): RoundListView {
  const { model, facts } = snapshot
  const rendered = renderedRound(snapshot)
  const own = bedsTakenBy(ctx, snapshot.facts)
  const beds = requestedBeds(ctx, own)
  const isShown = (bed: string): boolean => beds === 'all' || own.has(bed)
  const rowsOf = (sides: readonly RenderedSide[]): readonly Html[] =>
    sides.filter(({ bed }) => isShown(bed)).map(({ row }) => row)
  const states = model.roundChecks
    .filter(({ stayId }) => isShown(model.patients.get(stayId)?.stay.bed ?? ''))
    .map(({ state }) => state)
  const progress = progressOf(states)
  const rest = rendered.rest.filter(({ bed }) => isShown(bed)).map((patient) => forPerson(ctx, snapshot, patient))
  const urgentElsewhere = model.lines.filter(
    (line) => line.standing.kind !== 'check' && !isShown(model.patients.get(line.stayId)?.stay.bed ?? ''),
  ).length
  return {
    beds,
    hasBeds: own.size > 0,
    heading: rendered.heading,
    progress: progressText(progress, model.round.trayMs, { policy: facts.policy.policy, nowMs: snapshot.madeAtMs }),
    accounted: progress.accounted,
    total: progress.total,
    traysLate: traysLateText(snapshot),
    elsewhere: urgentElsewhere === 0 ? null : otherBedsNote(urgentElsewhere),
    unverified: unverifiedOf(snapshot, ctx.nowMs).filter(({ bed }) => isShown(bed)),
    rows: rendered.lines.filter(({ bed }) => isShown(bed)).map((line) => forPerson(ctx, snapshot, line)),
    missed: rowsOf(rendered.missed),
    scheduled: rowsOf(rendered.scheduled),
    alsoWaiting: [...rest.filter(({ waits }) => waits).map(({ row }) => row), ...rendered.leftBehind],
    others: rest.filter(({ waits }) => !waits).map(({ row }) => row),
    asOf: rendered.asOf,
    nowMs: ctx.nowMs,
  }
}

/** How late the current round's trays are charted to be. Null: on time, or a round without trays. */
function traysLateText({ model: { round }, facts }: RoundSnapshot): string | null {
  const meal = MEAL_OF[round.occasion]
  const minutes = meal === null ? 0 : trayDelayMin(round.date, meal, facts.trayDelays)
  return minutes === 0 ? null : `Trays come ${String(minutes)} min late: the windows of this round are moved.`
}

/** The line as this person may see it. A person who took a critical result knows that its call waits. */
function forPerson<T>(ctx: RequestContext, { facts, staysWithOrder }: RoundSnapshot, line: ForEach<T>): T {
  if (line.reading === null) return line.shown
  const isMasked = maskedFor(ctx.actor, line.reading, line.doses, {
    nowMs: ctx.nowMs,
    policy: facts.policy.policy,
    hasApplicableOrder: staysWithOrder.has(line.stayId),
  })
  if (!isMasked) return line.shown
  return line.criticalTakers.has(ctx.actor.staffId) ? line.maskedTaker : line.masked
}

/** Unverified orders of present patients, each once, in walking order. */
function unverifiedOf({ facts, model }: RoundSnapshot, nowMs: number): RoundListView['unverified'] {
  const waiting = new Set(
    facts.orders
      .filter((version) => version.verified === null && isRunning(version, nowMs))
      .map(({ stayId }) => stayId),
  )
  return [...model.patients.values()]
    .filter(({ stay }) => waiting.has(stay.stayId))
    .sort((a, b) => a.bedIndex - b.bedIndex)
    .map(({ stay }) => ({ bed: stay.bed, path: `stays/${stay.stayId}/orders` }))
}

/** The kit for the beds that this person sees. */
export function kitFor(ctx: BedsRequest, snapshot: RoundSnapshot): ReturnType<typeof kitView> {
  const own = bedsTakenBy(ctx, snapshot.facts)
  const beds = requestedBeds(ctx, own) === 'all' ? null : own
  return kitView(snapshot.facts, snapshot.model, beds, { policy: snapshot.facts.policy.policy, nowMs: ctx.nowMs })
}
