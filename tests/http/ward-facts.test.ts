/** A ward's facts are read again only for patients that changed. The result equals reading everything. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { beforeAll, describe, expect, it } from 'vitest'
import { startDemo } from '../../seed-demo/demo.ts'
import { ZONE } from '../../seed-demo/people.ts'
import { roundSnapshot, type RoundSnapshot } from '../../server/bedside/ward-now.ts'
import { renderedRound, renderRound, type RenderedRound } from '../../server/round/render.ts'
import { connect } from '../../server/store/connection.ts'
import type { Scope, Store, WardFacts } from '../../server/store/contract.ts'
import { eventOf, ledgerOf } from '../../server/store/ledger.ts'
import { MARKER } from '../../server/store/marker.ts'
import { openStore } from '../../server/store/open.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { WardChanges } from '../../server/store/ward-changes.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { CHEAP_PIN } from '../support/people.ts'

const START_MS = localToUtc('2026-03-10', '15:00', ZONE)

/** Every event of the demo's week, in order, without what the store adds to them. */
let week: readonly LedgerEvent[]
beforeAll(async () => {
  const folder = mkdtempSync(join(tmpdir(), 'ward-facts-'))
  const clocks = { now: () => START_MS, mono: () => 5000 }
  const demo = await startDemo({ folder, at: null, fresh: false, port: 0, clocks, pinCost: CHEAP_PIN })
  if (!demo.ok) throw new Error(demo.reason)
  await demo.value.stop()
  const connection = connect(join(folder, 'demo.sqlite'), 'read-only')
  week = [...ledgerOf(connection).rows()].map(eventOf).filter(({ type }) => type !== 'dose-voided' && type !== MARKER)
  connection.raw.close()
  rmSync(folder, { recursive: true })
})

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS

/** The parts that differ, compared as text. Revisions are internal objects of the store and are left out. */
function differing({ stayRevisions: _, ...one }: WardFacts, other: WardFacts): readonly string[] {
  const text = (value: unknown): string => {
    if (value instanceof Map) return JSON.stringify([...value].sort(([a], [b]) => (String(a) < String(b) ? -1 : 1)))
    return JSON.stringify(value instanceof Set ? [...value].sort() : value)
  }
  return Object.entries(one).flatMap(([part, value]) =>
    text(value) === text(other[part as keyof WardFacts]) ? [] : [part],
  )
}

const everyWard = (store: Store): Scope => ({ staffId: 'test', role: 'charge-nurse', wardIds: store.wardIds() })

describe('the facts of a ward', () => {
  it('equal a full read after each event of a week; most patients are not read again', () => {
    const store = openStore({ file: ':memory:' })
    let [compared, reused] = [0, 0]
    const before = new Map<string, WardFacts>()
    for (const [index, event] of week.entries()) {
      store.transact(() => {
        storeEvents(store, [event])
        return null
      })
      // a few events between two reads, as on a ward; each of the last day is read
      if (index % 5 !== 0 && event.chartedAtMs < START_MS - DAY_MS) continue
      const scope = everyWard(store)
      // one instant for each hour the facts are kept, because the period of the facts depends on it
      const atMs = Math.ceil(event.chartedAtMs / HOUR_MS) * HOUR_MS
      for (const wardId of scope.wardIds) {
        const now = store.wardFacts(scope, wardId, atMs)
        const earlier = before.get(wardId)
        if (now === undefined || now.ward.dataVersion === earlier?.ward.dataVersion) continue
        // a transaction does not use the cache
        const whole = store.transact(() => store.wardFacts(scope, wardId, atMs) ?? null)
        if (whole !== null) expect(differing(now, whole), event.type).toEqual([])
        compared++
        for (const [stayId, revision] of now.stayRevisions)
          if (earlier?.stayRevisions.get(stayId) === revision) reused++
        before.set(wardId, now)
      }
    }
    expect(compared).toBeGreaterThan(500)
    expect(reused).toBeGreaterThan(4 * compared)
    store.close()
  })

  it('give the same Round for every kind of reader as drawing everything again', () => {
    const store = openStore({ file: ':memory:' })
    let taken = 0
    let drawn = 0
    const lines = new Map<string, RoundSnapshot>()
    for (const [index, event] of week.entries()) {
      store.transact(() => {
        storeEvents(store, [event])
        return null
      })
      const isLastDay = event.chartedAtMs > START_MS - DAY_MS
      if (index % (isLastDay ? 2 : 40) !== 0) continue
      const scope = everyWard(store)
      for (const wardId of scope.wardIds) {
        // some seconds after the event, and minutes later for the last one of a while
        for (const laterMs of [1000, 20_000]) {
          const nowMs = event.chartedAtMs + laterMs
          const kept = roundSnapshot({ store, scope, nowMs }, wardId)
          const earlier = lines.get(wardId)
          if (kept === earlier) continue
          // a store of another identity has no snapshot, so everything is derived and drawn
          const fresh = roundSnapshot({ store: { ...store }, scope, nowMs: kept?.madeAtMs ?? nowMs }, wardId)
          if (kept === undefined || fresh === undefined) continue
          const { derived: _kept, ...keptModel } = kept.model
          const { derived: _fresh, ...freshModel } = fresh.model
          expect(JSON.stringify(keptModel), event.type).toBe(JSON.stringify(freshModel))
          expect([...kept.model.patients], event.type).toEqual([...fresh.model.patients])
          expect(textOf(renderedRound(kept)), event.type).toEqual(textOf(renderRound(fresh)))
          drawn += kept.model.lines.length
          if (earlier !== undefined)
            taken += kept.model.lines.filter((line) => earlier.model.lines.includes(line)).length
          lines.set(wardId, kept)
        }
      }
    }
    expect(drawn).toBeGreaterThan(1000)
    expect(taken).toBeGreaterThan(drawn / 2)
    store.close()
  })
})

/** Everything drawn, without ages: a line drawn earlier in the same minute keeps its minute. */
function textOf({ lines, missed, scheduled, rest, leftBehind }: RenderedRound): readonly string[] {
  return [
    ...lines.flatMap(({ shown, masked, maskedTaker }) => [shown, masked, maskedTaker]),
    ...[...missed, ...scheduled].map(({ row }) => row),
    ...rest.flatMap(({ shown, masked, maskedTaker }) => [shown.row, masked.row, maskedTaker.row]),
    ...leftBehind,
  ].map(String)
}

describe('the changes of a ward', () => {
  const step = (version: number, stayId: string | null = `stay${String(version)}`) => ({ wardId: 'w', version, stayId })

  it('name the patients of the requested versions', () => {
    const changes = new WardChanges()
    changes.committed([step(5), step(6), step(7, 'stay5')])
    expect(changes.staysBetween('w', 4, 7)).toEqual(new Set(['stay5', 'stay6']))
    expect(changes.staysBetween('w', 5, 6)).toEqual(new Set(['stay6']))
    expect(changes.staysBetween('w', 6, 6)).toEqual(new Set())
  })

  it.each([
    ['a version that another process wrote', 4, 8, [step(5), step(7), step(8)]],
    ['an event about the whole ward', 4, 6, [step(5), step(6, null)]],
    ['a version of before this process began', 1, 6, [step(5), step(6)]],
    ['a version that is behind', 6, 5, [step(5), step(6)]],
    ['more steps than are kept', 0, 100, Array.from({ length: 100 }, (_, index) => step(index + 1))],
  ])('request the whole ward after %s', (_name, from, to, steps) => {
    const changes = new WardChanges()
    changes.committed(steps)
    expect(changes.staysBetween('w', from, to)).toBeNull()
  })

  it('are not recorded by a transaction that is rolled back', () => {
    const store = openStore({ file: ':memory:' })
    const scope = everyWard(store)
    for (const event of week.slice(0, 60)) {
      store.transact(() => {
        storeEvents(store, [event])
        return null
      })
    }
    const [wardId = ''] = store.wardIds()
    const inScope = { ...scope, wardIds: [wardId] }
    const atMs = week[60]?.chartedAtMs ?? 0
    const before = store.wardFacts(inScope, wardId, atMs)
    expect(() =>
      store.transact(() => {
        storeEvents(store, week.slice(60, 62))
        throw new Error('rolled back')
      }),
    ).toThrow('rolled back')
    expect(store.wardFacts(inScope, wardId, atMs)?.stayRevisions).toBe(before?.stayRevisions)
    store.close()
  })
})
