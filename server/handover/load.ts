/** The facts of the handover sheet: the Round's derivation and one more query for the whole ward, however many beds. */
import { handoverShifts } from '../../shared/board/shift.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { formatDateTime, formatDay } from '../../views/format.ts'
import type { HandoverView } from '../../views/handover/page.ts'
import { ITEM_WAITS, LOW_GOES_ON } from '../../views/words/round.ts'
import { withPolicyVoids } from '../bedside/facts-now.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { roundSnapshot } from '../bedside/ward-now.ts'
import { requestedBeds, bedsTakenBy, type BedsRequest } from '../bedside/beds-taken.ts'
import { itemPath } from '../bedside/alerts.ts'
import { bedView } from './bed.ts'
import { LOW_HOURS, lowLines, needLines } from './summary.ts'
import { sheetWhen } from './when.ts'

/** How far back the sheet goes. */
const LOOK_BACK_MS = DAY_MS

/** The sheet as this person may see it. Undefined: the person has no ward. Each patient's part counts as read. */
export function handoverView(ctx: BedsRequest): HandoverView | undefined {
  const { store, scope, wardId, nowMs } = ctx
  const snapshot = wardId === null ? undefined : roundSnapshot(ctx, wardId)
  if (wardId === null || snapshot === undefined) return undefined
  const { facts, model } = snapshot
  const fromMs = nowMs - LOOK_BACK_MS
  const lows = facts.lows.filter(({ closedAtMs }) => closedAtMs === null || closedAtMs >= fromMs)
  // the course of an earlier low is shown from its beginning
  const care = store.presentCare(scope, wardId, {
    fromMs: Math.min(fromMs, ...lows.map(({ openedAtMs }) => openedAtMs)),
    toMs: nowMs + 1,
  })
  if (care === undefined) return undefined
  const own = bedsTakenBy(ctx, facts)
  const beds = requestedBeds(ctx, own)
  const isShown = (bed: string): boolean => beds === 'all' || own.has(bed)
  const [readings, doses, outside, lowsOf] = [
    byStay(care.readings),
    byStay(withPolicyVoids(ctx, care.doses, facts.policy)),
    byStay(care.outsideDoses),
    byStay(lows),
  ]
  const { policy } = facts.policy
  const { from, to } = handoverShifts(policy, nowMs)
  const patients = [...model.patients.values()]
    .filter(({ stay }) => isShown(stay.bed))
    .sort((a, b) => a.bedIndex - b.bedIndex)
  for (const { stay } of patients) recordPatientRead(ctx, stay.stayId)
  const lainIn = new Set([...model.patients.values()].map(({ stay }) => stay.bed))
  const views = patients.map((patient, index) => {
    const { stayId } = patient.stay
    return bedView(ctx, {
      snapshot,
      patient,
      index,
      fromMs,
      untilMs: to.endsMs,
      readings: readings(stayId),
      doses: doses(stayId),
      outsideDoses: outside(stayId),
      lows: lowsOf(stayId),
    })
  })
  return {
    wardName: facts.ward.name,
    heading: `${from.name} to ${to.name}, ${formatDay(to.startsMs, policy.zone)}`,
    asOf: formatDateTime(nowMs, policy.zone),
    by: ctx.actor.name,
    beds,
    hasBeds: own.size > 0,
    needs: needLines(ctx, wardId, isShown, beds === 'all'),
    lows: lowLines(views),
    lowHours: LOW_HOURS,
    dueUntil: sheetWhen(to.endsMs, nowMs, policy.zone),
    patients: views,
    emptyBeds: facts.ward.beds.filter((bed) => isShown(bed) && !lainIn.has(bed)),
    leftBehind: model.leftBehind.flatMap((item) => {
      const text = item.kind === 'low' ? LOW_GOES_ON : ITEM_WAITS[item.kind]
      return text === null ? [] : [{ text, path: itemPath(item) }]
    }),
  }
}

/** Groups by stay, in order. */
function byStay<T extends { readonly stayId: string }>(all: readonly T[]): (stayId: string) => readonly T[] {
  const groups = new Map<string, T[]>()
  for (const one of all) {
    const group = groups.get(one.stayId)
    if (group === undefined) groups.set(one.stayId, [one])
    else group.push(one)
  }
  return (stayId) => groups.get(stayId) ?? []
}
