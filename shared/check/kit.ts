/** What to put on the cart for the checks that are left, and which meters may go along. */
import { wardDate } from '../time/zone.ts'
import type { GlucoseUnit } from '../glucose/value.ts'

export type KitItem = 'test-strips' | 'lancets' | 'skin-wipes' | 'gauze' | 'meter-wipes' | 'insulin-syringes'
export type KitLine = { readonly item: KitItem; readonly needed: number; readonly spare: number }

/** usable, or why a meter stays behind. A reading from it can still be charted, flagged, and never leads to insulin. */
export type MeterFitness = 'usable' | 'control-not-done' | 'control-failed' | 'other-unit'

/**
 * One strip, one single-use lancet (CDC: one person, one lancet; R), one skin wipe and one gauze for each check, and
 * one wipe to clean the meter after each person (CDC; R). One syringe for each patient whose insulin order can give a
 * dose in this round. Spares: one for every five, and at least two strips and lancets (a failed strip, a repeat of a
 * critical value), at least one syringe when any is needed; common practice, no published figure. Nothing for no checks.
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
 * A meter goes along when its last control was passed today, ward-local, and it shows the ward's unit. A control passed
 * after the instant asked about says nothing of what was measured before it.
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
