/** The note to the signed-in person about their own meter training. */
import { trainingState } from '../../shared/staff/training.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { trainingEnded } from '../../views/words/people.ts'
import type { RequestContext } from '../http/request-context.ts'

/**
 * The sentence for a person whose training has ended on the ward's date. Null for everybody else, also when nothing is
 * known. It blocks nothing on purpose. A nurse who could not chart would measure anyway, and a low would be treated
 * without its timers.
 */
export function trainingNote({ actor: { trainingUntil }, nowMs }: RequestContext, zone: string): string | null {
  if (trainingUntil === null) return null
  return trainingState(trainingUntil, wardDate(nowMs, zone)) === 'ended' ? trainingEnded(trainingUntil) : null
}
