/** The Round's page and list for one person: her beds or the ward, with what she may not see masked. */
import { progressOf } from '../../shared/check/round-order.ts'
import { maskedFor } from '../../shared/reading/mask.ts'
import type { Html } from '../../views/html.ts'
import { otherBedsNote, type Beds, type RoundListView } from '../../views/round/page.ts'
import type { Visit } from '../http/visit.ts'
import { bedsTakenBy, type RoundSnapshot } from './load.ts'
import type { RenderedLine, RenderedSide } from './render.ts'
import { kitView, progressText } from './views.ts'

/** Which beds are asked for: by the address, else her own when she has taken some. */
export function bedsAsked(visit: Visit, own: ReadonlySet<string>): Beds {
  const { beds } = visit.request.query as Readonly<Record<string, unknown>>
  if (beds === 'all' || own.size === 0) return 'all'
  return 'mine'
}

/** The list as this person may see it. */
export function listView(visit: Visit, snapshot: RoundSnapshot): RoundListView {
  const { model, rendered, facts } = snapshot
  const own = bedsTakenBy(visit, snapshot.facts)
  const beds = bedsAsked(visit, own)
  const isShown = (bed: string): boolean => beds === 'all' || own.has(bed)
  const rowsOf = (sides: readonly RenderedSide[]): readonly Html[] => sides.filter(({ bed }) => isShown(bed)).map(({ row }) => row)
  const states = model.roundChecks.filter(({ stayId }) => isShown(model.patients.get(stayId)?.stay.bed ?? '')).map(({ state }) => state)
  const progress = progressOf(states)
  const urgentElsewhere = model.lines.filter((line) => line.standing.kind !== 'check' && !isShown(model.patients.get(line.stayId)?.stay.bed ?? '')).length
  return {
    beds,
    hasBeds: own.size > 0,
    heading: rendered.heading,
    progress: progressText(progress, model.round.trayMs, { policy: facts.policy.policy, nowMs: snapshot.madeAtMs }),
    accounted: progress.accounted,
    total: progress.total,
    elsewhere: urgentElsewhere === 0 ? null : otherBedsNote(urgentElsewhere),
    rows: rendered.lines.filter(({ bed }) => isShown(bed)).map((line) => (isMasked(visit, snapshot, line) ? line.masked : line.shown)),
    missed: rowsOf(rendered.missed),
    scheduled: rowsOf(rendered.scheduled),
    alsoWaiting: [...rowsOf(rendered.alsoWaiting), ...rendered.leftBehind],
    others: rowsOf(rendered.others),
    asOf: rendered.asOf,
    nowMs: visit.nowMs,
  }
}

function isMasked(visit: Visit, { facts, staysWithOrder }: RoundSnapshot, line: RenderedLine): boolean {
  if (line.reading === null) return false
  return maskedFor(visit.actor, line.reading, line.doses, { nowMs: visit.nowMs, policy: facts.policy.policy, hasApplicableOrder: staysWithOrder.has(line.stayId) })
}

/** The kit for the beds this person is shown. */
export function kitFor(visit: Visit, snapshot: RoundSnapshot): ReturnType<typeof kitView> {
  const own = bedsTakenBy(visit, snapshot.facts)
  const beds = bedsAsked(visit, own) === 'all' ? null : own
  return kitView(snapshot.facts, snapshot.model, beds, { policy: snapshot.facts.policy.policy, nowMs: visit.nowMs })
}
