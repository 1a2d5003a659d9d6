/** Replays a data set through its own service over HTTP, value by value at its own time, as two nurses would. */
import { currentLow } from '../../shared/low/current.ts'
import { defaultConfig } from '../../server/config.ts'
import { newId } from '../../server/http/ids.ts'
import { loadInto } from '../../server/load/load.ts'
import { startService, type Running } from '../../server/start.ts'
import type { Scope, Store } from '../../server/store/contract.ts'
import { openStore } from '../../server/store/open.ts'
import type { LoadFileInput } from '../../server/load/schema.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { formatGlucose, type Glucose } from '../../shared/glucose/value.ts'
import type { RateSums } from '../../shared/audit/rates.ts'
import type { Occasion } from '../../shared/check/check.ts'
import { addDays, localToUtc, wardDate } from '../../shared/time/zone.ts'
import { CHEAP_PIN } from '../support/people.ts'
import { keyIn, NurseBrowser, valueIn, whyRefused, type Got } from './browser.ts'
import { tally, type LogEntry } from './log.ts'
import { Expectation } from './expect.ts'
import { countOf, isCritical, isLow } from './lows.ts'
import { checkFor } from './occasion.ts'
import {
  CONTROL,
  FIRST,
  houseFile,
  INSULIN,
  SECOND,
  stayFile,
  STRIP_LOT,
  STRIPS_LAST_DAY,
  wardName,
  wristbandOf,
  type ReplaySet,
} from './ward.ts'

const MINUTE_MS = 60_000
/**
 * Readings of a paper record are entered this long after their slot: past the age at which a reading may lead to
 * insulin.
 */
const PAPER_ENTERED_AFTER_MIN = 90

export type ReplayCounts = {
  accepted: number
  /** Among the accepted ones. */
  planned: number
  extra: number
  fromPaper: number
  lows: number
  lowEvents: number
  lowEventsClosed: number
  criticals: number
  criticalsTold: number
  dosesGiven: number
  dosesZero: number
  unitsGiven: number
  /** Readings whose dose, or its absence, was compared with the independent table. */
  compared: number
  requests: number
}

export type ReplayResult = {
  readonly counts: ReplayCounts
  /** By the service's message. */
  readonly refusedByService: Readonly<Record<string, number>>
  /** By the guard that stopped. */
  readonly dosesStopped: Readonly<Record<string, number>>
  /** The lines of charted values, in order. */
  readonly charted: readonly LogEntry[]
  /** The service's patient-day figures, summed over all wards and days. */
  readonly sums: RateSums
  /** Every deviation; empty when all is well. */
  readonly faults: readonly string[]
}

export type ReplayOptions = {
  readonly file: string
  readonly headFile: string | null
  readonly progress: (done: number, of: number) => void
}

/** Starts the service on the scratch file, replays the whole set, and stops it. Throws only when the service fails. */
export async function replay(set: ReplaySet, options: ReplayOptions): Promise<ReplayResult> {
  const store = openStore({ file: options.file, headFile: options.headFile })
  const clock = { nowMs: 0 }
  const config = {
    ...defaultConfig(),
    databaseFile: options.file,
    headFile: options.headFile ?? '',
    port: 0,
    secureCookies: false,
    logLevel: 'error',
    sessionHours: 24,
  } as const
  // the monotonic clock is fixed, so two sessions last the whole replay
  const running = await startService(config, {
    clocks: { now: () => clock.nowMs, mono: () => 0 },
    demoClock: null,
    store,
  })
  try {
    const driver = new Driver(set, running, store, clock)
    await driver.open()
    const planned = set.log.entries
      .map((entry) => ({
        entry,
        atMs: timeOf(entry, set.zone) + (entry.onPaper ? PAPER_ENTERED_AFTER_MIN * MINUTE_MS : 0),
      }))
      .sort((a, b) => a.atMs - b.atMs)
    for (const [index, { entry, atMs }] of planned.entries()) {
      await driver.take(entry, atMs)
      if (index % 500 === 499) options.progress(index + 1, planned.length)
    }
    driver.close()
    return driver.result()
  } finally {
    await running.stop()
  }
}

function timeOf(entry: LogEntry, zone: string): number {
  return localToUtc(entry.date, entry.time, zone)
}

class Driver {
  readonly #set: ReplaySet
  readonly #store: Store
  readonly #clock: { nowMs: number }
  readonly #first: NurseBrowser
  readonly #second: NurseBrowser
  readonly #expectation: Expectation
  readonly #stays = new Map<
    string,
    { readonly stayId: string; readonly wardId: string; readonly meterId: string; readonly done: Set<string> }
  >()
  readonly #controlled = new Set<string>()
  readonly #counts: ReplayCounts = {
    accepted: 0,
    planned: 0,
    extra: 0,
    fromPaper: 0,
    lows: 0,
    lowEvents: 0,
    lowEventsClosed: 0,
    criticals: 0,
    criticalsTold: 0,
    dosesGiven: 0,
    dosesZero: 0,
    unitsGiven: 0,
    compared: 0,
    requests: 0,
  }
  readonly #refused: Record<string, number> = {}
  readonly #stopped: Record<string, number> = {}
  readonly #charted: LogEntry[] = []
  readonly #faults: string[] = []

  constructor(set: ReplaySet, running: Running, store: Store, clock: { nowMs: number }) {
    this.#set = set
    this.#store = store
    this.#clock = clock
    this.#first = new NurseBrowser(running.address)
    this.#second = new NurseBrowser(running.address)
    this.#expectation = new Expectation(set)
  }

  /**
   * The wards open the day before the first value. Both nurses sign in, choose their ward, and enter the strips'
   * control ranges.
   */
  async open(): Promise<void> {
    const [earliest] = this.#set.log.entries
    if (earliest === undefined) throw new Error('the set has no value')
    this.#clock.nowMs = localToUtc(addDays(earliest.date, -1), '11:00', this.#set.zone)
    await this.#load(houseFile(this.#set))
    const [wardId = ''] = this.#store.wardIds()
    for (const [nurse, browser] of [
      [FIRST, this.#first],
      [SECOND, this.#second],
    ] as const) {
      const signedIn = await browser.post('/sign-in', { badge: nurse.badge, pin: nurse.pin })
      if (signedIn.status !== 303)
        throw new Error(`${nurse.name} could not sign in: ${String(signedIn.status)} ${whyRefused(signedIn.text)}`)
      const chosen = await browser.fillIn('/ward', { wardId })
      if (chosen.status !== 303)
        throw new Error(`${nurse.name} could not choose a ward: ${String(chosen.status)} ${whyRefused(chosen.text)}`)
    }
    const { level1, level2 } = CONTROL[this.#set.unit]
    const ranges = { level1From: level1.from, level1To: level1.to, level2From: level2.from, level2To: level2.to }
    for (const ward of this.#store.wardIds()) {
      const entered = await this.#first.fillIn('/setup/strips/new', {
        wardId: ward,
        lot: STRIP_LOT,
        expiresOn: STRIPS_LAST_DAY,
        ...ranges,
      })
      if (entered.status !== 303)
        throw new Error(`the lot's ranges were not entered: ${String(entered.status)} ${whyRefused(entered.text)}`)
    }
  }

  close(): void {
    this.#counts.requests = this.#first.requests + this.#second.requests
    this.#first.close()
    this.#second.close()
  }

  result(): ReplayResult {
    const sums = this.#store.rateSums(this.#scope(), {
      wardIds: this.#store.wardIds(),
      fromDate: '0000-01-01',
      toDate: '9999-12-31',
    })
    return {
      counts: this.#counts,
      refusedByService: this.#refused,
      dosesStopped: this.#stopped,
      charted: this.#charted,
      sums,
      faults: this.#faults,
    }
  }

  /** One value: charted at `atMs`, then the steps that follow. */
  async take(entry: LogEntry, atMs: number): Promise<void> {
    this.#clock.nowMs = Math.max(this.#clock.nowMs, atMs)
    const takenAtMs = timeOf(entry, this.#set.zone)
    const stay = await this.#stayOf(entry)
    if (!entry.onPaper) await this.#control(entry, stay)
    const occasion = entry.onPaper ? null : checkFor(entry, stay.done)
    const charted = entry.onPaper
      ? await this.#chartFromPaper(entry, stay.stayId)
      : await this.#chart(entry, stay, occasion)
    if (charted === null) return
    if (occasion !== null) stay.done.add(`${entry.date} ${occasion}`)
    this.#counts.accepted += 1
    this.#charted.push(entry)
    this.#compareStored(entry, charted, takenAtMs)
    await this.#tellCritical(entry, charted)
    const expected = this.#expectation.take(entry, occasion, takenAtMs)
    if (isLow(entry.typed, this.#set.unit)) this.#counts.lows += 1
    await this.#dose(entry, charted, stay.stayId, expected.units)
    this.#followLow(expected.low, entry, stay.stayId, takenAtMs)
  }

  async #chart(
    entry: LogEntry,
    stay: { readonly stayId: string; readonly meterId: string },
    occasion: Occasion | null,
  ): Promise<string | null> {
    const path = await this.#checkPath(entry, stay.stayId, occasion)
    const form = await this.#first.post(`${path}/patient`, { wristband: wristbandOf(entry.stay) })
    if (form.status !== 200) return this.#fault(entry, `the wristband step answered ${String(form.status)}`)
    const sent = await this.#first.post(path, {
      key: keyIn(form.text),
      wristband: wristbandOf(entry.stay),
      glucose: entry.typed,
      finger: valueIn(form.text, 'finger'),
      meterId: stay.meterId,
      stripLot: STRIP_LOT,
      takenAt: '',
      lateReason: '',
      ...(occasion === null ? { extraReason: 'other' } : {}),
    })
    const readingId = this.#accepted(sent, '/readings/')
    if (readingId === null) return this.#refusal(entry, sent)
    if (occasion === null) this.#counts.extra += 1
    else this.#counts.planned += 1
    const result = await this.#first.get(`/readings/${readingId}`)
    if (result.status !== 200) this.#fault(entry, `the result answered ${String(result.status)}`)
    return readingId
  }

  async #checkPath(entry: LogEntry, stayId: string, occasion: Occasion | null): Promise<string> {
    if (occasion !== null) return `/checks/${stayId}.${entry.date}.${occasion}`
    const leads = await this.#first.get(`/stays/${stayId}/extra`)
    return leads.location ?? `/stays/${stayId}/extra`
  }

  async #chartFromPaper(entry: LogEntry, stayId: string): Promise<string | null> {
    const sent = await this.#first.fillIn(`/stays/${stayId}/paper-reading`, {
      wristband: wristbandOf(entry.stay),
      glucose: entry.typed,
      takenAt: `${entry.date}T${entry.time}`,
      takenBy: '',
      meterId: '',
    })
    const readingId = this.#accepted(sent, '/readings/')
    if (readingId === null) return this.#refusal(entry, sent)
    this.#counts.fromPaper += 1
    return readingId
  }

  #accepted(got: Got, leadsTo: string): string | null {
    return got.status === 303 && got.location?.startsWith(leadsTo) === true ? got.location.slice(leadsTo.length) : null
  }

  #refusal(entry: LogEntry, got: Got): null {
    if (got.status >= 500) return this.#fault(entry, `the service broke: ${String(got.status)}`)
    tally(
      this.#refused,
      whyRefused(got.text).replace(/\d+(\.\d+)?/g, (number) => (number === entry.typed ? '…' : number)),
    )
    return null
  }

  /** The stored value is the log's: digits, unit and minute. */
  #compareStored(entry: LogEntry, readingId: string, takenAtMs: number): void {
    const { unit, zone } = this.#set
    const reading = this.#store.readingById(this.#scope(), readingId)
    const value: Glucose['value'] | undefined = reading?.glucose.value
    const expected = entry.typed === 'HI' || entry.typed === 'LO' ? entry.typed : countOf(entry.typed, unit)
    if (value !== expected || reading?.glucose.unit !== unit)
      this.#fault(entry, `stored ${reading === undefined ? 'nothing' : formatGlucose(reading.glucose)}`)
    else if (
      reading.takenAtMs !== takenAtMs ||
      reading.wardDate !== entry.date ||
      wardDate(takenAtMs, zone) !== entry.date
    )
      this.#fault(entry, 'stored at another time')
  }

  async #tellCritical(entry: LogEntry, readingId: string): Promise<void> {
    const waits = this.#store.openItem(this.#scope(), `critical.${readingId}`) !== undefined
    if (waits !== isCritical(entry.typed, this.#set.unit))
      this.#fault(entry, waits ? 'was taken for critical' : 'was not taken for critical')
    if (!waits) return
    this.#counts.criticals += 1
    const told = await this.#first.fillIn(`/readings/${readingId}/critical-call`, {
      told: 'Dr. R. Replay',
      readBack: 'yes',
      ordered: 'Not in the log.',
    })
    if (told.status === 303) this.#counts.criticalsTold += 1
    else this.#fault(entry, `the critical call answered ${String(told.status)}: ${whyRefused(told.text)}`)
  }

  /** `units` is the table's dose. Null: there must be no dose. */
  async #dose(entry: LogEntry, readingId: string, stayId: string, units: number | null): Promise<void> {
    const path = `/readings/${readingId}/dose`
    const page = await this.#first.get(path)
    if (page.status !== 200) {
      this.#fault(entry, `the dose form answered ${String(page.status)}`)
      return
    }
    const key = keyIn(page.text)
    const sent =
      key === ''
        ? page
        : await this.#first.post(path, {
            key,
            ...(page.text.includes('name="elsewhere"') ? { elsewhere: 'none' } : {}),
          })
    const doseId = this.#accepted(sent, '/doses/')
    this.#counts.compared += 1
    if (doseId === null) {
      this.#stop(entry, sent)
      if (units !== null) this.#fault(entry, `no dose, the table says ${String(units)} units`)
      return
    }
    const dose = this.#store.doseById(this.#scope(), doseId)
    if (units === null) {
      this.#fault(entry, `${String(dose?.units)} units proposed where no dose may follow`)
      return
    }
    if (dose?.units !== units || dose.stayId !== stayId || dose.insulin !== INSULIN) {
      this.#fault(entry, `${String(dose?.units)} units proposed, the table says ${String(units)}`)
      return
    }
    if (units === 0) {
      this.#counts.dosesZero += 1
      if (dose.outcome?.kind !== 'zero-charted') this.#fault(entry, 'a dose of 0 was not charted as such')
      return
    }
    await this.#checkAndGive(entry, doseId, units)
  }

  /** Alternates between the first nurse's device (badge and PIN) and the second nurse's own (PIN). */
  async #checkAndGive(entry: LogEntry, doseId: string, units: number): Promise<void> {
    const onFirst = this.#counts.dosesGiven % 2 === 0
    const signs = onFirst ? { badge: SECOND.badge, pin: SECOND.pin } : { pin: SECOND.pin }
    const browser = onFirst ? this.#first : this.#second
    const wristband = wristbandOf(entry.stay)
    const today = wardDate(this.#clock.nowMs, this.#set.zone)
    const steps: readonly (readonly [string, () => Promise<Got>])[] = [
      [
        'the second check',
        () => browser.fillIn(`/doses/${doseId}/second-check`, { ...signs, glucose: entry.typed, units: String(units) }),
      ],
      [
        'reading the product',
        () =>
          browser.fillIn(`/doses/${doseId}/product`, {
            ...signs,
            insulin: INSULIN,
            concentration: 'U-100',
            expiresOn: addDays(today, 20),
            units: String(units),
            wristband,
          }),
      ],
      ['giving', () => this.#give(doseId, wristband)],
    ]
    for (const [name, step] of steps) {
      const got = await step()
      if (got.status !== 303) {
        this.#fault(entry, `${name} answered ${String(got.status)}: ${whyRefused(got.text)}`)
        return
      }
    }
    const dose = this.#store.doseById(this.#scope(), doseId)
    if (dose?.outcome?.kind !== 'given' || dose.answers.length !== 1 || dose.product?.units !== units) {
      this.#fault(entry, 'the dose is not charted as given')
      return
    }
    this.#counts.dosesGiven += 1
    this.#counts.unitsGiven += units
  }

  async #give(doseId: string, wristband: string): Promise<Got> {
    const path = `/doses/${doseId}/give`
    const page = await this.#first.get(path)
    return this.#first.post(path, {
      key: keyIn(page.text),
      wristband,
      food: 'not-with-a-meal',
      willEat: 'yes',
      trayInMin: '',
      site: valueIn(page.text, 'site'),
      at: valueIn(page.text, 'at'),
    })
  }

  #stop(entry: LogEntry, got: Got): void {
    if (got.status >= 500) {
      this.#fault(entry, `the service broke: ${String(got.status)}`)
      return
    }
    const stops = [...got.text.matchAll(/Stops: ([^<]+)<\/strong>/g)].map(([, name]) => name ?? '')
    const [first] = stops
    if (first === undefined) this.#fault(entry, `no dose and no reason: ${String(got.status)} ${whyRefused(got.text)}`)
    else tally(this.#stopped, stops.join(', '))
  }

  /** Charts what the set does not contain: an event that is over is closed. */
  #followLow(low: 'opened' | 'over' | null, entry: LogEntry, stayId: string, atMs: number): void {
    if (low === null && !isLow(entry.typed, this.#set.unit)) return
    const open = currentLow(this.#store.stayFacts(this.#scope(), stayId, this.#clock.nowMs)?.lows ?? [])
    if (open === undefined) {
      this.#fault(entry, 'there is no low event')
      return
    }
    if (low === 'opened') {
      this.#counts.lowEvents += 1
      if (open.openedAtMs !== atMs) this.#fault(entry, 'a low event of another time is open')
    }
    if (low !== 'over') return
    const nowMs = this.#clock.nowMs
    this.#store.transact(() => {
      storeEvents(this.#store, [
        {
          type: 'low-event-closed',
          wardId: open.wardId,
          stayId,
          actorId: this.#staffId(),
          happenedAtMs: nowMs,
          chartedAtMs: nowMs,
          body: { lowId: open.lowId, cause: 'other', note: 'The log names no cause. Closed by the replay.' },
        },
      ])
      return null
    })
    this.#counts.lowEventsClosed += 1
  }

  async #stayOf(entry: LogEntry): Promise<{
    readonly stayId: string
    readonly wardId: string
    readonly meterId: string
    readonly done: Set<string>
  }> {
    const before = this.#stays.get(entry.stay)
    if (before !== undefined) return before
    await this.#load(stayFile(this.#set, entry.stay, entry.date))
    const stay = this.#store.stayByWristband(wristbandOf(entry.stay))
    const ward = this.#store.wards(this.#scope()).find(({ name }) => name === wardName(this.#set, entry.stay))
    const meter =
      ward === undefined ? undefined : this.#store.wardFacts(this.#scope(), ward.wardId, this.#clock.nowMs)?.meters[0]
    if (stay === undefined || meter === undefined) throw new Error(`the stay of log ${entry.stay} was not loaded`)
    const made = { stayId: stay.stayId, wardId: stay.wardId, meterId: meter.meterId, done: new Set<string>() }
    this.#stays.set(entry.stay, made)
    return made
  }

  /** The day's control of the ward's meter, both levels in the middle of the ranges on the lot's label. */
  async #control(
    entry: LogEntry,
    { wardId, meterId }: { readonly wardId: string; readonly meterId: string },
  ): Promise<void> {
    const day = `${wardId} ${wardDate(this.#clock.nowMs, this.#set.zone)}`
    if (this.#controlled.has(day)) return
    this.#controlled.add(day)
    const { level1, level2 } = CONTROL[this.#set.unit]
    const got = await this.#first.fillIn(`/setup/meters/${meterId}/controls`, {
      lot: STRIP_LOT,
      level1: level1.shows,
      level2: level2.shows,
    })
    if (got.status !== 303) this.#fault(entry, `the control answered ${String(got.status)}: ${whyRefused(got.text)}`)
  }

  async #load(file: LoadFileInput): Promise<void> {
    const loaded = await loadInto(file, { store: this.#store, nowMs: this.#clock.nowMs, newId, pinCost: CHEAP_PIN })
    if (!loaded.ok) throw new Error(`the replay's own file was not loaded: ${JSON.stringify(loaded.faults)}`)
  }

  #staffId(): string {
    return this.#store.staffByBadge(FIRST.badge)?.staffId ?? ''
  }

  #scope(): Scope {
    return { staffId: this.#staffId(), role: 'floor-nurse', wardIds: this.#store.wardIds() }
  }

  #fault(entry: LogEntry, what: string): null {
    this.#faults.push(`${entry.source} (${entry.stay}, ${entry.date} ${entry.time}, ${entry.typed}): ${what}`)
    return null
  }
}
