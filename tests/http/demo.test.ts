/** The demo: its own file, a week made by the rules, and a clock that only moves forward. */
import { execFile } from 'node:child_process'
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { startDemo, type DemoOptions, type RunningDemo } from '../../seed-demo/demo.ts'
import { PATIENTS } from '../../seed-demo/hospital.ts'
import { EAST, PEOPLE, WEST, ZONE } from '../../seed-demo/people.ts'
import type { Scope, WardFacts } from '../../server/store/contract.ts'
import { openStore } from '../../server/store/open.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { plannedChecks } from '../../shared/check/plan.ts'
import { checkState } from '../../shared/check/state.ts'
import type { CheckState } from '../../shared/check/check.ts'
import { isBelow } from '../../shared/glucose/value.ts'
import { measureFactsOf } from '../../shared/measure/from-record.ts'
import { severeHighMeasure } from '../../shared/measure/severe-high.ts'
import { severeLowMeasure } from '../../shared/measure/severe-low.ts'
import { addDays, localToUtc, wardTime } from '../../shared/time/zone.ts'
import { CHEAP_PIN } from '../support/people.ts'

const TODAY = '2026-03-10'
const MINUTE_MS = 60_000
const at = (time: string): number => localToUtc(TODAY, time, ZONE)

/** A demo made once and stopped at 07:20. Tests of later times begin with a copy of it. */
let made: string
/** How that demo stood when it had just been made: a second one would take seconds and be the same. */
let first: {
  readonly seeded: boolean
  readonly nowMs: number
  readonly wards: readonly { readonly name: string; readonly facts: WardFacts }[]
}
let folder: string
let monoMs: number
let running: RunningDemo[]
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'demo-'))
  monoMs = 5000
  running = []
})
afterEach(async () => {
  for (const demo of running) await demo.stop()
  rmSync(folder, { recursive: true })
})

beforeAll(async () => {
  made = mkdtempSync(join(tmpdir(), 'demo-made-'))
  const demo = await startDemo({
    folder: made,
    at: null,
    fresh: false,
    port: 0,
    clocks: { now: () => at('15:00'), mono: () => 5000 },
    pinCost: CHEAP_PIN,
  })
  if (!demo.ok) throw new Error(demo.reason)
  const { value } = demo
  first = {
    seeded: value.seeded,
    nowMs: value.now(),
    wards: [EAST, WEST].map((name) => ({ name, facts: wardFacts(value, name) })),
  }
  await value.stop()
})
afterAll(() => {
  rmSync(made, { recursive: true })
})
const continued = (): void => {
  cpSync(made, folder, { recursive: true })
}

const options = (more: Partial<DemoOptions> = {}): DemoOptions => ({
  folder,
  at: null,
  fresh: false,
  port: 0,
  clocks: { now: () => at('15:00'), mono: () => monoMs },
  pinCost: CHEAP_PIN,
  ...more,
})
const start = async (more: Partial<DemoOptions> = {}): Promise<RunningDemo> => {
  const started = await startDemo(options(more))
  if (!started.ok) throw new Error(started.reason)
  running.push(started.value)
  return started.value
}
const wardFacts = ({ running: { services }, now }: RunningDemo, name: string): WardFacts => {
  const scope: Scope = { staffId: 'test', role: 'charge-nurse', wardIds: services.store.wardIds() }
  const ward = services.store.wards(scope).find((one) => one.name === name)
  const facts = ward === undefined ? undefined : services.store.wardFacts(scope, ward.wardId, now())
  if (facts === undefined) throw new Error(`no ward ${name}`)
  return facts
}
/** The states of a ward's checks that are due from `fromMs` on. */
const states = (facts: WardFacts, fromMs: number, nowMs: number): readonly CheckState[] =>
  facts.stays
    .flatMap((stay) =>
      plannedChecks({
        plans: facts.plans.filter(({ stayId }) => stayId === stay.stayId),
        policy: facts.policy.policy,
        trayDelays: facts.trayDelays,
        fromMs,
        toMs: nowMs + 60 * MINUTE_MS,
        stay,
      }),
    )
    .map((check) => checkState(check, facts.outcomes.get(check.key), nowMs))

describe('a new demo', () => {
  it("starts at 07:20 of the ward's today with the round before breakfast under way", () => {
    expect(first.seeded).toBe(true)
    expect(first.nowMs).toBe(at('07:20'))
    for (const { name, facts } of first.wards) {
      expect(facts.stays.length).toBe(PATIENTS.filter(({ ward, left }) => ward === name && left === null).length)
      const found = states(facts, at('06:30'), at('07:20'))
      const [done, open] = [
        found.filter((state) => state === 'done').length,
        found.filter((state) => state === 'open').length,
      ]
      expect(done, `${name}: a few are done`).toBeGreaterThan(0)
      expect(open, `${name}: most are open`).toBeGreaterThan(done)
    }
  })

  it('has every role, both units and each kind of patient', async () => {
    continued()
    const demo = await start()
    const [east, west] = [wardFacts(demo, EAST), wardFacts(demo, WEST)]
    expect([east.policy.policy.unit, west.policy.policy.unit]).toEqual(['mg/dL', 'mmol/L'])
    expect(new Set(PEOPLE.map(({ role }) => role))).toEqual(
      new Set(['floor-nurse', 'charge-nurse', 'educator', 'administrator']),
    )
    expect(
      PEOPLE.every(({ pin }) => /^\d{6}$/.test(pin)) && new Set(PEOPLE.map(({ pin }) => pin)).size === PEOPLE.length,
    ).toBe(true)
    const facts = east.stays.map((stay) => stay.facts)
    expect(facts.some(({ nilByMouth }) => nilByMouth !== null)).toBe(true)
    expect(facts.some(({ restrictedHands }) => restrictedHands.length > 0)).toBe(true)
    expect(new Set(facts.map(({ isolation }) => isolation)).size).toBe(4)
    expect(facts.some(({ diabetes }) => diabetes === 'type-1')).toBe(true)
    expect(facts.some(({ feeding }) => feeding === 'tube')).toBe(true)
    expect(new Set(east.plans.map(({ plan }) => plan.kind))).toEqual(
      new Set(['ac-and-hs', 'every-4-h', 'every-6-h', 'listed-times']),
    )
    const ordered = new Set(east.orders.map(({ stayId }) => stayId))
    expect(
      east.stays.some(({ stayId }) => !ordered.has(stayId)),
      'a patient with no order',
    ).toBe(true)
    expect(
      east.orders.some(({ verified }) => verified === null),
      'an order nobody has verified',
    ).toBe(true)
    expect(east.orders.some(({ order }) => order.correction?.kind === 'factor' && order.meal?.kind === 'ratio')).toBe(
      true,
    )
    expect(east.orders.some(({ order }) => order.scheduled.length > 0)).toBe(true)
    expect(
      east.meters.filter(({ lastControl }) => lastControl === null || lastControl.atMs < at('00:00')).length,
      "a meter without today's control",
    ).toBe(1)
    const lowLastNight = [...east.stays].some(({ stayId }) =>
      demo.running.services.store
        .stayFacts({ staffId: 'test', role: 'charge-nurse', wardIds: [east.ward.wardId] }, stayId, demo.now())
        ?.lows.some(({ openedAtMs, closedAtMs }) => openedAtMs === at('03:10') && closedAtMs !== null),
    )
    expect(lowLastNight, 'a low of last night, treated and closed').toBe(true)
  })

  it('leaves nothing of the past open: no unexplained missed check, open low or open dose', async () => {
    continued()
    const demo = await start()
    for (const name of [EAST, WEST]) {
      const facts = wardFacts(demo, name)
      expect(states(facts, at('07:20') - 24 * 60 * MINUTE_MS, at('07:20'))).not.toContain('missed')
      expect(facts.lows.filter(({ closedAtMs }) => closedAtMs === null)).toEqual([])
      expect(facts.openItems.filter(({ kind }) => kind !== 'second-check' && kind !== 'insulin-no-tray')).toEqual([])
    }
  })

  it('has ended stays: one with a severe low, one with values above 300 mg/dL, two with neither', async () => {
    continued()
    const demo = await start()
    const { store } = demo.running.services
    const scope: Scope = { staffId: 'test', role: 'educator', wardIds: store.wardIds() }
    const ended = store.staysEnded(scope, { wardIds: store.wardIds(), fromMs: 0, toMs: demo.now() })
    const period = { from: addDays(TODAY, -7), to: addDays(TODAY, -1) }
    const found = ended.map((one) => {
      const facts = measureFactsOf(one, ZONE)
      const [low, high] = [
        severeLowMeasure(facts, period, 'published')[0],
        severeHighMeasure(facts, period, 'published')[0],
      ]
      return `${low?.denominator === true && low.numerator ? 'low' : '-'} ${(high?.eventDays ?? 0) > 0 ? 'high' : '-'}`
    })
    expect(found.sort()).toEqual(['- -', '- -', '- high', 'low -'])
    // discharged patients left nothing open
    for (const name of [EAST, WEST])
      expect(
        wardFacts(demo, name).openItems.filter(({ stayId }) => ended.some(({ stay }) => stay.stayId === stayId)),
      ).toEqual([])
  })

  it('passes verify dose by dose, and has lows with their rechecks', () => {
    continued()
    const file = join(folder, 'demo.sqlite')
    const verified = verifyStore({ file, headFile: join(folder, 'demo-ledger-head.json') })
    expect(verified.flatMap(({ differences }) => differences)).toEqual([])
    expect(verified.find(({ what }) => what === 'doses worked out again')?.checked).toBeGreaterThan(200)
    const store = openStore({ file })
    try {
      const scope: Scope = { staffId: 'test', role: 'charge-nurse', wardIds: store.wardIds() }
      const stays = store.wardIds().flatMap((wardId) => store.staysOfWard(scope, wardId))
      const rechecks = stays
        .flatMap(({ stayId }) => store.stayFacts(scope, stayId, at('07:20'))?.readings ?? [])
        .filter(({ checkKey }) => checkKey?.startsWith('low.') === true)
      expect(rechecks.length).toBeGreaterThan(1)
      expect(rechecks.some(({ glucose }) => !isBelow(glucose, glucose.unit === 'mg/dL' ? 70 : 39))).toBe(true)
      expect(store.lastEventAtMs()).toBeLessThan(at('07:20'))
    } finally {
      store.close()
    }
  })

  it('closes each low with a cause that agrees with its own record', () => {
    continued()
    const store = openStore({ file: join(folder, 'demo.sqlite') })
    try {
      const scope: Scope = { staffId: 'test', role: 'educator', wardIds: store.wardIds() }
      const lows = store.lowsOpened(scope, { wardIds: store.wardIds(), fromMs: 0, toMs: at('07:20') })
      expect(lows.length).toBeGreaterThan(3)
      for (const { low, stay } of lows) {
        const span = { fromMs: low.openedAtMs - 5 * 60 * MINUTE_MS, toMs: low.openedAtMs }
        const record = store.stayAudit(scope, stay.stayId, span)
        const doses =
          record?.doses.filter(
            ({ outcome, insulin }) =>
              outcome?.kind === 'given' &&
              outcome.atMs >= span.fromMs &&
              outcome.atMs < span.toMs &&
              insulin !== 'insulin glargine',
          ) ?? []
        const shares =
          record?.trays
            .filter(({ servedAtMs }) => servedAtMs !== null && servedAtMs >= span.fromMs && servedAtMs < span.toMs)
            .map(({ shareEatenPercent }) => shareEatenPercent ?? 100) ?? []
        const cause = low.charted.closing?.cause
        const says = `${low.lowId}: ${String(cause)}, ${String(doses.length)} doses, eaten ${shares.join(', ')}`
        if (cause === 'missed-or-delayed-meal')
          expect(
            shares.some((share) => share <= 50),
            says,
          ).toBe(true)
        else if (cause === 'dose-too-high') expect(doses.length, says).toBe(1)
        else if (cause === 'stacking') expect(doses.length, says).toBeGreaterThan(1)
        else expect(doses.length, says).toBe(0)
      }
    } finally {
      store.close()
    }
  })

  it.each(['00:05', '23:50'])('starts at %s when asked', async (time) => {
    const demo = await start({ at: time })
    expect(demo.now()).toBe(at(time))
    expect(demo.running.services.store.lastEventAtMs()).toBeLessThan(at(time))
    for (const name of [EAST, WEST])
      expect(states(wardFacts(demo, name), at(time) - 24 * 60 * MINUTE_MS, at(time))).not.toContain('missed')
  })

  it('also starts on the morning of a clock change and in the week after one', async () => {
    for (const today of ['2026-03-08', '2026-11-05']) {
      const demo = await start({
        fresh: true,
        clocks: { now: () => localToUtc(today, '12:00', ZONE), mono: () => monoMs },
      })
      expect(wardTime(demo.now(), ZONE)).toBe('07:20')
      expect(demo.now()).toBe(localToUtc(today, '07:20', ZONE))
      await demo.stop()
    }
  })
})

describe("the demo's clock", () => {
  it('runs with real time and moves on by 5, 15 and 60 minutes', async () => {
    continued()
    const demo = await start()
    monoMs += 30_000
    expect(demo.now()).toBe(at('07:20') + 30_000)
    for (const minutes of [5, 15, 60] as const) demo.running.services.demoClock?.advanceMinutes(minutes)
    expect(demo.now()).toBe(at('08:40') + 30_000)
  })

  it('continues after a restart, also of the machine', async () => {
    continued()
    const first = await start()
    first.running.services.demoClock?.advanceMinutes(60)
    monoMs += 90_000
    await first.stop()
    monoMs = 3
    const second = await start({ clocks: { now: () => at('23:00'), mono: () => monoMs } })
    expect(second.seeded).toBe(false)
    expect(second.now()).toBe(at('08:20') + 90_000)
  })

  it('keeps its own day a day later, and can move to a later time of that day', async () => {
    continued()
    const nextDay = { now: () => localToUtc(addDays(TODAY, 1), '09:00', ZONE), mono: () => monoMs }
    const same = await start({ clocks: nextDay })
    expect(same.now()).toBe(at('07:20'))
    await same.stop()
    expect((await start({ clocks: nextDay, at: '11:40' })).now()).toBe(at('11:40'))
  })

  it('refuses an earlier time without --fresh and changes nothing', async () => {
    continued()
    await (await start({ at: '11:40' })).stop()
    expect(await startDemo(options({ at: '07:20' }))).toMatchObject({
      ok: false,
      reason: 'earlier-needs-fresh',
      details: { at: '07:20', stands: '11:40' },
    })
    const again = await start({ at: '07:20', fresh: true })
    expect(again.seeded).toBe(true)
    expect(again.now()).toBe(at('07:20'))
  })

  it('is never before the last event', async () => {
    continued()
    const demo = await start()
    const { store } = demo.running.services
    const eventMs = at('09:00')
    store.transact(() => {
      storeEvents(store, [
        {
          type: 'tray-delayed',
          wardId: store.wardIds()[0] ?? '',
          stayId: null,
          actorId: 'loader',
          happenedAtMs: eventMs,
          chartedAtMs: eventMs,
          body: { date: TODAY, meal: 'lunch', minutes: 10 },
        },
      ])
      return null
    })
    await demo.stop()
    expect((await start()).now()).toBe(eventMs)
  })
})

describe("a file that is not a demo's", () => {
  it.each([false, true])('is refused and not changed (--fresh: %s)', async (fresh) => {
    const file = join(folder, 'demo.sqlite')
    openStore({ file }).close()
    const before = readFileSync(file)
    expect(await startDemo(options({ fresh }))).toMatchObject({ ok: false, reason: 'not-a-demo', details: { file } })
    expect(readFileSync(file).equals(before)).toBe(true)
    expect(existsSync(join(folder, 'demo-ledger-head.json'))).toBe(false)
    expect(statSync(file).size).toBeGreaterThan(0)
  })
})

describe('npm run demo', () => {
  const run = (args: readonly string[]): Promise<{ code: number | null; out: string; err: string }> =>
    new Promise((resolve) => {
      const child = execFile(
        process.execPath,
        [join(process.cwd(), 'dist/seed-demo/run.js'), ...args],
        { cwd: folder },
        (error, out, err) => {
          resolve({ code: error === null ? 0 : typeof error.code === 'number' ? error.code : null, out, err })
        },
      )
      child.stdout?.on('data', (text: string) => {
        if (text.includes('Stop with Ctrl-C')) child.kill('SIGTERM')
      })
    })

  it('prints the address, badges and PINs, stops cleanly, and refuses an earlier time with a message', async () => {
    const first = await run(['--port', '0', '--at', '11:40'])
    expect(first.err).toBe('')
    expect(first.code).toBe(0)
    expect(first.out).toMatch(/http:\/\/127\.0\.0\.1:\d+/)
    for (const { badge, pin, name } of PEOPLE) expect(first.out).toMatch(new RegExp(`${badge} +${pin} .*${name}`))
    const second = await run(['--port', '0', '--at', '07:20'])
    expect(second).toMatchObject({ code: 1, out: '' })
    expect(second.err).toContain('--fresh')
  })

  it.each([
    [['--at', '25:00'], '--at takes a time'],
    [['--port', 'x'], '--port takes a number'],
    [['--bed', '7'], 'cannot start'],
  ])('refuses %s', async (args, words) => {
    const refused = await run(args)
    expect(refused.code).toBe(1)
    expect(refused.err).toContain(words)
  })
})
