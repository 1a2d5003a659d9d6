/** The patient's insulin of the last 72 h for both nurses, before they work: of every door, and of an earlier stay. */
import type { EarlierDose } from '../../shared/dose/dose.ts'
import { INSULIN_CLASS } from '../../shared/order/order.ts'
import type { InsulinGivenView } from '../../views/dose/insulin-given.ts'
import { formatInsulin, formatWhen } from '../../views/format.ts'
import type { StayFacts } from '../store/contract.ts'

const SOURCE: Readonly<Record<EarlierDose['source'], string>> = {
  here: '',
  elsewhere: ', elsewhere',
  paper: ', on paper',
  corrected: ', charted anew',
}

export function insulinGivenView({ insulinGiven, policy }: StayFacts, nowMs: number): InsulinGivenView {
  const { zone } = policy.policy
  const line = ({ units, insulin, givenAtMs, source }: EarlierDose): string =>
    `${formatInsulin(units, insulin)}, ${formatWhen(givenAtMs, nowMs, zone)}${SOURCE[source]}`
  // newest first: the first of each class is its last dose
  const isLast = ({ insulin }: EarlierDose, index: number): boolean =>
    insulinGiven.findIndex((other) => INSULIN_CLASS[other.insulin] === INSULIN_CLASS[insulin]) === index
  return {
    last: insulinGiven.filter(isLast).map(line),
    rest: insulinGiven.every(isLast) ? [] : insulinGiven.map(line),
  }
}
