/** A low event with its stay's facts and its state, as its pages take it. */
import type { LowFacts, LowState } from '../../shared/low/event.ts'
import type { StayFacts } from '../store/contract.ts'

export type LowContext = {
  readonly facts: StayFacts
  readonly lowFacts: LowFacts
  readonly state: LowState
  readonly zone: string
}
