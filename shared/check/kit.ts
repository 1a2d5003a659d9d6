/** Supplies for the checks that are left, and which meters may be used. */
import { wardDate } from '../time/zone.ts'
import type { GlucoseUnit } from '../glucose/value.ts'

export type KitItem = 'test-strips' | 'lancets' | 'skin-wipes' | 'gauze' | 'meter-wipes' | 'insulin-syringes'
export type KitLine = { readonly item: KitItem; readonly needed: number; readonly spare: number }

/** usable, or why not. A reading from an unusable meter can be charted; it is flagged and never leads to insulin. */
export type MeterFitness = 'usable' | 'control-not-done' | 'control-failed' | 'other-unit'

/**
 * Each check needs one strip, one single-use lancet (CDC: one person, one lancet; R), one skin wipe and one gauze. It
 * also needs one wipe to clean the meter after each person (CDC; R). Each patient whose insulin order can give a dose
 * in this round needs one syringe.
 *
 * Spares: one for every five. At least two spare strips and lancets (a failed strip, a repeat of a critical value), and
 * one spare syringe if any is needed; common practice, no published figure. Empty when no checks are left.
 */
export function kitList(left: { readonly checks: number; readonly patientsWithOrder: number }): readonly KitLine[] {
  const { checks, patientsWithOrder } = left
  const line = (item: KitItem, needed: number, spareAtLeast: number): KitLine => ({
    item,
    needed,
    spare: needed === 0 ? 0 : Math.max(spareAtLeast, Math.ceil(needed / 5)),
  })
  return [
    line('test-strips', checks, 2),
    line('lancets', checks, 2),
    line('skin-wipes', checks, 2),
    line('gauze', checks, 2),
    line('meter-wipes', checks, 1),
    line('insulin-syringes', patientsWithOrder, 1),
  ]
}

/**
 * A meter is usable when its last control passed today, ward-local, and it shows the ward's unit. A control passed
 * after the given instant does not cover earlier measurements.
 */
export function meterFitness(
  meter: {
    readonly unit: GlucoseUnit
    readonly lastControl: { readonly passed: boolean; readonly atMs: number } | null
  },
  ward: { readonly unit: GlucoseUnit; readonly zone: string; readonly nowMs: number },
): MeterFitness {
  if (meter.unit !== ward.unit) return 'other-unit'
  if (meter.lastControl === null || wardDate(meter.lastControl.atMs, ward.zone) !== wardDate(ward.nowMs, ward.zone))
    return 'control-not-done'
  if (!meter.lastControl.passed) return 'control-failed'
  return meter.lastControl.atMs <= ward.nowMs ? 'usable' : 'control-not-done'
}
