/** What a number says about a low. The label is derived each time and never stored. */
import { limitIn } from '../glucose/convert.ts'
import { isBelow, type Glucose } from '../glucose/value.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { LowLevel } from './low.ts'

/**
 * Level of a low by the ward's limits, or null when the value is not low. Strictly below: with the defaults exactly
 * 70 mg/dL is not low and exactly 54 is level 1 (American Diabetes Association since 2019). LO is level 2.
 * A value of another unit, measured before a move, is held against the limit's printed pair in its own unit.
 * Level 3 is a nurse's finding, not a number, and never comes from here.
 */
export function lowLevel(glucose: Glucose, policy: WardPolicy): LowLevel | null {
  const { limits, unit } = policy
  if (isBelow(glucose, limitIn(limits.level2, unit, glucose.unit))) return 2
  return isBelow(glucose, limitIn(limits.low, unit, glucose.unit)) ? 1 : null
}
