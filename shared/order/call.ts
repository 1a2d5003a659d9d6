/** "No dose, call": which scale of an order answers at an occasion, and whether its step says to call the prescriber. */
import type { Occasion } from '../check/check.ts'
import { isNumeric, type Glucose } from '../glucose/value.ts'
import { isInForce, type InsulinOrder, type OrderVersion, type Scale } from './order.ts'
import { answerFor, type ScaleLookup } from './scale.ts'

/** The scale that the order has for a correction at the occasion; null: none. */
export function scaleAt(order: InsulinOrder, occasion: Occasion): Scale | null {
  if (occasion === 'bedtime' && order.bedtime.kind === 'own-scale') return order.bedtime.scale
  if (occasion === 'bedtime' && order.bedtime.kind === 'none') return null
  return order.correction?.kind === 'scale' ? order.correction.scale : null
}

/** The step that says "no dose, call" for the value at the occasion; null: the order says something else. */
export function callStepOf(order: InsulinOrder, glucose: Glucose, occasion: Occasion): ScaleLookup | null {
  const scale = scaleAt(order, occasion)
  if (scale === null || scale.unit !== glucose.unit || !isNumeric(glucose)) return null
  const found = answerFor(scale, glucose)
  return found.answer === 'call' ? found : null
}

/** The verified orders in force at the instant that say "no dose, call" for the value. */
export function callsFor(
  orders: readonly OrderVersion[],
  at: { readonly glucose: Glucose; readonly occasion: Occasion; readonly atMs: number },
): readonly { readonly version: OrderVersion; readonly step: ScaleLookup }[] {
  return orders.flatMap((version) => {
    const { order, verified } = version
    if (verified === null || !isInForce(version, at.atMs) || !order.occasions.includes(at.occasion)) return []
    const step = callStepOf(order, at.glucose, at.occasion)
    return step === null ? [] : [{ version, step }]
  })
}
