/** What was charted of late about everybody who lies on a ward: few statements for the whole ward, however many beds. */
import { and, asc, eq, isNull, sql } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { PresentCare, Store } from './contract.ts'
import { maySee } from './scope.ts'
import { dose, outside_dose, reading, stay } from './tables.ts'

export function careReadsOf({ raw, orm }: Connection): Pick<Store, 'presentCare'> {
  const present = and(eq(stay.ward_id, sql.placeholder('wardId')), isNull(stay.discharged_at_ms))
  const inSpan = (column: unknown) =>
    sql`${column} >= ${sql.placeholder('fromMs')} and ${column} < ${sql.placeholder('toMs')}`
  const readings = orm
    .select({ fact: reading.fact })
    .from(stay)
    .innerJoin(reading, eq(reading.stay_id, stay.stay_id))
    .where(and(present, inSpan(reading.taken_at_ms)))
    .orderBy(asc(reading.taken_at_ms), asc(reading.reading_id))
    .prepare()
  const doses = orm
    .select({ fact: dose.fact })
    .from(stay)
    .innerJoin(dose, eq(dose.stay_id, stay.stay_id))
    .where(and(present, sql`((${inSpan(dose.proposed_at_ms)}) or (${inSpan(dose.given_at_ms)}))`))
    .orderBy(asc(dose.proposed_at_ms), asc(dose.dose_id))
    .prepare()
  const outside = orm
    .select({ fact: outside_dose.fact })
    .from(stay)
    .innerJoin(outside_dose, eq(outside_dose.stay_id, stay.stay_id))
    .where(and(present, inSpan(outside_dose.given_at_ms)))
    .orderBy(asc(outside_dose.given_at_ms), asc(outside_dose.outside_dose_id))
    .prepare()
  // one snapshot, also beside another process that writes
  const load = raw.transaction(
    (about: { readonly wardId: string; readonly fromMs: number; readonly toMs: number }): PresentCare => ({
      readings: readings.all(about).map(({ fact }) => fact),
      doses: doses.all(about).map(({ fact }) => fact),
      outsideDoses: outside.all(about).map(({ fact }) => fact),
    }),
  )
  return { presentCare: (scope, wardId, span) => (maySee(scope, wardId) ? load({ wardId, ...span }) : undefined) }
}
