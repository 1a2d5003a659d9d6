/**
 * Loads the data of the pages about meters and strips: the wards that the person sets up, and a meter with its ward.
 */
import { meterFitness } from '../../shared/check/kit.ts'
import { formatGlucose, type GlucoseUnit } from '../../shared/glucose/value.ts'
import type { ControlRange } from '../../shared/meter/meter.ts'
import { versionInForce } from '../../shared/policy/in-force.ts'
import { METER_FITNESS } from '../../views/words/check.ts'
import { CONTROL_MARK, RETIRED_MARK } from '../../views/words/meter.ts'
import { formatWhen } from '../../views/format.ts'
import type { MeterRequest } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { MeterRecord } from '../store/contract.ts'

/** A ward with its policy's current values: unit, time zone, and the reading age up to which a dose may follow. */
export type SetUpWard = {
  readonly wardId: string
  readonly name: string
  readonly unit: GlucoseUnit
  readonly zone: string
  readonly readingAgeMin: number
}

/** The wards that this person may set up or view: all for an administrator, their own for everybody else. */
export function setUpWards(ctx: RequestContext): readonly SetUpWard[] {
  return ctx.store.setUpWards(ctx.scope).flatMap(({ wardId, name }): readonly SetUpWard[] => {
    const versions = ctx.store.policyVersions(ctx.scope, wardId)
    const policy = versionInForce(versions, ctx.nowMs)?.policy
    return policy === undefined
      ? []
      : [{ wardId, name, unit: policy.unit, zone: policy.zone, readingAgeMin: policy.dose.readingAgeMaxMin }]
  })
}

/** The ward chosen at sign-in, otherwise the first. Undefined: there is none. */
export function ownWard(ctx: RequestContext, wards: readonly SetUpWard[]): SetUpWard | undefined {
  return wards.find(({ wardId }) => wardId === ctx.wardId) ?? wards[0]
}

export type MeterContext = { readonly meter: MeterRecord; readonly ward: SetUpWard }

/** The meter in the path. Undefined: it does not exist, or is on no ward of this person's. */
export function meterContext(ctx: MeterRequest): MeterContext | undefined {
  const meter = ctx.store.meterById(ctx.scope, ctx.params.meterId)
  const ward = setUpWards(ctx).find(({ wardId }) => wardId === meter?.wardId)
  return meter === undefined || ward === undefined ? undefined : { meter, ward }
}

/** Usable today or not, and why, as a word and a shape. */
export function meterMark(
  { meter, ward }: MeterContext,
  nowMs: number,
): (typeof METER_FITNESS)[keyof typeof METER_FITNESS] {
  return meter.retired === null ? METER_FITNESS[meterFitness(meter, { ...ward, nowMs })] : RETIRED_MARK
}

/** "Passed, 06:50"; "none". */
export function lastControlText({ meter, ward }: MeterContext, nowMs: number): string {
  if (meter.lastControl === null) return 'none'
  return `${CONTROL_MARK[meter.lastControl.passed ? 'passed' : 'failed'].word}, ${formatWhen(meter.lastControl.atMs, nowMs, ward.zone)}`
}

/** The head of every form about the meter. */
export function meterHead(
  context: MeterContext,
  nowMs: number,
): {
  readonly meterId: string
  readonly serial: string
  readonly unit: string
  readonly wardName: string
  readonly mark: ReturnType<typeof meterMark>
} {
  const { meter, ward } = context
  return {
    meterId: meter.meterId,
    serial: meter.serial,
    unit: meter.unit,
    wardName: ward.name,
    mark: meterMark(context, nowMs),
  }
}

/** "96 to 144 mg/dL" */
export function rangeText({ unit, from, to }: ControlRange): string {
  return `${formatGlucose({ unit, value: from }).replace(` ${unit}`, '')} to ${formatGlucose({ unit, value: to })}`
}
