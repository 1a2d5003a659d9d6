/**
 * Rules for late, repeated and wrong entries: no dose twice, none on changed facts, and no number for a second
 * checker.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import {
  ALL,
  answer,
  DATE,
  dose,
  give,
  giveFields,
  idOf,
  NONE_ELSEWHERE,
  productFields,
  proposeDose,
  takeExtra,
  takeReading,
  verify,
} from '../support/bedside.ts'
import { people } from '../support/people.ts'
import { scaleOrder, stays, ALDER_SCALE, type TestStay } from '../support/wards.ts'
import { alderTime, makeWorld, type World } from '../support/world.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import type { Client } from '../support/client.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { InsulinOrder } from '../../shared/order/order.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:30' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const outside = (
  stay: TestStay,
  at: string,
  parts: Readonly<Record<string, string>> = {},
): ReturnType<Client['post']> =>
  nora.post(`/stays/${stay.stayId}/outside-dose`, {
    source: 'paper',
    insulin: 'insulin lispro',
    units: '6',
    givenAt: `${DATE}T${at}`,
    givenBy: 'Nora Lind',
    checkedBy: 'Omar Reyes',
    ...parts,
  })
const direct = (
  readingId: string,
  units: string,
  parts: Readonly<Record<string, string>> = {},
): ReturnType<Client['post']> =>
  nora.post(`/readings/${readingId}/direction`, {
    prescriber: 'Dr Sanna Weir',
    insulin: 'insulin lispro',
    units,
    why: 'asked by telephone',
    readBack: 'yes',
    ...parts,
  })
const voided = (doseId: string): string | undefined => dose(world.store, doseId).voided?.reason

/** Another version of the stay's order, saved and verified now. */
function reorder(stay: TestStay, parts: Partial<InsulinOrder>): void {
  const nowMs = world.clock.now()
  const head = { wardId: stay.wardId, stayId: stay.stayId, happenedAtMs: nowMs, chartedAtMs: nowMs }
  const events: readonly LedgerEvent[] = [
    {
      ...head,
      actorId: people.pia.staffId,
      type: 'order-written',
      body: { orderId: stay.orderId, version: 2, order: scaleOrder(ALDER_SCALE, nowMs - 3_600_000, parts) },
    },
    { ...head, actorId: people.cora.staffId, type: 'order-verified', body: { orderId: stay.orderId, version: 2 } },
  ]
  world.store.transact(() => {
    storeEvents(world.store, events)
    return null
  })
}

describe('double doses', () => {
  it('voids a signed dose when insulin that stacks with it is charted from paper', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    expect((await outside(stays.ruth, '07:30')).status).toBe(303)
    expect(voided(doseId)).toBe('facts-changed')
    const got = await nora.post(`/doses/${doseId}/give`, giveFields(stays.ruth, '07:30'))
    expect([got.status, dose(world.store, doseId).outcome]).toEqual([409, null])
    expect((await nora.get(`/doses/${doseId}/give`)).words()).toContain(
      'STOP. Something that it was worked out from changed',
    )
  })

  it('voids nothing for another kind of insulin charted from paper', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    expect((await outside(stays.ruth, '07:20', { insulin: 'insulin glargine' })).status).toBe(303)
    expect(voided(doseId)).toBeUndefined()
  })

  it('refuses a new dose after a signed one lapsed until somebody charts whether it was given', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    const doseId = await proposeDose(nora, readingId)
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    world.clock.advance(31)
    nora = await world.signIn(people.nora)
    const again = await takeExtra(nora, stays.ruth, '238', 'again')
    expect((await nora.get(`/readings/${again}/dose`)).words()).toContain(
      'A dose of 4 units of insulin lispro was signed before',
    )
    const key = world.server.appContext.formKeys.make(people.nora.staffId, 'dose')
    const got = await nora.postRaw(`/readings/${again}/dose`, { key })
    expect([got.status, got.words().includes('must not be given twice')]).toEqual([409, true])
    const directed = await direct(again, '4')
    expect([directed.status, directed.words().includes('must not be given twice')]).toEqual([409, true])
    // it was given in time: charted so, and the next reading gives no second correction for this meal
    await give(nora, doseId, stays.ruth, '07:40')
    const stopped = await nora.postRaw(`/readings/${again}/dose`, { key })
    expect([stopped.status, stopped.words().includes('Earlier insulin')]).toEqual([409, true])
  })

  it('allows a new dose once an expired signed dose is charted as not given', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    world.clock.advance(5)
    const newer = await takeExtra(nora, stays.ruth, '238', 'newer')
    expect((await nora.get(`/doses/${doseId}`)).text).toContain(`/doses/${doseId}/not-given`)
    expect((await nora.post(`/doses/${doseId}/not-given`, { kind: 'withheld', reason: 'A newer value' })).status).toBe(
      303,
    )
    expect(dose(world.store, await proposeDose(nora, newer, {})).units).toBe(4)
  })

  it('refuses a scheduled dose that was given on paper in its window', async () => {
    world.clock.set('2026-03-10T21:00')
    nora = await world.signIn(people.nora)
    expect((await outside(stays.leo, '20:30', { insulin: 'insulin glargine', units: '18' })).status).toBe(303)
    const path = `/stays/${stays.leo.stayId}/scheduled/${DATE}.2100`
    expect((await nora.get(path)).words()).toContain(
      '18 units of insulin glargine was given at 20:30, at or near this time: the scheduled dose is not given again',
    )
    expect(
      (
        await nora.postRaw(path, {
          elsewhere: 'none',
          key: world.server.appContext.formKeys.make(people.nora.staffId, 'scheduled'),
        })
      ).status,
    ).toBe(409)
    // the patient's page shows it, and it is not charted twice
    expect((await nora.get(`/stays/${stays.leo.stayId}`)).words()).toContain('18 units of insulin glargine')
    expect((await outside(stays.leo, '20:30', { insulin: 'insulin glargine', units: '18' })).status).toBe(409)
  })

  it('shows both nurses what was given since when a reading gets a second direction', async () => {
    const readingId = await takeReading(nora, stays.ruth, '243')
    const first = idOf(await direct(readingId, '5'))
    await verify(nora, first, stays.ruth, people.omar, '243', '5')
    await give(nora, first, stays.ruth, '07:30')
    expect((await direct(readingId, '5')).status).toBe(422)
    const second = idOf(await direct(readingId, '5', { toldOfEarlier: 'yes' }))
    expect((await nora.get(`/doses/${second}`)).words()).toContain(
      '5 units of insulin lispro was given at 07:30, after this reading',
    )
    expect((await nora.get(`/doses/${second}/second-check`)).words()).toContain(
      'Earlier insulin: 5 units of insulin lispro',
    )
  })
})

describe('changed facts', () => {
  it('refuses a signed dose after its order ends by time', async () => {
    reorder(stays.ruth, { stopsAtMs: alderTime('2026-03-10T07:50') })
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    world.clock.set('2026-03-10T07:50')
    nora = await world.signIn(people.nora)
    expect((await nora.get(`/doses/${doseId}/give`)).words()).toContain('STOP. The order ended before this time')
    const got = await nora.post(`/doses/${doseId}/give`, giveFields(stays.ruth, '07:50'))
    expect([got.status, got.words().includes('nothing is given on it')]).toEqual([409, true])
    await give(nora, doseId, stays.ruth, '07:49')
  })

  it('voids only a scheduled dose with a hold limit when a newer reading is taken', async () => {
    world.clock.set('2026-03-10T21:00')
    nora = await world.signIn(people.nora)
    reorder(stays.leo, {
      insulin: 'insulin glargine',
      correction: null,
      occasions: [],
      scheduled: [{ time: '21:00', units: 18, holdBelow: 100 }],
      maxSingleDose: 30,
    })
    await takeReading(nora, stays.leo, '140', { occasion: 'bedtime' })
    const doseId = idOf(await nora.post(`/stays/${stays.leo.stayId}/scheduled/${DATE}.2100`, NONE_ELSEWHERE))
    world.clock.advance(5)
    await takeExtra(nora, stays.leo, '92', 'lower')
    expect(voided(doseId)).toBe('newer-reading')
    expect((await nora.get(`/stays/${stays.leo.stayId}/scheduled/${DATE}.2100`)).words()).toContain(
      '92 mg/dL; the order holds the dose below 100 mg/dL',
    )
  })

  it('voids the dose of a critical value when its confirming value is corrected', async () => {
    reorder(stays.ruth, { correction: { kind: 'factor', target: 120, perUnit: 40, belowTargetSubtracts: false } })
    const first = await takeReading(nora, stays.ruth, '420')
    world.clock.advance(4)
    const doseId = await proposeDose(
      nora,
      await takeReading(nora, stays.ruth, '418', {
        key: `extra.${stays.ruth.stayId}.repeat0000000000`,
        extraReason: 'repeat-of-critical',
      }),
    )
    expect(
      (
        await nora.post(`/readings/${first}/correct`, {
          wristband: stays.ruth.wristband,
          glucose: '240',
          reason: 'Digits turned around',
        })
      ).status,
    ).toBe(303)
    expect(voided(doseId)).toBe('facts-changed')
  })

  it('refuses to give 30 minutes after agreement, however late the product was read', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await answer(nora, doseId, people.omar, '243', '4')
    world.clock.advance(20)
    nora = await world.signIn(people.nora)
    await nora.post(`/doses/${doseId}/product`, productFields(stays.ruth, people.omar, '4'))
    world.clock.advance(11)
    nora = await world.signIn(people.nora)
    expect((await nora.post(`/doses/${doseId}/give`, giveFields(stays.ruth, '08:01'))).status).toBe(409)
  })
})

describe('blind second check', () => {
  it('hides numbers in typed reasons and call notes from a possible second checker', async () => {
    const first = await takeReading(nora, stays.ruth, '431')
    await nora.post(`/readings/${first}/critical-call`, {
      told: 'Dr Sanna Weir',
      readBack: 'yes',
      ordered: 'give 9 units for 431',
    })
    await nora.post(`/readings/${first}/correct`, {
      wristband: stays.ruth.wristband,
      glucose: '341',
      reason: 'Typed 431 for 341',
    })
    const omar = await world.signIn(people.omar)
    const page = (await omar.get(`/stays/${stays.ruth.stayId}`)).words()
    expect(page).toContain('hidden: a dose may follow, none worked out yet')
    for (const digits of ['431', '341', '9 units']) expect([digits, page.includes(digits)]).toEqual([digits, false])
    const nurses = (await nora.get(`/stays/${stays.ruth.stayId}`)).words()
    for (const text of ['Typed 431 for 341', 'give 9 units for 431']) expect(nurses).toContain(text)
  })

  it('reveals no masked critical reading to a possible second checker through a call', async () => {
    const high = await takeReading(nora, stays.ruth, '431')
    const plain = await takeReading(nora, stays.ines, '243')
    const omar = await world.signIn(people.omar)
    const call = async (readingId: string): Promise<readonly unknown[]> => {
      const got = await omar.postRaw(`/readings/${readingId}/critical-call`, {
        told: 'Dr Weir',
        readBack: 'yes',
        key: world.server.appContext.formKeys.make(people.omar.staffId, 'critical-call'),
      })
      return [got.status, got.words().includes('The nurse who took it makes the call')]
    }
    expect([await call(high), await call(plain)]).toEqual([
      [403, true],
      [403, true],
    ])
    const extra = await omar.follow(await omar.get(`/stays/${stays.ruth.stayId}/extra`))
    expect(extra.text).not.toContain('value="repeat-of-critical" selected')
  })

  it('refuses a checker who entered the reading from paper', async () => {
    const { stayId, wristband } = stays.ruth
    const readingId = idOf(
      await nora.post(`/stays/${stayId}/paper-reading`, {
        wristband,
        glucose: '243',
        takenAt: '07:25',
        takenBy: people.omar.badge,
        meterId: 'meteralder000001',
      }),
    )
    const omar = await world.signIn(people.omar)
    const doseId = await proposeDose(omar, readingId)
    const refused = await answer(omar, doseId, people.nora, '243', '4')
    expect([refused.status, refused.words().includes('You took or charted this reading')]).toEqual([403, true])
    expect((await answer(omar, doseId, people.pia, '243', '4')).status).toBe(303)
  })

  it('gives no insulin for a reading from paper without a meter', async () => {
    const { stayId, wristband } = stays.ruth
    const readingId = idOf(
      await nora.post(`/stays/${stayId}/paper-reading`, { wristband, glucose: '243', takenAt: '07:25' }),
    )
    expect((await nora.get(`/readings/${readingId}`)).words()).toContain('The meter is not named')
    expect(
      (
        await nora.postRaw(`/readings/${readingId}/dose`, {
          ...NONE_ELSEWHERE,
          key: world.server.appContext.formKeys.make(people.nora.staffId, 'dose'),
        })
      ).status,
    ).toBe(409)
  })

  it('accepts a laboratory value above the meter’s range', async () => {
    const { stayId, wristband } = stays.ruth
    const readingId = idOf(
      await nora.post(`/stays/${stayId}/lab-value`, { wristband, glucose: '640', unit: 'mg/dL', takenAt: '07:25' }),
    )
    const doseId = idOf(await direct(readingId, '12'))
    expect((await nora.get(`/doses/${doseId}/second-check`)).words()).toContain('Value on the laboratory’s report')
    expect((await answer(nora, doseId, people.omar, '640', '12')).status).toBe(303)
    expect(dose(world.store, doseId).answers).toMatchObject([{ agreed: true }])
  })

  it('shows no wristband number on a page that asks for it', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await answer(nora, doseId, people.omar, '243', '4')
    for (const step of ['product', 'give'])
      expect([step, (await nora.get(`/doses/${doseId}/${step}`)).text.includes(stays.ruth.wristband)]).toEqual([
        step,
        false,
      ])
  })
})

it('verifies a rebuild after a dose expired for paper insulin and a signed one was accounted for', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'ward-review-'))
  const file = join(folder, 'ward.db')
  await world.close()
  world = await makeWorld({ at: '2026-03-10T07:30', file })
  nora = await world.signIn(people.nora)
  const first = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  await verify(nora, first, stays.ruth, people.omar, '243', '4')
  await outside(stays.ruth, '07:29')
  expect((await nora.post(`/doses/${first}/not-given`, { kind: 'withheld', reason: 'Given on paper' })).status).toBe(
    303,
  )
  const directed = idOf(await direct(await takeReading(nora, stays.ines, '243'), '5'))
  await verify(nora, directed, stays.ines, people.omar, '243', '5')
  await give(nora, directed, stays.ines, '07:30')
  const report = verifyStore({ file, headFile: null })
  expect(report.flatMap(({ differences }) => differences)).toEqual([])
  expect(report.find(({ what }) => what === 'doses worked out again')?.checked).toBe(2)
  rmSync(folder, { recursive: true })
})

describe('facts of the stay', () => {
  it('does not take a direction as the answer about insulin elsewhere', async () => {
    await direct(await takeReading(nora, stays.ruth, '243'), '0')
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.elsewhereKnown).toBe(false)
  })

  it('does not take this ward’s paper insulin as the answer about insulin elsewhere', async () => {
    const known = (): boolean | undefined =>
      world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.elsewhereKnown
    await outside(stays.ruth, '02:00')
    expect(known()).toBe(false)
    await outside(stays.ruth, '01:00', { source: 'elsewhere', checkedBy: '' })
    expect(known()).toBe(true)
  })

  it('does not wait for a tray that was charted before the dose', async () => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    world.clock.advance(8)
    await nora.post(`/stays/${stays.ruth.stayId}/tray`, { meal: 'breakfast', what: 'served' })
    await give(nora, doseId, stays.ruth, '07:32')
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.openItems).toEqual([])
  })

  it('refuses a meal part for a patient made nil by mouth after signing', async () => {
    world.clock.set('2026-03-10T07:50')
    nora = await world.signIn(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ines, '243'), {
      willEat: 'yes',
      tray: 'expected',
      elsewhere: 'none',
    })
    await verify(nora, doseId, stays.ines, people.omar, '243', '8')
    const nowMs = world.clock.now()
    const facts = world.store.stayFacts(ALL, stays.ines.stayId, nowMs)?.stay.facts
    if (facts === undefined) throw new Error('no facts')
    world.store.transact(() => {
      storeEvents(world.store, [
        {
          type: 'facts-set',
          wardId: stays.ines.wardId,
          stayId: stays.ines.stayId,
          actorId: people.cora.staffId,
          happenedAtMs: nowMs,
          chartedAtMs: nowMs,
          body: { facts: { ...facts, nilByMouth: { fromMs: nowMs, untilMs: null } } },
        },
      ])
      return null
    })
    expect((await nora.post(`/doses/${doseId}/give`, giveFields(stays.ines, '07:50'))).status).toBe(422)
    expect(dose(world.store, doseId).outcome).toBeNull()
  })
})
