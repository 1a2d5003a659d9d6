/** The name of a reading: the meal it preceded, or why it was taken. */
import { parseCheckKey } from '../../shared/check/plan.ts'
import { occasionOfReading } from '../../shared/order/occasion.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { OCCASION_NAME } from '../../views/format.ts'
import { READING_SOURCE } from '../../views/words/reading.ts'
import type { ReadingContext } from './reading-context.ts'

/** "Before breakfast", "Recheck after a low", "Extra check", "Charted on paper". */
export function whatReading(reading: Reading, { facts }: Pick<ReadingContext, 'facts'>): string {
  const kind = reading.checkKey === null ? null : parseCheckKey(reading.checkKey)?.kind
  if (kind === 'planned')
    return OCCASION_NAME[occasionOfReading(reading, facts.policy.policy, facts.trayDelays).occasion]
  if (kind === 'recheck') return 'Recheck after a low'
  return reading.source === 'capillary' ? 'Extra check' : READING_SOURCE[reading.source]
}
