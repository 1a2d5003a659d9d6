/** Renders the board's parts as HTML: texts, times and what everybody may see, once for all viewers of the ward. */
import type { BedNow, Board, NursePace } from '../../shared/board/board.ts'
import type { Need } from '../../shared/board/needs.ts'
import { progressOf } from '../../shared/check/round-order.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { formatMinutes, formatTime, formatWhen, OCCASION_NAME } from '../../views/format.ts'
import type { Html } from '../../views/html.ts'
import { bedTile, boardHead, needRow, paceTable, type NeedLinkView } from '../../views/board/parts.ts'
import { BED_MARK, NEED, needMark, PACE_ASSUMPTION } from '../../views/words/board.ts'
import { TASK_WORDS } from '../../views/words/tasks.ts'
import { hiddenText, lateText, VALUE_HIDDEN } from '../../views/words/round.ts'
import { progressText } from '../bedside/progress.ts'
import { itemPath } from '../bedside/alerts.ts'
import { taskPath } from '../bedside/tasks.ts'
import { type At } from '../bedside/at.ts'
import type { WardBoard } from './load.ts'
import { drawLine } from './wards.ts'

/** One part of the page with its name. */
export type Part = { readonly part: string; readonly html: Html }

/** `line` is the ward's line on the page of all wards. It is not part of the ward's board. */
export type DrawnBoard = {
  readonly head: Part
  readonly needs: readonly Part[]
  readonly beds: readonly Part[]
  readonly pace: Part
  readonly line: Part
}

export function drawBoard(loaded: WardBoard): DrawnBoard {
  const {
    board,
    inputs,
    snapshot: {
      facts: { ward },
    },
  } = loaded
  const { facts, model, nowMs } = inputs
  const at: At = { policy: facts.policy, nowMs }
  const nameOf = (stayId: string): string => model.patients.get(stayId)?.stay.familyName ?? ''
  const { round, roundChecks } = model
  const line = `ward.${ward.wardId}`
  const head = boardHead({
    part: 'head',
    needs: board.needs.length,
    round: OCCASION_NAME[round.occasion],
    progress: progressText(progressOf(roundChecks.map(({ state }) => state)), null, at),
    shift: `${board.shift.name} shift since ${formatTime(board.shift.startsMs, at.policy.zone)}`,
  })
  return {
    head: { part: 'head', html: head },
    needs: board.needs.map((need) => ({ part: `need.${need.key}`, html: needRow(needView(need, at, nameOf)) })),
    beds: board.beds.map((bed, index) => ({
      part: `bed.${String(index)}`,
      html: tile(bed, `bed.${String(index)}`, at),
    })),
    pace: { part: 'pace', html: pace(board, ward.beds, round.trayMs, at) },
    line: { part: line, html: drawLine(line, loaded) },
  }
}

function needView(need: Need, at: At, nameOf: (stayId: string) => string): Parameters<typeof needRow>[0] {
  const { zone } = at.policy
  const { stayId, owner, dueMs } = need
  return {
    part: `need.${need.key}`,
    mark: needMark(need),
    where: whereOf(need, nameOf),
    stayPath: stayId === null ? null : `stays/${stayId}`,
    since:
      need.kind === 'check-late' && dueMs !== null
        ? lateText(formatWhen(dueMs, at.nowMs, zone), formatWhen(need.sinceMs, at.nowMs, zone))
        : `since ${formatWhen(need.sinceMs, at.nowMs, zone)}`,
    sinceMs: need.sinceMs,
    due: dueMs === null || need.kind === 'check-late' ? null : `by ${formatWhen(dueMs, at.nowMs, zone)}`,
    whose: owner.kind === 'nobody' ? null : { name: owner.name, handed: owner.kind === 'handed' },
    links: needLinks(need),
    handPath: `board/hand?need=${encodeURIComponent(need.key)}`,
  }
}

/** "Bed 3, Calder", "Beds 4, 7, 9", "Meter M-4402", "Patient who has gone". */
export function whereOf({ kind, stayId, beds, detail }: Need, nameOf: (stayId: string) => string): string {
  if (kind === 'meter-not-controlled') return `Meter ${detail ?? ''}`
  if (kind === 'left-behind') return 'Patient who has gone'
  if (stayId !== null) return `Bed ${beds[0] ?? '–'}, ${nameOf(stayId)}`
  return beds.length > 12 ? `${String(beds.length)} beds` : `${beds.length === 1 ? 'Bed' : 'Beds'} ${beds.join(', ')}`
}

/** Links to where the need is dealt with. */
export function needLinks(need: Need): readonly NeedLinkView[] {
  const { kind, subjectId } = need
  if (need.task !== undefined) return [{ path: taskPath(need.task), label: TASK_WORDS[need.task.kind].act, by: null }]
  if (kind === 'task') throw new Error('a need of kind task without its task')
  const stayId = need.stayId ?? ''
  const link = (path: string): readonly NeedLinkView[] => [{ path, label: NEED[kind].act, by: null }]
  switch (kind) {
    case 'low-recheck':
    case 'low-follow-up':
    case 'check-late':
      return link(`checks/${subjectId}`)
    case 'low-escalate':
    case 'low-tell-prescriber':
      return link(`lows/${subjectId}/prescriber-calls`)
    case 'low-lasting-food':
      return link(`lows/${subjectId}/food`)
    case 'low-close':
      return link(`lows/${subjectId}/close`)
    case 'insulin-question':
      return link(`lows/${subjectId}/insulin-question`)
    case 'low-call-emergency':
    case 'low-treat':
    case 'low-look-again':
      return link(`lows/${subjectId}`)
    case 'insulin-no-tray':
      return link(`stays/${stayId}/tray`)
    case 'dose-unaccounted':
    case 'second-check-differed':
    case 'dose-not-given':
    case 'second-check-waiting':
    case 'dose-lapsed':
      return link(`doses/${subjectId}`)
    case 'dose-to-work-out':
      return link(`readings/${subjectId}`)
    case 'critical-untold':
      return link(`readings/${subjectId}/critical-call`)
    case 'laboratory-value':
      return link(`stays/${stayId}/lab-value`)
    case 'scheduled-late':
      return link(`stays/${stayId}/scheduled/${subjectId}`)
    case 'check-missed':
      return link(`checks/${subjectId}/excuse`)
    case 'flag':
      return link(`flags/${subjectId}`)
    case 'left-behind':
      // the subject of an open handover is the stay, which has no bed any more
      return link(itemPath({ kind: need.detail ?? '', itemId: subjectId, subjectId, stayId: subjectId }))
    case 'order-unverified':
      return link(`stays/${stayId}/orders`)
    case 'meter-not-controlled':
      return link(`setup/meters/${subjectId}/controls`)
    case 'beds-without-nurse':
      return [{ path: 'board/assign', label: NEED[kind].act, by: 'charge' }]
  }
}

function tile(
  { bed, patient, masked, doseWaits, state, atMs, lateSinceMs, closedLowAtMs, nurse, earlier, waiting }: BedNow,
  part: string,
  { policy: { zone }, nowMs }: At,
): Html {
  const whenOf = (ms: number | null): string => (ms === null ? '' : formatWhen(ms, nowMs, zone))
  const low = closedLowAtMs === null ? null : `low ${whenOf(closedLowAtMs)}`
  const base = {
    part,
    bed,
    mark: BED_MARK[state],
    when: lateSinceMs === null ? whenOf(atMs) : lateText(whenOf(atMs), whenOf(lateSinceMs)),
    low,
    nurse: nurse?.name ?? null,
    waiting: waiting === 0 ? null : `${String(waiting)} waiting`,
  }
  if (patient === null) return bedTile({ ...base, name: null, path: null, reading: null, earlier: null })
  const { stay, lastReading } = patient
  const when = lastReading === null ? '' : formatWhen(lastReading.takenAtMs, nowMs, zone)
  const reading =
    lastReading === null
      ? null
      : masked
        ? `${when}: ${state === 'dose-to-work-out' ? VALUE_HIDDEN : hiddenText(doseWaits ? 'waits' : 'none')}`
        : `${formatGlucose(lastReading.glucose)}, ${when}`
  return bedTile({
    ...base,
    name: stay.familyName,
    path: `stays/${stay.stayId}`,
    reading,
    earlier: nurse === null && earlier !== null ? earlier.name : null,
  })
}

/** "beds 1–14", "beds 3, 7–9": neighbouring beds as one range. */
function bedsText(beds: readonly string[], walk: readonly string[]): string {
  const stretches: string[][] = []
  for (const bed of beds) {
    const last = stretches.at(-1)
    if (last !== undefined && walk.indexOf(last.at(-1) ?? '') + 1 === walk.indexOf(bed)) last.push(bed)
    else stretches.push([bed])
  }
  return `${beds.length === 1 ? 'bed' : 'beds'} ${stretches.map((stretch) => (stretch.length < 3 ? stretch.join(', ') : `${stretch[0] ?? ''}–${stretch.at(-1) ?? ''}`)).join(', ')}`
}

function pace(board: Board, walk: readonly string[], trayMs: number | null, { policy: { zone }, nowMs }: At): Html {
  const nameOf = (staffId: string): string =>
    board.paces.find(({ nurse }) => nurse.staffId === staffId)?.nurse.name ?? ''
  return paceTable({
    part: 'pace',
    tray: trayMs === null ? null : `trays ${formatTime(trayMs, zone)}`,
    rows: board.paces.map((one) => ({
      name: one.nurse.name,
      beds: bedsText(one.beds, walk),
      done: `${String(one.done)} of ${String(one.total)}`,
      ...finishOf(one, trayMs, zone, nowMs),
    })),
    suggestions: board.bedReassignments.map(
      ({ bed, fromId, toId }) => `bed ${bed} from ${nameOf(fromId)} to ${nameOf(toId)}`,
    ),
    withNobody:
      board.withNobody === 0
        ? null
        : `${String(board.withNobody)} ${board.withNobody === 1 ? 'check' : 'checks'} to do on beds without a nurse`,
    assumption: PACE_ASSUMPTION,
  })
}

/** When the list will be done, and which beds would be late by then. */
export function finishOf(
  { pace }: Pick<NursePace, 'pace'>,
  trayMs: number | null,
  zone: string,
  nowMs: number,
): {
  readonly finish: string
  readonly mark: { readonly shape: string; readonly word: string; readonly tone: 'urgent' | 'due' | 'done' } | null
} {
  switch (pace.kind) {
    case 'nothing-to-do':
      return { finish: 'Nothing to do', mark: null }
    case 'finished':
      return { finish: `Done ${formatWhen(pace.atMs, nowMs, zone)}`, mark: null }
    case 'not-enough-yet':
      return {
        finish: `Not enough yet: ${String(pace.finished)} of ${String(pace.needed)} finished checks`,
        mark: null,
      }
    case 'pace': {
      const late = pace.steps.filter((step) => step.late).map(({ bed }) => bed)
      const finish = `${formatWhen(pace.finishMs, nowMs, zone)}, ${formatMinutes(pace.stepMs / MINUTE_MS)} a bed`
      if (late.length > 0)
        return {
          finish,
          mark: {
            shape: '▲',
            word: `Would be late: ${late.length === 1 ? 'bed' : 'beds'} ${late.join(', ')}`,
            tone: 'urgent',
          },
        }
      return trayMs !== null && pace.finishMs > trayMs
        ? { finish, mark: { shape: '◔', word: 'After the trays', tone: 'due' } }
        : { finish, mark: { shape: '✓', word: 'In time', tone: 'done' } }
    }
  }
}
