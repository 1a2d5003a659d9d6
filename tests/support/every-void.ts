/**
 * A day on two wards, charted over HTTP, in which every reason voids a dose: what the voids of a running program are
 * tested by, and what the database of the program before `dose-voided` was made from (old-databases/README.md).
 */
import type { Dose, DoseVoidReason } from '../../shared/dose/dose.ts'
import { ALL, answer, DATE, dose, give, idOf, proposeDose, takeExtra, takeReading, verify } from './bedside.ts'
import type { Client, Fields, Got } from './client.ts'
import { formTo } from './html.ts'
import { ALDER, people } from './people.ts'
import { meters, stays, type TestStay } from './wards.ts'
import { alderTime, type World, type WorldOptions } from './world.ts'

/** A login that lasts the whole day. */
export const EVERY_VOID_WORLD: WorldOptions = {
  at: `${DATE}T07:30`,
  alderPolicy: { idleLockMin: 100_000 },
  birchPolicy: { idleLockMin: 100_000 },
}

/** What a dose came to: why and when it was voided (Alder's time), whether it was signed, and its outcome. */
export type Fate = {
  readonly voided: readonly [DoseVoidReason, string] | null
  readonly signed: boolean
  readonly outcome: NonNullable<Dose['outcome']>['kind'] | null
}

/** Each dose of the day by its name below, in the order in which they were worked out. */
export const FATES = {
  lapsed: { voided: ['started-again', '08:02'], signed: false, outcome: null },
  replaced: { voided: ['replaced-by-direction', '08:02'], signed: false, outcome: null },
  directed: { voided: ['facts-changed', '08:04'], signed: true, outcome: 'withheld' },
  older: { voided: ['newer-reading', '08:10'], signed: false, outcome: null },
  mistyped: { voided: ['reading-corrected', '08:12'], signed: true, outcome: 'refused' },
  wrongPatient: { voided: ['reading-in-error', '08:16'], signed: true, outcome: 'given' },
  given: { voided: null, signed: true, outcome: 'given' },
  moved: { voided: ['stay-moved', '08:31'], signed: false, outcome: null },
  meter: { voided: ['meter-failed', '08:34'], signed: true, outcome: null },
  policy: { voided: ['policy-changed', '08:38'], signed: false, outcome: null },
  rewritten: { voided: ['order-changed', '08:41'], signed: false, outcome: null },
  critical: { voided: ['facts-changed', '08:51'], signed: false, outcome: null },
  scheduled: { voided: ['newer-reading', '20:42'], signed: false, outcome: null },
  answered: { voided: ['newer-reading', '21:00'], signed: false, outcome: null },
  stopped: { voided: ['order-changed', '21:06'], signed: false, outcome: null },
  left: { voided: ['stay-discharged', '21:11'], signed: false, outcome: null },
  // void by time alone from 21:20 on, which no event says
  ahead: { voided: null, signed: false, outcome: null },
  open: { voided: null, signed: false, outcome: null },
} as const satisfies Readonly<Record<string, Fate>>

type Name = keyof typeof FATES

/** The fate of a dose as it stands. */
export function fateOf({ voided, product, outcome }: Dose): Fate {
  return {
    voided: voided === null ? null : [voided.reason, timeOf(voided.atMs)],
    signed: product !== null,
    outcome: outcome?.kind ?? null,
  }
}

function timeOf(atMs: number): string {
  const minutes = Math.round((atMs - alderTime(`${DATE}T00:00`)) / 60_000)
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`
}

const TOLD = { told: 'Dr Sanna Weir', readBack: 'yes', ordered: '' } as const
const STRIPS = {
  wardId: ALDER,
  lot: 'L6630',
  expiresOn: '2027-01-31',
  level1From: '36',
  level1To: '54',
  level2From: '100',
  level2To: '140',
}
const ORDER: Fields = {
  row1From: '151',
  row1To: '250',
  row1Units: '2',
  row2From: '>250',
  row2Call: 'yes',
  row2Also: 'Call the prescriber',
  insulin: 'insulin lispro',
  atBreakfast: 'yes',
  prescriber: 'Dr Sanna Weir',
  received: 'written',
}

/** Charts the day in the world, which stands at 07:30, and answers the id of each dose by its name. */
export async function chartEveryVoid(world: World): Promise<Readonly<Record<Name, string>>> {
  const { clock, store } = world
  const ids: Partial<Record<Name, string>> = {}
  let nora = await world.signIn(people.nora)
  const bo = await world.signIn(people.bo)
  const at = (time: string): void => {
    clock.set(`${DATE}T${time}`)
  }
  const post = async (client: Client, path: string, fields: Fields): Promise<Got> => {
    const got = await client.post(path, fields)
    if (got.status !== 303) throw new Error(`${path}: ${String(got.status)} ${got.words().slice(0, 900)}`)
    return got
  }
  const keep = async (name: Name, made: Promise<string>): Promise<string> => {
    const id = await made
    ids[name] = id
    return id
  }
  const readingOf = (name: Name): string => dose(store, ids[name] ?? '').readingId ?? ''
  const extra = (stay: TestStay, value: string, name: string, client = nora): Promise<string> =>
    takeExtra(client, stay, value, name)
  const lowPath = (stay: TestStay): string =>
    `/lows/${store.stayFacts(ALL, stay.stayId, clock.now())?.lows.at(-1)?.lowId ?? ''}`
  const direct = (readingId: string, units: string): Promise<Got> =>
    post(nora, `/readings/${readingId}/direction`, {
      prescriber: 'Dr Sanna Weir',
      insulin: 'insulin lispro',
      units,
      why: 'as agreed on the round',
      readBack: 'yes',
      slot: '',
    })
  const onPaper = (stay: TestStay, givenAt: string): Promise<Got> =>
    post(nora, `/stays/${stay.stayId}/outside-dose`, {
      source: 'paper',
      insulin: 'insulin lispro',
      units: '3',
      givenAt: `${DATE}T${givenAt}`,
      givenBy: 'Pia Holm',
      checkedBy: 'Omar Reyes',
    })
  const glargine = async (): Promise<string> =>
    idOf(await post(nora, `/stays/${stays.leo.stayId}/scheduled/${DATE}.2100`, { elsewhere: 'none' }))
  const policy = async (units: string, from: string): Promise<void> => {
    const [anna, abel] = [await world.signIn(people.anna), await world.signIn(people.abel)]
    const path = `/setup/wards/${ALDER}/policy/dose`
    const form = formTo((await anna.get(path)).root(), path)
    const written = await anna.postRaw(path, {
      ...form?.fields,
      note: 'As the pharmacy committee decided',
      'dose-singleDoseLimit': units,
      ...(from === '' ? {} : { from }),
    })
    await post(abel, written.location ?? '', { answer: 'approve', reason: '' })
  }

  // worked out again after it lapsed; a direction in its place; insulin on paper that the signed one did not know of
  const first = await takeReading(nora, stays.ruth, '243')
  await keep('lapsed', proposeDose(nora, first))
  await answer(nora, ids.lapsed ?? '', people.omar, '243', '4')
  at('08:02')
  await keep('replaced', proposeDose(nora, first, {}))
  await keep('directed', direct(first, '3').then(idOf))
  await verify(nora, ids.directed ?? '', stays.ruth, people.omar, '243', '3')
  at('08:04')
  await onPaper(stays.ruth, '07:40')
  await post(nora, `/doses/${ids.directed ?? ''}/not-given`, { kind: 'withheld', reason: 'Given on paper' })

  // a newer value, a corrected one, and one of another patient after which the dose was given all the same
  at('08:05')
  const eats = { willEat: 'yes', tray: 'expected' } as const
  await keep('older', proposeDose(nora, await takeReading(nora, stays.ines, '243'), { ...eats, elsewhere: 'none' }))
  at('08:10')
  await keep('mistyped', proposeDose(nora, await extra(stays.ines, '234', 'second'), eats))
  await verify(nora, ids.mistyped ?? '', stays.ines, people.omar, '234', '8')
  at('08:12')
  const corrected = await post(nora, `/readings/${readingOf('mistyped')}/correct`, {
    wristband: stays.ines.wristband,
    glucose: '263',
    reason: 'Digits turned around',
  })
  await post(nora, `/doses/${ids.mistyped ?? ''}/not-given`, { kind: 'refused', reason: 'The value was wrong' })
  await keep('wrongPatient', proposeDose(nora, idOf(corrected), eats))
  await verify(nora, ids.wrongPatient ?? '', stays.ines, people.omar, '263', '10')
  at('08:16')
  await post(nora, `/readings/${idOf(corrected)}/void`, { reason: 'Taken from bed 5' })
  await give(nora, ids.wrongPatient ?? '', stays.ines, '08:14')

  // one that counts, whose reading is found to be wrong afterwards
  at('08:20')
  await keep('given', proposeDose(bo, await extra(stays.gwen, '12.1', 'gwen', bo)))
  await verify(bo, ids.given ?? '', stays.gwen, people.bea, '12.1', '4')
  await give(bo, ids.given ?? '', stays.gwen, '08:20', { at: `${DATE}T13:20` })
  at('08:25')
  await post(bo, `/readings/${readingOf('given')}/correct`, {
    wristband: stays.gwen.wristband,
    glucose: '11.8',
    reason: 'Read again',
  })

  at('08:30')
  await keep('moved', proposeDose(nora, await extra(stays.maud, '263', 'maud1')))
  at('08:31')
  await post(nora, `/stays/${stays.maud.stayId}/move`, { to: `${ALDER}.7` })
  at('08:32')
  await keep('meter', proposeDose(nora, await extra(stays.maud, '261', 'maud2'), {}))
  await verify(nora, ids.meter ?? '', stays.maud, people.omar, '261', '6')
  at('08:34')
  const control = `/setup/meters/${meters.alder.meterId}/controls`
  await post(nora, '/setup/strips/new', STRIPS)
  await post(nora, control, { lot: STRIPS.lot, level1: '60', level2: '120' })
  await post(nora, control, { lot: STRIPS.lot, level1: '45', level2: '120' })

  // policy, order and a critical value: on a dose by direction, whose insulin another order knows nothing of
  at('08:36')
  await keep('policy', direct(await extra(stays.yusuf, '251', 'yusuf1'), '4').then(idOf))
  at('08:38')
  await policy('18', '')
  at('08:40')
  await keep('rewritten', direct(await extra(stays.tomas, '251', 'tomas1'), '4').then(idOf))
  at('08:41')
  const newOrder = `/stays/${stays.tomas.stayId}/orders/new`
  const { show: _show, ...standing } = formTo((await nora.get(newOrder)).root(), newOrder)?.fields as Fields
  await post(nora, newOrder, { ...standing, ...ORDER })
  at('08:50')
  await keep('critical', direct(await extra(stays.yusuf, '262', 'yusuf2'), '4').then(idOf))
  // charted late: taken before the dose's own value, and critical
  at('08:51')
  await post(nora, `/stays/${stays.yusuf.stayId}/paper-reading`, {
    wristband: stays.yusuf.wristband,
    glucose: '520',
    takenAt: '08:49',
    takenBy: '',
    meterId: '',
  })

  // a low: the question about scheduled insulin is opened, answered, and its dose void at the next low value
  at('20:40')
  nora = await world.signIn(people.nora)
  await keep('scheduled', glargine())
  at('20:42')
  await extra(stays.leo, '61', 'leo1')
  await post(nora, `${lowPath(stays.leo)}/insulin-question`, { decision: 'as-ordered', ...TOLD })
  await post(nora, `${lowPath(stays.leo)}/treatments`, { arm: 'by-mouth', what: 'juice, 15 g' })
  at('20:57')
  const low = lowPath(stays.leo).split('/')[2] ?? ''
  await takeReading(nora, stays.leo, '95', { key: `low.${low}.1` })
  await keep('answered', glargine())
  at('21:00')
  await extra(stays.leo, '64', 'leo2')
  // opened, and answered by a direction for the slot
  at('21:02')
  await takeExtra(nora, stays.ines, '58', 'ines9')

  at('21:05')
  await keep('stopped', proposeDose(nora, await takeReading(nora, stays.ruth, '263', { occasion: 'bedtime' }), {}))
  at('21:06')
  await post(nora, `/orders/${stays.ruth.orderId}/stop`, {
    reason: 'Changed to another insulin',
    orderedBy: 'Dr Sanna Weir',
    received: 'written',
  })
  at('21:10')
  await keep('left', direct(await extra(stays.ruth, '268', 'ruth9'), '2').then(idOf))
  at('21:11')
  await post(nora, `/stays/${stays.ruth.stayId}/discharge`, {})
  at('21:12')
  await keep('ahead', direct(await extra(stays.tomas, '271', 'tomas9'), '3').then(idOf))
  await policy('17', `${DATE}T21:20`)
  at('21:25')
  await keep('open', direct(await extra(stays.yusuf, '272', 'yusuf9'), '2').then(idOf))
  return ids as Record<Name, string>
}
