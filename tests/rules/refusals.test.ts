/** A refusal and its sentence agree about the details, or the program does not compile. */
import { describe, expect, it } from 'vitest'
import type { GuardFinding } from '../../shared/dose/dose.ts'
import { refuse, sentenceOf, withDetails, type Outcome, type Sentences } from '../../shared/outcome.ts'

const SENTENCES: Sentences<'tray-too-far' | 'dose-void'> = {
  'tray-too-far': ({ found, limit }) => `${found} of ${limit}`,
  'dose-void': () => 'void',
}

describe('a refusal', () => {
  it('fills its sentence in', () => {
    expect(sentenceOf(SENTENCES, refuse('tray-too-far', { found: 20, limit: 15 }))).toBe('20 of 15')
    expect(sentenceOf(SENTENCES, refuse('dose-void'))).toBe('void')
  })
  it('may name its field, whatever its reason', () => {
    expect(refuse('dose-void', { field: 'units' }).details).toEqual({ field: 'units' })
    expect(withDetails(refuse('tray-too-far', { found: 20, limit: 15 }), { field: 'tray' }).details).toEqual({
      found: 20,
      limit: 15,
      field: 'tray',
    })
  })
  it('does not compile without its details, or with others', () => {
    const late = [20, 15].some((minutes) => minutes > 15)
    const wrong: readonly Outcome<never, 'tray-too-far' | 'dose-void'>[] = [
      // @ts-expect-error: no details
      refuse('tray-too-far'),
      // @ts-expect-error: no limit
      refuse('tray-too-far', { found: 20 }),
      // @ts-expect-error: a reason that has no details
      refuse('dose-void', { found: 20 }),
      // @ts-expect-error: it may be the reason that needs details
      refuse(late ? 'tray-too-far' : 'dose-void'),
      // @ts-expect-error: written by hand
      { ok: false, reason: 'tray-too-far', details: {} },
    ]
    expect(wrong).toHaveLength(5)
  })
  it('has no sentence that reads another detail, and none that is missing', () => {
    const wrong: readonly Sentences<'tray-too-far' | 'dose-void'>[] = [
      // @ts-expect-error: there is no such detail
      { ...SENTENCES, 'tray-too-far': ({ minutes }) => String(minutes) },
      // @ts-expect-error: no sentence for 'tray-too-far'
      { 'dose-void': () => 'void' },
    ]
    expect(wrong).toHaveLength(2)
  })
})

describe('a guard that did not pass', () => {
  it('does not compile without the details of its sentence', () => {
    const wrong: readonly GuardFinding[] = [
      // @ts-expect-error: no limit
      { guard: 'single-dose-limit', outcome: 'stops', details: { found: 21 } },
      // @ts-expect-error: no time at which the tray came
      { guard: 'meal-timing', outcome: 'warns', details: { found: 'reading-after-tray' } },
      // @ts-expect-error: an answer of the prescriber without who told it
      {
        guard: 'low-event-open',
        outcome: 'stops',
        details: { found: 'open', asks: 'prescriber', answer: 'came-back' },
      },
    ]
    expect(wrong).toHaveLength(3)
  })
})
