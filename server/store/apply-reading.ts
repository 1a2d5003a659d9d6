/** Applies what is about a reading: the reading itself, the check it accounts for, its patient-day, and what hung on one that no longer counts. */
import { eq, sql } from 'drizzle-orm'
import { isAbove, isBelow } from '../../shared/glucose/value.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { isEffective, type Reading } from '../../shared/reading/reading.ts'
import { dayFiguresOf } from './day-figures.ts'
import { stayIdOf, type Derived, type Handlers } from './derived.ts'
import type { DoseBook } from './dose-book.ts'
import type { OpenItems } from './open-items.ts'
import { policyAtOf } from './policy-at.ts'
import { check_outcome, low_event, type reading as readingTable } from './tables.ts'

type Types = 'reading-recorded' | 'reading-voided' | 'check-excused' | 'critical-told' | 'flag-resolved'
type NoLonger = 'reading-corrected' | 'reading-in-error'

export function readingHandlers(derived: Derived, items: OpenItems, doses: DoseBook): Handlers<Types> {
  const { orm } = derived.connection
  const policyAt = policyAtOf(derived.connection)
  const freeCheck = orm
    .delete(check_outcome)
    .where(eq(check_outcome.reading_id, sql.placeholder('readingId')))
    .prepare()
  const lowsOf = orm
    .select()
    .from(low_event)
    .where(eq(low_event.opened_by_reading_id, sql.placeholder('readingId')))
    .prepare()
  const keepDay = dayFiguresOf(derived)

  const limitsFor = (reading: Reading): WardPolicy['limits'] => {
    const limits = policyAt(reading.wardId, reading.takenAtMs)?.policy.limits
    if (limits === undefined) throw new Error(`ward ${reading.wardId} has no policy`)
    return limits
  }
  const isCritical = (reading: Reading): boolean => {
    const limits = limitsFor(reading)
    return isBelow(reading.glucose, limits.criticalLow) || isAbove(reading.glucose, limits.criticalHigh)
  }

  /** A reading stops counting: its check is free, and what was already done on it is flagged for a person. */
  const retire = (reading: Reading, now: Reading, why: NoLonger, atMs: number): void => {
    if (!isEffective(reading)) throw new Error(`reading ${reading.readingId} already does not count`)
    derived.reading.put(rowOf(now))
    freeCheck.run({ readingId: reading.readingId })
    items.closeOne('critical', reading.readingId)
    const flag = (subjectId: string, what: 'dose' | 'low'): void => {
      items.open({ kind: 'flag', stayId: reading.stayId, subjectId, sinceMs: atMs, detail: `${what}-${why}` })
    }
    for (const dose of doses.ofReading(reading.readingId)) if (dose.outcome !== null) flag(dose.doseId, 'dose')
    for (const low of lowsOf.all({ readingId: reading.readingId })) flag(low.low_id, 'low')
    keepDay(now)
  }

  /** A reading accounts for its check unless another one already does; over an excuse it wins, since the check was done after all. */
  const account = (reading: Reading, checkKey: string): void => {
    if (derived.checkOutcome.get(checkKey)?.kind === 'excused') derived.checkOutcome.remove(checkKey)
    derived.checkOutcome.insert({
      check_key: checkKey,
      stay_id: reading.stayId,
      kind: 'done',
      reading_id: reading.readingId,
      at_ms: reading.takenAtMs,
      reason: null,
      note: null,
      by_id: null,
    })
  }

  return {
    'reading-recorded': (event) => {
      const { reading } = event.body
      if (reading.supersedes !== null) {
        const before = derived.reading.need(reading.supersedes.readingId).fact
        if (before.stayId !== reading.stayId) throw new Error('a correction stays with the stay')
        retire(before, { ...before, supersededBy: reading.readingId }, 'reading-corrected', event.chartedAtMs)
      }
      derived.reading.insert(rowOf(reading))
      if (reading.checkKey !== null) account(reading, reading.checkKey)
      if (isCritical(reading))
        items.open({
          kind: 'critical',
          stayId: reading.stayId,
          subjectId: reading.readingId,
          sinceMs: reading.takenAtMs,
          detail: String(reading.glucose.value),
        })
      keepDay(reading)
    },
    'reading-voided': (event) => {
      const { readingId, reason } = event.body
      const reading = derived.reading.need(readingId).fact
      retire(
        reading,
        { ...reading, voided: { reason, byId: event.actorId, atMs: event.happenedAtMs } },
        'reading-in-error',
        event.chartedAtMs,
      )
    },
    'check-excused': (event) => {
      const { checkKey, reason, note } = event.body
      derived.checkOutcome.insert({
        check_key: checkKey,
        stay_id: stayIdOf(event),
        kind: 'excused',
        reading_id: null,
        at_ms: event.happenedAtMs,
        reason,
        note,
        by_id: event.actorId,
      })
    },
    'critical-told': (event) => {
      const { readingId, told, ordered } = event.body
      const call = {
        readingId,
        told,
        ordered,
        atMs: event.happenedAtMs,
        chartedAtMs: event.chartedAtMs,
        byId: event.actorId,
      }
      derived.criticalCall.put({ reading_id: readingId, at_ms: call.atMs, stay_id: stayIdOf(event), fact: call })
      items.closeOne('critical', readingId)
    },
    'flag-resolved': ({ body }) => {
      derived.openItem.need(body.flagId)
      derived.openItem.remove(body.flagId)
    },
  }
}

function rowOf(reading: Reading): typeof readingTable.$inferSelect {
  const { value } = reading.glucose
  return {
    reading_id: reading.readingId,
    stay_id: reading.stayId,
    ward_id: reading.wardId,
    ward_date: reading.wardDate,
    check_key: reading.checkKey,
    taken_at_ms: reading.takenAtMs,
    charted_at_ms: reading.chartedAtMs,
    unit: reading.glucose.unit,
    value: typeof value === 'number' ? value : null,
    out_of_range: typeof value === 'number' ? null : value,
    effective: isEffective(reading),
    fact: reading,
    meter_id: reading.meterId,
    strip_lot: reading.stripLot,
  }
}
