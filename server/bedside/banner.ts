/** The patient at the head of a page, out of the stay's facts. */
import { isNilByMouth, type Stay } from '../../shared/stay/stay.ts'
import { formatDate, formatName } from '../../views/format.ts'
import type { BannerView } from '../../views/stay/banner.ts'
import { knowOf } from '../round/views.ts'
import type { StayFacts } from '../store/contract.ts'

/** `showWristband` false: where the wristband is still to be read at the bedside. */
export function bannerOf(
  { stay, policy: { policy } }: Pick<StayFacts, 'stay' | 'policy'>,
  nowMs: number,
  showWristband: boolean,
): BannerView {
  return {
    bed: stay.bed,
    name: formatName(stay),
    born: formatDate(stay.bornOn),
    wristband: showWristband ? stay.wristband : null,
    know: knowAtBedside(stay, nowMs, policy),
  }
}

/** What to know before touching the patient, short. */
export function knowAtBedside(stay: Stay, nowMs: number, policy: StayFacts['policy']['policy']): readonly string[] {
  return knowOf({ stay, nilByMouth: isNilByMouth(stay.facts, nowMs), lastLow: null, openLow: null }, { policy, nowMs })
}
