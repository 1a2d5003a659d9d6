/** Sentences about people: what a change of them refuses, PINs, training, and the names of roles. */
import type { Role } from '../../shared/ledger/events.ts'
import type { StaffRefusal } from '../../shared/staff/change.ts'
import { PIN_CODE_HOURS, PIN_CODE_LENGTH, PIN_DIGITS, type PinFault } from '../../shared/staff/pin.ts'
import type { TrainingState } from '../../shared/staff/training.ts'
import { formatDate } from '../format.ts'
import type { Sentences } from '../../shared/outcome.ts'

export const ROLE_NAME: Readonly<Record<Role, string>> = {
  'floor-nurse': 'Floor nurse',
  'charge-nurse': 'Charge nurse',
  educator: 'Educator',
  administrator: 'Administrator',
}

/** What each role may do, in one line, where a role is chosen. */
export const ROLE_DOES: Readonly<Record<Role, string>> = {
  'floor-nurse': 'walks the round, gives insulin',
  'charge-nurse': 'the same, and is called in when answers differ',
  educator: 'reads, charts nothing',
  administrator: 'sets up wards, policy and people, sees no patient',
}

export const STAFF_SENTENCES: Sentences<StaffRefusal> = {
  'no-such-person': () => 'There is no such person.',
  'badge-taken': ({ name }) => `This badge is, or was, ${name}’s. Every badge names one person for good: use another.`,
  'same-badge': () => 'This is the badge that the person has now.',
  'ward-needed': () => 'Tick at least one ward. Only an administrator needs none.',
  'no-such-ward': () => 'There is no such ward.',
  'own-role': () => 'Nobody changes their own role or wards. Another administrator has to do it.',
  'own-training': () => 'Nobody enters their own training. Another administrator has to do it.',
  'own-code': () => 'This is you. Change your own PIN under “Your PIN”, with the old one.',
  'last-administrator': () => 'This is the last administrator who can sign in. First let another one set a PIN.',
  'nothing-changed': () => 'Nothing was changed.',
  'already-locked': () => 'This person is locked already.',
  'not-locked': () => 'This person is not locked.',
  'locked-first': () => 'This person is locked. Unlock first, then make a code.',
  'has-left': () => 'This person no longer works here. The record stays as it is.',
  'training-too-far': () => 'This date is more than three years ahead. Check the year.',
}

export const PIN_SENTENCES: Readonly<Record<PinFault, string>> = {
  'pin-not-digits': `A PIN has ${String(PIN_DIGITS.least)} to ${String(PIN_DIGITS.most)} digits.`,
  'pin-easy': 'This PIN is too easy to guess: not one digit again and again, and not digits in a row.',
  'pin-of-badge': 'This PIN is too easy to guess: it holds the digits that stand on the badge, or is part of them.',
}

export const PINS_DIFFER = 'The two PINs differ. Type the same PIN twice.'

/** Why a PIN was not set with a code. One sentence for an unknown badge, a wrong code, a used one and none at all. */
export const SET_PIN_SENTENCES = {
  'code-wrong':
    'Badge and code do not match, or the code was used already. Check both, or ask for a new code. If you have just set your PIN, sign in with it.',
  'code-expired': `This code is older than ${String(PIN_CODE_HOURS)} hours. Ask for a new one.`,
  'code-not-read': `The code has ${String(PIN_CODE_LENGTH)} letters and digits. Type it as it was shown to you.`,
} as const

export const OWN_PIN_SENTENCES: Sentences<PinFault | 'pin-same'> = {
  'pin-not-digits': () => PIN_SENTENCES['pin-not-digits'],
  'pin-easy': () => PIN_SENTENCES['pin-easy'],
  'pin-of-badge': () => PIN_SENTENCES['pin-of-badge'],
  'pin-same': () => 'This is the PIN you have. Choose another.',
}

/** Training as a word and a shape. */
export const TRAINING_MARK: Readonly<
  Record<TrainingState, { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'done' }>
> = {
  'not-known': { shape: '–', word: 'Not known', tone: 'calm' },
  valid: { shape: '●', word: 'Trained', tone: 'done' },
  'ends-soon': { shape: '◐', word: 'Ends soon', tone: 'due' },
  ended: { shape: '▲', word: 'Ended', tone: 'due' },
}

/** To the nurse herself, on the Round and at a check; it stops nothing. */
export function trainingEnded(until: string): string {
  return `Your meter training ended on ${formatDate(until)}: ask your educator.`
}
