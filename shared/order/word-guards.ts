/** The guards of the prescriber's word after a low: a hold, other units once, and a question that nobody has asked. */
import type { GuardResult } from '../dose/dose.ts'
import { isBasal } from './order.ts'
import type { DoseFacts, Parts } from './parts.ts'
import { result } from './reading-guards.ts'

/**
 * While an infusion runs no rapid or regular insulin is given under the skin; basal insulin goes on (JBDS 09; R). A pump
 * warns: the patient may have given the dose. A hold stops the insulin at every door. A direction is the prescriber's later word: it warns and ends the hold. An open
 * question warns both nurses and stops nothing: due insulin is never left out for it (UK practice restating JBDS; S).
 */
export function wordGuards({ insulin, inputs }: DoseFacts, parts: Parts): readonly GuardResult[] {
  const { held, instead, questionOpen, otherWay } = inputs
  const isDirected = parts.kind === 'by-direction'
  return [
    otherWay === undefined || isBasal(insulin) || inputs.directedUnits === 0
      ? result('other-insulin', 'passed')
      : result('other-insulin', isDirected || otherWay.way === 'pump' ? 'warns' : 'stops', otherWay),
    held === undefined
      ? result('insulin-held', 'passed')
      : result('insulin-held', isDirected ? 'warns' : 'stops', held),
    questionOpen === true && !isDirected
      ? result('insulin-question-open', 'warns')
      : result('insulin-question-open', 'passed'),
    ...(instead === undefined || parts.scheduled === null
      ? []
      : [result('units-instead', 'warns', { ordered: parts.scheduled.units, ...instead })]),
  ]
}
