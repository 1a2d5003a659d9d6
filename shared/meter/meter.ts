/** Types of meters, strips and control solution. The files beside this one hold the rules. */
import type { Glucose, GlucoseUnit, NumericGlucose } from '../glucose/value.ts'

/**
 * The range that a lot's label prints for one level of control solution: both ends included, in mg/dL or tenths of
 * mmol/L.
 */
export type ControlRange = { readonly unit: GlucoseUnit; readonly from: number; readonly to: number }

/** One measurement with control solution: a number, or LO or HI, which lie in no range. */
export type ControlMeasurement = {
  readonly meterId: string
  readonly lot: string
  readonly level: 1 | 2
  readonly value: Glucose
  readonly inRange: boolean
  readonly atMs: number
  readonly byId: string
}

/** A meter's value beside a laboratory's taken at the same time. */
export type Comparison = {
  readonly comparisonId: string
  readonly meterId: string
  readonly lot: string | null
  readonly meterValue: NumericGlucose
  readonly laboratoryValue: NumericGlucose
  /** When the finger was pricked. `laboratoryAtMs`: when the laboratory's sample was drawn. */
  readonly meterAtMs: number
  readonly laboratoryAtMs: number
  readonly note: string
  readonly byId: string
}
