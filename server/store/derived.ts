/** What applying an event works with: the derived tables by key, and the shape of an area's handlers. */
import type { EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import type { Connection } from './connection.ts'
import { rowsOf, type Rows } from './rows.ts'
import * as audit from './tables-audit.ts'
import * as setup from './tables-setup.ts'
import * as tables from './tables.ts'

export type EventOf<T extends EventType> = Extract<LedgerEvent, { readonly type: T }>

/** One handler for each event type named; together the areas must name them all, or apply.ts does not compile. */
export type Handlers<T extends EventType> = { readonly [K in T]: (event: EventOf<K>) => void }

export type Derived = {
  readonly connection: Connection
  readonly ward: Rows<typeof tables.ward>
  readonly policyVersion: Rows<typeof tables.policy_version>
  readonly staff: Rows<typeof tables.staff>
  readonly bedsTaken: Rows<typeof tables.beds_taken>
  readonly meter: Rows<typeof tables.meter>
  readonly stripLot: Rows<typeof tables.strip_lot>
  readonly stay: Rows<typeof tables.stay>
  readonly stayBed: Rows<typeof tables.stay_bed>
  readonly planVersion: Rows<typeof tables.plan_version>
  readonly orderVersion: Rows<typeof tables.order_version>
  readonly trayDelay: Rows<typeof tables.tray_delay>
  readonly tray: Rows<typeof tables.tray>
  readonly reading: Rows<typeof tables.reading>
  readonly checkOutcome: Rows<typeof tables.check_outcome>
  readonly patientDay: Rows<typeof tables.patient_day>
  readonly wardDay: Rows<typeof tables.ward_day>
  readonly dose: Rows<typeof tables.dose>
  readonly outsideDose: Rows<typeof tables.outside_dose>
  readonly direction: Rows<typeof tables.direction>
  readonly lowEvent: Rows<typeof tables.low_event>
  readonly criticalCall: Rows<typeof tables.critical_call>
  readonly symptoms: Rows<typeof tables.symptoms>
  readonly stayEntry: Rows<typeof tables.stay_entry>
  readonly openItem: Rows<typeof tables.open_item>
  readonly policyChange: Rows<typeof setup.policy_change>
  readonly standardOrder: Rows<typeof setup.standard_order>
  readonly orderVerification: Rows<typeof setup.order_verification>
  readonly control: Rows<typeof setup.control>
  readonly meterControl: Rows<typeof setup.meter_control>
  readonly comparison: Rows<typeof setup.comparison>
  readonly factsVersion: Rows<typeof setup.facts_version>
  readonly feedInterruption: Rows<typeof setup.feed_interruption>
  readonly nearMiss: Rows<typeof audit.near_miss>
  readonly auditNote: Rows<typeof audit.audit_note>
  readonly needHanded: Rows<typeof audit.need_handed>
}

/** Prepares every derived table of a connection. */
export function derivedOf(connection: Connection): Derived {
  return {
    connection,
    ward: rowsOf(connection, tables.ward),
    policyVersion: rowsOf(connection, tables.policy_version),
    staff: rowsOf(connection, tables.staff),
    bedsTaken: rowsOf(connection, tables.beds_taken),
    meter: rowsOf(connection, tables.meter),
    stripLot: rowsOf(connection, tables.strip_lot),
    stay: rowsOf(connection, tables.stay),
    stayBed: rowsOf(connection, tables.stay_bed),
    planVersion: rowsOf(connection, tables.plan_version),
    orderVersion: rowsOf(connection, tables.order_version),
    trayDelay: rowsOf(connection, tables.tray_delay),
    tray: rowsOf(connection, tables.tray),
    reading: rowsOf(connection, tables.reading),
    checkOutcome: rowsOf(connection, tables.check_outcome),
    patientDay: rowsOf(connection, tables.patient_day),
    wardDay: rowsOf(connection, tables.ward_day),
    dose: rowsOf(connection, tables.dose),
    outsideDose: rowsOf(connection, tables.outside_dose),
    direction: rowsOf(connection, tables.direction),
    lowEvent: rowsOf(connection, tables.low_event),
    criticalCall: rowsOf(connection, tables.critical_call),
    symptoms: rowsOf(connection, tables.symptoms),
    stayEntry: rowsOf(connection, tables.stay_entry),
    openItem: rowsOf(connection, tables.open_item),
    policyChange: rowsOf(connection, setup.policy_change),
    standardOrder: rowsOf(connection, setup.standard_order),
    orderVerification: rowsOf(connection, setup.order_verification),
    control: rowsOf(connection, setup.control),
    meterControl: rowsOf(connection, setup.meter_control),
    comparison: rowsOf(connection, setup.comparison),
    factsVersion: rowsOf(connection, setup.facts_version),
    feedInterruption: rowsOf(connection, setup.feed_interruption),
    nearMiss: rowsOf(connection, audit.near_miss),
    auditNote: rowsOf(connection, audit.audit_note),
    needHanded: rowsOf(connection, audit.need_handed),
  }
}

/** The stay an event is about; such an event without one is broken code. */
export function stayIdOf(event: LedgerEvent): string {
  if (event.stayId === null) throw new Error(`${event.type} names no stay`)
  return event.stayId
}

/** The ward an event is about; such an event without one is broken code. */
export function wardIdOf(event: LedgerEvent): string {
  if (event.wardId === null) throw new Error(`${event.type} names no ward`)
  return event.wardId
}
