/** PINs that are too easy to guess, the one-time code for setting the first PIN, and the events that both leave. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'

/** The event that a code for the person's PIN was made, by whom and when. */
export function pinCodeMade(staffId: string, actorId: string, nowMs: number): LedgerEvent {
  return { ...eventHead({ wardId: null }, actorId, nowMs), type: 'pin-code-made', body: { staffId } }
}

/** The event that a person set their PIN: with a one-time code, or by themselves. */
export function pinSet(staffId: string, by: 'code' | 'self', nowMs: number): LedgerEvent {
  return { ...eventHead({ wardId: null }, staffId, nowMs), type: 'pin-set', body: { staffId, by } }
}

/** Allowed digits of a PIN. With the attempt limits, six digits cannot be guessed in a shift. */
export const PIN_DIGITS = { least: 6, most: 12 } as const

/** Shorter badge numbers appear in PINs by chance, so they are not compared. */
const BADGE_DIGITS_LEAST = 4

export type PinFault = 'pin-not-digits' | 'pin-easy' | 'pin-of-badge'

/**
 * What is wrong with a new PIN. Null: nothing. Besides a wrong length it refuses one repeated digit, and digits that
 * count up or down by one, including 9 to 0. It also refuses a PIN that contains the badge's digits or is contained in
 * them. They are printed on the badge that is shown with the PIN. Weak choices of NIST SP 800-63B 5.1.1.2 (M):
 * repetitive or sequential characters, and words derived from the account.
 */
export function pinFault(pin: string, badge: string): PinFault | null {
  if (!/^[0-9]+$/.test(pin) || pin.length < PIN_DIGITS.least || pin.length > PIN_DIGITS.most) return 'pin-not-digits'
  if (isRun(pin)) return 'pin-easy'
  const digits = badge.replace(/[^0-9]/g, '')
  if (digits.length >= BADGE_DIGITS_LEAST && (pin.includes(digits) || digits.includes(pin))) return 'pin-of-badge'
  return null
}

function isRun(pin: string): boolean {
  const steps = [...pin].slice(1).map((digit, at) => (Number(digit) - Number(pin[at]) + 10) % 10)
  return [0, 1, 9].some((step) => steps.every((one) => one === step))
}

/** Characters of a one-time code. None is easily confused with another, read aloud or on a screen (common practice). */
export const PIN_CODE_LETTERS = 'ACDEFHJKMNPRTWXY34679'
export const PIN_CODE_LENGTH = 8
/** Long enough for somebody on another shift, short enough that a lost slip of paper soon expires (common practice). */
export const PIN_CODE_HOURS = 24

/** Normalizes a typed code: lower case, blanks and hyphens are accepted. Null: not a code. */
export function readPinCode(typed: string): string | null {
  const code = typed.toUpperCase().replace(/[\s-]/g, '')
  return code.length === PIN_CODE_LENGTH && [...code].every((letter) => PIN_CODE_LETTERS.includes(letter)) ? code : null
}

/** True while the code may be used, by ward time. Its end is excluded. */
export function isCodeInDate(code: { readonly expiresAtMs: number }, nowMs: number): boolean {
  return nowMs < code.expiresAtMs
}
