/**
 * Exact arithmetic for doses. An amount is a fraction of integers until the one rounding at the end. So binary rounding
 * can never turn a tie into a near miss.
 */
import type { Fraction } from '../dose/dose.ts'
import type { Rounding } from './order.ts'

export const ZERO: Fraction = { numerator: 0, denominator: 1 }

function commonDivisor(a: number, b: number): number {
  let [high, low] = [Math.abs(a), Math.abs(b)]
  while (low !== 0) [high, low] = [low, high % low]
  return high
}

/**
 * numerator / denominator in lowest terms, with the sign on the numerator. Throws unless both are safe integers and the
 * divisor is positive.
 */
export function fraction(numerator: number, denominator: number): Fraction {
  if (!Number.isSafeInteger(numerator) || !Number.isSafeInteger(denominator) || denominator <= 0)
    throw new Error(`not an exact fraction: ${String(numerator)}/${String(denominator)}`)
  const divisor = commonDivisor(numerator, denominator)
  // || 0 turns -0 into 0; a comparison would otherwise treat them as different
  return { numerator: numerator / divisor || 0, denominator: denominator / divisor }
}

/** True when the number has at most two decimals, the finest that an order may use. */
export function hasAtMostTwoDecimals(value: number): boolean {
  return Number.isFinite(value) && Math.round(value * 100) / 100 === value
}

/** The exact fraction of a number with at most two decimals: 0.5 is 1/2, 12.5 is 25/2. Throws on a finer number. */
export function fractionOf(value: number): Fraction {
  if (!hasAtMostTwoDecimals(value)) throw new Error(`${String(value)} has more than two decimals`)
  return fraction(Math.round(value * 100), 100)
}

export function add(a: Fraction, b: Fraction): Fraction {
  return fraction(a.numerator * b.denominator + b.numerator * a.denominator, a.denominator * b.denominator)
}

export function multiply(a: Fraction, b: Fraction): Fraction {
  return fraction(a.numerator * b.numerator, a.denominator * b.denominator)
}

/** a / b; b must be above 0. */
export function divide(a: Fraction, b: Fraction): Fraction {
  return fraction(a.numerator * b.denominator, a.denominator * b.numerator)
}

/**
 * The one rounding at the end: to whole or half units, with ties as ordered (down by default). A sum below 0 gives 0
 * units, because insulin cannot be removed.
 *
 * @example roundUnits({ numerator: 5, denominator: 2 }, { to: 1, ties: 'down' }) // 2
 */
export function roundUnits(sum: Fraction, rounding: Rounding): number {
  if (sum.numerator <= 0) return 0
  const steps = rounding.to === 1 ? sum : fraction(sum.numerator * 2, sum.denominator)
  const down = Math.floor(steps.numerator / steps.denominator)
  const twiceRest = 2 * (steps.numerator - down * steps.denominator)
  const up = twiceRest > steps.denominator || (twiceRest === steps.denominator && rounding.ties === 'up')
  return (up ? down + 1 : down) * rounding.to
}
