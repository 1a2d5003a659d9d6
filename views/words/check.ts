/** The words of rounds and checks: each state a word and a shape, each reason a plain phrase, each refusal a sentence. */
import type { CheckState, ExcuseReason, MissedReason } from '../../shared/check/check.ts'
import type { KitItem, MeterFitness } from '../../shared/check/kit.ts'
import type { ScanRefusal } from '../../shared/check/scan.ts'
import type { FingerReason } from '../../shared/reading/site.ts'
import type { BedsideFacts, RestrictedHand } from '../../shared/stay/stay.ts'
import type { Sentences } from '../../shared/outcome.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

/** Shapes differ in outline, not in colour: ring, half disc, triangle, square, tick, dash. */
export const CHECK_STATE_MARK: Readonly<Record<CheckState, Mark>> = {
  upcoming: { shape: '○', word: 'Upcoming', tone: 'calm' },
  open: { shape: '◐', word: 'Open', tone: 'due' },
  late: { shape: '▲', word: 'Late', tone: 'urgent' },
  missed: { shape: '■', word: 'Missed', tone: 'urgent' },
  done: { shape: '✓', word: 'Done', tone: 'done' },
  excused: { shape: '–', word: 'Excused', tone: 'done' },
}

export const EXCUSE_REASON: Readonly<Record<ExcuseReason, string>> = {
  'off-the-ward': 'Off the ward',
  refused: 'Patient refused',
  'order-changed': 'Order changed',
  'asleep-by-order': 'Asleep, not to be woken by order',
  other: 'Another reason',
}

export const MISSED_REASON: Readonly<Record<MissedReason, string>> = {
  'off-the-ward': 'Off the ward',
  refused: 'Patient refused',
  workload: 'Too much to do at once',
  'no-meter': 'No meter to hand',
  'emergency-elsewhere': 'Emergency elsewhere',
  other: 'Another reason',
}

export const FINGER_REASON: Readonly<Record<FingerReason, string>> = {
  'never-used': 'not used in the last days',
  'least-recent': 'used longest ago',
  'no-finger-left':
    'No finger of the ward’s list is left to suggest: choose the safest one, and look at the restricted hands.',
}

export const RESTRICTION: Readonly<Record<RestrictedHand['reason'], string>> = {
  drip: 'drip',
  fistula: 'fistula',
  swelling: 'swelling',
  injury: 'injury',
  'lymph-node-surgery': 'lymph node surgery',
  weakness: 'weakness',
}

export const ISOLATION: Readonly<Record<BedsideFacts['isolation'], string>> = {
  none: 'No isolation',
  contact: 'Contact isolation',
  droplet: 'Droplet isolation',
  airborne: 'Airborne isolation',
}

export const KIT_ITEM: Readonly<Record<KitItem, string>> = {
  'test-strips': 'Test strips',
  lancets: 'Lancets, single-use',
  'skin-wipes': 'Skin wipes',
  gauze: 'Gauze',
  'meter-wipes': 'Wipes for the meter, one after each patient',
  'insulin-syringes': 'Insulin syringes (patients with an order)',
}

export const METER_FITNESS: Readonly<Record<MeterFitness, Mark>> = {
  usable: { shape: '✓', word: 'Usable', tone: 'done' },
  'control-not-done': { shape: '■', word: 'Not usable: today’s control is not done', tone: 'urgent' },
  'control-failed': { shape: '■', word: 'Not usable: today’s control failed', tone: 'urgent' },
  'other-unit': { shape: '■', word: 'Not usable: shows the other unit', tone: 'urgent' },
}

export const SCAN_SENTENCE: Sentences<ScanRefusal> = {
  'wristband-missing': () => 'Scan the wristband, or type its number.',
  'wristband-of-other-ward': (d) =>
    `This wristband is bed ${d.bed} on ${d.ward}, not on this ward. Stop, and look again at who is in front of you.`,
  'wristband-not-on-ward': () => 'This wristband is not on this ward. Stop, and look again at who is in front of you.',
}
