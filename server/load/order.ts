/** From an order as the load file writes it to the order that the rules work with. Nothing is repaired on the way. */
import type { BedtimeVariant, Correction, InsulinOrder, Scale } from '../../shared/order/order.ts'
import { checkOrder, singleDoseLimit, type OrderAsWritten, type OrderRefusal } from '../../shared/order/validate.ts'
import { countOf, scaleFromWritten, type WrittenRefusal } from '../../shared/order/written.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import type { LoadOrder } from './schema.ts'

export type LoadOrderRefusal = WrittenRefusal | OrderRefusal

type WrittenScale = Pick<
  Extract<NonNullable<LoadOrder['correction']>, { kind: 'scale' }>,
  'rows' | 'afterLast' | 'answered'
>

/** The ward-local instant of a load file. Its date and time were checked with the file's shape. */
export function instantOf(text: string, zone: string): number {
  return localToUtc(text.slice(0, 10), text.slice(11), zone)
}

/** The checked order, or the first thing that is wrong with it, named by its value. */
export function orderFrom(written: LoadOrder, policy: WardPolicy): Outcome<InsulinOrder, LoadOrderRefusal> {
  const { unit, zone } = policy
  const correction = correctionFrom(written, policy)
  if (!correction.ok) return correction
  const bedtime = bedtimeFrom(written, policy)
  if (!bedtime.ok) return bedtime
  const scheduled: { time: string; units: number; holdBelow: number | null }[] = []
  for (const { time, units, holdBelow } of written.scheduled) {
    const hold = holdBelow === null ? null : countOf(holdBelow, unit)
    if (holdBelow !== null && hold === null) return refuse('glucose-not-as-printed', { value: holdBelow, unit })
    scheduled.push({ time, units, holdBelow: hold })
  }
  const order: OrderAsWritten = {
    insulin: written.insulin,
    concentration: written.concentration,
    route: written.route,
    unit,
    occasions: written.occasions,
    correction: correction.value,
    meal: mealFrom(written),
    mealTiming: written.mealTiming,
    bedtime: bedtime.value,
    scheduled,
    rounding: written.rounding,
    maxSingleDose: written.maxSingleDose,
    correctionIntervalMin: written.correctionIntervalMin,
    stackingStopsAtOccasions: written.stackingStopsAtOccasions,
    prescriber: written.prescriber,
    received: written.received,
    startsAtMs: instantOf(written.startsAt, zone),
    stopsAtMs: written.stopsAt === null ? null : instantOf(written.stopsAt, zone),
  }
  return checkOrder(order, policy)
}

function mealFrom(written: LoadOrder): InsulinOrder['meal'] {
  const { meal } = written
  if (meal?.kind !== 'fixed') return meal
  const listed = Object.entries(meal.units).filter(([, units]) => units !== undefined)
  return { kind: 'fixed', units: Object.fromEntries(listed) }
}

function correctionFrom(written: LoadOrder, policy: WardPolicy): Outcome<Correction | null, LoadOrderRefusal> {
  const { correction } = written
  if (correction === null) return accept(null)
  if (correction.kind === 'scale') {
    const scale = scaleFrom(correction, written, policy)
    return scale.ok ? accept({ kind: 'scale', scale: scale.value }) : scale
  }
  const target = countOf(correction.target, policy.unit)
  if (target === null) return refuse('glucose-not-as-printed', { value: correction.target, unit: policy.unit })
  const perUnit = countOf(correction.perUnit, policy.unit)
  if (perUnit === null) return refuse('glucose-not-as-printed', { value: correction.perUnit, unit: policy.unit })
  return accept({ kind: 'factor', target, perUnit, belowTargetSubtracts: correction.belowTargetSubtracts })
}

function bedtimeFrom(written: LoadOrder, policy: WardPolicy): Outcome<BedtimeVariant, LoadOrderRefusal> {
  const { bedtime } = written
  if (bedtime.kind !== 'own-scale') return accept(bedtime)
  const scale = scaleFrom(bedtime, written, policy)
  return scale.ok ? accept({ kind: 'own-scale', scale: scale.value }) : scale
}

function scaleFrom(printed: WrittenScale, written: LoadOrder, policy: WardPolicy): Outcome<Scale, LoadOrderRefusal> {
  const rows = printed.rows.map(({ from, to, answer, instruction }) => ({
    from,
    to,
    answer,
    also: instruction ?? null,
  }))
  const answered = Object.entries(printed.answered ?? {}).map(([from, answer]) => ({ from, to: '', answer }))
  return scaleFromWritten(
    { rows, answered, afterLast: printed.afterLast ?? null },
    { unit: policy.unit, lowLimit: policy.limits.low, maxSingleDose: singleDoseLimit(written, policy) },
  )
}
