/** What a check is called: its round, or for a watch check why it is asked for. */
import type { Check } from '../../shared/check/check.ts'
import { OCCASION_NAME } from '../format.ts'
import { WATCH_NAME } from './tasks.ts'

export function checkName({ occasion, watch }: Pick<Check, 'occasion' | 'watch'>): string {
  return watch === undefined ? OCCASION_NAME[occasion] : WATCH_NAME[watch]
}
