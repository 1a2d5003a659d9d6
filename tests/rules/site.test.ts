/** Rotation by common practice: sides of the middle and ring fingers, never the last one again. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { InjectionSite } from '../../shared/dose/dose.ts'
import { INJECTION_SITES, sameInjectionSite, suggestInjectionSite } from '../../shared/dose/injection-site.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { FingerSite } from '../../shared/reading/reading.ts'
import { isRestricted, sameFinger, suggestFinger } from '../../shared/reading/site.ts'
import type { RestrictedHand } from '../../shared/stay/stay.ts'

const { fingers } = defaultPolicy('mg/dL', 'UTC')
const anyFinger = fc.record({
  hand: fc.constantFrom('left' as const, 'right' as const),
  finger: fc.constantFrom('index' as const, 'middle' as const, 'ring' as const, 'little' as const),
})
const restriction = fc.record({
  hand: fc.constantFrom('left' as const, 'right' as const),
  reason: fc.constantFrom<RestrictedHand['reason']>('drip', 'fistula', 'swelling', 'injury'),
})
const left: RestrictedHand = { hand: 'left', reason: 'fistula' }
const right: RestrictedHand = { hand: 'right', reason: 'drip' }

describe('finger to prick', () => {
  it('starts with the policy’s first', () => {
    expect(suggestFinger([], [], fingers)).toEqual({ site: { hand: 'left', finger: 'middle' }, reason: 'never-used' })
  })
  it('is the one used longest ago', () => {
    const history: FingerSite[] = [fingers[2], fingers[0], fingers[3], fingers[1], fingers[2]] as FingerSite[]
    expect(suggestFinger(history, [], fingers)).toEqual({ site: fingers[1], reason: 'least-recent' })
  })
  it('leaves out a restricted hand', () => {
    expect(suggestFinger([], [left], fingers).site).toEqual({ hand: 'right', finger: 'middle' })
  })
  it('is none when every hand is restricted', () => {
    expect(suggestFinger([], [left, right], fingers)).toEqual({ site: null, reason: 'no-finger-left' })
  })
  it('is none rather than the last finger again', () => {
    const only: FingerSite = { hand: 'left', finger: 'ring' }
    expect(suggestFinger([only], [], [only])).toEqual({ site: null, reason: 'no-finger-left' })
  })
  it('property: is never the last or a restricted one, always the policy’s, and none only when none is left', () => {
    fc.assert(
      fc.property(
        fc.array(anyFinger, { maxLength: 30 }),
        fc.array(restriction, { maxLength: 2 }),
        fc.uniqueArray(anyFinger, { minLength: 1, maxLength: 8, comparator: sameFinger }),
        (history, hands, allowed) => {
          const { site } = suggestFinger(history, hands, allowed)
          const possible = allowed.filter(
            (finger) => !isRestricted(finger, hands) && !(history[0] !== undefined && sameFinger(history[0], finger)),
          )
          if (site === null) expect(possible).toEqual([])
          else expect(possible.some((finger) => sameFinger(finger, site))).toBe(true)
        },
      ),
    )
  })
  it('property: rotates evenly over all allowed fingers, from any history', () => {
    fc.assert(
      fc.property(
        fc.array(anyFinger, { maxLength: 12 }),
        fc.constantFrom<readonly RestrictedHand[]>([], [left], [right]),
        (before, hands) => {
          let history: readonly FingerSite[] = before
          const allowed = fingers.filter((finger) => !isRestricted(finger, hands))
          const taken: FingerSite[] = []
          for (let i = 0; i < allowed.length * 10; i++) {
            const { site } = suggestFinger(history, hands, fingers)
            if (site === null) throw new Error('no finger though some are allowed')
            taken.push(site)
            history = [site, ...history]
          }
          for (const finger of allowed) expect(taken.filter((one) => sameFinger(one, finger)).length).toBe(10)
        },
      ),
    )
  })
})

describe('injection site', () => {
  it('rotates over abdomen, thigh, upper arm and buttock on both sides', () => {
    expect(suggestInjectionSite([], [])).toEqual({ site: { area: 'abdomen', side: 'left' }, reason: 'never-used' })
    expect(suggestInjectionSite(INJECTION_SITES, [])).toEqual({
      site: { area: 'buttock', side: 'right' },
      reason: 'least-recent',
    })
  })
  it('leaves out the upper arm of a restricted side', () => {
    const history = INJECTION_SITES.filter(({ area }) => area !== 'upper-arm')
    expect(suggestInjectionSite(history, []).site).toEqual({ area: 'upper-arm', side: 'left' })
    expect(suggestInjectionSite(history, [left]).site).toEqual({ area: 'upper-arm', side: 'right' })
    expect(suggestInjectionSite(history, [left, right]).site).toEqual({ area: 'buttock', side: 'right' })
  })
  it('property: is never the last or a restricted arm, and rotates evenly', () => {
    const sites = fc.array(fc.constantFrom(...INJECTION_SITES), { maxLength: 20 })
    fc.assert(
      fc.property(sites, fc.array(restriction, { maxLength: 2 }), (before, hands) => {
        let history: readonly InjectionSite[] = before
        const taken: InjectionSite[] = []
        const allowed = INJECTION_SITES.filter(
          ({ area, side }) => area !== 'upper-arm' || !hands.some(({ hand }) => hand === side),
        )
        for (let i = 0; i < allowed.length * 4; i++) {
          const { site } = suggestInjectionSite(history, hands)
          if (history[0] !== undefined) expect(sameInjectionSite(site, history[0])).toBe(false)
          taken.push(site)
          history = [site, ...history]
        }
        for (const site of allowed) expect(taken.filter((one) => sameInjectionSite(one, site)).length).toBe(4)
      }),
    )
  })
})
