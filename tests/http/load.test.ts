/**
 * The load command: each fault with its path and a sentence; a file loads completely or not at all; nothing loads
 * twice.
 */
import { execFile } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { verify } from '@node-rs/argon2'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { loadInto, type LoadResult } from '../../server/load/load.ts'
import type { Scope, Store } from '../../server/store/contract.ts'
import { openStore } from '../../server/store/open.ts'
import { newId } from '../../server/http/ids.ts'
import type { Setting } from '../../shared/policy/entry.ts'
import { defaultPolicy, settingOf, withSetting, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { CHEAP_PIN } from '../support/people.ts'

const ZONE = 'America/New_York'
const NOW = localToUtc('2026-11-02', '12:00', ZONE)
const EXAMPLE = 'seed-demo/example-ward.json'
type Json = Record<string, unknown>
type Stay = Json & { orders: Json[] }
type Example = { wards: Json[]; staff: Json[]; meters: Json[]; stripLots: Json[]; stays: Stay[] } & Json
const example = (): Example => JSON.parse(readFileSync(EXAMPLE, 'utf8')) as Example
/** A stay of the example, which has two. */
const stayOf = (file: Example, at: number): Stay => {
  const stay = file.stays[at]
  if (stay === undefined) throw new Error('the example has no such stay')
  return stay
}
const orderOf = (file: Example): Json => stayOf(file, 0).orders[0] ?? {}

let store: Store
beforeEach(() => {
  store = openStore({ file: ':memory:' })
})
afterEach(() => {
  store.close()
})

const load = (json: unknown): Promise<LoadResult> => loadInto(json, { store, nowMs: NOW, newId, pinCost: CHEAP_PIN })
const scope = (): Scope => ({ staffId: 'test', role: 'charge-nurse', wardIds: store.wardIds() })
const faultsOf = async (json: unknown): Promise<Record<string, string>> => {
  const result = await load(json)
  expect(store.isEmpty(), 'a refused file leaves nothing').toBe(true)
  expect(store.lastEventAtMs()).toBeUndefined()
  if (result.ok) throw new Error('the file was loaded')
  return Object.fromEntries(result.faults.map(({ path, sentence }) => [path, sentence]))
}

describe('the example file', () => {
  it('is loaded whole and counted', async () => {
    const result = await load(example())
    expect(result).toMatchObject({
      ok: true,
      loaded: { counts: { wards: 1, staff: 3, meters: 2, 'strip lots': 1, stays: 2, orders: 1 } },
    })
    const [wardId = ''] = store.wardIds()
    const facts = store.wardFacts(scope(), wardId, NOW)
    expect(facts?.ward).toMatchObject({ name: 'Example 3 North', beds: ['1', '2', '3', '4'] })
    expect(facts?.policy.policy).toMatchObject({
      unit: 'mg/dL',
      zone: ZONE,
      mealTimes: { breakfast: '07:45' },
      limits: { low: 70, criticalHigh: 450 },
      dose: { singleDoseLimit: 18, readingAgeMaxMin: 60 },
    })
    expect(facts?.stays.map(({ bed, wristband }) => [bed, wristband]).sort()).toEqual([
      ['2', 'EX00002'],
      ['3', 'EX00003'],
    ])
    expect(facts?.meters.map(({ serial, lastControl }) => [serial, lastControl?.passed])).toEqual([
      ['GM-0001', true],
      ['GM-0002', undefined],
    ])
    expect(facts?.stripLots).toMatchObject([{ lot: 'LOT-1', expiresOn: '2027-06-30' }])
  })

  it('keeps who copied and who compared the order, the time, and the answer about its gap', async () => {
    await load(example())
    const stay = store.stayByWristband('EX00002')
    const facts = store.stayFacts(scope(), stay?.stayId ?? '', NOW)
    const [version] = facts?.orders ?? []
    expect(version).toMatchObject({
      version: 1,
      transcribedById: store.staffByBadge('X1001')?.staffId,
      writtenAtMs: localToUtc('2026-11-01', '15:00', ZONE),
      verified: { byId: store.staffByBadge('X1002')?.staffId, atMs: localToUtc('2026-11-01', '15:20', ZONE) },
    })
    expect(version?.order.correction).toMatchObject({
      kind: 'scale',
      scale: {
        unit: 'mg/dL',
        steps: [
          { atLeast: 0, answer: 0 },
          { atLeast: 150, answer: 1 },
          { atLeast: 200, answer: 2 },
          { atLeast: 250, answer: 3 },
          { atLeast: 300, answer: 4 },
          { atLeast: 350, answer: 4 },
          { atLeast: 351, answer: 5, also: 'Call the prescriber.' },
        ],
      },
    })
    expect(facts?.plans).toMatchObject([{ version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null }])
    expect(facts?.stay).toMatchObject({
      admittedAtMs: localToUtc('2026-11-01', '14:30', ZONE),
      facts: { restrictedHands: [{ hand: 'left', reason: 'drip' }] },
    })
  })

  it('makes a PIN where none is given, shows it once, and stores only its hash', async () => {
    const result = await load(example())
    if (!result.ok) throw new Error('not loaded')
    expect(result.loaded.made.map(({ badge }) => badge)).toEqual(['X1002', 'X1003'])
    for (const { badge, pin } of result.loaded.made) {
      expect(pin).toMatch(/^\d{6}$/)
      expect(await verify(store.pinHash(store.staffByBadge(badge)?.staffId ?? '') ?? '', pin)).toBe(true)
    }
    expect(await verify(store.pinHash(store.staffByBadge('X1001')?.staffId ?? '') ?? '', '204816')).toBe(true)
  })

  it('is refused the second time, naming each entry that already exists', async () => {
    await load(example())
    const before = store.lastEventAtMs()
    const again = await load(example())
    expect(again).toMatchObject({ ok: false })
    const faults = again.ok ? {} : Object.fromEntries(again.faults.map(({ path, sentence }) => [path, sentence]))
    expect(faults['wards[0].name']).toBe('There is a ward "Example 3 North" already. Nothing is loaded twice.')
    expect(faults['staff[0].badge']).toContain('X1001')
    expect(faults['meters[0].serial']).toContain('GM-0001')
    expect(faults['stripLots[0].lot']).toContain('LOT-1')
    expect(faults['stays[0].wristband']).toContain('EX00002')
    expect(faults['stays[0].bed']).toContain('"2"')
    expect(store.lastEventAtMs()).toBe(before)
    expect(store.wardIds()).toHaveLength(1)
  })

  it('can be followed by a file that adds a patient to that ward', async () => {
    await load(example())
    const { format, stays } = example()
    const more = { format, stays: [{ ...stays[1], bed: '4', wristband: 'EX00004' }] }
    expect(await load(more)).toMatchObject({ ok: true, loaded: { counts: { wards: 0, stays: 1 } } })
    expect(store.staysOfWard(scope(), store.wardIds()[0] ?? '')).toHaveLength(3)
  })
})

describe('faults of shape', () => {
  it('are reported all at once, each with its path', async () => {
    const file = example()
    file['extra'] = 1
    Object.assign(file.wards[0] ?? {}, { zone: 'Mars/Olympus' })
    Object.assign(file.staff[0] ?? {}, { pin: '12345', role: 'doctor' })
    delete stayOf(file, 0)['wristband']
    stayOf(file, 1)['bornOn'] = '2026-02-30'
    Object.assign(orderOf(file), { maxSingleDose: 'ten' })
    expect(await faultsOf(file)).toEqual({
      '(the file)': 'There is no field "extra" here.',
      'wards[0].zone': 'Write an IANA time zone, such as America/Chicago.',
      'staff[0].role': 'Write floor-nurse, charge-nurse, educator or administrator.',
      'staff[0].pin': 'A PIN has 6 to 12 digits.',
      'stays[0].wristband': 'Write this as text.',
      'stays[0].orders[0].maxSingleDose': 'Write units of insulin as a number.',
      'stays[1].bornOn': 'Write a date of the calendar as "YYYY-MM-DD".',
    })
  })

  it.each<readonly [string, unknown]>([
    ['nothing', null],
    ['a list', []],
    ['text', 'wards'],
    ['another format', { format: 'other' }],
    ['no format', {}],
  ])('refuse %s as a load file', async (_name, json) => {
    expect(Object.keys(await faultsOf(json)).length).toBeGreaterThan(0)
  })
})

describe('the policy of a ward in the file', () => {
  const FORMULA = { kind: 'formula', percent: 25, gramsWithoutNumber: 20 } as const
  const MG = defaultPolicy('mg/dL', ZONE)
  const MMOL = defaultPolicy('mmol/L', ZONE)
  const wardWith = (unit: string, policy: unknown): Json => ({
    format: 'ward-glucose-round load 1',
    wards: [{ name: 'Cedar', unit, zone: ZONE, beds: ['1'], policy }],
  })
  /** The policy of the one ward that the file opens. */
  const loadedPolicy = async (unit: string, policy: unknown): Promise<WardPolicy> => {
    expect(await load(wardWith(unit, policy))).toMatchObject({ ok: true })
    const facts = store.wardFacts(scope(), store.wardIds()[0] ?? '', NOW)
    if (facts === undefined) throw new Error('no ward')
    return facts.policy.policy
  }

  it.each<[string, Json, Partial<WardPolicy>]>([
    [
      'the interval between corrections',
      { dose: { correctionIntervalMin: { rapid: 180, intermediate: 300 } } },
      {
        dose: {
          ...MG.dose,
          correctionIntervalMin: { rapid: 180, regular: 360, intermediate: 300, 'long-acting': null },
        },
      },
    ],
    [
      'shifts',
      {
        shifts: [
          { name: 'Early', starts: '06:00' },
          { name: 'Late', starts: '14:00' },
          { name: 'Night', starts: '22:00' },
        ],
      },
      {
        shifts: [
          { name: 'Early', starts: '06:00' },
          { name: 'Late', starts: '14:00' },
          { name: 'Night', starts: '22:00' },
        ],
      },
    ],
    ['the plan while nil by mouth', { nilByMouthPlan: 'every-4-h' }, { nilByMouthPlan: 'every-4-h' }],
    ['no plan of its own while nil by mouth', { nilByMouthPlan: null }, { nilByMouthPlan: null }],
    [
      'who gives a second check',
      { secondCheck: { roles: ['charge-nurse'] } },
      { secondCheck: { ...MG.secondCheck, roles: ['charge-nurse'] } },
    ],
    [
      'which insulins need one',
      { secondCheck: { insulins: ['insulin lispro'] } },
      { secondCheck: { ...MG.secondCheck, insulins: ['insulin lispro'] } },
    ],
    [
      'fingers, in the order of the rotation',
      {
        fingers: [
          { hand: 'right', finger: 'little' },
          { hand: 'left', finger: 'index' },
        ],
      },
      {
        fingers: [
          { hand: 'right', finger: 'little' },
          { hand: 'left', finger: 'index' },
        ],
      },
    ],
    ['how long a missed check waits', { missedLookBackHours: 12 }, { missedLookBackHours: 12 }],
    [
      'one minute of one window',
      { windows: { timed: { closesAfter: 90 } } },
      { windows: { ...MG.windows, timed: { ...MG.windows.timed, closesAfter: 90 } } },
    ],
    ['dextrose by the value', { low: { dextrose: FORMULA } }, { low: { ...MG.low, dextrose: FORMULA } }],
  ])('%s', async (_name, policy, expected) => {
    expect(await loadedPolicy('mg/dL', policy)).toEqual({ ...MG, ...expected })
  })

  type Leaf = { readonly name: string; readonly value: Setting }
  const leavesOf = (value: Setting, name = ''): readonly Leaf[] =>
    value === null || typeof value !== 'object' || Array.isArray(value)
      ? [{ name, value }]
      : Object.entries(value).flatMap(([step, inner]) => leavesOf(inner, name === '' ? step : `${name}.${step}`))
  /** Another value of the same kind, which holds beside the defaults. */
  const another = ({ name, value }: Leaf): Setting => {
    if (name === 'nilByMouthPlan') return 'every-4-h'
    if (typeof value === 'boolean') return !value
    if (value === null) return 45
    if (Array.isArray(value)) return value.slice(1)
    if (typeof value === 'number')
      return /^limits\.(low|level2|criticalLow)$|\.percent$/.test(name) ? value - 1 : value + 1
    if (typeof value !== 'string') throw new Error(`no other value for ${name}`)
    // a time a minute later; any other text with a word more
    return /^\d\d:\d\d$/.test(value) ? `${value.slice(0, 4)}1` : `${value} slowly`
  }
  const leavesToLoad = (base: WardPolicy): readonly Leaf[] =>
    leavesOf(base).filter(({ name }) => name !== 'unit' && name !== 'zone' && name !== 'low.dextrose.kind')
  it('sees more leaves than anyone would list by hand', () => {
    expect(leavesToLoad(MG).length).toBeGreaterThan(80)
    expect(leavesToLoad(MG).map(({ name }) => name)).toContain('dose.correctionIntervalMin.long-acting')
  })
  it.each<[string, WardPolicy]>([
    ['mg/dL', MG],
    ['mmol/L', MMOL],
    ['dextrose by the value', { ...MG, low: { ...MG.low, dextrose: FORMULA } }],
  ])('takes another value of every leaf, one ward for each: %s', async (_name, base) => {
    // the parts of a dextrose rule are written together
    const start = { low: { dextrose: base.low.dextrose } } as WardPolicy
    const wanted = leavesToLoad(base).map((leaf) => ({
      name: leaf.name,
      before: leaf.value,
      policy: withSetting(base, leaf.name, another(leaf)),
      written: withSetting(start, leaf.name, another(leaf)),
    }))
    for (const { name, written } of wanted) {
      const { format, wards } = wardWith(base.unit, written)
      const file = { format, wards: (wards as Json[]).map((ward) => ({ ...ward, name })) }
      expect(await load(file), name).toMatchObject({ ok: true })
    }
    const loaded = new Map(
      store.wardIds().map((wardId) => {
        const facts = store.wardFacts(scope(), wardId, NOW)
        return [facts?.ward.name, facts?.policy.policy]
      }),
    )
    for (const { name, policy, before } of wanted) {
      expect(settingOf(policy, name), name).not.toEqual(before)
      expect(loaded.get(name), name).toEqual(policy)
    }
  })

  it.each<[string, Json, string, string]>([
    ['an unknown part', { surprise: 1 }, 'wards[0].policy', 'There is no field "surprise" here.'],
    ['an unknown setting', { dose: { surprise: 1 } }, 'wards[0].policy.dose', 'There is no field "surprise" here.'],
    [
      'an unknown setting of a window',
      { windows: { timed: { surprise: 1 } } },
      'wards[0].policy.windows.timed',
      'There is no field "surprise" here.',
    ],
    [
      'an insulin of no known class',
      { dose: { correctionIntervalMin: { slow: 1 } } },
      'wards[0].policy.dose.correctionIntervalMin',
      'There is no field "slow" here.',
    ],
    ['the unit once more', { unit: 'mg/dL' }, 'wards[0].policy', 'There is no field "unit" here.'],
    [
      'an amount of the other dextrose rule',
      { low: { dextrose: { ...FORMULA, grams: 25 } } },
      'wards[0].policy.low.dextrose',
      'There is no field "grams" here.',
    ],
    [
      'a dextrose rule without its amount',
      { low: { dextrose: { kind: 'formula', percent: 50 } } },
      'wards[0].policy.low.dextrose.gramsWithoutNumber',
      'Write a number of g.',
    ],
    [
      'a dextrose rule of no kind',
      { low: { dextrose: { kind: 'other' } } },
      'wards[0].policy.low.dextrose.kind',
      'Write "fixed" or "formula".',
    ],
    [
      'a plan that nobody offers',
      { nilByMouthPlan: 'every-2-h' },
      'wards[0].policy.nilByMouthPlan',
      'Write "every-4-h", "every-6-h" or null.',
    ],
    [
      'minutes as text',
      { dose: { trayWithinMin: '15' } },
      'wards[0].policy.dose.trayWithinMin',
      'Write a whole number of min.',
    ],
    ['no minutes', { dose: { readingAgeMaxMin: 0 } }, 'wards[0].policy.dose.readingAgeMaxMin', 'At least 1 min.'],
    [
      'a day and a minute',
      { dose: { verifiedValidMin: 1441 } },
      'wards[0].policy.dose.verifiedValidMin',
      'At most 1440 min.',
    ],
    [
      'a third of a unit',
      { dose: { singleDoseLimit: 7.3 } },
      'wards[0].policy.dose.singleDoseLimit',
      'Write it in steps of 0.5 units.',
    ],
    [
      'a limit that no meter shows',
      { limits: { criticalHigh: 601 } },
      'wards[0].policy.limits.criticalHigh',
      'At most 600 mg/dL.',
    ],
    [
      'nothing where something must be',
      { dose: { trayWithinMin: null } },
      'wards[0].policy.dose.trayWithinMin',
      'Write a whole number of min.',
    ],
    ['a finger twice', { fingers: [MG.fingers[0], MG.fingers[0]] }, 'wards[0].policy.fingers', 'Name each one once.'],
    [
      'a finger that nobody has',
      { fingers: [{ hand: 'left', finger: 'sixth' }] },
      'wards[0].policy.fingers[0]',
      'Write {"hand":"left","finger":"middle"}',
    ],
    [
      'a shift that starts at no time',
      { shifts: [{ name: 'Day', starts: '7' }] },
      'wards[0].policy.shifts[0].starts',
      'Write a time as "HH:MM", 00:00 to 23:59.',
    ],
    [
      'shifts out of order',
      {
        shifts: [
          { name: 'Night', starts: '19:00' },
          { name: 'Day', starts: '07:00' },
        ],
      },
      'wards[0].policy.shifts',
      'Write the shifts in the order of the day.',
    ],
    ['no shift', { shifts: [] }, 'wards[0].policy.shifts', 'Write at least one shift.'],
    [
      'nobody who gives a second check',
      { secondCheck: { roles: [] } },
      'wards[0].policy.secondCheck.roles',
      'Choose at least one role.',
    ],
    ['no finger', { fingers: [] }, 'wards[0].policy.fingers', 'Choose at least one finger.'],
    [
      'a meal outside its round',
      { mealTimes: { lunch: '09:59' } },
      'wards[0].policy.mealTimes.lunch',
      'This time lies outside its own round, which runs from 10:00 to 15:00.',
    ],
  ])('refuses %s, with its path', async (_name, policy, path, sentence) => {
    const faults = await faultsOf(wardWith('mg/dL', policy))
    expect(Object.keys(faults)).toEqual([path])
    expect(faults[path]).toContain(sentence)
  })
  it('refuses a ward of no known unit', async () => {
    expect(await faultsOf(wardWith('grams', {}))).toEqual({ 'wards[0].unit': 'Write mg/dL or mmol/L.' })
  })
  it('refuses a limit counted in mg/dL on a ward in mmol/L', async () => {
    expect(await faultsOf(wardWith('mmol/L', { limits: { criticalHigh: 400 } }))).toEqual({
      'wards[0].policy.limits.criticalHigh': 'At most 333 tenths of mmol/L.',
    })
  })
})

describe('faults of content', () => {
  const cases: readonly (readonly [string, (file: Example) => void, string, string])[] = [
    [
      'a bed that the ward has not',
      (file) => {
        stayOf(file, 0)['bed'] = '9'
      },
      'stays[0].bed',
      'has no bed "9"',
    ],
    [
      'two patients in one bed',
      (file) => {
        stayOf(file, 1)['bed'] = '2'
      },
      'stays[1].bed',
      'patient in bed "2" already',
    ],
    [
      'one wristband on two patients',
      (file) => {
        stayOf(file, 1)['wristband'] = 'EX00002'
      },
      'stays[1].wristband',
      'wears the wristband "EX00002" already',
    ],
    [
      'one badge for two people',
      (file) => {
        Object.assign(file.staff[1] ?? {}, { badge: 'X1001' })
      },
      'staff[1].badge',
      'belongs to somebody already',
    ],
    [
      'a ward that nobody opened',
      (file) => {
        stayOf(file, 0)['ward'] = 'Elsewhere'
      },
      'stays[0].ward',
      'no ward "Elsewhere"',
    ],
    [
      'an admission in the future',
      (file) => {
        stayOf(file, 1)['admittedAt'] = '2026-11-02T12:01'
      },
      'stays[1].admittedAt',
      'in the future',
    ],
    [
      'a birth after the admission',
      (file) => {
        stayOf(file, 1)['bornOn'] = '2026-11-03'
      },
      'stays[1].bornOn',
      'after the admission',
    ],
    [
      'limits that contradict each other',
      (file) => {
        Object.assign(file.wards[0] ?? {}, { policy: { limits: { criticalLow: 90 } } })
      },
      'wards[0].policy.limits',
      'contradict',
    ],
    [
      'an order verified by whoever copied it',
      (file) => {
        Object.assign(orderOf(file), { verified: { by: 'X1001', at: '2026-11-01T15:20' } })
      },
      'stays[0].orders[0].verified.by',
      'A second person verifies it',
    ],
    [
      'an order verified before it was written',
      (file) => {
        Object.assign(orderOf(file), { verified: { by: 'X1002', at: '2026-11-01T14:59' } })
      },
      'stays[0].orders[0].verified.at',
      'before it was written',
    ],
    [
      'an order written before the admission',
      (file) => {
        Object.assign(orderOf(file), { writtenAt: '2026-11-01T14:00' })
      },
      'stays[0].orders[0].writtenAt',
      'before the admission',
    ],
    [
      'an order copied by nobody known',
      (file) => {
        Object.assign(orderOf(file), { transcribedBy: 'X9' })
      },
      'stays[0].orders[0].transcribedBy',
      'Nobody has the badge',
    ],
    [
      'an order verified by an educator',
      (file) => {
        Object.assign(file.staff[1] ?? {}, { role: 'educator' })
      },
      'stays[0].orders[0].verified.by',
      'is no nurse',
    ],
    [
      'an order verified by a nurse of no ward',
      (file) => {
        Object.assign(file.staff[1] ?? {}, { wards: [] })
      },
      'stays[0].orders[0].verified.by',
      'does not work on ward',
    ],
    [
      'U-500',
      (file) => {
        Object.assign(orderOf(file), { concentration: 'U-500' })
      },
      'stays[0].orders[0]',
      'U-500 is not taken',
    ],
    [
      'a printed hole that nobody answered',
      (file) => {
        delete (orderOf(file)['correction'] as Json)['answered']
      },
      'stays[0].orders[0]',
      '350 mg/dL is in no row',
    ],
    [
      'a scale in the other unit',
      (file) => {
        Object.assign(orderOf(file), {
          correction: {
            kind: 'scale',
            rows: [
              { from: '', to: '7.8', answer: 0 },
              { from: '7.9', to: '', answer: 4 },
            ],
          },
        })
      },
      'stays[0].orders[0]',
      '"7.8" is not how a glucose is printed in mg/dL',
    ],
    [
      "a dose above the ward's limit",
      (file) => {
        Object.assign(orderOf(file), {
          maxSingleDose: 40,
          correction: {
            kind: 'scale',
            rows: [
              { from: '', to: '200', answer: 0 },
              { from: '201', to: '', answer: 19 },
            ],
          },
        })
      },
      'stays[0].orders[0]',
      'above the single-dose limit of 18 units',
    ],
    [
      'a dose below the low limit',
      (file) => {
        Object.assign(orderOf(file), { correction: { kind: 'scale', rows: [{ from: '60', to: '', answer: 2 }] } })
      },
      'stays[0].orders[0]',
      "below the ward's low limit of 70 mg/dL",
    ],
    [
      'an overlap',
      (file) => {
        Object.assign(orderOf(file), {
          correction: {
            kind: 'scale',
            rows: [
              { from: '150', to: '180', answer: 1 },
              { from: '180', to: '', answer: 2 },
            ],
          },
        })
      },
      'stays[0].orders[0]',
      '180 mg/dL is in two rows',
    ],
    [
      'a closed last row',
      (file) => {
        Object.assign(orderOf(file), { correction: { kind: 'scale', rows: [{ from: '150', to: '300', answer: 1 }] } })
      },
      'stays[0].orders[0]',
      'says nothing from 301 mg/dL up',
    ],
  ]
  it.each(cases)('%s', async (_name, change, path, words) => {
    const file = example()
    change(file)
    const faults = await faultsOf(file)
    expect(Object.keys(faults)).toContain(path)
    expect(faults[path]).toContain(words)
  })
})

describe('npm run load', () => {
  const run = (args: readonly string[], folder: string): Promise<{ code: number; out: string; err: string }> =>
    new Promise((resolve) => {
      execFile(
        process.execPath,
        ['dist/server/load/run.js', ...args],
        { env: { ...process.env, HEAD_FILE: join(folder, 'head.json') } },
        (error, out, err) => {
          resolve({ code: typeof error?.code === 'number' ? error.code : 0, out, err })
        },
      )
    })

  it('prints what was loaded and the PINs made; exits with 1 and every fault when refused', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'load-'))
    try {
      const database = join(folder, 'ward.sqlite')
      const first = await run([EXAMPLE, '--database', database], folder)
      expect(first).toMatchObject({ code: 0, err: '' })
      expect(first.out).toContain('stays: 2')
      expect(first.out).toMatch(/X1002 {2}Blake Example {2}\d{6}/)
      const second = await run([EXAMPLE, '--database', database], folder)
      expect(second.code).toBe(1)
      expect(second.err).toContain('wards[0].name: There is a ward')
      expect(second.err).toContain('Nothing was loaded')
      const bad = join(folder, 'bad.json')
      writeFileSync(bad, '{')
      expect(await run([bad, '--database', database], folder)).toMatchObject({ code: 1, out: '' })
      expect(await run([], folder)).toMatchObject({ code: 1, out: '' })
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
})
