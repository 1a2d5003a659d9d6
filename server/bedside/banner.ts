/** The patient banner of a page or line, and what to know before going in. */
import type { PatientNow } from '../../shared/check/round-model.ts'
import { isNilByMouth, type Stay } from '../../shared/stay/stay.ts'
import { HOUR_MS } from '../../shared/time/span.ts'
import { formatDate, formatName, formatWhen } from '../../views/format.ts'
import type { PatientHead } from '../../views/round/row.ts'
import type { BannerView } from '../../views/stay/banner.ts'
import { ISOLATION, RESTRICTION } from '../../views/words/check.ts'
import { LABORATORY_ONLY } from '../../views/words/stay.ts'
import type { StayFacts } from '../store/contract.ts'
import type { At } from './at.ts'

/** `showWristband` false: on pages where the nurse must still scan the wristband. */
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

/** What to know before touching the patient, in short. */
export function knowAtBedside(stay: Stay, nowMs: number, policy: StayFacts['policy']['policy']): readonly string[] {
  return knowOf({ stay, nilByMouth: isNilByMouth(stay.facts, nowMs), lastLow: null, openLow: null }, { policy, nowMs })
}

/** A low is named beside the bed for 24 h, the period in which a further low counts as a recurrence. */
const LOW_NAMED_MS = 24 * HOUR_MS

export function patientHeadOf(stay: Stay): PatientHead {
  return {
    stayId: stay.stayId,
    bed: stay.bed,
    name: formatName(stay),
    wristband: stay.wristband,
    born: formatDate(stay.bornOn),
  }
}

/** What to know before going in, in the same short words everywhere. `lowSaid`: the line itself is about the low. */
export function knowOf(
  patient: Pick<PatientNow, 'stay' | 'nilByMouth' | 'lastLow' | 'openLow'>,
  { policy, nowMs }: At,
  lowSaid = false,
): readonly string[] {
  const { facts } = patient.stay
  const know: string[] = []
  if (patient.nilByMouth) {
    const until = facts.nilByMouth?.untilMs ?? null
    know.push(until === null ? 'Nil by mouth' : `Nil by mouth until ${formatWhen(until, nowMs, policy.zone)}`)
  }
  if (!facts.swallowsSafely) know.push('Does not swallow safely')
  if (facts.feeding !== 'oral') know.push(facts.feeding === 'tube' ? 'Tube-fed' : 'Fed by vein')
  know.push(...facts.restrictedHands.map(({ hand, reason }) => `Not the ${hand} hand: ${RESTRICTION[reason]}`))
  if (facts.laboratoryOnly !== undefined) know.push(`Laboratory values only: ${LABORATORY_ONLY[facts.laboratoryOnly]}`)
  if (facts.isolation !== 'none') know.push(ISOLATION[facts.isolation])
  const { lastLow, openLow } = patient
  if (lowSaid) return know
  if (openLow !== null && openLow.phase === 'followed-up') know.push('Low followed up, event still to be closed')
  else if (openLow !== null)
    know.push(`Low event open since ${formatWhen(lastLow?.openedAtMs ?? nowMs, nowMs, policy.zone)}`)
  else if (lastLow !== null && nowMs - lastLow.openedAtMs < LOW_NAMED_MS)
    know.push(`Last low ${formatWhen(lastLow.openedAtMs, nowMs, policy.zone)}`)
  return know
}
