/** A day in which every reason voids a dose, charted over HTTP. The same day of an older program is opened by upgrade.test.ts. */
import Database from 'better-sqlite3'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { verifyStore } from '../../server/store/verify.ts'
import { dose, giveFields, proposeDose, takeReading, verify } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { formTo } from '../support/html.ts'
import { chartEveryVoid, EVERY_VOID_WORLD, FATES, fateOf } from '../support/every-void.ts'
import { people, type Person } from '../support/people.ts'
import { lots, meters, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
afterEach(() => world.close())

it('each dose is void for its reason from its instant, or stands', async () => {
  world = await makeWorld(EVERY_VOID_WORLD)
  const ids = await chartEveryVoid(world)
  const fates = Object.fromEntries(Object.entries(ids).map(([name, id]) => [name, fateOf(dose(world.store, id))]))
  expect(fates).toEqual(FATES)
  const nora = await world.signIn(people.nora)
  expect((await nora.get(`/doses/${ids.ahead}`)).words()).toContain('The ward policy changed. Do not give it.')
})

describe('two people at once', () => {
  let folder: string
  let file: string
  let nora: Client
  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'ward-at-once-'))
    file = join(folder, 'ward.sqlite')
    world = await makeWorld({ ...EVERY_VOID_WORLD, file })
    nora = await world.signIn(people.nora)
  })
  afterEach(() => {
    rmSync(folder, { recursive: true })
  })

  /** A second reading of the same patient, ready to be sent. */
  async function readingBy(person: Person): Promise<() => Promise<Got>> {
    const client = await world.signIn(person)
    const key = `extra.${stays.ruth.stayId}.${'z'.repeat(16)}`
    const page = await client.postRaw(`/checks/${key}/patient`, { wristband: stays.ruth.wristband })
    const fields = {
      ...formTo(page.root(), `/checks/${key}`)?.fields,
      glucose: '251',
      meterId: meters.alder.meterId,
      stripLot: lots.good,
      extraReason: 'other',
    }
    return () => client.postRaw(`/checks/${key}`, fields)
  }
  /** The types of the rows about the dose, in the order of the ledger, from the new reading on. */
  function rowsAfter(doseId: string): readonly string[] {
    const rows = new Database(file, { readonly: true })
    const found = rows
      .prepare<[string], { type: string }>(
        `SELECT type FROM ledger WHERE seq > (SELECT max(seq) FROM ledger WHERE type = 'reading-recorded')
         AND json_extract(body, '$.doseId') = ? ORDER BY seq`,
      )
      .all(doseId)
    rows.close()
    return found.map(({ type }) => type)
  }
  const isWhole = (): void => {
    expect(verifyStore({ file, headFile: null }).flatMap(({ differences }) => differences)).toEqual([])
  }

  it.each(['the reading first', 'the second check first'])('a reading and a second check, %s', async (order) => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    const send = await readingBy(people.pia)
    const key = (await nora.keyOf(`/doses/${doseId}/second-check`)) ?? ''
    world.clock.advance(1)
    const check = (): Promise<Got> =>
      nora.postRaw(`/doses/${doseId}/second-check`, {
        glucose: '243',
        units: '4',
        badge: people.omar.badge,
        pin: people.omar.pin,
        key,
      })
    const [first, second] = order === 'the reading first' ? [send, check] : [check, send]
    const sent = await Promise.all([first(), second()])
    const [read, checked] = order === 'the reading first' ? sent : [sent[1], sent[0]]
    expect(read.status).toBe(303)
    const found = dose(world.store, doseId)
    expect(found.voided).toEqual({ reason: 'newer-reading', atMs: world.clock.now() })
    // whoever was first: no answer stands on a dose that was void before
    expect([checked.status, found.answers.length]).toEqual(checked.status === 303 ? [303, 1] : [409, 0])
    if (checked.status === 409) expect(checked.words()).toContain('no longer counts')
    expect(rowsAfter(doseId)).toEqual(['dose-voided'])
    isWhole()
  })

  it.each([
    ['the reading first', [303, 409], ['newer-reading', null], ['dose-voided']],
    ['the giving first', [303, 303], [null, 'given'], []],
  ] as const)('a reading and the giving, %s', async (order, statuses, [reason, outcome], rows) => {
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
    await verify(nora, doseId, stays.ruth, people.omar, '243', '4')
    const send = await readingBy(people.pia)
    const key = (await nora.keyOf(`/doses/${doseId}/give`)) ?? ''
    world.clock.advance(1)
    const given = (): Promise<Got> => nora.postRaw(`/doses/${doseId}/give`, { ...giveFields(stays.ruth, '07:31'), key })
    const sent = await Promise.all(order === 'the reading first' ? [send(), given()] : [given(), send()])
    expect(sent.map(({ status }) => status)).toEqual(statuses)
    const found = dose(world.store, doseId)
    expect([found.voided?.reason ?? null, found.outcome?.kind ?? null]).toEqual([reason, outcome])
    expect(rowsAfter(doseId)).toEqual(rows)
    isWhole()
  })
})
