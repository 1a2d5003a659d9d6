/** The top of the handover sheet: needs and the lows of the last hours, one line each. */
import { LOW_SHOWN_MS } from '../../shared/board/board.ts'
import type { Need } from '../../shared/board/needs.ts'
import { formatTime } from '../../views/format.ts'
import type { HandoverBedView } from '../../views/handover/bed.ts'
import type { SummaryLine } from '../../views/handover/page.ts'
import { needMark } from '../../views/words/board.ts'
import { lateText } from '../../views/words/round.ts'
import { needLinks, whereOf } from '../board/draw.ts'
import { loadBoard } from '../board/load.ts'
import type { RequestContext } from '../http/request-context.ts'
import { sheetWhen } from './when.ts'

/** How long a low stays at the top of the sheet, in hours. */
export const LOW_HOURS = LOW_SHOWN_MS / 3_600_000

/**
 * The needs on the ward's board for the beds shown. Needs without a bed appear on the whole ward's sheet only. The
 * board is rendered for an unnamed nurse, so a line shows no value to a possible second checker.
 */
export function needLines(
  ctx: RequestContext,
  wardId: string,
  isShown: (bed: string) => boolean,
  whole: boolean,
): readonly SummaryLine[] {
  const loaded = loadBoard(ctx, wardId)
  if (loaded === undefined) return []
  const {
    board: { needs },
    inputs: {
      model,
      facts: { policy },
    },
  } = loaded
  const nameOf = (stayId: string): string => model.patients.get(stayId)?.stay.familyName ?? ''
  // patients who have left have their own section
  return needs
    .filter(({ kind, beds }) => kind !== 'left-behind' && (whole || beds.some(isShown)))
    .map((need) => ({
      where: whereOf(need, nameOf),
      mark: needMark(need),
      text: `${timesOf(need, ctx.nowMs, policy.zone)}; ${need.owner.kind === 'nobody' ? 'nobody has this' : need.owner.name}`,
      path: needLinks(need).find(({ by }) => by === null)?.path ?? null,
    }))
}

function timesOf({ kind, sinceMs, dueMs }: Need, nowMs: number, zone: string): string {
  const when = (ms: number): string => sheetWhen(ms, nowMs, zone)
  if (kind === 'check-late' && dueMs !== null) return lateText(when(dueMs), when(sinceMs))
  return `since ${when(sinceMs)}${dueMs === null ? '' : `, by ${formatTime(dueMs, zone)}`}`
}

/** Every low of the beds shown that began in the last hours or is still open, in walking order. */
export function lowLines(patients: readonly HandoverBedView[]): readonly SummaryLine[] {
  return patients.flatMap(({ patient, lows }) =>
    lows
      .filter(({ recent }) => recent)
      .map(({ text, mark, path }) => ({ where: `Bed ${patient.bed}, ${patient.name}`, mark, text, path })),
  )
}
