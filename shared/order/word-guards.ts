/** The guards of the prescriber's word after a low: a hold, other units once, and a question that nobody has asked. */
import type { GuardResult } from '../dose/dose.ts'
import type { DoseFacts, Parts } from './parts.ts'
import { result } from './reading-guards.ts'

/**
 * A hold stops the insulin at every door. A direction is the prescriber's later word: it warns and ends the hold. An open
 * question warns both nurses and stops nothing: due insulin is never left out for it (UK practice restating JBDS; S).
 */
export function wordGuards({ inputs }: DoseFacts, parts: Parts): readonly GuardResult[] {
  const { held, instead, questionOpen } = inputs
  const isDirected = parts.kind === 'by-direction'
  return [
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
