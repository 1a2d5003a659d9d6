/**
 * "Give as ordered" after a low, over HTTP: from the prescriber's answer to a checked dose, and the cases without a
 * dose.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, expect, it, describe } from 'vitest'
import { verifyStore } from '../../server/store/verify.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import { ALL, DATE, dose, give, idOf, proposeDose, takeExtra, takeReading, verify } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { checkHtml } from '../support/html.ts'
import { people } from '../support/people.ts'
import { stays, type TestStay } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World
afterEach(() => world.close())

async function morning(at: string, options: WorldOptions = {}): Promise<Client> {
  world = await makeWorld({ at: `${DATE}T${at}`, alderPolicy: { idleLockMin: 100_000 }, ...options })
  return world.signIn(people.nora)
}
function lowOf(who: TestStay): LowEvent {
  const low = world.store.stayFacts(ALL, who.stayId, world.clock.now())?.lows.at(-1)
  if (low === undefined) throw new Error('no low event')
  return low
}
const SAID = { told: 'Dr. Vera Kim', readBack: 'yes', ordered: '' } as const
const answered = (client: Client, who: TestStay, decision = 'as-ordered'): Promise<Got> =>
  client.post(`/lows/${lowOf(who).lowId}/insulin-question`, { decision, ...SAID })
/** A low of 52, the prescriber's answer, juice, and the recheck 15 min later. */
async function recovered(client: Client, who: TestStay, value: string, decision = 'as-ordered'): Promise<string> {
  await takeExtra(client, who, '52', 'first')
  expect((await answered(client, who, decision)).status).toBe(303)
  expect(
    (await client.post(`/lows/${lowOf(who).lowId}/treatments`, { arm: 'by-mouth', what: 'juice, 20 g' })).status,
  ).toBe(303)
  world.clock.advance(15)
  return takeReading(client, who, value, { key: `low.${lowOf(who).lowId}.1` })
}
const EATS = { willEat: 'yes', tray: 'expected', elsewhere: 'none' } as const
const SLOT = `/stays/${stays.leo.stayId}/scheduled/${DATE}.2100`
const stop = (got: Got): string =>
  /Stops: Low event (.*?)(?:■|A calculation|Ask the prescriber|$)/.exec(got.words())?.[1] ?? got.words()

describe('meal part', () => {
  it('recovered to 196: gives 4 units for the meal without correction, checked, and verify agrees', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'low-answer-'))
    try {
      const file = join(folder, 'ward.sqlite')
      const nora = await morning('07:15', { file })
      const reading = await recovered(nora, stays.ines, '196')
      const result = await nora.get(`/readings/${reading}`)
      expect(result.words()).toContain('The order of insulin lispro answers this value.')
      const low = await nora.get(`/lows/${lowOf(stays.ines).lowId}`)
      expect(await checkHtml(low.text)).toEqual([])
      expect(low.words()).toMatch(
        /“Give as ordered”: Dr\. Vera Kim, 07:15, read back\. The meal part and scheduled insulin can be worked out now/,
      )
      expect(low.text).toContain(`href="/readings/${reading}/dose"`)
      const doseId = await proposeDose(nora, reading, EATS)
      expect(dose(world.store, doseId)).toMatchObject({
        units: 4,
        secondCheckRequired: true,
        inputs: { low: 'recovered-awaiting-follow-up', lowAnswer: { told: 'Dr. Vera Kim', standing: 'releases' } },
      })
      const shown = (await nora.get(`/doses/${doseId}`)).words()
      expect(shown).toMatch(/Correction by scale, .*It is held and counts as 0 units\./)
      expect(shown).toContain(
        'Correction held: Low event A low has recovered; its follow-up is still to come. “Give as ordered”: Dr. Vera Kim, 07:15, read back. No correction is added before the follow-up.',
      )
      // the second nurse reads which parts count, and not the value
      const check = (await (await world.signIn(people.omar)).get(`/doses/${doseId}/second-check`)).words()
      expect(check).toContain(
        'After a low the prescriber said “give as ordered” (Dr. Vera Kim, 07:15). No correction is added before the follow-up; one that takes off counts',
      )
      expect(check).not.toContain('196')
      await verify(nora, doseId, stays.ines, people.omar, '196', '4')
      world.clock.advance(20)
      await give(nora, doseId, stays.ines, '07:50')
      expect(dose(world.store, doseId).outcome?.kind).toBe('given')
      const lines = verifyStore({ file, headFile: null })
      expect(lines.flatMap(({ differences }) => differences)).toEqual([])
      expect(lines.find(({ what }) => what === 'doses worked out again')?.checked).toBe(1)
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
  it.each(['hold', 'none'])('%s: stays stopped', async (decision) => {
    const nora = await morning('07:15')
    await takeExtra(nora, stays.ines, '52', 'first')
    if (decision !== 'none') await answered(nora, stays.ines, decision)
    world.clock.advance(15)
    const reading = await takeReading(nora, stays.ines, '196', { key: `low.${lowOf(stays.ines).lowId}.1` })
    expect(stop(await nora.get(`/readings/${reading}/dose`))).toContain(
      'A low has recovered; its follow-up is still to come. What would release it: Recovery and a satisfactory follow-up',
    )
    expect((await nora.post(`/readings/${reading}/dose`, EATS)).status).toBe(409)
    expect((await nora.get(`/readings/${reading}`)).words()).not.toContain('answers this value')
  })
  it('a correction alone stays stopped, whatever the answer', async () => {
    const nora = await morning('06:20')
    const reading = await recovered(nora, stays.ines, '196')
    // at 06:35 the reading is outside the order's occasion, so the meal part does not count
    expect((await nora.post(`/readings/${reading}/dose`, { elsewhere: 'none' })).status).toBe(409)
  })
  it('refuses a value that has not recovered, and the page names the next step', async () => {
    const nora = await morning('07:15')
    const reading = await recovered(nora, stays.ines, '66')
    expect((await nora.post(`/readings/${reading}/dose`, EATS)).status).toBe(409)
    expect((await nora.get(`/lows/${lowOf(stays.ines).lowId}`)).words()).toContain(
      'It counts once a value shows recovery: treat the low first.',
    )
  })
})

describe('scheduled insulin', () => {
  it('is worked out after recovery, with its second check', async () => {
    const nora = await morning('20:40')
    await takeExtra(nora, stays.leo, '52', 'first')
    expect((await answered(nora, stays.leo)).status).toBe(303)
    // before recovery the answer releases nothing
    expect(stop(await nora.get(SLOT))).toContain(
      'it counts once a value shows recovery. What would release it: Treat the low until a value shows recovery',
    )
    expect((await nora.post(SLOT, { elsewhere: 'none' })).status).toBe(409)
    world.clock.advance(15)
    await takeReading(nora, stays.leo, '95', { key: `low.${lowOf(stays.leo).lowId}.1` })
    const doseId = idOf(await nora.post(SLOT, { elsewhere: 'none' }))
    expect(dose(world.store, doseId)).toMatchObject({ units: 18, kind: 'scheduled', secondCheckRequired: true })
    expect((await nora.get(`/doses/${doseId}`)).words()).toContain('Warning: Low event')
  })
  it('is void after a new low before giving, and the answer no longer counts', async () => {
    const nora = await morning('20:40')
    await recovered(nora, stays.leo, '95')
    const doseId = idOf(await nora.post(SLOT, { elsewhere: 'none' }))
    world.clock.advance(3)
    await takeExtra(nora, stays.leo, '61', 'again')
    expect(dose(world.store, doseId).voided?.reason).toBe('newer-reading')
    expect(stop(await nora.get(SLOT))).toContain(
      'A low has not recovered yet. “Give as ordered”: Dr. Vera Kim, 20:40, read back; the low came back after it, so it does not count any more.',
    )
  })
  it('is void after any newer value, and after a correction of the recovering value', async () => {
    const nora = await morning('20:40')
    const back = await recovered(nora, stays.leo, '95')
    const first = idOf(await nora.post(SLOT, { elsewhere: 'none' }))
    expect((await nora.post(`/readings/${back}/void`, { reason: 'Taken from bed 5' })).status).toBe(303)
    expect(dose(world.store, first).voided?.reason).toBe('reading-in-error')
    world.clock.advance(1)
    await takeReading(nora, stays.leo, '99', { key: `low.${lowOf(stays.leo).lowId}.1` })
    const second = idOf(await nora.post(SLOT, { elsewhere: 'none' }))
    expect(dose(world.store, second).voided).toBeNull()
    world.clock.advance(1)
    await takeExtra(nora, stays.leo, '120', 'more')
    expect(dose(world.store, second).voided?.reason).toBe('newer-reading')
  })
  it('is void after a low within an event open only for its paperwork', async () => {
    const nora = await morning('18:40')
    await recovered(nora, stays.leo, '95')
    world.clock.advance(60)
    await takeReading(nora, stays.leo, '104', { key: `low.${lowOf(stays.leo).lowId}.2` })
    world.clock.advance(45)
    const doseId = idOf(await nora.post(SLOT, { elsewhere: 'none' }))
    expect(dose(world.store, doseId).inputs.low).toBe('none')
    await takeExtra(nora, stays.leo, '58', 'back')
    expect(lowOf(stays.leo).closedAtMs).toBeNull()
    expect(dose(world.store, doseId).voided?.reason).toBe('newer-reading')
  })
  it('follow-up comes first once it is due', async () => {
    const nora = await morning('20:10')
    await recovered(nora, stays.leo, '95')
    world.clock.advance(61)
    expect(stop(await nora.get(SLOT))).toContain(
      'the follow-up recheck is due and comes first. What would release it: The follow-up recheck now',
    )
    await takeReading(nora, stays.leo, '101', { key: `low.${lowOf(stays.leo).lowId}.2` })
    expect((await nora.post(SLOT, { elsewhere: 'none' })).status).toBe(303)
  })
  it('a later direction replaces the answer', async () => {
    const nora = await morning('20:40')
    const reading = await recovered(nora, stays.leo, '95')
    world.clock.advance(1)
    expect(
      (
        await nora.post(`/readings/${reading}/direction`, {
          insulin: 'insulin lispro',
          units: '0',
          prescriber: 'Dr. Vera Kim',
          readBack: 'yes',
          why: 'None before the follow-up',
        })
      ).status,
    ).toBe(303)
    expect(stop(await nora.get(SLOT))).toContain('a direction was given after it, so it does not count any more')
  })
})
