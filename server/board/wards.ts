/**
 * One line for each ward, for people who look after many: due and late checks, lows, criticals, and when the last list
 * will be done.
 */
import { wardLine } from '../../views/board/page.ts'
import { formatWhen, OCCASION_NAME } from '../../views/format.ts'
import type { Html } from '../../views/html.ts'
import type { WardBoard } from './load.ts'

/** The ward's line, named as a part of the page. */
export function drawLine(
  part: string,
  {
    snapshot: {
      facts: { ward },
    },
    board: { needs, paces, beds },
    inputs: {
      model,
      nowMs,
      facts: { policy },
    },
  }: WardBoard,
): Html {
  const owed = model.lines.filter(
    ({ standing }) => standing.kind === 'check' && (standing.state === 'open' || standing.state === 'late'),
  )
  const finishes = paces.flatMap(({ pace }) => (pace.kind === 'pace' ? [pace.finishMs] : []))
  const isOpen = paces.some(({ pace }) => pace.kind === 'not-enough-yet')
  return wardLine({
    part,
    name: ward.name,
    round: OCCASION_NAME[model.round.occasion],
    due: owed.length,
    late: owed.filter(({ state }) => state === 'late').length,
    lows: [...model.patients.values()].filter(({ openLow }) => openLow !== null).length,
    criticals: needs.filter(({ kind }) => kind === 'critical-untold').length,
    pace:
      finishes.length === 0
        ? isOpen
          ? 'Not enough yet'
          : '–'
        : `${formatWhen(Math.max(...finishes), nowMs, policy.zone)}${isOpen ? ' (of those that can be told)' : ''}`,
    withNobody: beds.filter(({ patient, nurse }) => patient !== null && nurse === null).length,
  })
}
