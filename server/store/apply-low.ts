/** Applies what is about a low event, and symptoms with no low number. */
import { and, eq, sql } from 'drizzle-orm'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { opensInsulinQuestion } from '../../shared/low/insulin.ts'
import { NOTHING_CHARTED, type Charted, type LowCharted } from '../../shared/low/low.ts'
import { stayIdOf, type Derived, type Handlers } from './derived.ts'
import type { OpenItems } from './open-items.ts'
import { order_version } from './tables.ts'

type Types =
  | 'low-event-opened'
  | 'low-relapsed'
  | 'low-answered'
  | 'low-treated'
  | 'low-level-3-found'
  | 'low-emergency-called'
  | 'low-told'
  | 'low-food-given'
  | 'insulin-question-answered'
  | 'low-event-closed'
  | 'low-event-reopened'
  | 'symptoms-treated'

export function lowHandlers(derived: Derived, items: OpenItems): Handlers<Types> {
  const atMs = sql.placeholder('atMs')
  const inForce = derived.connection.orm
    .select({ order: order_version.insulin_order })
    .from(order_version)
    .where(
      and(
        eq(order_version.stay_id, sql.placeholder('stayId')),
        sql`(${order_version.stops_at_ms} IS NULL OR ${order_version.stops_at_ms} > ${atMs})`,
        sql`(${order_version.ended_at_ms} IS NULL OR ${order_version.ended_at_ms} > ${atMs})`,
      ),
    )
    .prepare()

  /** Adds to what is charted in the event, whether it is closed or not: what happened is a fact, however late it comes. */
  const add = (lowId: string, change: (charted: LowCharted) => Partial<LowCharted>): void => {
    const low = derived.lowEvent.need(lowId)
    derived.lowEvent.put({ ...low, charted: { ...low.charted, ...change(low.charted) } })
  }
  /** With meal or scheduled insulin ordered, the prescriber is asked: it is never silently dropped. */
  const askAboutInsulin = (stayId: string, lowId: string, sinceMs: number): void => {
    if (opensInsulinQuestion(inForce.all({ stayId, atMs: sinceMs }).map(({ order }) => order)))
      items.open({ kind: 'insulin-question', stayId, subjectId: lowId, sinceMs, detail: '' })
  }
  return {
    'low-event-opened': (event) => {
      const [stayId, { lowId, readingId, previousLowId }] = [stayIdOf(event), event.body]
      const sinceMs = event.happenedAtMs
      const previous = previousLowId === null ? null : derived.lowEvent.need(previousLowId)
      // one that is still open for its paperwork ends where this one begins
      if (previous !== null && previous.closed_at_ms === null)
        derived.lowEvent.put({ ...previous, charted: { ...previous.charted, next: { lowId, atMs: sinceMs } } })
      derived.lowEvent.insert({
        low_id: lowId,
        stay_id: stayId,
        ward_id: derived.stay.need(stayId).ward_id,
        opened_by_reading_id: readingId,
        opened_at_ms: sinceMs,
        treatments: [],
        closed_at_ms: null,
        previous_low_id: previousLowId,
        charted: NOTHING_CHARTED,
        previous_closed_at_ms: previous === null ? null : (previous.closed_at_ms ?? sinceMs - 1),
      })
      items.open({ kind: 'low', stayId, subjectId: lowId, sinceMs, detail: '' })
      askAboutInsulin(stayId, lowId, sinceMs)
    },
    'low-relapsed': (event) => {
      askAboutInsulin(stayIdOf(event), event.body.lowId, event.happenedAtMs)
    },
    'low-answered': (event) => {
      add(event.body.lowId, ({ answers }) => ({
        answers: [...answers, { ...chartedBy(event), ...event.body.answers }],
      }))
    },
    'low-treated': (event) => {
      const { lowId, ...treated } = event.body
      const low = derived.lowEvent.need(lowId)
      derived.lowEvent.put({ ...low, treatments: [...low.treatments, { ...chartedBy(event), lowId, ...treated }] })
    },
    'low-level-3-found': (event) => {
      add(event.body.lowId, ({ findings }) => ({
        findings: [...findings, { ...chartedBy(event), finding: event.body.finding }],
      }))
    },
    'low-emergency-called': (event) => {
      add(event.body.lowId, ({ emergencyCalls }) => ({ emergencyCalls: [...emergencyCalls, chartedBy(event)] }))
    },
    'low-told': (event) => {
      const { lowId, told, ordered } = event.body
      add(lowId, ({ prescriberCalls }) => ({
        prescriberCalls: [...prescriberCalls, { ...chartedBy(event), told, ordered }],
      }))
    },
    'low-food-given': (event) => {
      const { lowId, grams, what } = event.body
      add(lowId, ({ food }) => ({ food: [...food, { ...chartedBy(event), grams, what }] }))
    },
    'insulin-question-answered': (event) => {
      const { lowId, told, ordered, decision } = event.body
      add(lowId, ({ insulinAnswers }) => ({
        insulinAnswers: [...insulinAnswers, { ...chartedBy(event), told, ordered, decision }],
      }))
      items.closeOne('insulin-question', lowId)
    },
    'low-event-closed': (event) => {
      const { lowId, cause, note } = event.body
      const low = derived.lowEvent.need(lowId)
      if (low.closed_at_ms !== null) throw new Error(`low event ${lowId} is closed`)
      derived.lowEvent.put({
        ...low,
        closed_at_ms: event.happenedAtMs,
        charted: { ...low.charted, closing: { ...chartedBy(event), cause, note } },
      })
      items.closeOne('low', lowId)
      items.closeOne('insulin-question', lowId)
    },
    'low-event-reopened': (event) => {
      const low = derived.lowEvent.need(event.body.lowId)
      derived.lowEvent.put({ ...low, closed_at_ms: null, charted: { ...low.charted, closing: null } })
      const item = { stayId: low.stay_id, subjectId: low.low_id, sinceMs: low.opened_at_ms }
      items.open({ ...item, kind: 'low', detail: '' })
      askAboutInsulin(low.stay_id, low.low_id, event.happenedAtMs)
    },
    'symptoms-treated': (event) => {
      const fact = { ...chartedBy(event), ...event.body }
      derived.symptoms.insert({ symptoms_id: fact.symptomsId, stay_id: stayIdOf(event), at_ms: fact.atMs, fact })
    },
  }
}

function chartedBy({ happenedAtMs, chartedAtMs, actorId }: LedgerEvent): Charted {
  return { atMs: happenedAtMs, chartedAtMs, byId: actorId }
}
