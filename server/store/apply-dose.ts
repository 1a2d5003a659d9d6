/** Applies what is about a dose: proposal, second check, product, giving, a prescriber's direction, and insulin from elsewhere. */
import { MEAL_OF } from '../../shared/check/check.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import { stayIdOf, type Derived, type EventOf, type Handlers } from './derived.ts'
import type { DoseBook } from './dose-book.ts'
import type { OpenItems } from './open-items.ts'

type Types =
  | 'dose-proposed'
  | 'second-check-answered'
  | 'dose-started-again'
  | 'dose-verified'
  | 'dose-given'
  | 'dose-not-given'
  | 'dose-voided'
  | 'direction-recorded'
  | 'outside-dose-recorded'

export function doseHandlers(derived: Derived, items: OpenItems, doses: DoseBook): Handlers<Types> {
  /** The tray of the dose's meal was charted before the dose was: nothing waits for it. */
  const trayCame = (dose: Dose): boolean => {
    const meal = dose.inputs.occasion === null ? null : MEAL_OF[dose.inputs.occasion]
    if (meal === null || dose.readingId === null) return false
    return (
      (derived.tray.get(dose.stayId, derived.reading.need(dose.readingId).fact.wardDate, meal)?.served_at_ms ??
        null) !== null
    )
  }
  return {
    'dose-proposed': (event) => {
      doses.add(event.body.dose)
    },
    'dose-voided': (event) => {
      const dose = doses.needFor(event)
      doses.put({ ...dose, voided: { reason: event.body.reason, atMs: event.happenedAtMs } })
    },
    'second-check-answered': (event) => {
      const dose = doses.needFor(event)
      if (dose.answers.at(-1)?.agreed === true) throw new Error(`dose ${dose.doseId} was answered and agreed before`)
      const answers = [...dose.answers, event.body.answer]
      // a checked 0 has nothing to draw up: the agreement charts it
      const isZero = event.body.answer.agreed && dose.units === 0
      if (isZero)
        doses.put({
          ...dose,
          answers,
          voided: null,
          outcome: { kind: 'zero-charted', byId: event.actorId, atMs: event.happenedAtMs },
        })
      else doses.put({ ...dose, answers })
    },
    'dose-started-again': (event) => {
      const dose = doses.needFor(event)
      doses.put({ ...dose, restarts: [...dose.restarts, { byId: event.actorId, atMs: event.happenedAtMs }] })
    },
    'dose-verified': (event) => {
      const { doseId, ...read } = event.body
      const dose = doses.needFor(event)
      if (dose.product !== null || (dose.secondCheckRequired && dose.answers.at(-1)?.agreed !== true))
        throw new Error(`dose ${doseId} is not at reading the product`)
      doses.put({ ...dose, product: { ...read, atMs: event.happenedAtMs } })
    },
    'dose-given': (event) => {
      const { doseId, site, food, deviation } = event.body
      const dose = doses.needFor(event)
      if (dose.secondCheckRequired && dose.product === null)
        throw new Error(`dose ${doseId} was not verified by a second nurse`)
      doses.put({
        ...dose,
        outcome: {
          kind: 'given',
          byId: event.actorId,
          atMs: event.happenedAtMs,
          site,
          food,
          ...(deviation === undefined ? {} : { deviation }),
        },
      })
      if (food === 'tray-coming' && !trayCame(dose))
        items.open({
          kind: 'insulin-no-tray',
          stayId: dose.stayId,
          subjectId: doseId,
          sinceMs: event.happenedAtMs,
          detail: dose.insulin,
        })
    },
    'dose-not-given': (event) => {
      const { body, actorId, happenedAtMs } = event
      const dose = doses.needFor(event)
      doses.put({ ...dose, outcome: { kind: body.kind, byId: actorId, atMs: happenedAtMs, reason: body.reason } })
    },
    // a direction is the prescriber's answer to the question about meal and long-acting insulin, 0 units included
    'direction-recorded': (event: EventOf<'direction-recorded'>) => {
      const { direction } = event.body
      derived.direction.insert({
        direction_id: direction.directionId,
        stay_id: stayIdOf(event),
        at_ms: direction.atMs,
        fact: direction,
      })
      items.close(direction.stayId, 'insulin-question')
    },
    'outside-dose-recorded': ({ body: { outsideDose } }) => {
      derived.outsideDose.insert({
        outside_dose_id: outsideDose.outsideDoseId,
        stay_id: outsideDose.stayId,
        insulin: outsideDose.insulin,
        given_at_ms: outsideDose.givenAtMs,
        charted_at_ms: outsideDose.chartedAtMs,
        fact: outsideDose,
      })
    },
  }
}
