/**
 * Limits of a dose by class of insulin, of a meal, of insulin by direction, and the last minute for an injection. The
 * figures are ward settings without a published source, unless one is named.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Dose, EarlierDose, GuardResult, ProposalInputs } from '../../shared/dose/dose.ts'
import { bearingOn, recordDirection } from '../../shared/dose/direction.ts'
import { giveDose } from '../../shared/dose/give.ts'
import { answerSecondCheck } from '../../shared/dose/second-check.ts'
import { doseState, validUntilMs } from '../../shared/dose/state.ts'
import { recomputeDose } from '../../shared/order/recompute.ts'
import { proposeDose, type Proposal } from '../../shared/order/propose.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import { doseOf, facts, minutes, NOW_MS, POLICY, reading, type Given } from '../support/dose.ts'
import { someFacts } from '../support/makers.ts'

const DIRECTED = { directionId: 'direction0000001' } as const
const directed = (insulin: InsulinName, units: number, inputs: Partial<ProposalInputs> = {}): Proposal =>
  proposeDose({
    ...facts({ inputs: { ...DIRECTED, directedUnits: units, unitsAgain: units, ...inputs } }),
    insulin,
    order: null,
  })
const scheduled = (units: number, inputs: Partial<ProposalInputs> = {}): Proposal =>
  proposeDose(
    facts({
      order: {
        insulin: 'insulin glargine',
        correction: null,
        maxSingleDose: 100,
        scheduled: [{ time: '07:45', units, holdBelow: null }],
      },
      inputs: { scheduledTime: '07:45', scheduledDueMs: NOW_MS, occasion: null, ...inputs },
    }),
  )
const stopsOf = (made: Proposal): readonly string[] =>
  made.working.guards.filter(({ outcome }) => outcome === 'stops').map(({ guard }) => guard)
const found = (made: Proposal, name: GuardResult['guard']): GuardResult | undefined =>
  made.working.guards.find(({ guard }) => guard === name)
const given = (insulin: InsulinName, units: number, ago: number): EarlierDose => ({
  doseId: `dose-${String(ago)}`,
  insulin,
  units,
  givenAtMs: NOW_MS - minutes(ago),
  source: 'here',
  withCorrection: true,
})

describe('the units of one dose', () => {
  it.each<[InsulinName, number, number]>([
    ['insulin lispro', 20, 40],
    ['regular insulin', 20, 40],
    ['NPH insulin', 40, 80],
    ['insulin glargine', 50, 100],
  ])('%s: asked again above %d, none above %d', (insulin, ask, stop) => {
    const once = (units: number): readonly string[] => stopsOf(directed(insulin, units, { unitsAgain: 0 }))
    expect([once(ask), once(ask + 0.5)]).toEqual([[], ['large-dose']])
    expect(found(directed(insulin, ask + 0.5), 'large-dose')?.outcome).toBe('warns')
    expect([stopsOf(directed(insulin, stop)), stopsOf(directed(insulin, stop + 0.5))]).toEqual([
      [],
      ['single-dose-limit'],
    ])
  })
  it('long-acting insulin is asked again above 0.6 units/kg (more lows: Diabetes Care 2011;34:1723, R)', () => {
    expect(stopsOf(scheduled(36, { weightKg: 60 }))).toEqual([])
    expect(found(scheduled(37, { weightKg: 60 }), 'large-dose')).toMatchObject({
      outcome: 'stops',
      details: { found: 37, limit: 36, per: 'weight', weightKg: 60 },
    })
    expect(stopsOf(scheduled(37))).toEqual([])
  })
  it('another number typed again is no confirmation', () => {
    expect(stopsOf(directed('insulin lispro', 22, { unitsAgain: 20 }))).toEqual(['large-dose'])
  })
  it('the day’s total warns above 1.5 units/kg and never stops', () => {
    const day = (dayUnits: number): GuardResult | undefined =>
      found(scheduled(18, { weightKg: 60, dayUnits }), 'day-total')
    expect(day(72)?.outcome).toBe('passed')
    expect(day(72.5)).toMatchObject({ outcome: 'warns', details: { found: 90.5, limit: 90 } })
  })
  it('property: no dose above its class’s stop, and none above its asking limit without the units typed again', () => {
    fc.assert(
      fc.property(
        fc.constantFrom<InsulinName>('insulin lispro', 'regular insulin', 'NPH insulin', 'insulin glargine'),
        fc.integer({ min: 0, max: 260 }).map((half) => half / 2),
        fc.option(fc.integer({ min: 0, max: 260 }).map((half) => half / 2)),
        (insulin, units, again) => {
          const made = directed(insulin, units, { unitsAgain: again ?? -1 })
          const kind = { 'insulin lispro': 'rapid', 'regular insulin': 'regular', 'NPH insulin': 'intermediate' }[
            insulin as string
          ] as 'rapid' | undefined
          const { ask, stop } = POLICY.dose.classLimits[kind ?? 'long-acting']
          expect(made.kind === 'dose').toBe(units <= stop && (units <= ask || again === units))
        },
      ),
    )
  })
})

describe('the grams of a meal', () => {
  const meal = (grams: number, gramsAgain?: number): Proposal =>
    proposeDose(
      facts({
        order: { correction: null, meal: { kind: 'ratio', gramsPerUnit: 15 } },
        inputs: {
          meal: { willEat: 'yes', carbohydrateGrams: grams, shareEatenPercent: null },
          ...(gramsAgain === undefined ? {} : { gramsAgain }),
        },
      }),
    )
  it('are asked again above 120 and refused above 300: 220 typed for 22', () => {
    expect(stopsOf(meal(120))).toEqual([])
    expect(stopsOf(meal(121))).toEqual(['large-meal'])
    expect(stopsOf(meal(220))).toContain('large-meal')
    expect(stopsOf(meal(220, 22))).toContain('large-meal')
    expect(stopsOf(meal(220, 220))).toEqual([])
    expect(found(meal(301, 301), 'large-meal')).toMatchObject({ outcome: 'stops', details: { kind: 'stop' } })
  })
})

describe('a direction after a low', () => {
  it('gives no insulin of any class while the low waits for its treatment: 15 lispro on an untreated 45', () => {
    const owed = { low: 'open', lowTreatmentOwed: true } as const
    expect(stopsOf(directed('insulin lispro', 15, owed))).toEqual(['low-event-open'])
    expect(stopsOf(directed('insulin glargine', 15, owed))).toEqual(['low-event-open'])
  })
  it('treated and not recovered: rapid and regular stop, NPH and long-acting warn', () => {
    for (const insulin of ['insulin lispro', 'regular insulin'] as const)
      expect(stopsOf(directed(insulin, 3, { low: 'open' }))).toEqual(['low-event-open'])
    for (const insulin of ['NPH insulin', 'insulin glargine'] as const) {
      const made = directed(insulin, 3, { low: 'open' })
      expect([made.kind, found(made, 'low-event-open')?.outcome]).toEqual(['dose', 'warns'])
    }
  })
  it('0 units always passes', () => {
    for (const insulin of ['insulin lispro', 'insulin glargine'] as const)
      expect(
        directed(insulin, 0, { low: 'open', lowTreatmentOwed: true, newerReadingAtMs: NOW_MS, meterFailedAtMs: NOW_MS })
          .kind,
      ).toBe('dose')
  })
})

describe('several directions', () => {
  const earlier = [given('insulin lispro', 20, 12), given('insulin lispro', 20, 6)]
  it('three times 20 in 12 minutes: the charge nurse checks', () => {
    const second = directed('insulin lispro', 20, { earlierDoses: earlier.slice(0, 1) })
    expect(found(second, 'directed-sum')?.outcome).toBe('passed')
    const third = directed('insulin lispro', 20, { earlierDoses: earlier })
    expect(found(third, 'directed-sum')).toMatchObject({ outcome: 'warns', details: { found: 60, limit: 40 } })
    const dose: Dose = { ...doseOf(), kind: 'by-direction', readingId: null, working: third.working, units: 20 }
    const answer = (role: 'floor-nurse' | 'charge-nurse') =>
      answerSecondCheck({
        dose,
        reading: null,
        knows: new Set(),
        policy: POLICY,
        signer: { staffId: 'another', role, wardIds: [dose.wardId] },
        glucose: null,
        units: 20,
        nowMs: dose.proposedAtMs,
      })
    expect(answer('floor-nurse')).toMatchObject({ ok: false, reason: 'charge-nurse-for-sum' })
    expect(answer('charge-nurse')).toMatchObject({ ok: true })
  })
  it('insulin outside the interval does not count', () => {
    const made = directed('insulin lispro', 20, { earlierDoses: [given('insulin lispro', 25, 240)] })
    expect(found(made, 'directed-sum')?.outcome).toBe('passed')
    const inside = directed('insulin lispro', 20, { earlierDoses: [given('insulin lispro', 25, 239)] })
    expect(found(inside, 'directed-sum')?.outcome).toBe('warns')
  })
  it('names as told what was given before, and a low', () => {
    const doses = [given('insulin lispro', 4, 30), given('insulin lispro', 9, 241), given('insulin glargine', 18, 600)]
    const earlierNow = bearingOn(doses, 'open', POLICY, NOW_MS)
    expect(earlierNow.doses.map(({ units }) => units)).toEqual([4, 18])
    const direct = (toldOfEarlier: boolean, units = 3) =>
      recordDirection({
        directionId: 'd',
        reading: reading(200),
        prescriber: 'Dr Weir',
        readBack: true,
        why: 'high',
        insulin: 'insulin lispro',
        units,
        byId: 'n',
        nowMs: NOW_MS,
        policy: POLICY,
        earlier: earlierNow,
        toldOfEarlier,
      })
    expect(direct(false)).toMatchObject({ ok: false, reason: 'direction-not-told-of-earlier' })
    expect(direct(true)).toMatchObject({
      ok: true,
      value: { toldOf: { doseIds: ['dose-30', 'dose-600'], low: 'open' } },
    })
    expect(direct(false, 0).ok).toBe(true)
  })
})

describe('the last minute for an injection', () => {
  const takenAtMs = NOW_MS - minutes(40)
  const signed = (parts: Partial<Dose> = {}): Dose => {
    const dose = doseOf()
    return {
      ...dose,
      inputs: { ...dose.inputs, readingTakenAtMs: takenAtMs },
      proposedAtMs: NOW_MS,
      answers: [{ byId: 'second', atMs: NOW_MS, glucose: null, units: dose.units, agreed: true }],
      product: {
        byId: 'second',
        atMs: NOW_MS,
        insulin: 'insulin lispro',
        concentration: 'U-100',
        expiresOn: '2027-01-01',
        units: dose.units,
      },
      working: { ...dose.working, rules: 2 },
      ...parts,
    }
  }
  const give = (dose: Dose, afterMin: number, more: Partial<Parameters<typeof giveDose>[0]> = {}) =>
    giveDose({
      dose,
      policy: POLICY,
      nowMs: NOW_MS + minutes(afterMin),
      atMs: NOW_MS + minutes(afterMin),
      wristband: 'W1',
      patient: { wristband: 'W1', bed: '7' },
      site: { area: 'abdomen', side: 'left' },
      said: { food: 'tray-here', trayInMin: null, willEat: 'yes' },
      order: null,
      bedside: someFacts(),
      trayDelayedToMs: null,
      alreadyGiven: null,
      ...more,
    })
  it('is 60 min after the reading, however late it was signed (Endocrine Society 2022, S)', () => {
    expect(validUntilMs(signed(), POLICY)).toBe(takenAtMs + minutes(60))
    expect(give(signed(), 20).ok).toBe(true)
    expect(give(signed(), 21)).toMatchObject({ ok: false, reason: 'dose-lapsed' })
    expect(doseState(signed(), POLICY, NOW_MS + minutes(21))).toBe('lapsed')
  })
  it('is not changed for doses of the rules before', () => {
    const old = signed({ working: { ...doseOf().working, rules: 1 } })
    expect(give(old, 30).ok).toBe(true)
  })
  it('is 30 min after calculation for a dose after the meal, and by signature for a direction', () => {
    expect(validUntilMs(signed({ kind: 'after-meal', proposedAtMs: NOW_MS - minutes(10) }), POLICY)).toBe(
      NOW_MS + minutes(20),
    )
    expect(validUntilMs(signed({ kind: 'by-direction' }), POLICY)).toBe(NOW_MS + minutes(30))
  })
  it('a meal part waits for a delayed tray until it is here', () => {
    const meal = doseOf({ order: { meal: { kind: 'fixed', units: { 'before-breakfast': 5 } } } })
    const dose = signed({ working: { ...meal.working, rules: 2 } })
    const late = { trayDelayedToMs: NOW_MS + minutes(45) }
    const coming = { food: 'tray-coming', trayInMin: 10, willEat: 'yes' } as const
    expect(give(dose, 1, { ...late, said: coming })).toMatchObject({ ok: false, reason: 'tray-delayed' })
    expect(give(dose, 1, { trayDelayedToMs: NOW_MS + minutes(16), said: coming }).ok).toBe(true)
    expect(give(dose, 1, late).ok).toBe(true)
  })
  it('an injection after a stop is charted as a deviation, with its stop and a note', () => {
    expect(give(signed(), 25, { alreadyGiven: { note: ' ' } })).toMatchObject({ reason: 'deviation-note-missing' })
    expect(give(signed(), 25, { alreadyGiven: { note: 'Given at 08:10.' } })).toMatchObject({
      ok: true,
      value: { deviation: { stop: 'dose-lapsed', note: 'Given at 08:10.' } },
    })
    const replaced = signed({ voided: { reason: 'newer-reading', atMs: NOW_MS } })
    expect(give(replaced, 5)).toMatchObject({ ok: false, reason: 'dose-void' })
    expect(give(replaced, 5, { alreadyGiven: { note: 'In the patient already.' } })).toMatchObject({
      ok: true,
      value: { deviation: { stop: 'dose-void' } },
    })
    // never an unsigned dose, another patient's wristband, or a second time
    const note = { alreadyGiven: { note: 'x' } }
    expect(give(signed({ product: null }), 5, note)).toMatchObject({ ok: false })
    expect(give(signed(), 5, { ...note, wristband: 'W2' })).toMatchObject({ reason: 'wristband-wrong' })
    expect(give(signed({ outcome: { kind: 'withheld', byId: 'n', atMs: 1, reason: 'r' } }), 5, note)).toMatchObject({
      reason: 'dose-settled',
    })
    expect(give(signed(), 5, note)).toMatchObject({ ok: true, value: { deviation: null } })
  })
})

describe('rules of version 1', () => {
  const made = (given: Given): { readonly dose: Dose; readonly facts: ReturnType<typeof facts> } => {
    const about = facts(given)
    const { working } = proposeDose(about, 1)
    return { dose: { ...doseOf(), inputs: about.inputs, working, units: working.units }, facts: about }
  }
  it('recompute an older dose as it was, though today’s rules would stop it', () => {
    const { dose, facts: about } = made({
      glucose: 200,
      inputs: { readingTakenAtMs: NOW_MS - minutes(60) },
      reading: { takenAtMs: NOW_MS - minutes(60) },
    })
    expect(proposeDose(about).kind).toBe('stopped')
    expect(
      recomputeDose(dose, { order: about.order ?? undefined, policy: POLICY, reading: about.reading ?? undefined }),
    ).toEqual({ units: dose.units })
  })
})
