/** "No dose, call": the call stays open on every page until it and its answer are charted. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ALL, takeReading } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { checkHtml } from '../support/html.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
const SAYS = 'The order says no dose, call the prescriber'
const CALL = { told: 'Dr Vale', readBack: 'yes', ordered: 'laboratory value, call again at 13:00' }

beforeEach(async () => {
  world = await makeWorld({ at: '2026-03-10T07:30' })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

/** The task's path, from the patient's page. */
async function pathOfCall(client = nora): Promise<string | undefined> {
  const page = await client.get(`/stays/${stays.ruth.stayId}`)
  return /href="\/(stays\/\w+\/tasks\/[\w.-]+)"/.exec(page.text)?.[1]
}

describe('a value at which the order says "no dose, call"', () => {
  // the scale of Ruth's order says "no dose, call" from 401 on
  beforeEach(() => takeReading(nora, stays.ruth, '410'))

  it('stands on the Round, the board, the handover and the patient’s page, long after its check has closed', async () => {
    world.clock.advance(6 * 60)
    nora = await world.signIn(people.nora)
    for (const path of ['/round?beds=all', '/handover?beds=all', `/stays/${stays.ruth.stayId}`])
      expect((await nora.get(path)).words(), path).toContain(SAYS)
    expect((await nora.get('/board')).words()).toContain(
      'Order says no dose, call: prescriber not told; for the charge nurse',
    )
  })

  it('is charted with who was told, read back, and the answer, and is then gone', async () => {
    const path = `/${(await pathOfCall()) ?? ''}`
    const page = await nora.get(path)
    expect(await checkHtml(page.text)).toEqual([])
    for (const [field, sentence] of [
      ['told', 'Enter who was told.'],
      ['readBack', 'Read it back to the prescriber, then tick it.'],
      ['ordered', 'Enter what the prescriber said'],
    ] as const) {
      const { [field]: _missing, ...rest } = CALL
      const refused = await nora.post(path, rest)
      expect(refused.status).toBe(422)
      expect(refused.words()).toContain(sentence)
      if (field !== 'ordered') expect(refused.text).toContain(CALL.ordered)
    }
    expect((await nora.post(path, CALL)).status).toBe(303)
    expect(await pathOfCall()).toBe(undefined)
    expect(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now())?.entries).toMatchObject([
      { kind: 'no-dose-call' },
      { kind: 'task-settled', fact: { how: 'told', told: 'Dr Vale', ordered: CALL.ordered } },
    ])
    expect((await nora.get(path)).status).toBe(404)
  })

  it('is charted once by two nurses at the same time', async () => {
    const path = `/${(await pathOfCall()) ?? ''}`
    const omar = await world.signIn(people.omar)
    const [one, other] = await Promise.all([nora.post(path, CALL), omar.post(path, CALL)])
    expect([one.status, other.status].sort()).toEqual([303, 409])
  })

  it('is no other ward’s to see, and no educator’s to chart', async () => {
    const path = `/${(await pathOfCall()) ?? ''}`
    const bo = await world.signIn(people.bo)
    expect((await bo.get(path)).status).toBe(404)
    const edda = await world.signIn(people.edda)
    expect((await edda.get(path)).status).toBe(403)
  })
})

it('a value with units owes no call', async () => {
  await takeReading(nora, stays.ruth, '243')
  expect(await pathOfCall()).toBe(undefined)
})

it('finds nothing under a key that names no task', async () => {
  expect((await nora.get(`/stays/${stays.ruth.stayId}/tasks/no-dose-call.nothing`)).status).toBe(404)
  expect((await nora.get(`/stays/${stays.ruth.stayId}/tasks/__proto__`)).status).toBe(404)
})
