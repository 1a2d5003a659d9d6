/** What the signed-in person is told about her own meter training. */
import { trainingState } from '../../shared/staff/training.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { trainingEnded } from '../../views/words/people.ts'
import type { RequestContext } from '../http/request-context.ts'

/**
 * The sentence for somebody whose training has ended on the ward's date; null for everybody else. Where nothing is known
 * nothing is said. It blocks nothing, on purpose: a value that could not be charted would be measured all the same, and
 * a low would then be treated by nobody's clock.
 */
export function trainingNote({ actor: { trainingUntil }, nowMs }: RequestContext, zone: string): string | null {
  if (trainingUntil === null) return null
  return trainingState(trainingUntil, wardDate(nowMs, zone)) === 'ended' ? trainingEnded(trainingUntil) : null
}
