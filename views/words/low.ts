/** The words of lows. */
import type { LowLevel } from '../../shared/low/low.ts'
import type { LowPhase } from '../../shared/low/recheck.ts'

export const LOW_LEVEL: Readonly<Record<LowLevel, string>> = { 1: 'low, level 1', 2: 'low, level 2' }

export const LOW_PHASE: Readonly<Record<LowPhase, string>> = {
  open: 'not recovered',
  recovered: 'recovered, waiting for the follow-up recheck',
  'followed-up': 'recovered and followed up',
}
