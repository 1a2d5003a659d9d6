/** PINs that are easy to guess, and the code with which a person sets one. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  isCodeInDate,
  PIN_CODE_LENGTH,
  PIN_CODE_LETTERS,
  PIN_DIGITS,
  pinFault,
  readPinCode,
} from '../../shared/staff/pin.ts'

describe('a new PIN', () => {
  it.each([
    ['12345', 'N1001', 'pin-not-digits'],
    ['1234567890123', 'N1001', 'pin-not-digits'],
    ['12a456', 'N1001', 'pin-not-digits'],
    ['١٢٣٤٥٦', 'N1001', 'pin-not-digits'],
    [' 274916', 'N1001', 'pin-not-digits'],
    ['', 'N1001', 'pin-not-digits'],
    ['000000', 'N1001', 'pin-easy'],
    ['777777777777', 'N1001', 'pin-easy'],
    ['123456', 'N1001', 'pin-easy'],
    ['987654', 'N1001', 'pin-easy'],
    ['567890', 'N1001', 'pin-easy'],
    ['890123456789', 'N1001', 'pin-easy'],
    ['210987', 'N1001', 'pin-easy'],
    // the badge's digits, whole or as a part
    ['274916', 'N274916', 'pin-of-badge'],
    ['274916', '27-49-16', 'pin-of-badge'],
    ['741001', 'N1001', 'pin-of-badge'],
    ['100174', 'N1001', 'pin-of-badge'],
    ['749162', '0027491620', 'pin-of-badge'],
    // three digits of a badge occur in many PINs by chance
    ['741008', 'N100', null],
    ['274916', 'N1001', null],
    ['111112', 'N1001', null],
    ['274916', '', null],
    ['493827160592', 'N1001', null],
  ] as const)('%j for badge %j: %s', (pin, badge, fault) => {
    expect(pinFault(pin, badge)).toBe(fault)
  })

  it('property: an accepted PIN has 6 to 12 digits with at least two different steps', () => {
    fc.assert(
      fc.property(fc.stringMatching(/^[0-9]{4,14}$/), fc.stringMatching(/^[A-Z0-9]{0,8}$/), (pin, badge) => {
        if (pinFault(pin, badge) !== null) return
        expect(pin.length).toBeGreaterThanOrEqual(PIN_DIGITS.least)
        expect(pin.length).toBeLessThanOrEqual(PIN_DIGITS.most)
        expect(new Set(pin).size).toBeGreaterThan(1)
      }),
    )
  })
})

describe('a code', () => {
  it.each([
    ['ACDEFHJK', 'ACDEFHJK'],
    ['acde fhjk', 'ACDEFHJK'],
    [' ACDE-FHJK ', 'ACDEFHJK'],
    ['ACDEFHJ', null],
    ['ACDEFHJKM', null],
    ['ACDEFHJ0', null],
    ['ACDEFHJÉ', null],
    ['', null],
  ])('%j is read as %j', (typed, code) => {
    expect(readPinCode(typed)).toBe(code)
  })

  it('has no letters that look alike', () => {
    for (const pair of ['0O', '1I', '1L', '5S', '2Z', '8B', 'UV', 'QO', '6G'])
      expect(
        [...pair].every((letter) => PIN_CODE_LETTERS.includes(letter)),
        pair,
      ).toBe(false)
    expect(new Set(PIN_CODE_LETTERS).size).toBe(PIN_CODE_LETTERS.length)
    // 35 bits, tried five times in five minutes
    expect(Math.log2(PIN_CODE_LETTERS.length) * PIN_CODE_LENGTH).toBeGreaterThan(35)
  })

  it('is valid up to its end only', () => {
    expect([999, 1000, 1001].map((nowMs) => isCodeInDate({ expiresAtMs: 1000 }, nowMs))).toEqual([true, false, false])
  })
})
