/** An open low event moves with the patient to a ward of the other unit. Every page of both wards still works. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

let world: World
beforeEach(async () => {
  world = await makeWorld()
})
afterEach(() => world.close())

describe('a low of 3.5 mmol/L, moved to a ward of mg/dL', () => {
  it('shows Round, board, handover, patient and low pages; the new ward’s value continues the event', async () => {
    const { stayId } = stays.gwen
    const nowMs = world.clock.now()
    const head = { wardId: BIRCH, stayId, actorId: people.bo.staffId, happenedAtMs: nowMs, chartedAtMs: nowMs }
    const reading = (readingId: string, wardId: string, value: number): LedgerEvent => ({
      ...head,
      wardId,
      type: 'reading-recorded',
      body: {
        reading: {
          readingId,
          stayId,
          wardId,
          wardDate: '2026-03-10',
          checkKey: null,
          glucose: { unit: wardId === BIRCH ? 'mmol/L' : 'mg/dL', value },
          source: 'capillary',
          takenAtMs: nowMs,
          chartedAtMs: nowMs,
          byId: people.pia.staffId,
          site: null,
          meterId: null,
          stripLot: null,
          doubts: [],
          lateReason: null,
          extraReason: 'symptoms',
          supersedes: null,
          supersededBy: null,
          voided: null,
        },
      },
    })
    world.store.transact(() => {
      storeEvents(world.store, [
        reading('movedlow00000001', BIRCH, 35),
        {
          ...head,
          type: 'low-event-opened',
          body: { lowId: 'movedlowevent001', readingId: 'movedlow00000001', previousLowId: null },
        },
        { ...head, type: 'stay-moved', wardId: ALDER, body: { fromWardId: BIRCH, toWardId: ALDER, bed: '8' } },
      ])
      return null
    })
    world.clock.advance(12)
    const later = world.clock.now()
    world.store.transact(() => {
      const event = reading('movedlow00000002', ALDER, 60)
      if (event.type === 'reading-recorded')
        storeEvents(world.store, [
          {
            ...event,
            happenedAtMs: later,
            chartedAtMs: later,
            body: { reading: { ...event.body.reading, takenAtMs: later, chartedAtMs: later } },
          },
        ])
      return null
    })
    const nurse = await world.signIn(people.nora)
    for (const path of [
      '/round',
      '/board',
      '/handover',
      `/stays/${stayId}`,
      '/lows/movedlowevent001',
      '/readings/movedlow00000001',
      '/readings/movedlow00000002',
      '/print/round',
    ]) {
      const got = await nurse.get(path)
      expect(got.status, path).toBe(200)
    }
    const low = await nurse.get('/lows/movedlowevent001')
    expect(low.words()).toContain('60 mg/dL')
    expect(low.words()).toContain('lowest 60 mg/dL')
    const elsewhere = await world.signIn(people.carl)
    for (const path of ['/round', '/board', '/handover']) expect((await elsewhere.get(path)).status, path).toBe(200)
  })
})
