/** The ward's meters as select options: by serial number, and why a meter is not usable. */
import { meterFitness } from '../../shared/check/kit.ts'
import { METER_FITNESS } from '../../views/words/check.ts'
import type { StayFacts } from '../store/contract.ts'

export function meterOptions(
  facts: Pick<StayFacts, 'meters' | 'policy'>,
  nowMs: number,
): readonly { readonly value: string; readonly label: string }[] {
  const { unit, zone } = facts.policy.policy
  return facts.meters.map((meter) => {
    const fitness = meterFitness(meter, { unit, zone, nowMs })
    return {
      value: meter.meterId,
      label: fitness === 'usable' ? meter.serial : `${meter.serial}: ${METER_FITNESS[fitness].word.toLowerCase()}`,
    }
  })
}
