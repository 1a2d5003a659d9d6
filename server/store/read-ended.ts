/** Reads of one stay, whole: what an audit of its lows, and the harm measures over ended stays, derive from. */
import { and, asc, desc, eq, isNotNull, sql } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { EndedStay, Scope, StayAudit, Store } from './contract.ts'
import { bedSpanOf, factsVersionOf, interruptionOf, lowOf, planOf, stayOf, trayOf } from './facts.ts'
import { orderReadsOf } from './read-orders.ts'
import { dateBefore } from './read-ward.ts'
import { maySee } from './scope.ts'
import { facts_version, feed_interruption } from './tables-setup.ts'
import {
  critical_call,
  dose,
  low_event,
  order_version,
  outside_dose,
  plan_version,
  reading,
  stay,
  stay_bed,
  symptoms,
  tray,
} from './tables.ts'

type Reads = Pick<Store, 'stayAudit' | 'staysEnded'>

export function endedReadsOf(connection: Connection): Reads {
  const { raw, orm } = connection
  const orders = orderReadsOf(connection)
  const stayId = sql.placeholder('stayId')
  const inSpan = (column: unknown) =>
    sql`${column} >= ${sql.placeholder('fromMs')} and ${column} < ${sql.placeholder('toMs')}`
  const one = orm.select().from(stay).where(eq(stay.stay_id, stayId)).prepare()
  const facts = orm
    .select()
    .from(facts_version)
    .where(eq(facts_version.stay_id, stayId))
    .orderBy(asc(facts_version.number))
    .prepare()
  const beds = orm.select().from(stay_bed).where(eq(stay_bed.stay_id, stayId)).orderBy(asc(stay_bed.number)).prepare()
  const interruptions = orm
    .select()
    .from(feed_interruption)
    .where(eq(feed_interruption.stay_id, stayId))
    .orderBy(asc(feed_interruption.from_ms))
    .prepare()
  const plans = orm
    .select()
    .from(plan_version)
    .where(eq(plan_version.stay_id, stayId))
    .orderBy(asc(plan_version.version))
    .prepare()
  const readings = orm
    .select({ fact: reading.fact })
    .from(reading)
    .where(and(eq(reading.stay_id, stayId), inSpan(reading.taken_at_ms)))
    .orderBy(asc(reading.taken_at_ms), asc(reading.charted_at_ms), asc(reading.reading_id))
    .prepare()
  const doses = orm
    .select({ fact: dose.fact })
    .from(dose)
    .where(and(eq(dose.stay_id, stayId), inSpan(dose.proposed_at_ms)))
    .orderBy(asc(dose.proposed_at_ms), asc(dose.dose_id))
    .prepare()
  const outside = orm
    .select({ fact: outside_dose.fact })
    .from(outside_dose)
    .where(and(eq(outside_dose.stay_id, stayId), inSpan(outside_dose.given_at_ms)))
    .orderBy(asc(outside_dose.given_at_ms))
    .prepare()
  const trays = orm
    .select()
    .from(tray)
    .where(and(eq(tray.stay_id, stayId), sql`${tray.date} >= ${sql.placeholder('sinceDate')}`))
    .orderBy(asc(tray.date))
    .prepare()
  const versions = orm
    .select({ orderId: order_version.order_id, version: order_version.version })
    .from(order_version)
    .where(eq(order_version.stay_id, stayId))
    .orderBy(desc(order_version.written_at_ms), desc(order_version.version))
    .prepare()
  const lows = orm
    .select()
    .from(low_event)
    .where(eq(low_event.stay_id, stayId))
    .orderBy(asc(low_event.opened_at_ms))
    .prepare()
  const calls = orm
    .select({ fact: critical_call.fact })
    .from(critical_call)
    .where(and(eq(critical_call.stay_id, stayId), inSpan(critical_call.at_ms)))
    .orderBy(asc(critical_call.at_ms))
    .prepare()
  const treated = orm
    .select({ fact: symptoms.fact })
    .from(symptoms)
    .where(and(eq(symptoms.stay_id, stayId), inSpan(symptoms.at_ms)))
    .orderBy(asc(symptoms.at_ms))
    .prepare()
  const ended = orm
    .select()
    .from(stay)
    .where(
      and(isNotNull(stay.discharged_at_ms), eq(stay.ward_id, sql.placeholder('wardId')), inSpan(stay.discharged_at_ms)),
    )
    .orderBy(asc(stay.discharged_at_ms), asc(stay.stay_id))
    .prepare()

  const load = (
    scope: Scope,
    id: string,
    span: { readonly fromMs: number; readonly toMs: number },
  ): StayAudit | undefined => {
    const row = one.get({ stayId: id })
    const about = { stayId: id, ...span, sinceDate: dateBefore(span.fromMs) }
    const spans = beds.all(about).map(bedSpanOf)
    // what happened on a ward stays that ward's to look into, wherever the patient went since
    if (row === undefined || !spans.some(({ wardId }) => maySee(scope, wardId))) return undefined
    return {
      stay: stayOf(row),
      facts: facts.all(about).map(factsVersionOf),
      beds: spans,
      interruptions: interruptions.all(about).map(interruptionOf),
      plans: plans.all(about).map(planOf),
      previousStayId: row.previous_stay_id,
      readings: readings.all(about).map(({ fact }) => fact),
      doses: doses.all(about).map(({ fact }) => fact),
      outsideDoses: outside.all(about).map(({ fact }) => fact),
      trays: trays.all(about).map(trayOf),
      orders: versions.all(about).flatMap(({ orderId, version }) => orders.one(orderId, version) ?? []),
      lows: lows.all(about).map(lowOf),
      criticalCalls: calls.all(about).map(({ fact }) => fact),
      symptoms: treated.all(about).map(({ fact }) => fact),
    }
  }
  const wholeOf = (row: typeof stay.$inferSelect): EndedStay => {
    const about = { stayId: row.stay_id, fromMs: 0, toMs: Number.MAX_SAFE_INTEGER }
    return {
      stay: stayOf(row),
      facts: facts.all(about).map(factsVersionOf),
      readings: readings.all(about).map(({ fact }) => fact),
      doses: doses.all(about).map(({ fact }) => fact),
      outsideDoses: outside.all(about).map(({ fact }) => fact),
    }
  }
  // one snapshot, also beside another process that writes
  const atOnce = raw.transaction(load)
  return {
    stayAudit: (scope, id, span) => (raw.inTransaction ? load(scope, id, span) : atOnce(scope, id, span)),
    staysEnded: (scope, { wardIds, fromMs, toMs }) =>
      [...new Set(wardIds)]
        .filter((id) => maySee(scope, id))
        .flatMap((wardId) => ended.all({ wardId, fromMs, toMs }))
        .map(wholeOf),
  }
}
