/** Reads of meters and strips as they are set up, their controls and comparisons, and what a recall asks. */
import { and, asc, desc, eq, getTableColumns, sql, type SQL } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { Scope, Store } from './contract.ts'
import { meterRecordOf, stayOf, stripLotOf } from './facts.ts'
import { maySetUp } from './scope.ts'
import { comparison, control } from './tables-setup.ts'
import { dose, meter, reading, stay, strip_lot } from './tables.ts'

type Reads = Pick<
  Store,
  | 'metersOfWard'
  | 'meterById'
  | 'meterSerial'
  | 'meterBySerial'
  | 'stripLotsOfWard'
  | 'controlsOf'
  | 'comparisonsOf'
  | 'recallRows'
>

export function meterReadsOf({ orm }: Connection): Reads {
  const wardId = sql.placeholder('wardId')
  const meterId = sql.placeholder('meterId')
  const ofWard = orm.select().from(meter).where(eq(meter.ward_id, wardId)).orderBy(asc(meter.serial)).prepare()
  const one = orm.select().from(meter).where(eq(meter.meter_id, meterId)).prepare()
  const bySerial = orm
    .select({ meterId: meter.meter_id, wardId: meter.ward_id })
    .from(meter)
    .where(eq(meter.serial, sql.placeholder('serial')))
    .prepare()
  const lots = orm.select().from(strip_lot).where(eq(strip_lot.ward_id, wardId)).orderBy(asc(strip_lot.lot)).prepare()
  const controls = orm
    .select({ fact: control.fact })
    .from(control)
    .where(and(eq(control.meter_id, meterId), sql`${control.at_ms} >= ${sql.placeholder('sinceMs')}`))
    .orderBy(desc(control.at_ms), desc(control.number))
    .prepare()
  const comparisons = orm
    .select({ fact: comparison.fact })
    .from(comparison)
    .where(eq(comparison.meter_id, meterId))
    .orderBy(desc(comparison.at_ms), sql`${comparison}.rowid desc`)
    .prepare()

  const withMeter = eq(reading.meter_id, meterId)
  const withLot = eq(reading.strip_lot, sql.placeholder('lot'))
  // where the patient is now decides who may see what was charted before
  const recall = (asked: SQL | undefined) =>
    orm
      .select({ fact: reading.fact, stay: getTableColumns(stay) })
      .from(reading)
      .innerJoin(stay, eq(stay.stay_id, reading.stay_id))
      .where(
        and(
          asked,
          sql`${reading.taken_at_ms} >= ${sql.placeholder('fromMs')} and ${reading.taken_at_ms} < ${sql.placeholder('toMs')}`,
          sql`${stay.ward_id} in (select value from json_each(${sql.placeholder('wardIds')}))`,
        ),
      )
      .orderBy(asc(reading.taken_at_ms), sql`${reading}.rowid`)
      .prepare()
  const recalls = { byMeter: recall(withMeter), byLot: recall(withLot), byBoth: recall(and(withMeter, withLot)) }
  const given = orm
    .select({ doseId: dose.dose_id })
    .from(dose)
    .where(and(eq(dose.reading_id, sql.placeholder('readingId')), sql`${dose.given_at_ms} is not null`))
    .orderBy(asc(dose.given_at_ms), asc(dose.dose_id))
    .prepare()

  const meterInScope = (scope: Scope, id: string) => {
    const row = one.get({ meterId: id })
    return row !== undefined && maySetUp(scope, row.ward_id) ? row : undefined
  }
  return {
    metersOfWard: (scope, id) => (maySetUp(scope, id) ? ofWard.all({ wardId: id }).map(meterRecordOf) : []),
    meterById: (scope, id) => {
      const row = meterInScope(scope, id)
      return row === undefined ? undefined : meterRecordOf(row)
    },
    meterSerial: (id) => one.get({ meterId: id })?.serial,
    meterBySerial: (serial) => bySerial.get({ serial }),
    stripLotsOfWard: (scope, id) => (maySetUp(scope, id) ? lots.all({ wardId: id }).map(stripLotOf) : []),
    controlsOf: (scope, id, sinceMs) =>
      meterInScope(scope, id) === undefined ? [] : controls.all({ meterId: id, sinceMs }).map(({ fact }) => fact),
    comparisonsOf: (scope, id) =>
      meterInScope(scope, id) === undefined ? [] : comparisons.all({ meterId: id }).map(({ fact }) => fact),
    // a recall names a meter or a lot: asked for neither, it answers nothing
    recallRows: (scope, { meterId: id, lot, fromMs, toMs }) => {
      if (id === null && lot === null) return []
      const found = id === null ? recalls.byLot : lot === null ? recalls.byMeter : recalls.byBoth
      return found.all({ meterId: id, lot, fromMs, toMs, wardIds: JSON.stringify(scope.wardIds) }).map((row) => ({
        reading: row.fact,
        stay: stayOf(row.stay),
        doseIds: given.all({ readingId: row.fact.readingId }).map(({ doseId }) => doseId),
      }))
    },
  }
}
