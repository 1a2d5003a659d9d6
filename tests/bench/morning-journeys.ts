/**
 * The requests of the people of the morning, step by step, as their browsers send them. Times are ward minutes after
 * the check was due.
 */
import type { MorningBoards } from './morning-boards.ts'
import { LOT, wristband } from './morning-hospital.ts'
import { BEDS_A_NURSE, WARD_MINUTE_MS, type PlannedCheck } from './morning-plan.ts'
import { hiddenOf, NotAsExpected, type Fields, type Page, type Tablet } from './morning-tablet.ts'
import type { Tally } from './morning-tally.ts'
import { PIN } from './ward.ts'

export const DATE = '2026-03-10'

/** A ward as its nurses start with it. */
export type WardPlace = {
  readonly ward: number
  readonly wardId: string
  readonly meterId: string
  readonly stayIds: readonly string[]
  readonly nurses: readonly Tablet[]
}
export type Told = {
  readonly boards: MorningBoards | null
  readonly tally: Tally
  /** PINs verified so far */ readonly pins: { proved: number }
}

/** Refreshing pages keep their interval in real seconds, whatever the ward's clock does. */
const LIST_EVERY_MS = 15_000
const LOW_EVERY_MS = 5000
/** The interval at which a charge nurse reloads the board. */
const BOARD_EVERY_MS = 20_000
const BY_ITSELF: Fields = { 'hx-request': 'true' }

/**
 * One person's timed steps: each is due a number of ward minutes after the start, or at once when its page opened
 * late.
 */
class Steps {
  readonly #beganMs: number
  readonly #minuteMs: number
  constructor(beganMs: number, minuteMs: number) {
    this.#beganMs = beganMs
    this.#minuteMs = minuteMs
  }

  at(minutes: number): number {
    return this.#beganMs + minutes * this.#minuteMs
  }
}

/**
 * A whole check: the Round, the wristband, the value, and the steps after it. `minuteMs`: real time of a ward minute.
 */
export async function check(
  place: WardPlace,
  planned: PlannedCheck,
  beganMs: number,
  told: Told,
  minuteMs = WARD_MINUTE_MS,
): Promise<void> {
  await counted(told.tally, async () => {
    const steps = new Steps(beganMs, minuteMs)
    const nurse = tabletOf(place, planned.nurse)
    await nurse.get('Round', steps.at(0), '/round')
    const key = `${place.stayIds[planned.bed] ?? ''}.${DATE}.before-breakfast`
    const result = await chart({
      place,
      planned,
      nurse,
      key,
      value: planned.value,
      dueMs: [steps.at(0.3), steps.at(0.6), steps.at(1.6)],
      told,
    })
    if (planned.outcome === 'low') await low(place, planned, nurse, result, steps, told)
    else if (planned.outcome !== 'in-range') await dose(place, planned, nurse, result, steps, told)
  })
}

type Charting = {
  readonly place: WardPlace
  readonly planned: PlannedCheck
  readonly nurse: Tablet
  readonly key: string
  readonly value: number
  /** wristband step, wristband, value */ readonly dueMs: readonly [number, number, number]
  readonly told: Told
}

/** From the wristband step to the result page. */
async function chart({ place, planned, nurse, key, value, dueMs, told }: Charting): Promise<Page> {
  const path = `/checks/${key}`
  const band = wristband(place.ward, planned.bed)
  await nurse.get('check: wristband step', dueMs[0], path)
  const form = await nurse.post('check: wristband', dueMs[1], `${path}/patient`, { wristband: band }, 200)
  const fields = {
    ...hiddenOf(form.text(), path),
    wristband: band,
    glucose: String(value),
    finger: 'left-middle',
    meterId: place.meterId,
    stripLot: LOT,
    takenAt: '',
    lateReason: '',
    extraReason: '',
  }
  const charted = await nurse.post('check: reading', dueMs[2], path, fields)
  told.boards?.charted(place.ward, planned.bed, performance.now())
  return nurse.get('result', performance.now(), charted.location)
}

/**
 * The first nurse's part, the second nurse's own answer and product, and giving. A dose of 0 units ends with the
 * first part.
 */
async function dose(
  place: WardPlace,
  planned: PlannedCheck,
  nurse: Tablet,
  result: Page,
  steps: Steps,
  told: Told,
): Promise<void> {
  const path = /href="(\/readings\/[a-z0-9]{16}\/dose)"/.exec(result.text())?.[1] ?? ''
  const asked = await nurse.get('dose: form', steps.at(2.2), path)
  const proposed = await nurse.post('dose: first part', steps.at(2.7), path, {
    ...hiddenOf(asked.text(), path),
    elsewhere: 'none',
  })
  await nurse.get('dose', performance.now(), proposed.location)
  if (planned.outcome === 'zero-units') return
  const second = tabletOf(place, planned.second)
  await second.get('second checks waiting', steps.at(4), '/second-checks')
  const checkPath = `${proposed.location}/second-check`
  const blind = await second.get('second check: form', steps.at(4.3), checkPath)
  told.pins.proved++
  const agreed = await second.post('second check: answer', steps.at(5), checkPath, {
    ...hiddenOf(blind.text(), checkPath),
    glucose: String(planned.value),
    units: String(planned.units),
    pin: PIN,
  })
  await second.get('dose', performance.now(), agreed.location)
  const productPath = `${proposed.location}/product`
  const label = await second.get('product: form', steps.at(6.5), productPath)
  told.pins.proved++
  const read = await second.post('product: read', steps.at(7.2), productPath, {
    ...hiddenOf(label.text(), productPath),
    insulin: 'insulin lispro',
    concentration: 'U-100',
    expiresOn: '2027-01-31',
    units: String(planned.units),
    wristband: wristband(place.ward, planned.bed),
    pin: PIN,
  })
  await second.get('dose', performance.now(), read.location)
  const givePath = `${proposed.location}/give`
  const syringe = (await nurse.get('giving: form', steps.at(8), givePath)).text()
  const at =
    /name="at"[^>]*value="([^"]+)"/.exec(syringe)?.[1] ?? /value="([^"]+)"[^>]*name="at"/.exec(syringe)?.[1] ?? ''
  const given = await nurse.post('giving', steps.at(9), givePath, {
    ...hiddenOf(syringe, givePath),
    wristband: wristband(place.ward, planned.bed),
    food: 'tray-coming',
    trayInMin: '10',
    willEat: 'yes',
    site: 'left.abdomen',
    at,
  })
  await nurse.get('dose', performance.now(), given.location)
}

/** Look, treat, call, wait on the refreshing page, measure again. */
async function low(
  place: WardPlace,
  planned: PlannedCheck,
  nurse: Tablet,
  result: Page,
  steps: Steps,
  told: Told,
): Promise<void> {
  const path = /href="(\/lows\/[a-z0-9]{16})"/.exec(result.text())?.[1] ?? ''
  const opened = await nurse.get('low', steps.at(1.9), path)
  await nurse.post('low: look', steps.at(2.3), `${path}/answers`, {
    ...hiddenOf(opened.text(), `${path}/answers`),
    swallowing: 'safely',
    iv: 'none',
  })
  const shown = await nurse.get('low', performance.now(), path)
  const treatedMin = 3.5
  await nurse.post(
    'low: treatment',
    steps.at(treatedMin),
    `${path}/treatments`,
    hiddenOf(shown.text(), `${path}/treatments`),
  )
  const treated = await nurse.get('low', performance.now(), path)
  const call = await nurse.get('low: call form', steps.at(6), `${path}/prescriber-calls`)
  await nurse.post('low: call', steps.at(7), `${path}/prescriber-calls`, {
    ...hiddenOf(call.text(), `${path}/prescriber-calls`),
    told: 'Dr. Vera Kim',
    readBack: 'yes',
    ordered: '',
    at: '',
  })
  const recheckMin = treatedMin + 15.2
  let refresh = refreshOf(treated.text())
  for (let atMs = performance.now() + LOW_EVERY_MS; atMs < steps.at(recheckMin); atMs += LOW_EVERY_MS) {
    const live = await nurse.get('low, by itself', atMs, refresh, { expect: [200, 204], headers: BY_ITSELF })
    if (live.status === 200) refresh = refreshOf(live.text())
  }
  const key =
    /href="\/checks\/(low\.[a-z0-9]{16}\.\d+)"/.exec(
      (await nurse.get('low', steps.at(recheckMin), path)).text(),
    )?.[1] ?? ''
  await chart({
    place,
    planned,
    nurse,
    key,
    value: 98,
    dueMs: [steps.at(recheckMin + 0.2), steps.at(recheckMin + 0.5), steps.at(recheckMin + 1)],
    told: { ...told, boards: null },
  })
}

function refreshOf(page: string): string {
  return (/hx-get="(\/lows\/[^"]+)"/.exec(page)?.[1] ?? '').replaceAll('&amp;', '&')
}

/** A nurse's open Round that refreshes itself; `phase`: from 0 to 1 of its period. */
export function roundRefreshes(
  nurse: Tablet,
  phase: number,
  fromMs: number,
  untilMs: number,
  tally: Tally,
): Promise<void> {
  return every(LIST_EVERY_MS, phase, fromMs, untilMs, tally, (dueMs) =>
    nurse.get('Round, by itself', dueMs, '/round/list?beds=mine', { headers: BY_ITSELF }),
  )
}

/** A charge nurse reloads the board now and then, besides the one that is always open. */
export function boardLooks(
  charge: Tablet,
  phase: number,
  fromMs: number,
  untilMs: number,
  tally: Tally,
): Promise<void> {
  return every(BOARD_EVERY_MS, phase, fromMs, untilMs, tally, (dueMs) => charge.get('board', dueMs, '/board'))
}

/** One person for each hospital opens the list of all its wards now and then, besides the one that is always open. */
export function allWards(
  supervisor: Tablet,
  phase: number,
  fromMs: number,
  untilMs: number,
  tally: Tally,
): Promise<void> {
  return every(BOARD_EVERY_MS, phase, fromMs, untilMs, tally, (dueMs) =>
    supervisor.get('all wards', dueMs, '/board/wards'),
  )
}

/** The beds she selects at sign-in. */
export function bedsOf(place: WardPlace, nurse: number): Fields {
  return Object.fromEntries(
    Array.from({ length: BEDS_A_NURSE }, (_, index) => [
      `bed.${place.wardId}.${String(nurse * BEDS_A_NURSE + index + 1)}`,
      'yes',
    ]),
  )
}

async function every(
  periodMs: number,
  phase: number,
  fromMs: number,
  untilMs: number,
  tally: Tally,
  ask: (dueMs: number) => Promise<unknown>,
): Promise<void> {
  for (let dueMs = fromMs + phase * periodMs; dueMs < untilMs; dueMs += periodMs) await counted(tally, () => ask(dueMs))
}

/** A failure is counted once and stops only the steps after it. */
async function counted(tally: Tally, work: () => Promise<unknown>): Promise<void> {
  try {
    await work()
  } catch (error) {
    if (!(error instanceof NotAsExpected)) tally.fail('page', error instanceof Error ? error.message : String(error))
  }
}

function tabletOf(place: WardPlace, nurse: number): Tablet {
  const tablet = place.nurses[nurse]
  if (tablet === undefined) throw new Error(`ward ${String(place.ward)} has no nurse ${String(nurse)}`)
  return tablet
}
