/** Ward policy: every setting has a descriptor, typed values parse back, and accepted policies are consistent. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { checkPolicy, type PolicyFault } from '../../shared/policy/check.ts'
import type { Setting } from '../../shared/policy/entry.ts'
import { inputName, readSetting, sameSetting, saySetting, typedSetting } from '../../shared/policy/field.ts'
import { changedSettings, isChangeable, partById, PARTS, touchesDose } from '../../shared/policy/parts.ts'
import { versionInForce } from '../../shared/policy/in-force.ts'
import { approveChange, changePart, refuseChange, withPart, type NewestPolicy } from '../../shared/policy/set.ts'
import type { PolicyChange } from '../../shared/policy/change.ts'
import { parseBeds, openWard, setBeds } from '../../shared/policy/ward.ts'
import {
  completePolicy,
  defaultPolicy,
  exists,
  settingOf,
  withSetting,
  type StoredPolicy,
  type WardPolicy,
} from '../../shared/policy/ward-policy.ts'

const MG = defaultPolicy('mg/dL', 'America/Chicago')
const MMOL = defaultPolicy('mmol/L', 'Europe/London')
const FORMULA: WardPolicy = {
  ...MG,
  low: { ...MG.low, dextrose: { kind: 'formula', percent: 50, gramsWithoutNumber: 20 } },
}
const FIELDS = PARTS.flatMap(({ fields }) => fields)
const NOW = Date.UTC(2026, 2, 10, 12)
const DAY = 86_400_000

/** The paths of all leaves of the policy. A list is one value. */
function leaves(value: Setting, path = ''): readonly string[] {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) return [path]
  return Object.entries(value).flatMap(([name, inner]) => leaves(inner, path === '' ? name : `${path}.${name}`))
}
const fieldOf = (name: string): (typeof FIELDS)[number] => {
  const field = FIELDS.find((one) => one.name === name)
  if (field === undefined) throw new Error(`no setting ${name}`)
  return field
}

describe('descriptors', () => {
  it.each([
    ['mg/dL', MG],
    ['mmol/L', MMOL],
    ['dextrose by formula', FORMULA],
  ])('every leaf of the policy has exactly one: %s', (_name, policy) => {
    const names = FIELDS.filter((field) => exists(field, policy)).map(({ name }) => name)
    expect([...names].sort()).toEqual([...leaves(policy)].sort())
  })
  it('a missing one is found', () => {
    expect(leaves({ ...MG, surprise: { deep: 1 } })).toContain('surprise.deep')
  })
  it('each has a label and a source, and names are not told twice', () => {
    for (const { label, source, name } of FIELDS) expect([label !== '', source !== ''], name).toEqual([true, true])
    expect(new Set(FIELDS.map(({ name }) => inputName(name))).size).toBe(FIELDS.length)
    for (const { id, fields } of PARTS) expect(new Set(fields.map(({ label }) => label)).size, id).toBe(fields.length)
  })
  it.each([
    ['mg/dL', MG],
    ['mmol/L', MMOL],
    ['dextrose by formula', FORMULA],
  ])('the form’s values parse back unchanged: %s', (_name, policy) => {
    for (const field of FIELDS.filter((one) => exists(one, policy))) {
      const setting = settingOf(policy, field.name)
      expect(readSetting(field, typedSetting(field, setting, policy.unit), policy.unit), field.name).toEqual({
        ok: true,
        value: setting,
      })
    }
  })
  it('property: a part parsed from its own form is the same policy', () => {
    fc.assert(
      fc.property(fc.constantFrom(...PARTS), fc.constantFrom(MG, MMOL, FORMULA), (part, policy) => {
        const settings = new Map(
          part.fields.flatMap((field): readonly [string, Setting][] => {
            const setting = settingOf(policy, field.name)
            return setting === undefined ? [] : [[field.name, setting]]
          }),
        )
        expect(sameSetting(withPart(policy, part, settings), policy)).toBe(true)
        expect(changedSettings(policy, withPart(policy, part, settings))).toEqual([])
      }),
    )
  })
  it.each([
    ['limits.low', MG, '70 mg/dL'],
    ['limits.low', MMOL, '3.9 mmol/L'],
    ['dose.singleDoseLimit', MG, '100 units'],
    ['critical.lowRepeatAgreesWithin', MMOL, '0.8 mmol/L'],
    ['low.escalateAfterMin', MG, 'by cycles alone'],
    ['dose.correctionIntervalMin.long-acting', MG, 'not asked'],
    ['dose.correctionIntervalMin.rapid', MG, '240 min'],
    ['low.standingOrders.dextrose', MG, 'no'],
    ['fingers', MG, 'left middle finger, right middle finger, left ring finger, right ring finger'],
    ['shifts', MG, 'Day from 07:00, Night from 19:00'],
    ['nilByMouthPlan', MG, 'every 6 h'],
    ['nilByMouthPlan', { ...MG, nilByMouthPlan: null }, 'the patient’s own plan stays'],
    ['low.dextrose.grams', FORMULA, '–'],
    ['low.glucagonMg', MG, '1 mg'],
  ] as const)('%s in words', (name, policy, words) => {
    expect(saySetting(fieldOf(name), settingOf(policy, name), policy.unit)).toBe(words)
  })
  it.each([
    ['limits.low', 'mg/dL', '72', 72],
    ['limits.low', 'mg/dL', '3.9', 'setting-not-a-limit'],
    ['limits.low', 'mmol/L', '4.0', 40],
    ['limits.low', 'mmol/L', '4', 'setting-not-a-limit'],
    ['limits.low', 'mmol/L', '70', 'setting-not-a-limit'],
    ['limits.low', 'mg/dL', 'LO', 'setting-not-a-limit'],
    ['limits.low', 'mg/dL', '', 'setting-missing'],
    ['limits.criticalHigh', 'mg/dL', '601', 'setting-not-a-limit'],
    ['dose.singleDoseLimit', 'mg/dL', '0', 'setting-out-of-range'],
    ['dose.singleDoseLimit', 'mg/dL', '0.5', 0.5],
    ['dose.singleDoseLimit', 'mg/dL', '1.0', 'setting-not-a-number'],
    ['dose.singleDoseLimit', 'mg/dL', '200.5', 'setting-out-of-range'],
    ['dose.singleDoseLimit', 'mg/dL', '7.3', 'setting-not-a-number'],
    ['dose.singleDoseLimit', 'mg/dL', '-5', 'setting-not-a-number'],
    ['dose.singleDoseLimit', 'mg/dL', '1e2', 'setting-not-a-number'],
    ['dose.readingAgeMaxMin', 'mg/dL', '1440', 1440],
    ['dose.readingAgeMaxMin', 'mg/dL', '1441', 'setting-out-of-range'],
    ['dose.readingAgeMaxMin', 'mg/dL', '0', 'setting-out-of-range'],
    ['dose.readingAgeMaxMin', 'mg/dL', '', 'setting-missing'],
    ['dose.correctionIntervalMin.rapid', 'mg/dL', '', null],
    ['low.dextrose.percent', 'mg/dL', '4', 'setting-out-of-range'],
    ['low.dextrose.percent', 'mg/dL', '12.5', 12.5],
    ['low.dextrose.percent', 'mg/dL', '51', 'setting-out-of-range'],
    ['critical.highRepeatAgreesWithinPercent', 'mg/dL', '51', 'setting-out-of-range'],
    ['critical.lowRepeatAgreesWithin', 'mmol/L', '0.8', 8],
    ['critical.lowRepeatAgreesWithin', 'mmol/L', '8', 'setting-not-a-number'],
    ['mealTimes.lunch', 'mg/dL', '24:00', 'setting-not-a-time'],
    ['mealTimes.lunch', 'mg/dL', '12:05', '12:05'],
    ['low.standingOrders.glucagon', 'mg/dL', 'maybe', 'setting-not-a-choice'],
    ['nilByMouthPlan', 'mg/dL', 'own', null],
    ['nilByMouthPlan', 'mg/dL', 'every-2-h', 'setting-not-a-choice'],
    ['low.tube.how', 'mg/dL', ' ', 'setting-missing'],
    ['low.tube.how', 'mg/dL', 'x'.repeat(81), 'setting-too-long'],
    ['shifts', 'mg/dL', '07:00 Day', [{ name: 'Day', starts: '07:00' }]],
    ['shifts', 'mg/dL', 'Day 07:00', 'setting-shift-line'],
    ['shifts', 'mg/dL', '25:00 Day', 'setting-shift-line'],
    ['shifts', 'mg/dL', '', 'setting-missing'],
  ] as const)('%s in %s, typed "%s": %j', (name, unit, typed, expected) => {
    const read = readSetting(fieldOf(name), { [inputName(name)]: typed }, unit)
    expect(read.ok ? read.value : read.reason).toEqual(expected)
  })
})

describe('a policy that was set before some settings existed', () => {
  const without = (policy: WardPolicy, name: string): StoredPolicy => withSetting(policy, name, undefined)

  it.each([
    ['mg/dL', MG],
    ['mmol/L', MMOL],
  ])('has the default of each: %s', (_name, policy) => {
    const later = FIELDS.filter((field) => field.kind.kind !== 'fixed' && exists(field, policy))
    expect(later.length).toBeGreaterThan(80)
    for (const { name } of later) expect(completePolicy(without(policy, name)), name).toEqual(policy)
    const { unit, zone } = policy
    expect(completePolicy({ unit, zone })).toEqual(policy)
  })
  it('keeps what it set', () => {
    const set = withSetting(withSetting(MG, 'dose.singleDoseLimit', 12), 'nilByMouthPlan', null)
    expect(completePolicy(without(set, 'dose.trayWithinMin'))).toEqual(set)
    expect(completePolicy(set)).toBe(set)
    expect(completePolicy(FORMULA)).toBe(FORMULA)
  })
  it('property: completing again changes nothing', () => {
    fc.assert(
      fc.property(fc.subarray(FIELDS.map(({ name }) => name).slice(2)), (names) => {
        const complete = completePolicy(
          names.reduce((made, name) => without(made as WardPolicy, name), MG as StoredPolicy),
        )
        expect(complete).toEqual(MG)
        expect(completePolicy(complete)).toBe(complete)
      }),
    )
  })
})

describe('checkPolicy', () => {
  const where = (faults: readonly PolicyFault[]): readonly string[] =>
    faults.map(({ name, reason }) => `${name}: ${reason}`)
  it('the defaults are consistent', () => {
    expect([checkPolicy(MG), checkPolicy(MMOL), checkPolicy(FORMULA)]).toEqual([[], [], []])
  })
  it.each<[string, Setting, string]>([
    ['limits.level2', 70, 'limits.level2: level2-not-below-low'],
    ['limits.recovered', 69, 'limits.recovered: recovered-below-low'],
    ['limits.recovered', 400, 'limits.recovered: recovered-not-below-critical-high'],
    ['limits.criticalLow', 70, 'limits.criticalLow: critical-low-not-below-low'],
    ['limits.criticalHigh', 70, 'limits.criticalHigh: critical-high-not-above-low'],
    ['windows.beforeMeal.opensBefore', 30, 'windows.beforeMeal.opensBefore: window-opens-after-due'],
    ['windows.timed.closesAfter', 0, 'windows.timed.closesAfter: window-closes-before-due'],
    ['windows.every4h.lateAfter', 121, 'windows.every4h.lateAfter: window-late-after-closing'],
    ['roundStarts.before-lunch', '05:00', 'roundStarts.before-lunch: rounds-out-of-order'],
    ['mealTimes.breakfast', '10:00', 'mealTimes.breakfast: time-outside-its-round'],
    ['mealTimes.lunch', '09:59', 'mealTimes.lunch: time-outside-its-round'],
    ['mealTimes.supper', '20:00', 'mealTimes.supper: time-outside-its-round'],
    ['bedtime', '19:59', 'bedtime: time-outside-its-round'],
    ['overnight', '05:00', 'overnight: time-outside-its-round'],
    ['low.recheckNotBeforeMin', 16, 'low.recheckNotBeforeMin: recheck-before-it-counts'],
    ['low.fastGramsLevel2', 14, 'low.fastGramsLevel2: level2-grams-below-level1'],
    ['low.rescue.percent', 60, 'low.rescue.percent: setting-out-of-range'],
    ['critical.highRepeatAgreesWithinPercent', 0, 'critical.highRepeatAgreesWithinPercent: setting-out-of-range'],
    ['dose.singleDoseLimit', 0, 'dose.singleDoseLimit: setting-out-of-range'],
    ['dose.singleDoseLimit', -1, 'dose.singleDoseLimit: setting-not-a-number'],
    ['fingers', [], 'fingers: no-finger'],
    ['secondCheck.roles', [], 'secondCheck.roles: no-second-checker'],
    ['secondCheck.roles', ['floor-nurse'], 'secondCheck.roles: charge-nurse-cannot-check'],
    [
      'shifts',
      [
        { name: 'Day', starts: '07:00' },
        { name: 'day', starts: '19:00' },
      ],
      'shifts: shifts-alike',
    ],
    [
      'shifts',
      [
        { name: 'Day', starts: '07:00' },
        { name: 'Night', starts: '07:00' },
      ],
      'shifts: shifts-alike',
    ],
    [
      'shifts',
      [
        { name: 'Night', starts: '19:00' },
        { name: 'Day', starts: '07:00' },
      ],
      'shifts: shifts-out-of-order',
    ],
    ['shifts', [], 'shifts: setting-missing'],
  ])('%s = %j', (name, setting, expected) => {
    expect(where(checkPolicy(withSetting(MG, name, setting)))).toContain(expected)
  })
  it.each<[string, Setting]>([
    ['limits.recovered', 100],
    ['bedtime', '23:59'],
    ['windows.timed.lateAfter', 60],
    ['low.recheckNotBeforeMin', 15],
    ['secondCheck.roles', ['charge-nurse']],
    ['secondCheck.insulins', []],
    ['fingers', [{ hand: 'left', finger: 'little' }]],
  ])('%s = %j holds', (name, setting) => {
    expect(checkPolicy(withSetting(MG, name, setting))).toEqual([])
  })
  it('a bedtime past midnight is in the bedtime round, which lasts until the overnight one', () => {
    const late: WardPolicy = {
      ...MG,
      bedtime: '00:30',
      overnight: '03:00',
      roundStarts: { ...MG.roundStarts, overnight: '02:00' },
    }
    expect(checkPolicy(late)).toEqual([])
    expect(where(checkPolicy({ ...late, bedtime: '02:00' }))).toEqual(['bedtime: time-outside-its-round'])
  })

  /** One setting of the default, changed to a value of its kind, in or out of range. */
  const time = fc
    .tuple(fc.integer({ min: 0, max: 23 }), fc.integer({ min: 0, max: 59 }))
    .map(([h, m]) => `${String(h).padStart(2, '0')}:${String(m).padStart(2, '0')}`)
  const mutation: fc.Arbitrary<readonly [string, Setting]> = fc
    .constantFrom(
      ...FIELDS.filter(
        ({ kind, only }) =>
          kind.kind !== 'fixed' && only === undefined && kind.kind !== 'text' && kind.kind !== 'one-of',
      ),
    )
    .chain(({ name, kind }): fc.Arbitrary<readonly [string, Setting]> => {
      const made = (setting: fc.Arbitrary<Setting>): fc.Arbitrary<readonly [string, Setting]> =>
        setting.map((value) => [name, value] as const)
      switch (kind.kind) {
        case 'time':
          return made(time)
        case 'yes-no':
          return made(fc.boolean())
        case 'any-of':
          return made(fc.subarray(kind.options.map(({ stored }) => stored)))
        case 'shifts':
          return made(
            fc.array(fc.record({ name: fc.constantFrom('Day', 'Late', 'Night'), starts: time }), { maxLength: 3 }),
          )
        case 'number':
          return made(fc.integer({ min: -1, max: kind.range.most + 1 }))
        default:
          return made(fc.integer({ min: 0, max: 620 }))
      }
    })
  it('property: an accepted policy meets every invariant, and a refused one breaks one', () => {
    const between = (value: number, least: number, most: number): boolean => value >= least && value <= most
    const holds = (p: WardPolicy): boolean => {
      const { limits: l, windows, roundStarts: r, mealTimes: m, low, critical, dose, secondCheck, shifts } = p
      const minutes = [
        low.treatWithinMin,
        low.recheckNotBeforeMin,
        low.insulinQuestionMin,
        low.insulinQuestionStaleMin,
        low.tellWithinMin,
        low.newEventAfterMin,
        low.callAgainMin,
        low.treatmentsWithinMin,
        low.closeWithinMin,
        low.rescue.overMin,
        low.lasting.mealWithinMin,
        low.lasting.giveWithinMin,
        critical.repeatWithinMin,
        critical.callWithinMin,
        critical.laboratoryWithinMin,
        dose.trayWithinMin,
        dose.trayServedAgoMaxMin,
        dose.noTrayAfterMin,
        dose.readingSpareMin,
        dose.noDoseCallMin,
        dose.trayWithinRegularMin,
        dose.shareAskedAfterMin,
        p.ketones.measuredWithinMin,
        p.ketones.againWithinMin,
        p.handOverWithinMin,
        p.lateEntryReasonAfterMin,
        ...Object.values(windows).flatMap((w) => Object.values(w)),
      ]
      const fromOne = [
        low.recheckMin,
        low.followUpMin,
        low.answersValidMin,
        dose.readingAgeMaxMin,
        dose.verifiedValidMin,
        dose.afterMealWithinMin,
        dose.basalLateMin,
        p.idleLockMin,
        low.escalateAfterMin ?? 1,
        ...Object.values(dose.correctionIntervalMin).map((one) => one ?? 1),
      ]
      return (
        l.level2 < l.low &&
        l.low <= l.recovered &&
        l.recovered < l.criticalHigh &&
        l.criticalLow < l.low &&
        Object.values(l).every((one) => between(one, 20, 600)) &&
        Object.values(windows).every(
          (w) => -w.opensBefore < -w.dueBefore && -w.dueBefore < w.closesAfter && w.lateAfter <= w.closesAfter,
        ) &&
        r.overnight < r['before-breakfast'] &&
        r['before-breakfast'] < r['before-lunch'] &&
        r['before-lunch'] < r['before-supper'] &&
        r['before-supper'] < r.bedtime &&
        m.breakfast >= r['before-breakfast'] &&
        m.breakfast < r['before-lunch'] &&
        m.lunch >= r['before-lunch'] &&
        m.lunch < r['before-supper'] &&
        m.supper >= r['before-supper'] &&
        m.supper < r.bedtime &&
        (p.bedtime >= r.bedtime || p.bedtime < r.overnight) &&
        p.overnight >= r.overnight &&
        p.overnight < r['before-breakfast'] &&
        low.recheckNotBeforeMin <= low.recheckMin &&
        low.fastGrams <= low.fastGramsLevel2 &&
        [
          low.fastGrams,
          low.fastGramsLevel2,
          low.rescue.grams,
          low.tube.grams,
          low.lasting.grams,
          low.lasting.gramsAfterGlucagon,
        ].every((one) => between(one, 1, 100)) &&
        [low.dextrose.percent, low.rescue.percent].every((one) => between(one, 5, 50)) &&
        between(low.glucagonMg, 0.5, 2) &&
        between(low.maxCycles, 1, 10) &&
        between(critical.highRepeatAgreesWithinPercent, 1, 50) &&
        between(critical.lowRepeatAgreesWithin, 1, 100) &&
        dose.singleDoseLimit > 0 &&
        dose.singleDoseLimit <= 200 &&
        between(dose.mismatchesBeforeCharge, 1, 10) &&
        Object.values(dose.classLimits).every(
          ({ ask, stop }) => between(ask, 0.5, 200) && between(stop, 0.5, 200) && ask <= stop,
        ) &&
        between(dose.longActingAskPerKg, 0.1, 10) &&
        between(dose.dayWarnPerKg, 0.1, 10) &&
        between(dose.directedSumTimes, 1, 10) &&
        between(dose.mealGramsAsk, 1, 999) &&
        between(dose.mealGramsStop, 1, 999) &&
        dose.mealGramsAsk <= dose.mealGramsStop &&
        dose.readingSpareMin < dose.readingAgeMaxMin &&
        between(p.missedLookBackHours, 1, 72) &&
        between(dose.heldBasalAskAgainHours, 1, 72) &&
        minutes.every((one) => between(one, 0, 1440)) &&
        fromOne.every((one) => between(one, 1, 1440)) &&
        p.fingers.length > 0 &&
        secondCheck.roles.includes('charge-nurse') &&
        shifts.length > 0 &&
        new Set(shifts.map(({ name }) => name)).size === shifts.length &&
        shifts.every(({ starts }, at) => at === 0 || starts > (shifts[at - 1]?.starts ?? ''))
      )
    }
    const seen = { accepted: 0, refused: 0 }
    fc.assert(
      fc.property(fc.array(mutation, { minLength: 1, maxLength: 3 }), (changes) => {
        const policy = changes.reduce((made, [name, setting]) => withSetting(made, name, setting), MG)
        const faults = checkPolicy(policy)
        seen[faults.length === 0 ? 'accepted' : 'refused'] += 1
        expect(faults.length === 0, JSON.stringify([changes, faults])).toBe(holds(policy))
        for (const { name } of faults) expect(FIELDS.some((field) => field.name === name)).toBe(true)
      }),
      { numRuns: 2000 },
    )
    expect([seen.accepted > 100, seen.refused > 100]).toEqual([true, true])
  })
})

describe('changing a part', () => {
  const newest: NewestPolicy = { version: 3, policy: MG, fromMs: NOW - DAY }
  const part = (id: string): NonNullable<ReturnType<typeof partById>> =>
    partById(id) ??
    (() => {
      throw new Error(id)
    })()
  const settings = (id: string, changed: Readonly<Record<string, Setting>>): ReadonlyMap<string, Setting> =>
    new Map(
      part(id).fields.flatMap((field): readonly [string, Setting][] => {
        const setting = field.name in changed ? changed[field.name] : settingOf(MG, field.name)
        return setting === undefined ? [] : [[field.name, setting]]
      }),
    )
  const change = (
    id: string,
    changed: Readonly<Record<string, Setting>>,
    more: Partial<Parameters<typeof changePart>[0]> = {},
  ): ReturnType<typeof changePart> =>
    changePart({
      newest,
      shown: 3,
      part: part(id),
      settings: settings(id, changed),
      fromMs: null,
      waiting: [],
      nowMs: NOW,
      ...more,
    })

  it('waits if it touches a dose; a window, a lock or a finger is set at once', () => {
    expect(change('dose', { 'dose.singleDoseLimit': 15 })).toMatchObject({
      ok: true,
      value: { kind: 'waits', fromMs: NOW, policy: { dose: { singleDoseLimit: 15 } } },
    })
    expect(change('windows', { 'windows.timed.opensBefore': 45 })).toMatchObject({
      ok: true,
      value: { kind: 'set', policy: { windows: { timed: { opensBefore: 45 } } } },
    })
    expect(change('meals', { bedtime: '22:00' })).toMatchObject({ ok: true, value: { kind: 'set' } })
    expect(change('meals', { 'mealTimes.lunch': '12:30' })).toMatchObject({ ok: true, value: { kind: 'waits' } })
  })
  it('the settings that take two administrators, by name', () => {
    const alone = FIELDS.filter((field) => !touchesDose([{ part: part('dose'), field }])).map(({ name }) =>
      name.replace(/^windows\..*/, 'windows'),
    )
    expect([...new Set(alone)]).toEqual([
      'bedtime',
      'overnight',
      'windows',
      'lateEntryReasonAfterMin',
      'missedLookBackHours',
      'handOverWithinMin',
      'low.treatWithinMin',
      'low.insulinQuestionMin',
      'low.insulinQuestionStaleMin',
      'low.tellWithinMin',
      'low.newEventAfterMin',
      'low.callAgainMin',
      'low.treatmentsWithinMin',
      'low.closeWithinMin',
      'low.lasting.giveWithinMin',
      'critical.callWithinMin',
      'critical.laboratoryWithinMin',
      'dose.noDoseCallMin',
      'fingers',
      'nilByMouthPlan',
      'shifts',
      'idleLockMin',
    ])
    expect(PARTS.filter((one) => !isChangeable(one)).map(({ id }) => id)).toEqual(['unit'])
  })
  it.each([
    ['moved on', { shown: 2 }, 'policy-moved-on'],
    ['a day back', { fromMs: NOW - DAY }, 'from-in-past'],
    ['two years ahead', { fromMs: NOW + 731 * DAY }, 'from-too-far'],
    ['before the newest counts', { newest: { ...newest, fromMs: NOW + DAY } }, 'from-before-newest'],
  ] as const)('%s: %s', (_name, more, reason) => {
    expect(change('dose', { 'dose.singleDoseLimit': 15 }, more)).toMatchObject({ ok: false, reason })
  })
  it('refuses no change and faults of the part; the present minute counts as now', () => {
    expect(change('dose', {})).toMatchObject({ reason: 'nothing-changed' })
    expect(change('limits', { 'limits.level2': 71 })).toMatchObject({ reason: 'level2-not-below-low' })
    expect(change('dose', { 'dose.singleDoseLimit': 15 }, { fromMs: NOW, nowMs: NOW + 59_000 })).toMatchObject({
      ok: true,
      value: { fromMs: NOW + 59_000 },
    })
  })
  it('is not blocked by an out-of-range setting of another part', () => {
    const odd = { ...newest, policy: { ...MG, idleLockMin: 100_000 } }
    expect(change('dose', { 'dose.singleDoseLimit': 15 }, { newest: odd })).toMatchObject({
      ok: true,
      value: { policy: { idleLockMin: 100_000 } },
    })
  })
  it('drops the old settings when the kind of dextrose rule changes', () => {
    const changed = change('low', { 'low.dextrose.kind': 'formula', 'low.dextrose.gramsWithoutNumber': 20 })
    expect(changed.ok && changed.value.policy.low.dextrose).toEqual({
      kind: 'formula',
      percent: 50,
      gramsWithoutNumber: 20,
    })
  })

  const waiting: PolicyChange = {
    changeId: 'change0000000001',
    wardId: 'ward',
    basedOn: 3,
    policy: withSetting(MG, 'dose.singleDoseLimit', 15),
    fromMs: NOW,
    note: 'why',
    writtenById: 'anna',
    writtenAtMs: NOW,
    outcome: null,
  }
  it('writes the same change once', () => {
    expect(change('dose', { 'dose.singleDoseLimit': 15 }, { waiting: [waiting] })).toMatchObject({
      reason: 'same-change-waits',
    })
    expect(change('dose', { 'dose.singleDoseLimit': 14 }, { waiting: [waiting] })).toMatchObject({ ok: true })
  })
  it('is approved by another administrator over the same version; a past start becomes now', () => {
    const approve = (more: Partial<Parameters<typeof approveChange>[0]> = {}): ReturnType<typeof approveChange> =>
      approveChange({ change: waiting, newest, byId: 'abel', nowMs: NOW + DAY, ...more })
    expect(approve()).toMatchObject({
      ok: true,
      value: { version: 4, fromMs: NOW + DAY, changeId: 'change0000000001' },
    })
    expect(approve({ change: { ...waiting, fromMs: NOW + 3 * DAY } })).toMatchObject({
      ok: true,
      value: { fromMs: NOW + 3 * DAY },
    })
    expect(approve({ byId: 'anna' })).toMatchObject({ reason: 'change-is-own' })
    expect(approve({ newest: { ...newest, version: 4 } })).toMatchObject({ reason: 'policy-moved-on' })
    const settled = { ...waiting, outcome: { kind: 'refused' as const, byId: 'abel', atMs: NOW, reason: 'no' } }
    expect(approve({ change: settled })).toMatchObject({ reason: 'change-settled' })
    expect(refuseChange(settled, 'no')).toMatchObject({ reason: 'change-settled' })
    expect(refuseChange(waiting, ' ')).toMatchObject({ reason: 'reason-missing' })
    expect(refuseChange(waiting, ' too low ')).toEqual({
      ok: true,
      value: { changeId: 'change0000000001', reason: 'too low' },
    })
  })
})

describe('beds', () => {
  it.each([
    ['1\n2\n3', ['1', '2', '3']],
    [' 1 \r\n\r\n 2 ', ['1', '2']],
    ['', 'beds-missing'],
    [' \n ', 'beds-missing'],
    ['1\n2\n1', 'bed-twice'],
    ['a\nA', 'bed-twice'],
    ['1234567890123', 'bed-too-long'],
    [Array.from({ length: 61 }, (_, at) => String(at)).join('\n'), 'beds-too-many'],
  ])('%j', (typed, expected) => {
    const read = parseBeds(typed)
    expect(read.ok ? read.value : read.reason).toEqual(expected)
  })
  it('a ward’s name is unique, ignoring case', () => {
    expect(openWard({ name: ' ALDER  north', beds: '1', names: ['Alder North'] })).toMatchObject({
      reason: 'ward-name-taken',
    })
    expect(openWard({ name: 'Alder', beds: '1', names: ['Alder North'] })).toMatchObject({ ok: true })
  })
  it('an occupied bed stays; others can be added, removed and reordered', () => {
    const given = { typed: '3\n1\n9', shown: ['1', '2', '3'], now: ['1', '2', '3'], occupied: ['1'] }
    expect(setBeds(given)).toEqual({ ok: true, value: ['3', '1', '9'] })
    expect(setBeds({ ...given, occupied: ['1', '2'] })).toMatchObject({ reason: 'bed-occupied', details: { bed: '2' } })
    expect(setBeds({ ...given, now: ['1', '2', '3', '4'] })).toMatchObject({ reason: 'beds-moved-on' })
    expect(setBeds({ ...given, typed: '1\n2\n3' })).toMatchObject({ reason: 'beds-unchanged' })
  })
})

describe('the version in force', () => {
  const versions = [
    { version: 3, fromMs: NOW + DAY },
    { version: 2, fromMs: NOW },
    { version: 1, fromMs: NOW - DAY },
  ]
  it.each([
    ['from its own instant', NOW, 2],
    ['until the next one', NOW + DAY - 1, 2],
    ['before the first one: the first', NOW - 2 * DAY, 1],
  ] as const)('%s', (_name, atMs, version) => {
    expect(versionInForce(versions, atMs)?.version).toBe(version)
  })
  it('is none where there is no version', () => {
    expect(versionInForce([], NOW)).toBeUndefined()
  })
})
