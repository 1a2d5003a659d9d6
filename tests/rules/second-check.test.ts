/** The second check: who may, when, what agrees; and the product read by the same nurse. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Dose, SecondAnswer } from '../../shared/dose/dose.ts'
import type { Glucose } from '../../shared/glucose/value.ts'
import { readProduct } from '../../shared/dose/product.ts'
import { answerSecondCheck, refuseSigner, startAgain, type Signer } from '../../shared/dose/second-check.ts'
import { doseOf, minutes, NOW_MS, POLICY, reading } from '../support/dose.ts'

const WARD = 'ward000000000001'
const second: Signer = { staffId: 'nurse00000000002', role: 'floor-nurse', wardIds: [WARD] }
const charge: Signer = { staffId: 'nurse00000000003', role: 'charge-nurse', wardIds: [WARD] }
const value = (mgPerDl: number | 'LO' | 'HI'): Glucose => ({ unit: 'mg/dL', value: mgPerDl })
const differed: SecondAnswer = {
  byId: second.staffId,
  atMs: NOW_MS + minutes(1),
  glucose: value(200),
  units: 4,
  agreed: false,
}
const agreed: SecondAnswer = { ...differed, units: 6, agreed: true }
const restart = { byId: 'nurse00000000001', atMs: NOW_MS + minutes(2) }
const knows = new Set(['nurse00000000001', 'nurse00000000007'])

type Change = Partial<Parameters<typeof answerSecondCheck>[0]>
const check = (parts: Change = {}) =>
  answerSecondCheck({
    dose: doseOf(),
    reading: reading(200),
    knows,
    policy: POLICY,
    signer: second,
    glucose: value(200),
    units: 6,
    nowMs: NOW_MS + minutes(5),
    ...parts,
  })

describe('roles', () => {
  it.each<[string, Signer, string]>([
    ['the nurse who proposed it', { ...second, staffId: 'nurse00000000001' }, 'signer-is-first-nurse'],
    ['somebody who charted the value before', { ...second, staffId: 'nurse00000000007' }, 'signer-took-reading'],
    ['an educator', { ...second, role: 'educator' }, 'signer-role-may-not'],
    ['an administrator', { ...second, role: 'administrator' }, 'signer-role-may-not'],
    ['a nurse of another ward', { ...second, wardIds: ['ward000000000002'] }, 'signer-not-on-ward'],
    ['a nurse of no ward', { ...second, wardIds: [] }, 'signer-not-on-ward'],
  ])('refuses %s with any answer', (_name, signer, reason) => {
    expect(check({ signer })).toMatchObject({ ok: false, reason })
    expect(check({ signer, units: 9 })).toMatchObject({ ok: false, reason })
    expect(refuseSigner(doseOf(), knows, signer, POLICY)).toMatchObject({ reason })
  })
  it('accepts another floor nurse, or the charge nurse', () => {
    expect([check().ok, check({ signer: charge }).ok]).toEqual([true, true])
  })
})

describe('agreement of both answers', () => {
  it.each<[string, Change, boolean]>([
    ['both', {}, true],
    ['another dose', { units: 4 }, false],
    ['half a unit apart', { units: 6.5 }, false],
    ['another value', { glucose: value(201) }, false],
    ['another value, same step and dose', { glucose: value(210) }, false],
    ['LO', { glucose: value('LO') }, false],
    ['digits turned around', { glucose: value(20) }, false],
  ])('%s', (_name, parts, agrees) => {
    expect(check(parts)).toMatchObject({ ok: true, value: { byId: second.staffId, agreed: agrees } })
  })
  it('never agrees with the other unit', () => {
    expect(check({ glucose: { unit: 'mmol/L', value: 200 } })).toMatchObject({ value: { agreed: false } })
  })
  it('accepts HI from the meter for a direction on HI', () => {
    const dose = doseOf({ glucose: 'HI', inputs: { directionId: 'd', directedUnits: 8 } })
    expect(check({ dose, reading: reading('HI'), glucose: value('HI'), units: 8 })).toMatchObject({
      value: { agreed: true },
    })
    expect(check({ dose, reading: reading('HI'), glucose: value(600), units: 8 })).toMatchObject({
      value: { agreed: false },
    })
  })
  it('asks for no value when a dose has no reading', () => {
    const dose = { ...doseOf(), readingId: null, kind: 'scheduled' as const }
    expect(check({ dose, reading: null, glucose: null })).toMatchObject({ value: { agreed: true, glucose: null } })
    expect(check({ glucose: null })).toMatchObject({ ok: false, reason: 'second-value-missing' })
  })
  it('property: agrees if and only if value and units are the first nurse’s', () => {
    fc.assert(
      fc.property(fc.integer({ min: 195, max: 205 }), fc.constantFrom(4, 5, 5.5, 6, 6.5, 8), (typed, units) => {
        expect(check({ glucose: value(typed), units })).toMatchObject({
          ok: true,
          value: { agreed: typed === 200 && units === 6 },
        })
      }),
    )
  })
})

describe('timing', () => {
  it.each<[string, Dose, number, string]>([
    ['void', doseOf({}, { voided: { reason: 'newer-reading', atMs: NOW_MS } }), 1, 'dose-void'],
    ['lapsed', doseOf(), 56, 'dose-lapsed'],
    ['differed and not started again', doseOf({}, { answers: [differed] }), 5, 'dose-differed'],
    ['agreed: the other checker was first', doseOf({}, { answers: [agreed] }), 5, 'dose-already-checked'],
    ['settled', doseOf({}, { outcome: { kind: 'withheld', byId: 'n', atMs: NOW_MS, reason: 'r' } }), 5, 'dose-settled'],
  ])('refuses: %s', (_name, dose, after, reason) => {
    expect(check({ dose, nowMs: NOW_MS + minutes(after) })).toMatchObject({ ok: false, reason })
  })
  it('allows another answer after a difference and a restart, by the same nurse too', () => {
    expect(check({ dose: doseOf({}, { answers: [differed], restarts: [restart] }) })).toMatchObject({
      ok: true,
      value: { agreed: true },
    })
  })
  it('requires the charge nurse after the policy’s two differences', () => {
    const twice = doseOf({}, { answers: [differed, differed], restarts: [restart, restart] })
    expect(check({ dose: twice })).toMatchObject({ ok: false, reason: 'charge-nurse-needed' })
    expect(check({ dose: twice, signer: charge }).ok).toBe(true)
    const stricter = { ...POLICY, dose: { ...POLICY.dose, mismatchesBeforeCharge: 1 } }
    expect(check({ dose: doseOf({}, { answers: [differed], restarts: [restart] }), policy: stricter })).toMatchObject({
      reason: 'charge-nurse-needed',
    })
  })
})

describe('restart', () => {
  const again = (parts: Partial<Parameters<typeof startAgain>[0]> = {}) =>
    startAgain({
      dose: doseOf({}, { answers: [differed] }),
      reading: reading(200),
      policy: POLICY,
      staffId: 'nurse00000000001',
      glucose: value(200),
      nowMs: NOW_MS + minutes(2),
      ...parts,
    })
  it('by the first nurse, with the value read from the meter again', () => {
    expect(again().ok).toBe(true)
  })
  it.each([
    ['nothing differed', { dose: doseOf() }, 'dose-not-differed'],
    ['somebody else', { staffId: second.staffId }, 'not-first-nurse'],
    ['another value', { glucose: value(202) }, 'meter-value-differs'],
    ['no value', { glucose: null }, 'meter-value-differs'],
    ['too late', { nowMs: NOW_MS + minutes(100) }, 'dose-not-differed'],
  ] as const)('refuses: %s', (_name, parts, reason) => {
    expect(again(parts)).toMatchObject({ ok: false, reason })
  })
})

describe('product', () => {
  const dose = doseOf({}, { answers: [agreed] })
  const product = (parts: Partial<Parameters<typeof readProduct>[0]> = {}) =>
    readProduct({
      dose,
      policy: POLICY,
      nowMs: NOW_MS + minutes(5),
      today: '2026-03-10',
      signerId: second.staffId,
      wristband: 'W1',
      patient: { wristband: 'W1', bed: '4' },
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2026-12-31',
      units: 6,
      ...parts,
    })
  it('is signed by the nurse whose answer agreed', () => {
    expect(product()).toMatchObject({ ok: true, value: { byId: second.staffId, units: 6, atMs: NOW_MS + minutes(5) } })
  })
  it.each([
    ['somebody else', { signerId: charge.staffId }, 'not-the-second-nurse'],
    ['the first nurse', { signerId: 'nurse00000000001' }, 'not-the-second-nurse'],
    ['before agreement', { dose: doseOf() }, 'dose-not-agreed'],
    ['after a difference', { dose: doseOf({}, { answers: [differed] }) }, 'dose-not-agreed'],
    ['void', { dose: { ...dose, voided: { reason: 'stay-moved', atMs: NOW_MS } } }, 'dose-void'],
    ['lapsed', { nowMs: NOW_MS + minutes(32) }, 'dose-lapsed'],
    [
      'signed before',
      {
        dose: {
          ...dose,
          product: {
            byId: second.staffId,
            atMs: NOW_MS,
            insulin: 'insulin lispro',
            concentration: 'U-100',
            expiresOn: '2026-12-31',
            units: 6,
          },
        },
      },
      'product-already-read',
    ],
    ['another patient’s wristband', { wristband: 'W2' }, 'wristband-wrong'],
    ['a look-alike insulin', { insulin: 'insulin aspart' }, 'insulin-differs'],
    ['long-acting insulin', { insulin: 'insulin glargine' }, 'insulin-differs'],
    ['U-500', { concentration: 'U-500' }, 'concentration-not-u100'],
    ['out of date yesterday', { expiresOn: '2026-03-09' }, 'product-expired'],
    ['another dose in the syringe', { units: 60 }, 'syringe-differs'],
    ['half a unit more', { units: 6.5 }, 'syringe-differs'],
  ] as const)('refuses: %s', (_name, parts, reason) => {
    expect(product(parts)).toMatchObject({ ok: false, reason })
  })
  it('can be used through the printed day', () => {
    expect(product({ expiresOn: '2026-03-10' }).ok).toBe(true)
  })
})
