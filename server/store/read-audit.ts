/** Reads of the ward board and the audit: what happened on wards in a span. A ward outside the scope is left out. */
import { and, asc, eq, getTableColumns, sql } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { NearMiss, Scope, SpanAsked, Store } from './contract.ts'
import { lowOf, outcomesByKey, bedSpanOf, planOf, stayOf } from './facts.ts'
import { maySee } from './scope.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { audit_note, near_miss, need_handed } from './tables-audit.ts'
import { check_outcome, dose, low_event, plan_version, reading, stay, stay_bed } from './tables.ts'

type Reads = Pick<
  Store,
  | 'handedNeeds'
  | 'auditReadings'
  | 'lowsOpened'
  | 'lowsOpenAt'
  | 'auditedLow'
  | 'lowsOfStay'
  | 'nearMisses'
  | 'auditNotes'
  | 'staysOnWard'
  | 'dosesGiven'
>

export function auditReadsOf({ orm }: Connection): Reads {
  const wardId = sql.placeholder('wardId')
  const stayId = sql.placeholder('stayId')
  const inSpan = (column: unknown) =>
    sql`${column} >= ${sql.placeholder('fromMs')} and ${column} < ${sql.placeholder('toMs')}`
  const handed = orm.select().from(need_handed).where(eq(need_handed.ward_id, wardId)).prepare()
  const readings = orm
    .select({ fact: reading.fact })
    .from(reading)
    .where(and(eq(reading.ward_id, wardId), sql`${reading.effective} = 1`, inSpan(reading.taken_at_ms)))
    .orderBy(asc(reading.taken_at_ms), asc(reading.reading_id))
    .prepare()
  const lowAndStay = { low: getTableColumns(low_event), stay: getTableColumns(stay) }
  const lows = orm
    .select(lowAndStay)
    .from(low_event)
    .innerJoin(stay, eq(stay.stay_id, low_event.stay_id))
    .where(and(eq(low_event.ward_id, wardId), inSpan(low_event.opened_at_ms)))
    .orderBy(asc(low_event.opened_at_ms), asc(low_event.low_id))
    .prepare()
  const stillOpen = orm
    .select(lowAndStay)
    .from(low_event)
    .innerJoin(stay, eq(stay.stay_id, low_event.stay_id))
    .where(
      and(
        eq(low_event.ward_id, wardId),
        sql`${low_event.opened_at_ms} < ${sql.placeholder('fromMs')} and (${low_event.closed_at_ms} is null or ${low_event.closed_at_ms} >= ${sql.placeholder('fromMs')})`,
      ),
    )
    .orderBy(asc(low_event.opened_at_ms), asc(low_event.low_id))
    .prepare()
  const oneLow = orm
    .select(lowAndStay)
    .from(low_event)
    .innerJoin(stay, eq(stay.stay_id, low_event.stay_id))
    .where(eq(low_event.low_id, sql.placeholder('lowId')))
    .prepare()
  const ofStay = orm
    .select()
    .from(low_event)
    .where(eq(low_event.stay_id, stayId))
    .orderBy(asc(low_event.opened_at_ms))
    .prepare()
  const misses = orm
    .select()
    .from(near_miss)
    .where(and(eq(near_miss.ward_id, wardId), inSpan(near_miss.at_ms)))
    .orderBy(asc(near_miss.at_ms), asc(near_miss.number))
    .prepare()
  const notes = orm
    .select()
    .from(audit_note)
    .where(eq(audit_note.low_id, sql.placeholder('lowId')))
    .orderBy(asc(audit_note.at_ms), sql`${audit_note}.rowid`)
    .prepare()
  const lowWard = orm
    .select({ wardId: low_event.ward_id })
    .from(low_event)
    .where(eq(low_event.low_id, sql.placeholder('lowId')))
    .prepare()
  const spans = orm
    .select({ span: getTableColumns(stay_bed), stay: getTableColumns(stay) })
    .from(stay_bed)
    .innerJoin(stay, eq(stay.stay_id, stay_bed.stay_id))
    .where(
      and(
        eq(stay_bed.ward_id, wardId),
        sql`${stay_bed.from_ms} < ${sql.placeholder('toMs')} and (${stay_bed.to_ms} is null or ${stay_bed.to_ms} > ${sql.placeholder('fromMs')})`,
      ),
    )
    .orderBy(asc(stay_bed.stay_id), asc(stay_bed.number))
    .prepare()
  const plans = orm
    .select()
    .from(plan_version)
    .where(eq(plan_version.stay_id, stayId))
    .orderBy(asc(plan_version.version))
    .prepare()
  // a check is accounted for within days of its time: what lies further off answers no check of the span
  const outcomes = orm
    .select()
    .from(check_outcome)
    .where(and(eq(check_outcome.stay_id, stayId), inSpan(check_outcome.at_ms)))
    .prepare()
  const given = orm
    .select({ fact: dose.fact })
    .from(dose)
    .where(and(eq(dose.ward_id, wardId), sql`${dose.given_at_ms} is not null`, inSpan(dose.given_at_ms)))
    .orderBy(asc(dose.given_at_ms), asc(dose.dose_id))
    .prepare()
  const homeOf = orm.select({ wardId: stay_bed.ward_id }).from(stay_bed).where(eq(stay_bed.stay_id, stayId)).prepare()

  /** The rows of each ward asked for that the scope may see, in the order of time. */
  const onEach = <T>(
    scope: Scope,
    { wardIds, fromMs, toMs }: SpanAsked,
    find: (about: { wardId: string; fromMs: number; toMs: number }) => readonly T[],
    atOf: (one: T) => number,
  ): readonly T[] => {
    const seen = [...new Set(wardIds)].filter((id) => maySee(scope, id))
    const found = seen.flatMap((id) => find({ wardId: id, fromMs, toMs }))
    return seen.length > 1 ? found.sort((a, b) => atOf(a) - atOf(b)) : found
  }
  return {
    handedNeeds: (scope, id) =>
      new Map(
        maySee(scope, id)
          ? handed
              .all({ wardId: id })
              .map((row) => [row.need_key, { toStaffId: row.to_staff_id, byId: row.by_id, atMs: row.at_ms }])
          : [],
      ),
    auditReadings: (scope, asked) =>
      onEach(
        scope,
        asked,
        (about) => readings.all(about).map(({ fact }) => fact),
        ({ takenAtMs }) => takenAtMs,
      ),
    lowsOpened: (scope, asked) =>
      onEach(
        scope,
        asked,
        (about) => lows.all(about).map(pairOf),
        ({ low }) => low.openedAtMs,
      ),
    lowsOpenAt: (scope, { wardIds, atMs }) =>
      onEach(
        scope,
        { wardIds, fromMs: atMs, toMs: atMs },
        (about) => stillOpen.all(about).map(pairOf),
        ({ low }) => low.openedAtMs,
      ),
    auditedLow: (scope, lowId) => {
      const found = oneLow.get({ lowId })
      return found !== undefined && maySee(scope, found.low.ward_id) ? pairOf(found) : undefined
    },
    lowsOfStay: (scope, id) =>
      homeOf.all({ stayId: id }).some((span) => maySee(scope, span.wardId))
        ? ofStay.all({ stayId: id }).map(lowOf)
        : [],
    nearMisses: (scope, asked) =>
      onEach(
        scope,
        asked,
        (about) =>
          misses.all(about).map((row): NearMiss => ({
            wardId: row.ward_id,
            number: row.number,
            kind: row.kind,
            stayId: row.stay_id,
            subjectId: row.subject_id,
            byId: row.by_id,
            atMs: row.at_ms,
            details: row.details,
          })),
        ({ atMs }) => atMs,
      ),
    auditNotes: (scope, lowId) => {
      const home = lowWard.get({ lowId })
      if (home === undefined || !maySee(scope, home.wardId)) return []
      return notes.all({ lowId }).map((row) => ({
        noteId: row.note_id,
        lowId: row.low_id,
        finding: row.finding,
        followUp: row.follow_up,
        byId: row.by_id,
        atMs: row.at_ms,
      }))
    },
    staysOnWard: (scope, id, span) => {
      if (!maySee(scope, id)) return []
      const byStay = new Map<string, { stay: ReturnType<typeof stayOf>; spans: ReturnType<typeof bedSpanOf>[] }>()
      for (const row of spans.all({ wardId: id, ...span })) {
        const known = byStay.get(row.stay.stay_id) ?? { stay: stayOf(row.stay), spans: [] }
        known.spans.push(bedSpanOf(row.span))
        byStay.set(row.stay.stay_id, known)
      }
      const around = { fromMs: span.fromMs - OUTCOME_MARGIN_MS, toMs: span.toMs + OUTCOME_MARGIN_MS }
      return [...byStay.values()].map(({ stay: one, spans: own }) => ({
        stay: one,
        spans: own,
        plans: plans.all({ stayId: one.stayId }).map(planOf),
        outcomes: outcomesByKey(outcomes.all({ stayId: one.stayId, ...around })),
      }))
    },
    dosesGiven: (scope, asked) =>
      onEach(
        scope,
        asked,
        (about) => given.all(about).map(({ fact }) => fact),
        (one) => one.outcome?.atMs ?? 0,
      ),
  }
}

function pairOf(row: { readonly low: typeof low_event.$inferSelect; readonly stay: typeof stay.$inferSelect }): {
  readonly low: LowEvent
  readonly stay: Stay
} {
  return { low: lowOf(row.low), stay: stayOf(row.stay) }
}

const OUTCOME_MARGIN_MS = 3 * 24 * 3_600_000
