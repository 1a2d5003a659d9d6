/** Reads that figures beside the patient-day sums derive from: one stay's readings, trays and their delays. */
import { and, asc, eq, sql } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { Store } from './contract.ts'
import { trayOf } from './facts.ts'
import { maySee } from './scope.ts'
import { patient_day, reading, stay_bed, tray, tray_delay } from './tables.ts'

type Reads = Pick<Store, 'readingsOfStay' | 'traysOfWards' | 'trayDelays'>

export function rateFactsOf({ orm }: Connection): Reads {
  const stayId = sql.placeholder('stayId')
  const wardId = sql.placeholder('wardId')
  const onDates = (column: unknown) =>
    sql`${column} between ${sql.placeholder('fromDate')} and ${sql.placeholder('toDate')}`
  const homes = orm.select({ wardId: stay_bed.ward_id }).from(stay_bed).where(eq(stay_bed.stay_id, stayId)).prepare()
  const readings = orm
    .select({ fact: reading.fact })
    .from(reading)
    .where(
      and(
        eq(reading.stay_id, stayId),
        sql`${reading.effective} = 1`,
        sql`${reading.taken_at_ms} >= ${sql.placeholder('fromMs')} and ${reading.taken_at_ms} < ${sql.placeholder('toMs')}`,
      ),
    )
    .orderBy(asc(reading.taken_at_ms), asc(reading.reading_id))
    .prepare()
  // a dose from a reading is what a tray is asked for, so the stay has a figure on one of the dates
  const trays = orm
    .select()
    .from(tray)
    .where(
      and(
        sql`${tray.stay_id} in (select ${patient_day.stay_id} from ${patient_day} where ${eq(patient_day.ward_id, wardId)} and ${onDates(patient_day.ward_date)})`,
        onDates(tray.date),
      ),
    )
    .orderBy(asc(tray.stay_id), asc(tray.date))
    .prepare()
  const delays = orm
    .select({ date: tray_delay.date, meal: tray_delay.meal, minutes: tray_delay.minutes })
    .from(tray_delay)
    .where(and(eq(tray_delay.ward_id, wardId), onDates(tray_delay.date)))
    .orderBy(asc(tray_delay.date))
    .prepare()

  return {
    readingsOfStay: (scope, id, span) =>
      homes.all({ stayId: id }).some((home) => maySee(scope, home.wardId))
        ? readings.all({ stayId: id, ...span }).map(({ fact }) => fact)
        : [],
    traysOfWards: (scope, { wardIds, fromDate, toDate }) => {
      const found = [...new Set(wardIds)]
        .filter((id) => maySee(scope, id))
        .flatMap((id) => trays.all({ wardId: id, fromDate, toDate }).map(trayOf))
      // a stay that moved between two of the wards is found on both
      return [...new Map(found.map((one) => [`${one.stayId} ${one.date} ${one.meal}`, one])).values()]
    },
    trayDelays: (scope, id, dates) => (maySee(scope, id) ? delays.all({ wardId: id, ...dates }) : []),
  }
}
