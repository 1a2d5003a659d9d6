/** The prescriber's word after a low, over HTTP: a hold stops, other units count once, an unasked question stays. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, answer, DATE, dose, idOf, NONE_ELSEWHERE, takeExtra } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { checkHtml, errorOf } from '../support/html.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
const { leo } = stays
const SLOT = `/stays/${leo.stayId}/scheduled/${DATE}.2100.${leo.orderId}`
const WORD = `/stays/${leo.stayId}/insulin-word`
const SAID = { told: 'Dr Vera Kim', readBack: 'yes', ordered: 'as said' } as const
const facts = () => world.store.stayFacts(ALL, leo.stayId, world.clock.now())
const low = () => `/lows/${facts()?.lows.at(-1)?.lowId ?? ''}`
const later = async (minutes: number): Promise<void> => {
  world.clock.advance(minutes)
  nora = await world.signIn(people.nora)
}
/** A low at 19:00, treated, recovered at 19:20, followed up at 20:30. */
async function lowOver(decision: Readonly<Record<string, string>> | null): Promise<void> {
  await takeExtra(nora, leo, '61', 'low')
  if (decision !== null)
    expect((await nora.post(`${low()}/insulin-question`, { ...SAID, ...decision })).status).toBe(303)
  expect((await nora.post(`${low()}/treatments`, { arm: 'by-mouth', what: 'juice, 15 g' })).status).toBe(303)
  await later(20)
  await takeExtra(nora, leo, '104', 'recovered')
  await later(70)
  await takeExtra(nora, leo, '118', 'followup')
}

beforeEach(async () => {
  world = await makeWorld({ at: `${DATE}T19:00`, alderPolicy: { idleLockMin: 100_000 } })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

describe('a hold', () => {
  it('stops the scheduled dose after the low is over, and stands on every page', async () => {
    await lowOver({ decision: 'hold' })
    const page = await nora.get(SLOT)
    expect(page.words()).toContain('Dr Vera Kim holds this insulin since 19:00, until asked again.')
    expect((await nora.post(SLOT, NONE_ELSEWHERE)).status).toBe(409)
    for (const path of ['/round?beds=all', '/handover?beds=all', `/stays/${leo.stayId}`])
      expect((await nora.get(path)).words(), path).toContain('Held by the prescriber: insulin glargine')
    expect((await nora.get('/board')).words()).toContain('Insulin held by the prescriber')
  })

  it('ends at its time: basal insulin falls due again', async () => {
    await lowOver({ decision: 'hold', until: '21:30' })
    expect((await nora.post(SLOT, NONE_ELSEWHERE)).status).toBe(409)
    await later(60)
    expect((await nora.post(SLOT, NONE_ELSEWHERE)).status).toBe(303)
  })

  it('ends with the prescriber’s later word', async () => {
    await lowOver({ decision: 'hold' })
    const page = await nora.get(WORD)
    expect(await checkHtml(page.text)).toEqual([])
    expect(page.words()).toContain('insulin glargine: held until asked again, said Dr Vera Kim at')
    const missing = await nora.post(WORD, { ...SAID, insulin1: 'insulin glargine' })
    expect([missing.status, errorOf(missing.root(), 'word1')]).toEqual([
      422,
      '▲ Choose what the prescriber said about insulin glargine.',
    ])
    for (const field of ['told', 'readBack']) {
      const got = await nora.post(WORD, { ...SAID, insulin1: 'insulin glargine', word1: 'as-ordered', [field]: '' })
      expect([field, got.status]).toEqual([field, 422])
    }
    expect((await nora.post(WORD, { ...SAID, insulin1: 'insulin glargine', word1: 'as-ordered' })).status).toBe(303)
    expect((await nora.post(SLOT, NONE_ELSEWHERE)).status).toBe(303)
    expect((await nora.get(`/stays/${leo.stayId}`)).words()).not.toContain('Held by the prescriber')
  })

  it('voids a dose that was worked out before it', async () => {
    await later(75)
    const doseId = idOf(await nora.post(SLOT, NONE_ELSEWHERE))
    await takeExtra(nora, leo, '61', 'low')
    expect(dose(world.store, doseId).voided).not.toBeNull()
  })

  it('that would end in the past is refused beside its field', async () => {
    await takeExtra(nora, leo, '61', 'low')
    const got = await nora.post(`${low()}/insulin-question`, { ...SAID, decision: 'hold', until: `${DATE} 18:00` })
    expect(got.status).toBe(422)
    expect(facts()?.entries).toEqual([])
  })
})

describe('other units once', () => {
  const TEN = { decision: 'changed', insulin1: 'insulin glargine', word1: 'units', units1: '10' }
  it('are proposed, checked and shown in place of the ordered 18, for that slot alone', async () => {
    await lowOver(TEN)
    expect((await nora.get(SLOT)).words()).toContain('10')
    const doseId = idOf(await nora.post(SLOT, NONE_ELSEWHERE))
    expect(dose(world.store, doseId)).toMatchObject({ units: 10, inputs: { instead: { units: 10 } } })
    expect((await answer(nora, doseId, people.omar, '', '18')).status).toBe(303)
    expect(dose(world.store, doseId).answers).toMatchObject([{ agreed: false }])
    const next = facts()?.entries.filter(({ kind }) => kind === 'insulin-word')
    expect(next).toMatchObject([{ fact: { slotKey: `${leo.stayId}.${DATE}.2100.${leo.orderId}` } }])
  })

  it.each([
    ['no units', { ...TEN, units1: '' }, 'units1'],
    ['not deliverable', { ...TEN, units1: '10.3' }, 'units1'],
    ['no word', { decision: 'changed', insulin1: 'insulin glargine' }, 'word1'],
  ])('are refused: %s', async (_name, fields, field) => {
    await takeExtra(nora, leo, '61', 'low')
    const got = await nora.post(`${low()}/insulin-question`, { ...SAID, ...fields })
    expect([got.status, errorOf(got.root(), field) !== null]).toEqual([422, true])
  })
})

describe('a question that nobody has asked', () => {
  it('outlives the closing of its low, warns and stops nothing, and is the charge nurse’s in time', async () => {
    await lowOver(null)
    expect(
      (await nora.post(`${low()}/prescriber-calls`, { told: 'Dr Vera Kim', readBack: 'yes', ordered: '' })).status,
    ).toBe(303)
    const closed = await nora.post(`${low()}/close`, { cause: 'missed-or-delayed-meal', note: '' })
    expect(closed.status, closed.words().slice(0, 400)).toBe(303)
    const says = 'After a low: the prescriber was not asked about: insulin glargine'
    expect((await nora.get(`/stays/${leo.stayId}`)).words()).toContain(says)
    expect((await nora.get('/board')).words()).toContain('prescriber not asked about insulin; for the charge nurse')
    const doseId = idOf(await nora.post(SLOT, NONE_ELSEWHERE))
    expect(dose(world.store, doseId).working.guards).toContainEqual({
      guard: 'insulin-question-open',
      outcome: 'warns',
      details: {},
    })
    expect((await nora.post(WORD, { ...SAID, insulin1: 'insulin glargine', word1: 'as-ordered' })).status).toBe(303)
    expect((await nora.get(`/stays/${leo.stayId}`)).words()).not.toContain(says)
    expect((await nora.post(WORD, SAID)).status).toBe(409)
  })

  it('is no other ward’s and no educator’s to answer', async () => {
    expect((await (await world.signIn(people.bo)).get(WORD)).status).toBe(404)
    expect((await (await world.signIn(people.edda)).get(WORD)).status).toBe(403)
  })
})
