/** Limits of a dose, of directions and the last minute to give, as nurses meet them. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { treatShown } from '../support/audited-day.ts'
import {
  ALL,
  answer,
  charted,
  DATE,
  dose,
  give,
  giveFields,
  idOf,
  NONE_ELSEWHERE,
  proposeDose,
  takeExtra,
  takeReading,
  verify,
} from '../support/bedside.ts'
import { errorOf } from '../support/html.ts'
import { people } from '../support/people.ts'
import { eventHead } from '../../shared/ledger/head.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { ALDER_SCALE, scaleOrder, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import type { Client } from '../support/client.ts'

let world: World
let nora: Client
const DIRECTED = {
  prescriber: 'Dr Sanna Weir',
  insulin: 'insulin lispro',
  why: 'asked by telephone',
  readBack: 'yes',
}
const direct = (readingId: string, change: Readonly<Record<string, string>>): ReturnType<Client['post']> =>
  nora.post(`/readings/${readingId}/direction`, { ...DIRECTED, ...change })

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:30' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

describe('a large dose', () => {
  it('by direction is typed again; another number is no confirmation, and the stop is absolute', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    const before = charted(world, stays.ruth)
    const asked = await direct(readingId, { units: '22' })
    expect([asked.status, asked.words().includes('Large dose: type the units again')]).toEqual([409, true])
    expect(asked.words()).toContain('above 20 units the ward asks for it again')
    expect((await direct(readingId, { units: '22', unitsAgain: '2' })).status).toBe(409)
    const above = await direct(readingId, { units: '40.5', unitsAgain: '40.5' })
    expect([above.status, errorOf(above.root(), 'units')]).toEqual([422, expect.stringContaining('limit of 40 units')])
    expect(charted(world, stays.ruth)).not.toContain('direction-recorded')
    expect(before).not.toContain('direction-recorded')
    const done = await direct(readingId, { units: '22', unitsAgain: '22' })
    expect(dose(world.store, idOf(done)).units).toBe(22)
  })

  it('by the clock is typed again above 50 units of glargine', async () => {
    const nowMs = world.clock.now()
    const head = { ...eventHead(stays.leo, people.pia.staffId, nowMs) }
    const order = scaleOrder(ALDER_SCALE, nowMs - 3_600_000, {
      insulin: 'insulin glargine',
      correction: null,
      occasions: [],
      maxSingleDose: 100,
      scheduled: [{ time: '07:30', units: 54, holdBelow: null }],
    })
    const { orderId } = stays.leo
    world.store.transact(() => {
      storeEvents(world.store, [
        { ...head, type: 'order-written', body: { orderId, version: 2, order } },
        { ...head, actorId: people.cora.staffId, type: 'order-verified', body: { orderId, version: 2 } },
      ])
      return null
    })
    const path = `/stays/${stays.leo.stayId}/scheduled/${DATE}.0730`
    expect((await nora.get(path)).words()).toContain('Large dose: type the units again')
    expect((await nora.post(path, NONE_ELSEWHERE)).status).toBe(409)
    const done = await nora.post(path, { ...NONE_ELSEWHERE, unitsAgain: '54' })
    expect(dose(world.store, idOf(done)).units).toBe(54)
  })
})

describe('a direction on a low', () => {
  it('is refused while the low waits for its treatment; rapid insulin until it has recovered', async () => {
    const readingId = await takeReading(nora, stays.ruth, '45')
    const told = { toldOfEarlier: 'yes' }
    const untreated = await direct(readingId, { ...told, units: '15' })
    expect([untreated.status, untreated.words().includes('A low has not recovered yet')]).toEqual([409, true])
    expect((await direct(readingId, { ...told, units: '15', insulin: 'insulin glargine' })).status).toBe(409)
    const [low] = world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.lows ?? []
    await treatShown(nora, `/lows/${low?.lowId ?? ''}`)
    expect((await direct(readingId, { ...told, units: '15' })).status).toBe(409)
    const none = await direct(readingId, { units: '0' })
    expect(dose(world.store, idOf(none))).toMatchObject({ units: 0, outcome: { kind: 'zero-charted' } })
  })
})

describe('a third direction in 12 minutes', () => {
  it('is checked by the charge nurse, and both nurses see what went before', async () => {
    const readingId = await takeReading(nora, stays.ruth, '390')
    for (const [index, at] of ['07:32', '07:38'].entries()) {
      world.clock.set(`${DATE}T${at}`)
      const doseId = idOf(await direct(readingId, { units: '20', ...(index === 0 ? {} : { toldOfEarlier: 'yes' }) }))
      await verify(nora, doseId, stays.ruth, people.omar, '390', '20')
      await give(nora, doseId, stays.ruth, at)
    }
    const form = await nora.get(`/readings/${readingId}/direction`)
    expect(form.words()).toContain('20 units of insulin lispro at 07:32')
    const third = idOf(await direct(readingId, { units: '20', toldOfEarlier: 'yes' }))
    expect((await nora.get(`/doses/${third}`)).words()).toContain('60 units of rapid or regular insulin')
    const byFloor = await answer(nora, third, people.omar, '390', '20')
    expect([byFloor.status, byFloor.words().includes('The charge nurse does the second check')]).toEqual([403, true])
    expect((await answer(nora, third, people.cora, '390', '20')).status).toBe(303)
  })
})

describe('the reading’s age at giving', () => {
  it('a new reading comes first with under 15 minutes left', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    world.clock.advance(46)
    nora = await world.signIn(people.nora)
    const page = await nora.get(`/readings/${readingId}/dose`)
    expect(page.words()).toContain('Insulin is given at most 1 h after it')
    expect(page.words()).toContain('Take a fresh reading.')
  })

  it('stops an injection 61 min after the reading; one that happened is charted with its reason', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    world.clock.advance(40)
    nora = await world.signIn(people.nora)
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    expect((await nora.get(`/doses/${doseId}/give`)).words()).toContain('To be given by 08:30')
    world.clock.advance(21)
    nora = await world.signIn(people.nora)
    const page = await nora.get(`/doses/${doseId}/give`)
    expect(page.words()).toContain('It was to be given by 08:30')
    const late = giveFields(stays.ruth, '08:31')
    expect((await nora.post(`/doses/${doseId}/give`, late)).status).toBe(409)
    const noNote = await nora.post(`/doses/${doseId}/give`, { ...late, alreadyGiven: 'yes' })
    expect([noNote.status, errorOf(noNote.root(), 'deviationNote') !== null]).toEqual([422, true])
    const done = await nora.post(`/doses/${doseId}/give`, {
      ...late,
      alreadyGiven: 'yes',
      deviationNote: 'The patient was in the bathroom.',
    })
    expect(done.status).toBe(303)
    expect(dose(world.store, doseId).outcome).toMatchObject({
      kind: 'given',
      deviation: { stop: 'dose-lapsed', note: 'The patient was in the bathroom.' },
    })
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain(
      'Deviation: it was given although it was stopped. The patient was in the bathroom.',
    )
  })

  it('an injection after a newer reading voided the dose is charted, and the record verifies', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    world.clock.advance(5)
    await takeExtra(nora, stays.ruth, '238', 'newer')
    const fields = giveFields(stays.ruth, '07:35')
    expect((await nora.post(`/doses/${doseId}/give`, fields)).status).toBe(409)
    const done = await nora.post(`/doses/${doseId}/give`, {
      ...fields,
      alreadyGiven: 'yes',
      deviationNote: 'Injected while the other nurse measured.',
    })
    expect([done.status, dose(world.store, doseId).outcome?.kind]).toEqual([303, 'given'])
  })
})
