/** How stays came to be as they are, and stays that ended. A stay outside the scope's wards is as good as not there. */
import { and, asc, desc, eq, sql } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { Scope, StayHistory, Store } from './contract.ts'
import { bedSpanOf, factsVersionOf, interruptionOf, planOf, stayOf } from './facts.ts'
import { maySee } from './scope.ts'
import { facts_version, feed_interruption } from './tables-setup.ts'
import { plan_version, stay, stay_bed } from './tables.ts'

type Reads = Pick<Store, 'stayHistory' | 'staysDischarged'>

export function historyReadsOf({ raw, orm }: Connection): Reads {
  const stayId = sql.placeholder('stayId')
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
    .orderBy(asc(feed_interruption.from_ms), asc(feed_interruption.interruption_id))
    .prepare()
  const plans = orm
    .select()
    .from(plan_version)
    .where(eq(plan_version.stay_id, stayId))
    .orderBy(asc(plan_version.version))
    .prepare()
  const discharged = orm
    .select()
    .from(stay)
    .where(
      and(eq(stay.ward_id, sql.placeholder('wardId')), sql`${stay.discharged_at_ms} >= ${sql.placeholder('sinceMs')}`),
    )
    .orderBy(desc(stay.discharged_at_ms), asc(stay.stay_id))
    .prepare()

  const load = (scope: Scope, id: string): StayHistory | undefined => {
    const row = one.get({ stayId: id })
    if (row === undefined || !maySee(scope, row.ward_id)) return undefined
    const about = { stayId: id }
    return {
      stay: stayOf(row),
      facts: facts.all(about).map(factsVersionOf),
      beds: beds.all(about).map(bedSpanOf),
      interruptions: interruptions.all(about).map(interruptionOf),
      plans: plans.all(about).map(planOf),
      previousStayId: row.previous_stay_id,
    }
  }
  // one snapshot, also beside another process that writes
  const atOnce = raw.transaction(load)
  return {
    stayHistory: (scope, id) => (raw.inTransaction ? load(scope, id) : atOnce(scope, id)),
    staysDischarged: (scope, id, sinceMs) =>
      maySee(scope, id) ? discharged.all({ wardId: id, sinceMs }).map(stayOf) : [],
  }
}
