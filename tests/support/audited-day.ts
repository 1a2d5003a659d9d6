/** A day on Alder over HTTP for the audit: a dose, a late tray, a low with its steps, near misses. */
import type { LowEvent } from '../../shared/low/low.ts'
import {
  ALL,
  answer,
  DATE,
  give,
  NONE_ELSEWHERE,
  productFields,
  proposeDose,
  takeExtra,
  takeReading,
} from './bedside.ts'
import type { Client, Got } from './client.ts'
import { formTo } from './html.ts'
import { people } from './people.ts'
import { stays, type TestStay } from './wards.ts'
import type { World } from './world.ts'
import { storeEvents } from '../../server/store/store-events.ts'

/** Moves both clocks together, so that the idle lock does not end the login between two steps. */
export const AWAKE = { idleLockMin: 100_000 } as const

export type AuditedDay = {
  readonly nora: Client
  readonly low: LowEvent
  readonly doseId: string
  readonly readingId: string
}

function must(got: Got, status: number, what: string): Got {
  if (got.status !== status) throw new Error(`${what}: ${String(got.status)} ${got.words().slice(0, 500)}`)
  return got
}

export function lowOf(world: World, who: TestStay): LowEvent {
  const low = world.store.stayFacts(ALL, who.stayId, world.clock.now())?.lows.at(-1)
  if (low === undefined) throw new Error('no low event')
  return low
}

/** Opens the patient's page and returns its text. */
export async function treatShown(client: Client, path: string): Promise<void> {
  must(await client.post(`${path}/answers`, { swallowing: 'safely', iv: 'none' }, { from: path }), 303, 'answers')
  const form = formTo((await client.get(path)).root(), `${path}/treatments`)
  if (form === undefined) throw new Error('nothing to give is shown')
  must(await client.postRaw(`${path}/treatments`, form.fields), 303, 'treatment')
}

/**
 * 07:20 a reading of 215, its second check differs once and agrees, 4 units at 07:35; breakfast comes at 08:20 and a
 * quarter of it is eaten. 09:50 a value of 52: treated after 7 min (5 are allowed), rechecked after 15 (60), treated,
 * rechecked after 15 (88), called after 20. Also a value in the other unit and a wrong wristband.
 */
export async function auditedDay(world: World): Promise<AuditedDay> {
  const { clock } = world
  const who = stays.ruth
  const nora = await world.signIn(people.nora)
  const at = (time: string): void => {
    clock.set(`${DATE}T${time}`)
  }
  at('07:20')
  const check = `/checks/${who.stayId}.${DATE}.before-breakfast`
  const confirmed = await nora.postRaw(`${check}/patient`, { wristband: who.wristband })
  const form = formTo(confirmed.root(), check)
  if (form === undefined) throw new Error('no form')
  must(await nora.postRaw(check, { ...form.fields, glucose: '6.2' }), 422, 'the other unit')
  const readingId = await takeReading(nora, who, '215')
  const doseId = await proposeDose(nora, readingId, { ...NONE_ELSEWHERE })
  at('07:24')
  must(await answer(nora, doseId, people.omar, '215', '6'), 303, 'a second check that differs')
  must(await nora.post(`/doses/${doseId}/start-again`, { glucose: '215' }), 303, 'starting again')
  must(await answer(nora, doseId, people.omar, '215', '4'), 303, 'second check')
  at('07:30')
  must(await nora.post(`/doses/${doseId}/product`, productFields(who, people.omar, '4')), 303, 'product')
  at('07:35')
  must(
    await nora.post(`/doses/${doseId}/give`, {
      wristband: stays.tomas.wristband,
      food: 'tray-coming',
      trayInMin: '10',
      willEat: 'yes',
      site: 'left.abdomen',
      at: `${DATE}T07:35`,
    }),
    409,
    'a wrong wristband',
  )
  await give(nora, doseId, who, '07:35')
  const head = { wardId: who.wardId, stayId: who.stayId, actorId: people.nora.staffId }
  const [served, eaten] = [clock.now() + 45 * 60_000, clock.now() + 75 * 60_000]
  world.store.transact(() => {
    storeEvents(world.store, [
      {
        ...head,
        happenedAtMs: served,
        chartedAtMs: served,
        type: 'tray-charted',
        body: { date: DATE, meal: 'breakfast', servedAtMs: served },
      },
      {
        ...head,
        happenedAtMs: eaten,
        chartedAtMs: eaten,
        type: 'share-eaten-charted',
        body: { date: DATE, meal: 'breakfast', percent: 25 },
      },
    ])
    return null
  })
  at('09:50')
  await takeExtra(nora, who, '52', 'audited')
  const { lowId } = lowOf(world, who)
  const path = `/lows/${lowId}`
  at('09:57')
  await treatShown(nora, path)
  at('10:10')
  must(await nora.post(`${path}/prescriber-calls`, { told: 'Dr. Vera Kim', readBack: 'yes', ordered: '' }), 303, 'told')
  at('10:12')
  await takeReading(nora, who, '60', { key: `low.${lowId}.1` })
  await treatShown(nora, path)
  at('10:27')
  await takeReading(nora, who, '88', { key: `low.${lowId}.2` })
  return { nora, low: lowOf(world, who), doseId, readingId }
}
