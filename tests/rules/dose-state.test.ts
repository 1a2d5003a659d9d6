/** The state of a dose by its facts and the time, and giving it. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Dose, DoseState, SecondAnswer } from '../../shared/dose/dose.ts'
import { recordDirection } from '../../shared/dose/direction.ts'
import { giveDose, notGiven, type FoodSaid } from '../../shared/dose/give.ts'
import { recordOutsideDose } from '../../shared/dose/outside.ts'
import { doseState, isUnsettled, validUntilMs } from '../../shared/dose/state.ts'
import { doseOf, minutes, NOW_MS, order, POLICY, reading } from '../support/dose.ts'
import { someFacts } from '../support/makers.ts'

const answer = (agreed: boolean, after = 2): SecondAnswer => ({
  byId: 'nurse00000000002',
  atMs: NOW_MS + minutes(after),
  glucose: { unit: 'mg/dL', value: 200 },
  units: agreed ? 6 : 4,
  agreed,
})
const restart = { byId: 'nurse00000000001', atMs: NOW_MS + minutes(3) }
const product = {
  byId: 'nurse00000000002',
  atMs: NOW_MS + minutes(5),
  insulin: 'insulin lispro' as const,
  concentration: 'U-100',
  expiresOn: '2026-12-31',
  units: 6,
}
const verified = doseOf({}, { answers: [answer(true)], product })
const site = { area: 'abdomen', side: 'left' } as const

describe('state', () => {
  // the reading is 5 min old at NOW, so an unchecked dose lapses 55 min later
  it.each<[string, Dose, number, DoseState]>([
    ['just proposed', doseOf(), 0, 'awaiting-second-check'],
    ['the last minute of the reading', doseOf(), 55, 'awaiting-second-check'],
    ['the reading is too old', doseOf(), 55.01, 'lapsed'],
    ['one answer differed', doseOf({}, { answers: [answer(false)] }), 3, 'differed'],
    ['started again', doseOf({}, { answers: [answer(false)], restarts: [restart] }), 4, 'awaiting-second-check'],
    ['differed twice', doseOf({}, { answers: [answer(false), answer(false)], restarts: [restart] }), 6, 'differed'],
    ['differed, then agreed', doseOf({}, { answers: [answer(false), answer(true)], restarts: [restart] }), 6, 'agreed'],
    ['agreed', doseOf({}, { answers: [answer(true)] }), 32, 'agreed'],
    ['agreed 30 min ago and more', doseOf({}, { answers: [answer(true)] }), 32.01, 'lapsed'],
    ['verified', verified, 32, 'verified'],
    ['verified, agreed 30 min ago and more', verified, 32.01, 'lapsed'],
    ['void', { ...verified, voided: { reason: 'newer-reading', atMs: NOW_MS } }, 6, 'void'],
    [
      'given',
      { ...verified, outcome: { kind: 'given', byId: 'n', atMs: NOW_MS, site, food: 'tray-here' } },
      600,
      'given',
    ],
    [
      'given, its reading corrected later',
      {
        ...verified,
        outcome: { kind: 'given', byId: 'n', atMs: NOW_MS, site, food: 'tray-here' },
        voided: { reason: 'reading-corrected', atMs: NOW_MS },
      },
      600,
      'given',
    ],
    ['withheld', { ...verified, outcome: { kind: 'withheld', byId: 'n', atMs: NOW_MS, reason: 'r' } }, 0, 'withheld'],
    ['refused', { ...verified, outcome: { kind: 'refused', byId: 'n', atMs: NOW_MS, reason: 'r' } }, 0, 'refused'],
    ['0 units, no check', doseOf({ glucose: 100 }, { secondCheckRequired: false }), 0, 'zero'],
    ['0 units, to be checked', doseOf({ glucose: 100 }), 0, 'awaiting-second-check'],
    ['0 units, checked', doseOf({ glucose: 100 }, { answers: [answer(true)] }), 3, 'zero'],
    [
      'a direction stands for an hour from being given',
      doseOf({ inputs: { directionId: 'd', directedUnits: 4, readingTakenAtMs: NOW_MS - minutes(50) } }),
      60,
      'awaiting-second-check',
    ],
  ])('%s', (_name, dose, after, state) => {
    expect(doseState(dose, POLICY, NOW_MS + minutes(after))).toBe(state)
  })

  it('property: time alone only lets a dose lapse; it never verifies, settles or restores it', () => {
    fc.assert(
      fc.property(
        fc.boolean(),
        fc.boolean(),
        fc.integer({ min: 0, max: 200 }),
        fc.integer({ min: 0, max: 200 }),
        (agreed, signed, first, more) => {
          const dose = doseOf({}, { answers: agreed ? [answer(true)] : [], product: agreed && signed ? product : null })
          const [early, late] = [
            doseState(dose, POLICY, NOW_MS + minutes(first)),
            doseState(dose, POLICY, NOW_MS + minutes(first + more)),
          ]
          expect([early, 'lapsed']).toContain(late)
          if (early === 'lapsed') expect(late).toBe('lapsed')
          expect(isUnsettled(early)).toBe(NOW_MS + minutes(first) <= validUntilMs(dose, POLICY))
        },
      ),
    )
  })
})

describe('giving', () => {
  const said: FoodSaid = { food: 'not-with-a-meal', trayInMin: null, willEat: 'yes' }
  type Change = Partial<Parameters<typeof giveDose>[0]>
  const give = (parts: Change = {}) =>
    giveDose({
      dose: verified,
      policy: POLICY,
      nowMs: NOW_MS + minutes(10),
      atMs: NOW_MS + minutes(9),
      wristband: 'W1',
      patient: { wristband: 'W1', bed: '4' },
      site,
      said,
      order: null,
      bedside: someFacts(),
      trayDelayedToMs: null,
      alreadyGiven: null,
      ...parts,
    })
  const withMeal = {
    ...doseOf({ order: { meal: { kind: 'fixed', units: { 'before-breakfast': 5 } } } }),
    answers: [answer(true)],
    product,
  }
  const afterMeal = { ...withMeal, kind: 'after-meal' as const }
  const settled: Dose = { ...verified, outcome: { kind: 'withheld', byId: 'n', atMs: NOW_MS, reason: 'r' } }
  const here: FoodSaid = { food: 'tray-here', trayInMin: null, willEat: 'yes' }
  // nil by mouth from the minute in which it is given
  const NIL = someFacts({ nilByMouth: { fromMs: NOW_MS + minutes(9), untilMs: null } })
  const eats = { willEat: 'yes', carbohydrateGrams: null, shareEatenPercent: null } as const
  const ruled = order({ notEating: { kind: 'hold-all' } })
  const forEating = { dose: { ...verified, inputs: { ...verified.inputs, meal: eats } }, order: ruled }

  it.each<[string, Change, string]>([
    ['the wrong wristband', { wristband: 'W2' }, 'wristband-wrong'],
    ['not verified', { dose: doseOf({}, { answers: [answer(true)] }) }, 'dose-not-verified'],
    ['not even checked', { dose: doseOf() }, 'dose-not-verified'],
    ['lapsed before it was signed', { dose: doseOf(), nowMs: NOW_MS + minutes(100) }, 'dose-lapsed'],
    ['too late', { nowMs: NOW_MS + minutes(40), atMs: NOW_MS + minutes(33) }, 'dose-lapsed'],
    [
      'the order ended by itself after the signature',
      { order: order({ stopsAtMs: NOW_MS + minutes(9) }) },
      'order-ended',
    ],
    ['in the future', { atMs: NOW_MS + minutes(11) }, 'given-in-future'],
    ['before it was signed', { atMs: NOW_MS + minutes(4) }, 'given-before-signed'],
    ['void', { dose: { ...verified, voided: { reason: 'newer-reading', atMs: NOW_MS + minutes(8) } } }, 'dose-void'],
    ['settled', { dose: settled }, 'dose-settled'],
    ['nothing said of the food', { said: { ...said, food: null } }, 'food-unanswered'],
    ['nothing said of eating', { said: { ...said, willEat: null } }, 'eating-unanswered'],
    ['nothing said, though it is settled too', { dose: settled, said: { ...said, food: null } }, 'food-unanswered'],
    ['a meal part, nil by mouth when it is given', { dose: withMeal, said: here, bedside: NIL }, 'patient-not-eating'],
    [
      'worked out for eating, and will not eat',
      { ...forEating, said: { ...here, willEat: 'no' } },
      'worked-out-for-eating',
    ],
    ['worked out for eating, nil by mouth', { ...forEating, said: here, bedside: NIL }, 'worked-out-for-eating'],
    ['a meal part with no food', { dose: withMeal }, 'food-not-coming'],
    [
      'a meal part, will not eat',
      { dose: withMeal, said: { food: 'tray-here', trayInMin: null, willEat: 'no' } },
      'patient-not-eating',
    ],
    [
      'a meal part, tray in 16 min',
      { dose: withMeal, said: { food: 'tray-coming', trayInMin: 16, willEat: 'yes' } },
      'tray-too-far',
    ],
    [
      'a meal part, tray coming some time',
      { dose: withMeal, said: { food: 'tray-coming', trayInMin: null, willEat: 'yes' } },
      'tray-minutes-missing',
    ],
  ])('refuses: %s', (_name, parts, reason) => {
    expect(give(parts)).toMatchObject({ ok: false, reason })
  })

  it.each<[string, Change]>([
    ['a correction with no food', {}],
    ['a correction, not eating', { said: { food: 'not-with-a-meal', trayInMin: null, willEat: 'no' } }],
    [
      'a meal part with the tray here',
      { dose: withMeal, said: { food: 'tray-here', trayInMin: null, willEat: 'yes' } },
    ],
    ['a meal part, tray in 15 min', { dose: withMeal, said: { food: 'tray-coming', trayInMin: 15, willEat: 'yes' } }],
    ['after the meal nothing is asked', { dose: afterMeal, said: { food: null, trayInMin: null, willEat: null } }],
    ['after the meal, nil by mouth since', { dose: afterMeal, bedside: NIL }],
    ['a correction as ordered, nil by mouth', { order: order(), bedside: NIL }],
    ['worked out for eating, and eats', { ...forEating, said: here }],
    [
      'a rule for not eating, and nobody was asked of a meal',
      {
        ...forEating,
        dose: { ...verified, inputs: { ...verified.inputs, meal: null } },
        said: { food: 'not-with-a-meal', trayInMin: null, willEat: 'no' },
      },
    ],
    [
      'nil by mouth from the minute after',
      { ...forEating, said: here, bedside: someFacts({ nilByMouth: { fromMs: NOW_MS + minutes(10), untilMs: null } }) },
    ],
    [
      'scheduled insulin, nothing asked',
      {
        dose: { ...verified, kind: 'scheduled', insulin: 'insulin glargine' },
        said: { food: null, trayInMin: null, willEat: null },
      },
    ],
    ['the last minute', { nowMs: NOW_MS + minutes(40), atMs: NOW_MS + minutes(32) }],
    ['the minute before the order ends by itself', { order: order({ stopsAtMs: NOW_MS + minutes(9) + 1 }) }],
    ['given in its time, charted after it lapsed', { nowMs: NOW_MS + minutes(300) }],
    [
      'given in its time, overtaken afterwards',
      { dose: { ...verified, voided: { reason: 'newer-reading', atMs: NOW_MS + minutes(9) + 1 } } },
    ],
  ])('accepts: %s', (_name, parts) => {
    expect(give(parts).ok).toBe(true)
  })

  it('accepts the minute of the signature', () => {
    const signed = { ...verified, product: { ...product, atMs: NOW_MS + minutes(5) + 42_000 } }
    expect(give({ dose: signed, atMs: NOW_MS + minutes(5) })).toMatchObject({
      ok: true,
      value: { atMs: NOW_MS + minutes(5) + 42_000 },
    })
  })

  it('charts a tray that is here, but not for a dose after the meal', () => {
    const here: FoodSaid = { food: 'tray-here', trayInMin: null, willEat: 'yes' }
    expect(give({ said: here })).toMatchObject({ value: { trayArrivedNow: true } })
    expect(give({ dose: afterMeal, said: here })).toMatchObject({ value: { trayArrivedNow: false } })
  })
})

describe('not given', () => {
  it('needs a reason, and an open dose', () => {
    expect(notGiven(verified, 'withheld', '  ')).toMatchObject({ reason: 'not-given-reason-missing' })
    expect(notGiven(verified, 'refused', ' asleep ')).toMatchObject({
      ok: true,
      value: { kind: 'refused', reason: 'asleep' },
    })
    expect(notGiven({ ...doseOf(), voided: { reason: 'stay-moved', atMs: 1 } }, 'withheld', 'x')).toMatchObject({
      reason: 'dose-void',
    })
    // the drawn-up and signed dose is accounted for, though it no longer counts
    expect(notGiven({ ...verified, voided: { reason: 'stay-moved', atMs: 1 } }, 'withheld', 'x')).toMatchObject({
      ok: true,
    })
    expect(
      notGiven({ ...verified, outcome: { kind: 'withheld', byId: 'n', atMs: 1, reason: 'x' } }, 'withheld', 'x'),
    ).toMatchObject({ reason: 'dose-settled' })
  })
})

describe('a prescriber’s direction', () => {
  const direct = (parts: Partial<Parameters<typeof recordDirection>[0]> = {}) =>
    recordDirection({
      directionId: 'd',
      reading: reading('HI'),
      prescriber: 'Dr Weir',
      readBack: true,
      why: 'HI on the meter',
      insulin: 'insulin lispro',
      units: 10,
      byId: 'n',
      nowMs: NOW_MS,
      policy: POLICY,
      earlier: { doses: [], low: 'none' },
      toldOfEarlier: false,
      ...parts,
    })
  it.each([
    ['not read back', { readBack: false }, 'direction-not-read-back'],
    ['nobody', { prescriber: ' ' }, 'direction-prescriber-missing'],
    ['no why', { why: '' }, 'direction-why-missing'],
    ['a third of a unit', { units: 1 / 3 }, 'direction-units-not-deliverable'],
    ['less than nothing', { units: -1 }, 'direction-units-not-deliverable'],
    ['above the ward’s limit', { units: 40.5 }, 'direction-above-ward-limit'],
  ] as const)('refuses: %s', (_name, parts, reason) => {
    expect(direct(parts)).toMatchObject({ ok: false, reason })
  })
  it('accepts up to the ward’s limit, 0 included', () => {
    expect(direct({ units: 40 })).toMatchObject({
      ok: true,
      value: { readingId: 'reading000000001', readBack: true, units: 40 },
    })
    expect(direct({ units: 0 }).ok).toBe(true)
  })
})

describe('insulin from paper or elsewhere', () => {
  const base = {
    outsideDoseId: 'o',
    stayId: 's',
    insulin: 'insulin lispro' as const,
    units: 4,
    givenAtMs: NOW_MS - minutes(30),
    chartedAtMs: NOW_MS,
    source: 'paper' as const,
    givenBy: 'Ana',
    checkedBy: 'Ben',
    byId: 'n',
  }
  const chart = (
    parts: Partial<typeof base> | { source: 'elsewhere' } | { checkedBy: null },
    admittedAtMs = NOW_MS - minutes(600),
    earlierDoses: Parameters<typeof recordOutsideDose>[0]['earlierDoses'] = [],
  ) => recordOutsideDose({ outsideDose: { ...base, ...parts }, admittedAtMs, earlierDoses })
  it.each([
    ['0 units', { units: 0 }, 'outside-units-not-deliverable'],
    ['a third', { units: 1 / 3 }, 'outside-units-not-deliverable'],
    ['in the future', { givenAtMs: NOW_MS + 1 }, 'outside-in-future'],
    ['eight days ago', { givenAtMs: NOW_MS - minutes(8 * 1440) }, 'outside-too-old'],
    ['paper before admission', { givenAtMs: NOW_MS - minutes(601) }, 'outside-before-admission'],
    ['paper with one signature', { checkedBy: null }, 'outside-checker-missing'],
    ['the same person twice', { checkedBy: 'ANA' }, 'outside-same-person'],
  ] as const)('refuses: %s', (_name, parts, reason) => {
    expect(chart(parts)).toMatchObject({ ok: false, reason })
  })
  it('from elsewhere needs no second signature and may be before admission', () => {
    expect(
      recordOutsideDose({
        outsideDose: { ...base, source: 'elsewhere', checkedBy: null, givenAtMs: NOW_MS - minutes(601) },
        admittedAtMs: NOW_MS - minutes(600),
        earlierDoses: [],
      }).ok,
    ).toBe(true)
  })
  it('is charted once for the same insulin and minute', () => {
    const there = {
      doseId: 'x',
      insulin: 'insulin lispro' as const,
      units: 4,
      givenAtMs: NOW_MS - minutes(30) + 20_000,
      source: 'here' as const,
      withCorrection: true,
    }
    expect(chart({}, undefined, [there])).toMatchObject({ reason: 'outside-already-charted' })
    expect(chart({ insulin: 'insulin aspart' as never }, undefined, [there]).ok).toBe(true)
  })
})
