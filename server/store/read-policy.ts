/** Reads of how a ward is set up: its beds, its policy and the changes of it. Administrators read every ward's. */
import { and, asc, desc, eq, isNull, sql } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { Store } from './contract.ts'
import { policyChangeOf, policyRecordOf, wardOf } from './facts.ts'
import { maySetUp } from './scope.ts'
import { policy_change } from './tables-setup.ts'
import { policy_version, stay, ward } from './tables.ts'

type Reads = Pick<Store, 'setUpWards' | 'policyVersions' | 'bedsOccupied' | 'policyChanges' | 'policyChange'>

export function policyReadsOf({ orm }: Connection): Reads {
  const wardId = sql.placeholder('wardId')
  const wards = orm.select().from(ward).orderBy(asc(ward.name), asc(ward.ward_id)).prepare()
  const versions = orm
    .select()
    .from(policy_version)
    .where(eq(policy_version.ward_id, wardId))
    .orderBy(desc(policy_version.version))
    .prepare()
  const occupied = orm
    .selectDistinct({ bed: stay.bed })
    .from(stay)
    .where(and(eq(stay.ward_id, wardId), isNull(stay.discharged_at_ms)))
    .orderBy(asc(stay.bed))
    .prepare()
  const changes = orm
    .select()
    .from(policy_change)
    .where(eq(policy_change.ward_id, wardId))
    .orderBy(desc(policy_change.written_at_ms), sql`${policy_change}.rowid desc`)
    .prepare()
  const change = orm
    .select()
    .from(policy_change)
    .where(eq(policy_change.change_id, sql.placeholder('changeId')))
    .prepare()
  return {
    setUpWards: (scope) =>
      wards
        .all()
        .filter((row) => maySetUp(scope, row.ward_id))
        .map(wardOf),
    policyVersions: (scope, id) => (maySetUp(scope, id) ? versions.all({ wardId: id }).map(policyRecordOf) : []),
    bedsOccupied: (scope, id) => (maySetUp(scope, id) ? occupied.all({ wardId: id }).map(({ bed }) => bed) : []),
    policyChanges: (scope, id) => (maySetUp(scope, id) ? changes.all({ wardId: id }).map(policyChangeOf) : []),
    policyChange: (scope, changeId) => {
      const row = change.get({ changeId })
      return row !== undefined && maySetUp(scope, row.ward_id) ? policyChangeOf(row) : undefined
    },
  }
}
