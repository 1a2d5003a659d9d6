/**
 * Many nurses at the same few beds at the same time chart the same checks, work out the same doses, check, sign and
 * give them. The ledger must hold one outcome for each check, no dose given twice or without its checks, and every
 * acknowledged entry once. Each refused nurse gets a message.
 */
import { startChild } from './child.ts'
import { Semaphore } from '../../server/http/semaphore.ts'
import { Nurse, wordsOf, type Page } from './nurse.ts'
import { differences, inScratch, look, randomFrom, type Files, type Result, type Size } from './part.ts'
import { badgeOf, patientOf, PIN, wardInstant, type Patient } from './ward.ts'

const BEDS = 10
/** A check's window opens again when ward time moves to the next, more than four hours after the last dose. */
const OCCASIONS = [
  ['before-breakfast', '07:20'],
  ['before-lunch', '11:50'],
  ['before-supper', '16:50'],
  ['bedtime', '21:10'],
] as const
/** How many nurses answer the same second check at once. Few, because PINs are hashed. */
const CHECKERS = 8
/** How often one nurse sends the same form at once, each time with another key. */
const TAPS = 6

/**
 * A nurse signs at no more than this many beds at once. PINs still being checked count as tries (server/http/attempts.ts),
 * so a right PIN at a sixth bed at the same instant would be told to wait.
 */
const SIGNS_AT_ONCE = 4

type Counts = { posts: number; won: number; lost: number; doses: number; given: number }
/** What was acknowledged, by the type of its event. */
type Acknowledged = Record<
  'reading-recorded' | 'dose-proposed' | 'second-check-answered' | 'dose-verified' | 'dose-given',
  number
>

export async function race(size: Size, seed: number): Promise<Result> {
  const [racers, forMs] = size === 'full' ? [50, 60_000] : [12, 3000]
  const random = randomFrom(seed)
  const faults: string[] = []
  const counts: Counts = { posts: 0, won: 0, lost: 0, doses: 0, given: 0 }
  const acknowledged: Acknowledged = {
    'reading-recorded': 0,
    'dose-proposed': 0,
    'second-check-answered': 0,
    'dose-verified': 0,
    'dose-given': 0,
  }
  let checks = 0
  await inScratch(async (files) => {
    const startMs = wardInstant('2026-03-10T07:20')
    const service = await startChild({ ...files, beds: BEDS, nurses: racers, atMs: startMs })
    const nurses = await Promise.all(Array.from({ length: racers }, (_, at) => Nurse.signIn(service.port, at + 1)))
    const together = new Race(nurses, random, faults, counts, acknowledged)
    const startedAt = performance.now()
    for (let cycle = 0; performance.now() - startedAt < forMs; cycle++) {
      const [occasion, time] = OCCASIONS[cycle % OCCASIONS.length] ?? OCCASIONS[0]
      const date = new Date(Date.UTC(2026, 2, 10 + Math.floor(cycle / OCCASIONS.length))).toISOString().slice(0, 10)
      const { wallMs } = await service.state()
      await service.ask({ kind: 'step', minutes: Math.max(0, (wardInstant(`${date}T${time}`) - wallMs) / 60_000) })
      if (time === '07:20' && cycle > 0) await service.ask({ kind: 'control' })
      checks += BEDS
      await Promise.all(
        Array.from({ length: BEDS }, async (_, at) => {
          const patient = patientOf(at + 1)
          const key = `${patient.stayId}.${date}.${occasion}`
          await together.bed(patient, key, `${date}T${time}`)
          faults.push(...outcomesOf(files, key))
        }),
      )
      if (faults.length > 20) break
    }
    for (const [type, count] of Object.entries(acknowledged)) {
      const rows = look(
        files.file,
        (db) =>
          db
            .prepare<[string], { count: number }>(
              "SELECT count(*) AS count FROM ledger WHERE type = ? AND actor_id <> 'loader'",
            )
            .get(type)?.count ?? -1,
      )
      if (rows !== count)
        faults.push(`${String(count)} answers acknowledged ${type}, and the ledger holds ${String(rows)}`)
    }
    faults.push(
      ...look(files.file, (db) =>
        db
          .prepare<[], { id: string; count: number }>(
            "SELECT json_extract(body, '$.doseId') AS id, count(*) AS count FROM ledger WHERE type = 'dose-given' GROUP BY id HAVING count > 1",
          )
          .all(),
      ).map(({ id, count }) => `dose ${id} is given ${String(count)} times`),
    )
    faults.push(
      ...look(files.file, (db) =>
        db
          .prepare<[], { reading: string; count: number }>(
            "SELECT reading_id AS reading, count(*) AS count FROM dose WHERE json_extract(fact, '$.outcome.kind') = 'given' GROUP BY reading_id HAVING count > 1",
          )
          .all(),
      ).map(({ reading, count }) => `${String(count)} doses are given from reading ${reading}`),
    )
    faults.push(...(await service.state()).unhandled)
    for (const nurse of nurses) nurse.close()
    if ((await service.stop()) !== 0) faults.push('the service did not stop cleanly')
    faults.push(...differences(files))
  })
  return {
    part: 'race',
    done: `${String(racers)} nurses on ${String(BEDS)} beds for ${String(forMs / 1000)} s (seed ${String(seed)})`,
    counted: `${String(checks)} checks, ${String(counts.posts)} posts: ${String(counts.won)} won, ${String(counts.lost)} lost and told so; ${String(counts.doses)} doses, ${String(counts.given)} given`,
    faults,
  }
}

/** The outcome of one check by ledger and table. */
function outcomesOf({ file }: Files, key: string): readonly string[] {
  const [found] = look(file, (db) =>
    db
      .prepare<[string, string], { rows: number; outcomes: number }>(
        `SELECT
    (SELECT count(*) FROM ledger WHERE type = 'reading-recorded' AND json_extract(body, '$.reading.checkKey') = ?) AS rows,
    (SELECT count(*) FROM check_outcome WHERE check_key = ?) AS outcomes`,
      )
      .all(key, key),
  )
  return found?.rows === 1 && found.outcomes === 1
    ? []
    : [`check ${key} has ${String(found?.rows)} readings and ${String(found?.outcomes)} outcomes`]
}

class Race {
  readonly #nurses: readonly Nurse[]
  readonly #random: () => number
  readonly #faults: string[]
  readonly #counts: Counts
  readonly #acknowledged: Acknowledged
  readonly #signing = new Map<number, Semaphore>()

  constructor(
    nurses: readonly Nurse[],
    random: () => number,
    faults: string[],
    counts: Counts,
    acknowledged: Acknowledged,
  ) {
    this.#nurses = nurses
    this.#random = random
    this.#faults = faults
    this.#counts = counts
    this.#acknowledged = acknowledged
  }

  /** One bed from its check to the dose, with all nurses at each step. */
  async bed(patient: Patient, key: string, at: string): Promise<void> {
    const values = ['212', '214', '216', '218']
    const reading = await this.#all(this.#nurses, 'reading-recorded', async (nurse) => {
      const fields = await nurse.check(key, patient, values[nurse.number % values.length] ?? '212')
      return fields === null ? null : nurse.send(`/checks/${key}`, fields)
    })
    if (reading === null) return
    const readingId = idOf(reading.page)
    // only the nurse who took it sees the value before its second check: she sends several times at once, and others
    // try
    const proposers = [...Array.from({ length: TAPS }, () => reading.nurse), ...this.#some(CHECKERS)]
    const proposal = await this.#all(proposers, 'dose-proposed', async (nurse) => {
      const form = await nurse.form(`/readings/${readingId}/dose`)
      return form === null ? null : nurse.send(`/readings/${readingId}/dose`, { ...form, elsewhere: 'none' })
    })
    if (proposal === null) {
      this.#faults.push(
        `no dose from reading ${readingId} of ${at}: ${wordsOf(await reading.nurse.get(`/readings/${readingId}/dose`))}`,
      )
      return
    }
    this.#counts.doses += 1
    const doseId = idOf(proposal.page)
    const glucose = values[reading.nurse.number % values.length] ?? '212'
    // on the first nurse's device, as at the bedside, each other nurse with her own badge and PIN
    const first = proposal.nurse
    const others = this.#some(CHECKERS).filter(
      ({ number }) => number !== first.number && number !== reading.nurse.number,
    )
    const checked = await this.#all(others, 'second-check-answered', async (other) => {
      const form = await first.form(`/doses/${doseId}/second-check`)
      return form === null
        ? null
        : this.#signs(other, () =>
            first.send(`/doses/${doseId}/second-check`, {
              ...form,
              glucose,
              units: '4',
              badge: badgeOf(other.number),
              pin: PIN,
            }),
          )
    })
    if (checked === null) return
    const signed = await this.#all(others, 'dose-verified', async (other) => {
      const form = await first.form(`/doses/${doseId}/product`)
      return form === null
        ? null
        : this.#signs(other, () =>
            first.send(`/doses/${doseId}/product`, {
              ...form,
              insulin: 'insulin lispro',
              concentration: 'U-100',
              expiresOn: '2027-01-31',
              units: '4',
              wristband: patient.wristband,
              badge: badgeOf(other.number),
              pin: PIN,
            }),
          )
    })
    if (signed === null) return
    const givers = [...Array.from({ length: TAPS }, () => first), ...this.#some(CHECKERS)]
    const given = await this.#all(givers, 'dose-given', async (nurse) => {
      const form = await nurse.form(`/doses/${doseId}/give`)
      return form === null
        ? null
        : nurse.send(`/doses/${doseId}/give`, {
            ...form,
            wristband: patient.wristband,
            food: 'tray-coming',
            trayInMin: '10',
            willEat: 'yes',
            site: 'left.abdomen',
          })
    })
    if (given !== null) this.#counts.given += 1
    else this.#faults.push(`nobody could give dose ${doseId} of ${at}`)
  }

  /** Sends what the nurse signs with her PIN, when she signs at few enough other beds. */
  #signs(nurse: Nurse, send: () => Promise<Page>): Promise<Page> {
    const semaphore = this.#signing.get(nurse.number) ?? new Semaphore(SIGNS_AT_ONCE)
    this.#signing.set(nurse.number, semaphore)
    return semaphore.run(send)
  }

  #some(count: number): readonly Nurse[] {
    return [...this.#nurses]
      .map((nurse) => ({ nurse, at: this.#random() }))
      .sort((a, b) => a.at - b.at)
      .slice(0, count)
      .map(({ nurse }) => nurse)
  }

  /** All at once. One is acknowledged, the others get a message that it was done, and nobody gets a fault. */
  async #all(
    nurses: readonly Nurse[],
    type: keyof Acknowledged,
    post: (nurse: Nurse) => Promise<Page | null>,
  ): Promise<{ readonly nurse: Nurse; readonly page: Page } | null> {
    const answers = await Promise.all(nurses.map(async (nurse) => ({ nurse, page: await post(nurse) })))
    const won: { readonly nurse: Nurse; readonly page: Page }[] = []
    for (const { nurse, page } of answers) {
      if (page === null) continue
      this.#counts.posts += 1
      if (page.status === 303) won.push({ nurse, page })
      // 403: the product is signed by the nurse whose answer agreed, and by no other
      else if ([403, 409, 422].includes(page.status) && wordsOf(page).length > 40) this.#counts.lost += 1
      else this.#faults.push(`${type}: answered ${String(page.status)}: ${wordsOf(page)}`)
    }
    this.#counts.won += won.length
    this.#acknowledged[type] += won.length
    if (won.length !== 1)
      this.#faults.push(
        `${type}: ${String(won.length)} of ${String(nurses.length)} were acknowledged: ${answers.flatMap(({ page }) => (page === null || page.status === 303 ? [] : wordsOf(page)))[0] ?? ''}`,
      )
    return won[0] ?? null
  }
}

const idOf = (page: Page): string => page.location?.split('/')[2] ?? ''
