/** The ward policy's rules for the second check, and a dose voided by a newer policy. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Dose, ProductRead } from '../../shared/dose/dose.ts'
import { giveDose } from '../../shared/dose/give.ts'
import { mayCheckInsulin, mayGiveInsulin } from '../../shared/dose/may-give.ts'
import { voidIfPolicyChanged } from '../../shared/dose/policy-changed.ts'
import { readProduct } from '../../shared/dose/product.ts'
import { answerSecondCheck, needsSecondCheck, refuseSigner } from '../../shared/dose/second-check.ts'
import { doseState, isUnsettled, unaccountedDose, validUntilMs } from '../../shared/dose/state.ts'
import type { Role } from '../../shared/ledger/events.ts'
import { INSULIN_CLASS, type InsulinName } from '../../shared/order/order.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { maskedDose, maskedFor } from '../../shared/reading/mask.ts'
import { doseOf, minutes, NOW_MS, POLICY, reading } from '../support/dose.ts'
import { someFacts } from '../support/makers.ts'

const FIRST = 'nurse00000000001'
const second = { staffId: 'nurse00000000002', role: 'floor-nurse', wardIds: ['ward000000000001'] } as const
const insulins = Object.keys(INSULIN_CLASS) as InsulinName[]
const of = (secondCheck: Partial<WardPolicy['secondCheck']>, dose: Partial<WardPolicy['dose']> = {}): WardPolicy => ({
  ...POLICY,
  secondCheck: { ...POLICY.secondCheck, ...secondCheck },
  dose: { ...POLICY.dose, ...dose },
})

describe('insulins that need a second check', () => {
  it('are by default all, except for zero units', () => {
    expect(
      insulins.map((insulin) => [needsSecondCheck(insulin, 4, POLICY), needsSecondCheck(insulin, 0, POLICY)]),
    ).toEqual(insulins.map(() => [true, false]))
  })
  it('property: are the listed ones, and zero only where policy says so', () => {
    fc.assert(
      fc.property(
        fc.subarray(insulins),
        fc.constantFrom(...insulins),
        fc.integer({ min: 0, max: 40 }),
        fc.boolean(),
        (listed, insulin, halves, zero) => {
          const needs = needsSecondCheck(insulin, halves / 2, of({ insulins: listed }, { zeroNeedsSecondCheck: zero }))
          expect(needs).toBe(listed.includes(insulin) && (halves > 0 || zero))
        },
      ),
    )
  })
})

describe('roles that may give one', () => {
  it.each<[Role, readonly boolean[]]>([
    ['floor-nurse', [true, false]],
    ['charge-nurse', [true, true]],
    ['educator', [false, false]],
    ['administrator', [false, false]],
  ])('%s', (role, [byDefault, chargeOnly]) => {
    expect([mayCheckInsulin(role, POLICY), mayCheckInsulin(role, of({ roles: ['charge-nurse'] }))]).toEqual([
      byDefault,
      chargeOnly,
    ])
    expect(mayCheckInsulin(role, of({ roles: [] }))).toBe(false)
    expect(!mayCheckInsulin(role, POLICY) || mayGiveInsulin(role)).toBe(true)
  })
  it('a role that policy leaves out is refused with any answer, and so is the same person', () => {
    const policy = of({ roles: ['charge-nurse'] })
    const check = (signer: { readonly staffId: string; readonly role: Role; readonly wardIds: readonly string[] }) =>
      answerSecondCheck({
        dose: doseOf(),
        reading: reading(200),
        knows: new Set([FIRST]),
        policy,
        signer,
        glucose: { unit: 'mg/dL', value: 200 },
        units: 6,
        nowMs: NOW_MS + minutes(1),
      })
    expect(check(second)).toMatchObject({ reason: 'signer-role-not-by-policy' })
    expect(refuseSigner(doseOf(), new Set(), second, policy)).toMatchObject({ reason: 'signer-role-not-by-policy' })
    expect(check({ ...second, role: 'charge-nurse' })).toMatchObject({ ok: true, value: { agreed: true } })
    expect(check({ ...second, role: 'charge-nurse', staffId: FIRST })).toMatchObject({
      reason: 'signer-is-first-nurse',
    })
  })
})

describe('a dose without a second check', () => {
  const dose = (parts: Partial<Dose> = {}): Dose => doseOf({}, { secondCheckRequired: false, ...parts })
  const product: ProductRead = {
    byId: FIRST,
    atMs: NOW_MS + minutes(3),
    insulin: 'insulin lispro',
    concentration: 'U-100',
    expiresOn: '2027-01-31',
    units: 6,
  }
  const read = (signerId: string, parts: Partial<Dose> = {}, nowMs = NOW_MS + minutes(3)) =>
    readProduct({
      dose: dose(parts),
      policy: POLICY,
      nowMs,
      today: '2026-03-10',
      signerId,
      wristband: 'W1',
      patient: { wristband: 'W1', bed: '4' },
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: 6,
    })
  it('is drawn up at once, until the reading is too old', () => {
    expect([doseState(dose(), POLICY, NOW_MS), isUnsettled('to-draw-up')]).toEqual(['to-draw-up', true])
    expect(validUntilMs(dose(), POLICY)).toBe(NOW_MS - minutes(5) + minutes(60))
    expect(doseState(dose(), POLICY, NOW_MS + minutes(55) + 1)).toBe('lapsed')
  })
  it('has its product read only by the nurse who worked it out', () => {
    expect(read(FIRST)).toEqual({ ok: true, value: product })
    expect(read(second.staffId)).toMatchObject({ reason: 'not-the-first-nurse' })
    expect(read(FIRST, { product })).toMatchObject({ reason: 'product-already-read' })
    expect(read(FIRST, {}, NOW_MS + minutes(56))).toMatchObject({ reason: 'dose-lapsed' })
    expect(read(FIRST, { voided: { reason: 'policy-changed', atMs: NOW_MS } })).toMatchObject({ reason: 'dose-void' })
  })
  it('is given within the policy’s minutes, and never unread', () => {
    const give = (parts: Partial<Dose>, afterMin: number) =>
      giveDose({
        dose: dose(parts),
        policy: POLICY,
        nowMs: NOW_MS + minutes(afterMin),
        atMs: NOW_MS + minutes(afterMin),
        wristband: 'W1',
        patient: { wristband: 'W1', bed: '4' },
        site: { area: 'abdomen', side: 'left' },
        said: { food: 'tray-here', trayInMin: null, willEat: 'yes' },
        order: null,
        bedside: someFacts(),
        trayDelayedToMs: null,
        alreadyGiven: null,
      })
    expect(give({}, 4)).toMatchObject({ reason: 'dose-not-verified' })
    expect(doseState(dose({ product }), POLICY, NOW_MS + minutes(4))).toBe('verified')
    expect(give({ product }, 33)).toMatchObject({ ok: true })
    expect(give({ product }, 34)).toMatchObject({ reason: 'dose-lapsed' })
    expect(unaccountedDose([dose({ product })], 'insulin lispro', POLICY, NOW_MS + minutes(34))).not.toBeNull()
  })
  it('gets no second check and is masked from nobody', () => {
    const answered = answerSecondCheck({
      dose: dose(),
      reading: reading(200),
      knows: new Set([FIRST]),
      policy: POLICY,
      signer: second,
      glucose: { unit: 'mg/dL', value: 200 },
      units: 6,
      nowMs: NOW_MS + minutes(1),
    })
    expect(answered).toMatchObject({ reason: 'second-check-not-needed' })
    expect(maskedDose(second, dose(), { nowMs: NOW_MS, policy: POLICY })).toBe(false)
    expect(maskedFor(second, reading(200), [dose()], { nowMs: NOW_MS, policy: POLICY })).toBe(false)
    expect(maskedFor(second, reading(200), [doseOf()], { nowMs: NOW_MS, policy: POLICY })).toBe(true)
  })
})

describe('a newer policy', () => {
  const versions = [
    { version: 1, fromMs: NOW_MS - minutes(5000) },
    { version: 2, fromMs: NOW_MS + minutes(10) },
    { version: 3, fromMs: NOW_MS + minutes(20) },
  ]
  const at = (count: number) => versions[count - 1] ?? { version: 0, fromMs: 0 }
  it('voids a dose from the instant the first later version counts', () => {
    const dose = doseOf()
    expect(voidIfPolicyChanged(dose, at(1), () => versions)).toBe(dose)
    expect(voidIfPolicyChanged(dose, at(2), () => versions).voided).toEqual({
      reason: 'policy-changed',
      atMs: NOW_MS + minutes(10),
    })
    expect(voidIfPolicyChanged(dose, at(3), () => versions).voided).toEqual({
      reason: 'policy-changed',
      atMs: NOW_MS + minutes(10),
    })
    expect(
      doseState(
        voidIfPolicyChanged(dose, at(2), () => versions),
        POLICY,
        NOW_MS + minutes(11),
      ),
    ).toBe('void')
  })
  it('does not void a dose that was settled or voided before', () => {
    for (const parts of [
      { outcome: { kind: 'withheld', byId: FIRST, atMs: NOW_MS, reason: 'x' } },
      { voided: { reason: 'order-changed', atMs: NOW_MS } },
    ] as const) {
      const dose = doseOf({}, parts)
      expect(voidIfPolicyChanged(dose, at(3), () => versions)).toBe(dose)
    }
  })
})
