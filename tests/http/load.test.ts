/** The load command: every fault with its path and a sentence, all of a file or nothing, nothing twice. */
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

  it('keeps who copied the order, who compared it and when, and the hole as it was answered', async () => {
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

  it('is refused the second time, naming each thing that is there already', async () => {
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

  it('can be followed by a file that adds a patient to the ward already there', async () => {
    await load(example())
    const { format, stays } = example()
    const more = { format, stays: [{ ...stays[1], bed: '4', wristband: 'EX00004' }] }
    expect(await load(more)).toMatchObject({ ok: true, loaded: { counts: { wards: 0, stays: 1 } } })
    expect(store.staysOfWard(scope(), store.wardIds()[0] ?? '')).toHaveLength(3)
  })
})

describe('what is wrong with the shape', () => {
  it('all faults are told at once, each with its path', async () => {
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
  ])('%s is no load file', async (_name, json) => {
    expect(Object.keys(await faultsOf(json)).length).toBeGreaterThan(0)
  })
})

describe('what cannot be true', () => {
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

  it('prints what was loaded and the PINs made, and answers 1 with every fault when refused', async () => {
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
