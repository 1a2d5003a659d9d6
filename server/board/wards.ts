/** All wards of a person, one line each: what is due and late, lows, criticals, and when the last list will be done. */
import { wardLines, type WardLineView } from '../../views/board/page.ts'
import { formatTime, formatWhen, OCCASION_NAME } from '../../views/format.ts'
import type { Html } from '../../views/html.ts'
import type { Visit } from '../http/visit.ts'
import { loadBoard } from './load.ts'

/** The list as it stands now; each ward's times are on its own clock. */
export function wardList(visit: Visit): Html {
  const zones: string[] = []
  const wards = visit.store.wards(visit.scope).flatMap(({ wardId, name }): readonly WardLineView[] => {
    const loaded = loadBoard(visit, wardId)
    if (loaded === undefined) return []
    const { board: { needs, paces, beds }, inputs: { model, facts: { policy } } } = loaded
    zones.push(policy.zone)
    const owed = model.lines.filter(({ standing }) => standing.kind === 'check' && (standing.state === 'open' || standing.state === 'late'))
    const finishes = paces.flatMap(({ pace }) => (pace.kind === 'pace' ? [pace.finishMs] : []))
    const isOpen = paces.some(({ pace }) => pace.kind === 'not-enough-yet')
    return [{
      name,
      round: `${OCCASION_NAME[model.round.occasion]}, ${formatTime(visit.nowMs, policy.zone)}`,
      due: owed.length,
      late: owed.filter(({ state }) => state === 'late').length,
      lows: [...model.patients.values()].filter(({ openLow }) => openLow !== null).length,
      criticals: needs.filter(({ kind }) => kind === 'critical-untold').length,
      pace: finishes.length === 0 ? (isOpen ? 'Not enough yet' : '–') : `${formatWhen(Math.max(...finishes), visit.nowMs, policy.zone)}${isOpen ? ' (of those that can be told)' : ''}`,
      withNobody: beds.filter(({ patient, nurse }) => patient !== null && nurse === null).length,
    }]
  })
  return wardLines({ wards, asOf: zones[0] === undefined ? 'now' : formatTime(visit.nowMs, zones[0]) })
}
