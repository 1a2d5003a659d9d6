/**
 * The machine's clock is set back and forward by an hour and by a day while a low is open, a dose is verified and a
 * check is due. Rules: no entry is lost. Ward time never goes back, so ages and charted-at times do not either. No
 * old reading becomes fresh enough for a dose again. A recheck is never due later than before. No session lasts
 * longer. A clock set forward counts at once and makes readings only older.
 */
import { parseHtml, findAll, attr } from '../support/html.ts'
import { startChild, type Child } from './child.ts'
import { Nurse, wordsOf, type Page } from './nurse.ts'
import { differences, inScratch, ledgerRows, look, type Files, type Result, type Size } from './part.ts'
import { badgeOf, patientOf, PIN, wardInstant } from './ward.ts'

const HOUR_MIN = 60
const DAY_MIN = 24 * HOUR_MIN
/** Order of steps, in minutes, of one run each. */
const COURSES: readonly (readonly number[])[] = [
  [-HOUR_MIN],
  [HOUR_MIN],
  [-DAY_MIN],
  [DAY_MIN],
  [HOUR_MIN, -HOUR_MIN],
  [-HOUR_MIN, HOUR_MIN],
  [DAY_MIN, -DAY_MIN],
  [-DAY_MIN, DAY_MIN],
]

type Scene = {
  readonly old: string
  readonly verifiedDose: string
  readonly low: string
  readonly recheckDueMs: number
}

export async function clock(size: Size): Promise<Result> {
  const courses = size === 'full' ? COURSES : COURSES.filter((steps) => steps.length === 1)
  const faults: string[] = []
  const counted = { steps: 0, checks: 0 }
  const must = (course: string, holds: boolean, sentence: string): void => {
    counted.checks += 1
    if (!holds) faults.push(`${course}: ${sentence}`)
  }
  for (const steps of courses) {
    const course = `clock ${steps.map((minutes) => `${minutes > 0 ? '+' : '−'}${Math.abs(minutes) === DAY_MIN ? '1 day' : '1 h'}`).join(', then ')}`
    counted.steps += steps.length
    await inScratch(async (files) => {
      await runCourse(files, steps, (holds, sentence) => {
        must(course, holds, sentence)
      })
    })
  }
  return {
    part: 'clock',
    done: `${String(courses.length)} courses of ${String(counted.steps)} steps by an hour and a day, with a low open, a dose verified and a check due`,
    counted: `${String(counted.checks)} assertions`,
    faults,
  }
}

async function runCourse(
  files: Files,
  steps: readonly number[],
  must: (holds: boolean, sentence: string) => void,
): Promise<void> {
  const setUp = { ...files, beds: 4, nurses: 3, atMs: wardInstant('2026-03-10T07:00') }
  let service = await startChild(setUp)
  const [one, two] = [await Nurse.signIn(service.port, 1), await Nurse.signIn(service.port, 2)]
  const scene = await prepare(service, one, two)
  const rows = ledgerRows(files.file)
  let before = (await service.state()).wardMs
  for (const minutes of steps) {
    await service.ask({ kind: 'step', minutes })
    const { wardMs, wallMs } = await service.state()
    must(wardMs >= before, `ward time went back by ${String(before - wardMs)} ms`)
    must(minutes < 0 || wallMs < before || wardMs >= wallMs, 'ward time did not follow a clock that was put forward')
    before = wardMs
  }
  await judge(service, one, two, scene, files, must)
  must(ledgerRows(files.file) >= rows, 'rows were lost')

  // sessions use the monotonic clock: 9 minutes idle is signed in, 11 is not
  await service.ask({ kind: 'pass', minutes: 9 })
  must((await one.get('/round')).status === 200, 'a login ended early')
  await service.ask({ kind: 'pass', minutes: 11 })
  must(
    (await one.get('/round')).location?.startsWith('/sign-in') === true,
    'a login lives longer than its idle minutes',
  )

  // and after a restart with the machine's clock as the steps left it
  const { wallMs, wardMs } = await service.state()
  for (const nurse of [one, two]) nurse.close()
  must((await service.stop()) === 0, 'the service did not stop cleanly')
  service = await startChild({ ...setUp, atMs: wallMs })
  const newest = look(
    files.file,
    (db) => db.prepare<[], { at: number }>('SELECT max(charted_at_ms) AS at FROM ledger').get()?.at ?? 0,
  )
  const restarted = await service.state()
  must(
    restarted.wardMs >= newest,
    `after a restart ward time begins ${String(newest - restarted.wardMs)} ms before the newest entry`,
  )
  must(wallMs <= wardMs + 1000, 'the wall ran ahead of ward time')
  const again = await Nurse.signIn(service.port, 1)
  must(
    (
      await again.send(`/readings/${scene.old}/dose`, {
        elsewhere: 'none',
        ...(await again.form(`/readings/${scene.old}/dose`)),
      })
    ).status !== 303,
    'after a restart an old reading led to a dose',
  )
  again.close()
  must((await service.state()).unhandled.length === 0, (await service.state()).unhandled.join('; '))
  await service.stop()
  const backwards = look(
    files.file,
    (db) =>
      db
        .prepare<[], { count: number }>(
          "SELECT count(*) AS count FROM (SELECT charted_at_ms < lag(charted_at_ms) OVER (ORDER BY seq) AS back FROM ledger WHERE actor_id <> 'loader') WHERE back",
        )
        .get()?.count ?? -1,
  )
  must(backwards === 0, `${String(backwards)} rows are charted before the row that they follow`)
  const found = differences(files)
  must(found.length === 0, found.join('; '))
}

/**
 * Bed 1: a reading of 80 minutes ago. Bed 2: a dose with both signatures. Bed 3: a treated low with its recheck to
 * come. Bed 4: a due check.
 */
async function prepare(service: Child, one: Nurse, two: Nurse): Promise<Scene> {
  const old = idOf(await reading(one, 1, '212', 'early'))
  for (let minutes = 0; minutes < 81; minutes += 9) {
    await service.ask({ kind: 'pass', minutes: 9 })
    for (const nurse of [one, two]) await nurse.get('/round')
  }
  const fresh = idOf(await reading(one, 2, '212', 'fresh'))
  const verifiedDose = idOf(need(await one.fill(`/readings/${fresh}/dose`, { elsewhere: 'none' }), 'dose'))
  need(
    await one.fill(`/doses/${verifiedDose}/second-check`, { glucose: '212', units: '4', badge: badgeOf(2), pin: PIN }),
    'second check',
  )
  need(
    await one.fill(`/doses/${verifiedDose}/product`, {
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: '4',
      wristband: patientOf(2).wristband,
      badge: badgeOf(2),
      pin: PIN,
    }),
    'product',
  )
  const lowReading = await reading(two, 3, '52', 'low')
  const low = /href="(\/lows\/[a-z0-9]+)"/.exec((await two.get(lowReading.location ?? '')).text)?.[1] ?? ''
  need(await two.fill(`${low}/answers`, { swallowing: 'safely', iv: 'none' }, low), 'answers')
  need(await two.fill(`${low}/treatments`, {}, low), 'treatment')
  return { old, verifiedDose, low, recheckDueMs: await dueOf(two, low) }
}

async function judge(
  service: Child,
  one: Nurse,
  two: Nurse,
  { old, verifiedDose, low, recheckDueMs }: Scene,
  files: Files,
  must: (holds: boolean, sentence: string) => void,
): Promise<void> {
  for (const path of [
    '/round',
    '/second-checks',
    `/readings/${old}`,
    `/doses/${verifiedDose}`,
    low,
    ...[1, 2, 3, 4].map((bed) => `/stays/${patientOf(bed).stayId}`),
  ]) {
    const { status } = await one.get(path)
    must(status === 200, `${path} answered ${String(status)}`)
  }
  const { wardMs } = await service.state()
  // the old reading was 80 minutes old at the step, and never gives a dose again
  const dose = await one.send(`/readings/${old}/dose`, {
    elsewhere: 'none',
    ...(await one.form(`/readings/${old}/dose`)),
  })
  must(dose.status !== 303, 'an old reading led to a dose')
  must((await dueOf(two, low)) <= recheckDueMs, 'the recheck of a low is due later than it was')
  const oldTakenMs = look(
    files.file,
    (db) =>
      db.prepare<[string], { at: number }>('SELECT taken_at_ms AS at FROM reading WHERE reading_id = ?').get(old)?.at ??
      0,
  )
  must(
    wardMs - oldTakenMs >= 80 * 60_000,
    `the reading of 80 minutes ago is ${String(Math.floor((wardMs - oldTakenMs) / 60_000))} minutes old`,
  )
  // the signed dose is given once or refused with a message, and at no time before it was signed
  const localNow = new Intl.DateTimeFormat('sv-SE', {
    timeZone: 'America/Chicago',
    dateStyle: 'short',
    timeStyle: 'short',
  })
    .format(wardMs)
    .replace(' ', 'T')
  const given = await one.fill(`/doses/${verifiedDose}/give`, {
    wristband: patientOf(2).wristband,
    food: 'tray-coming',
    trayInMin: '10',
    willEat: 'yes',
    site: 'left.abdomen',
    at: localNow,
  })
  must([303, 404, 409, 422].includes(given.status), `giving a signed dose answered ${String(given.status)}`)
  const [times] = look(files.file, (db) =>
    db
      .prepare<[], { count: number; early: number }>(
        "SELECT count(*) AS count, coalesce(sum(happened_at_ms + 60000 < (SELECT max(charted_at_ms) FROM ledger WHERE type = 'dose-verified')), 0) AS early FROM ledger WHERE type = 'dose-given'",
      )
      .all(),
  )
  must(
    times !== undefined && times.count === (given.status === 303 ? 1 : 0) && times.early === 0,
    `a dose answered ${String(given.status)} is given ${String(times?.count)} times, ${String(times?.early)} of them before it was signed`,
  )
  // a new entry is charted after all earlier ones
  const now = await reading(two, 4, '131', 'after')
  const [newest] = look(files.file, (db) =>
    db
      .prepare<[], { at: number; newest: number }>(
        "SELECT charted_at_ms AS at, (SELECT max(charted_at_ms) FROM ledger) AS newest FROM ledger WHERE type = 'reading-recorded' ORDER BY seq DESC LIMIT 1",
      )
      .all(),
  )
  must(
    now.status === 303 && newest !== undefined && newest.at >= newest.newest,
    'a new reading is charted before older ones',
  )
}

async function reading(nurse: Nurse, bed: number, glucose: string, id: string): Promise<Page> {
  const patient = patientOf(bed)
  const key = `extra.${patient.stayId}.${id.padEnd(16, '0')}`
  const fields = await nurse.check(key, patient, glucose, 'other')
  if (fields === null) throw new Error(`no form for ${key}`)
  return need(await nurse.send(`/checks/${key}`, fields), `reading ${glucose}`)
}

/** The earliest deadline on the low's page. */
async function dueOf(nurse: Nurse, low: string): Promise<number> {
  const page = await nurse.get(low)
  const [due] = findAll(parseHtml(page.text), (element) => attr(element, 'data-due') !== null)
  return due === undefined ? -Infinity : Number(attr(due, 'data-due'))
}

function need(page: Page, what: string): Page {
  if (page.status !== 303) throw new Error(`${what}: answered ${String(page.status)}: ${wordsOf(page)}`)
  return page
}

const idOf = (page: Page): string => page.location?.split('/')[2] ?? ''
