/**
 * A control that fails after a reading stops all insulin that depends on the reading until the meter passes a
 * control.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Store } from '../../server/store/contract.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import {
  ALL,
  answer,
  answerLate,
  dose,
  give,
  giveFields,
  NONE_ELSEWHERE,
  productFields,
  proposeDose,
  takeReading,
  verify,
} from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { checkHtml, formTo } from '../support/html.ts'
import { ALDER, people } from '../support/people.ts'
import { lots, meters, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

const METER = meters.alder.meterId
const CEDAR = 'wardcedar0000001'

let world: World
let nora: Client
let appended: LedgerEvent[]
let folder: string
let file: string

beforeEach(async () => {
  appended = []
  folder = mkdtempSync(join(tmpdir(), 'ward-meter-'))
  file = join(folder, 'ward.sqlite')
  const wrapStore = (store: Store): Store => ({
    ...store,
    append: (events) => {
      store.append(events)
      appended.push(...events)
    },
  })
  world = await makeWorld({ at: '2026-03-10T07:30', file, wrapStore })
  append(
    event('strip-lot-ranges-set', ALDER, {
      lot: lots.good,
      level1: { unit: 'mg/dL', from: 36, to: 54 },
      level2: { unit: 'mg/dL', from: 100, to: 140 },
    }),
  )
  nora = await world.signIn(people.nora)
})
afterEach(async () => {
  await world.close()
  // in every case the ledger agrees and each dose works out as stored
  const differences = verifyStore({ file, headFile: null }).flatMap((line) => line.differences)
  rmSync(folder, { recursive: true })
  expect(differences).toEqual([])
})

function event(type: LedgerEvent['type'], wardId: string | null, body: object): LedgerEvent {
  return {
    type,
    wardId,
    stayId: null,
    actorId: 'loader',
    happenedAtMs: world.clock.now(),
    chartedAtMs: world.clock.now(),
    body,
  } as LedgerEvent
}
function append(...events: readonly LedgerEvent[]): void {
  world.store.transact(() => {
    storeEvents(world.store, events)
    return null
  })
}
async function control(level1: string, meterId: string = METER): Promise<void> {
  const got = await nora.post(`/setup/meters/${meterId}/controls`, { lot: lots.good, level1, level2: '120' })
  expect(got.status).toBe(303)
}
const fails = (): Promise<void> => control('60')
const passes = (): Promise<void> => control('45')
const asked = (readingId: string): Promise<Got> =>
  nora.postRaw(`/readings/${readingId}/dose`, {
    ...NONE_ELSEWHERE,
    key: world.server.appContext.formKeys.make(people.nora.staffId, 'dose'),
  })
const dosesOf = () => world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.doses.length

describe('a reading charted after a control that came after it', () => {
  /** Takes the value at this ward time and charts it now. Answers the doubts charted with it. */
  async function chartTaken(
    takenAt: string,
  ): Promise<{ readonly readingId: string; readonly doubts: readonly string[] }> {
    const readingId = await takeReading(nora, stays.ruth, '243', { takenAt })
    return { readingId, doubts: world.store.readingById(ALL, readingId)?.doubts ?? ['no reading'] }
  }
  it('is judged by the control before it: a newer passed control puts it in no doubt', async () => {
    world.clock.advance(5)
    await passes()
    world.clock.advance(5)
    const { readingId, doubts } = await chartTaken('07:32')
    expect(doubts).toEqual([])
    expect((await nora.get(`/readings/${readingId}`)).words()).not.toContain('In doubt')
    expect(await proposeDose(nora, readingId)).toMatch(/./)
  })
  it('leads to no insulin while the newer control is failed, and is free once the meter passes', async () => {
    world.clock.advance(5)
    await fails()
    world.clock.advance(5)
    const { readingId, doubts } = await chartTaken('07:32')
    expect(doubts).toEqual([])
    expect((await nora.get(`/readings/${readingId}`)).words()).toContain('its meter failed a control at 07:35')
    expect((await asked(readingId)).status).toBe(409)
    await passes()
    expect((await asked(readingId)).status).toBe(303)
  })
  it('stays in doubt when the control before it failed, whatever came after', async () => {
    await fails()
    world.clock.advance(5)
    await passes()
    world.clock.advance(5)
    const { readingId, doubts } = await chartTaken('07:32')
    expect(doubts).toEqual(['meter-control-not-done'])
    expect((await asked(readingId)).status).toBe(409)
  })
  it('stays in doubt when the first control of the day came after it', async () => {
    world.clock.advance(5)
    await control('45', meters.alderNoControl.meterId)
    world.clock.advance(5)
    const readingId = await takeReading(nora, stays.ruth, '243', {
      takenAt: '07:32',
      meterId: meters.alderNoControl.meterId,
    })
    expect(world.store.readingById(ALL, readingId)?.doubts).toEqual(['meter-control-not-done'])
  })
})

describe('before a dose is worked out', () => {
  it('refuses it, says why on both pages, and keeps a near miss', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    world.clock.advance(5)
    await fails()
    const result = await nora.get(`/readings/${readingId}`)
    expect(await checkHtml(result.text)).toEqual([])
    for (const words of [
      'No insulin from this reading. Measure again',
      'Its meter failed a control at 07:35, after this reading was taken.',
      'In doubt: its meter failed a control at 07:35',
    ])
      expect(result.words()).toContain(words)
    expect(
      formTo((await nora.get(`/readings/${readingId}/dose`)).root(), `/readings/${readingId}/dose`),
    ).toBeUndefined()
    const got = await asked(readingId)
    expect([
      got.status,
      got.words().includes('The meter failed a control at 07:35, after this reading was taken'),
    ]).toEqual([409, true])
    expect(dosesOf()).toBe(0)
    expect(appended.filter(({ type }) => type === 'dose-stopped').map(({ body }) => body)).toMatchObject([
      { readingId, guards: ['reading-in-doubt'] },
    ])
    expect((await nora.get(`/stays/${stays.ruth.stayId}`)).words()).toContain('its meter failed a control since')
  })

  it('refuses a prescriber’s direction too', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    await fails()
    const key = world.server.appContext.formKeys.make(people.nora.staffId, 'direction')
    const got = await nora.postRaw(`/readings/${readingId}/direction`, {
      prescriber: 'Dr Sanna Weir',
      readBack: 'yes',
      why: 'ketones',
      insulin: 'insulin lispro',
      units: '5',
      slot: '',
      key,
    })
    expect([got.status, dosesOf()]).toEqual([409, 0])
  })

  it('allows it after a passed control, or with a new reading by another meter', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    world.clock.advance(5)
    await fails()
    world.clock.advance(5)
    await passes()
    expect(dose(world.store, await proposeDose(nora, readingId)).units).toBe(4)
    await fails()
    await control('45', meters.alderNoControl.meterId)
    world.clock.advance(1)
    const fresh = await takeReading(nora, stays.ruth, '251', {
      key: `extra.${stays.ruth.stayId}.fresh00000000001`,
      extraReason: 'other',
      meterId: meters.alderNoControl.meterId,
    })
    expect(dose(world.store, await proposeDose(nora, fresh, {})).units).toBe(6)
  })

  it('ignores a passed control, and controls of another meter', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    await passes()
    await control('60', meters.alderNoControl.meterId)
    expect((await nora.get(`/readings/${readingId}`)).words()).not.toContain('failed a control')
    await proposeDose(nora, readingId)
  })

  it('follows the meter to another ward or out of use', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    append(
      event('ward-opened', CEDAR, { name: 'Cedar', beds: ['1'] }),
      event('meter-moved', ALDER, { meterId: METER, toWardId: CEDAR }),
    )
    const before = world.store.wardVersion(ALL, ALDER) ?? 0
    append(
      event('meter-controlled', CEDAR, { meterId: METER, passed: false }),
      event('meter-retired', CEDAR, { meterId: METER, reason: 'reads low' }),
    )
    // the ward where it measured refreshes its pages
    expect(world.store.wardVersion(ALL, ALDER)).toBeGreaterThan(before)
    expect((await asked(readingId)).status).toBe(409)
    const page = (await nora.get(`/readings/${readingId}`)).words()
    expect(page).toContain('meter M-4401')
    expect(page).toContain('Its meter failed a control at 07:30')
  })
})

describe('a dose under way', () => {
  let doseId: string
  beforeEach(async () => {
    doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  })
  const reason = () => dose(world.store, doseId).voided?.reason ?? null

  it('worked out: is void, and the second nurse cannot answer', async () => {
    world.clock.advance(1)
    await fails()
    expect(reason()).toBe('meter-failed')
    const got = await answerLate(world, nora, people.nora, doseId, people.omar, '243', '4')
    expect([got.status, dose(world.store, doseId).answers.length]).toEqual([409, 0])
    const page = await nora.get(`/doses/${doseId}`)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('The meter of its reading failed a control.')
    expect(world.store.dosesAwaiting(ALL)).toEqual([])
  })

  it('void: its value stays hidden from a possible second checker, since a passed control frees the reading', async () => {
    await fails()
    const omar = await world.signIn(people.omar)
    for (const path of [`/doses/${doseId}`, `/stays/${stays.ruth.stayId}`, '/round'])
      expect((await omar.get(path)).text, path).not.toContain('243')
  })

  it('agreed: is void, and the product cannot be signed', async () => {
    await answer(nora, doseId, people.omar, '243', '4')
    await fails()
    const key = world.server.appContext.formKeys.make(people.nora.staffId, 'product')
    const got = await nora.postRaw(`/doses/${doseId}/product`, { ...productFields(stays.ruth, people.omar, '4'), key })
    expect([got.status, dose(world.store, doseId).product, reason()]).toEqual([409, null, 'meter-failed'])
  })

  it('signed: is void and not given; the drawn-up insulin is accounted for', async () => {
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    world.clock.advance(2)
    await fails()
    world.clock.advance(1)
    const got = await nora.post(`/doses/${doseId}/give`, giveFields(stays.ruth, '07:33'))
    expect([got.status, dose(world.store, doseId).outcome]).toEqual([409, null])
    expect((await nora.get(`/doses/${doseId}/give`)).words()).toContain(
      'STOP. The meter of its reading failed a control.',
    )
    expect(
      (await nora.post(`/doses/${doseId}/not-given`, { kind: 'withheld', reason: 'meter failed its control' })).status,
    ).toBe(303)
  })

  it('given before the control failed and charted after: counts as given', async () => {
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    world.clock.advance(3)
    await fails()
    world.clock.advance(2)
    await give(nora, doseId, stays.ruth, '07:31')
    expect(dose(world.store, doseId).outcome).toMatchObject({ kind: 'given' })
  })

  it('given: the record does not change', async () => {
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    await give(nora, doseId, stays.ruth, '07:30')
    world.clock.advance(1)
    await fails()
    expect([dose(world.store, doseId).outcome?.kind, reason()]).toEqual(['given', null])
  })

  it('does not change for another meter’s reading, or a late entry that a newer pass replaced', async () => {
    const at = world.clock.now()
    world.clock.advance(2)
    await control('60', meters.alderNoControl.meterId)
    await passes()
    append({ ...event('meter-controlled', ALDER, { meterId: METER, passed: false }), happenedAtMs: at })
    expect(reason()).toBeNull()
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
  })

  it('of another patient with another meter continues', async () => {
    await control('45', meters.alderNoControl.meterId)
    const other = await takeReading(nora, stays.ines, '251', { meterId: meters.alderNoControl.meterId })
    const otherDose = await proposeDose(nora, other, { willEat: 'yes', tray: 'here', elsewhere: 'none' })
    await fails()
    expect([reason(), dose(world.store, otherDose).voided]).toEqual(['meter-failed', null])
  })
})
