/** A ward and what it is set up with: its policy, staff, meters and strips. */
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { ControlRange } from '../../shared/meter/meter.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Person } from '../../shared/staff/person.ts'

export type Ward = {
  readonly wardId: string
  readonly name: string
  /** in walking order */ readonly beds: readonly string[]
  readonly dataVersion: number
}
export type PolicyVersion = {
  readonly wardId: string
  readonly version: number
  readonly policy: WardPolicy
  readonly fromMs: number
}
/** A person as the store knows them: the rules' own. */
export type Staff = Person
export type Meter = {
  readonly meterId: string
  readonly serial: string
  readonly wardId: string
  readonly unit: GlucoseUnit
  readonly lastControl: { readonly passed: boolean; readonly atMs: number } | null
}
/** `ranges` are null until the label's two control ranges were entered. */
export type StripLot = {
  readonly lot: string
  readonly wardId: string
  readonly expiresOn: string
  readonly ranges: { readonly level1: ControlRange; readonly level2: ControlRange } | null
}
