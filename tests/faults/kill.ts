/**
 * The service is killed at random moments while nurses chart. Afterwards every acknowledged reading is there once.
 * One that was sent without a response is there at most once. The ledger's chain is whole. Each form sent again with
 * its key gets the same response and adds no row.
 */
import { Nurse, type Fields, type Page } from './nurse.ts'
import { startChild, type Child } from './child.ts'
import {
  chainFaults,
  differences,
  inScratch,
  ledgerRows,
  look,
  randomFrom,
  type Files,
  type Result,
  type Size,
} from './part.ts'
import { patientOf, wardInstant, type Patient } from './ward.ts'

const NURSES = 6
const BEDS = 6
/** The latest kill after the first response, in milliseconds. */
const KILL_WITHIN_MS = 250

type Sent = {
  readonly nurse: number
  readonly key: string
  readonly path: string
  readonly fields: Fields
  location: string | null
}

export async function kill(size: Size, seed: number): Promise<Result> {
  const rounds = size === 'full' ? 200 : 6
  const random = randomFrom(seed)
  const faults: string[] = []
  const counted = { acknowledged: 0, unanswered: 0, unansweredKept: 0, replayed: 0 }
  await inScratch(async (files) => {
    let before: readonly Sent[] = []
    let fromSeq = 0
    for (let round = 0; round <= rounds; round++) {
      const service = await startChild({
        ...files,
        beds: BEDS,
        nurses: NURSES,
        atMs: wardInstant('2026-03-10T07:20') + round * 5000,
      })
      const nurses = await Promise.all(Array.from({ length: NURSES }, (_, at) => Nurse.signIn(service.port, at + 1)))
      faults.push(...(await sendAgain(before, nurses, counted)))
      const again = charted(files, fromSeq)
      for (const { key } of before)
        if (again.get(key) !== 1) faults.push(`${key} sent again: ${String(again.get(key) ?? 0)} rows`)
      if (round === rounds) {
        for (const nurse of nurses) nurse.close()
        await service.stop()
        break
      }
      fromSeq = ledgerRows(files.file)
      const sent = await chartUntilKilled(service, nurses, round, random)
      before = sent
      counted.acknowledged += sent.filter(({ location }) => location !== null).length
      counted.unanswered += sent.filter(({ location }) => location === null).length
      faults.push(...chainFaults(files.file).map((fault) => `round ${String(round)}: ${fault}`))
      const kept = charted(files, fromSeq)
      for (const one of sent) {
        const rows = kept.get(one.key) ?? 0
        if (one.location === null) counted.unansweredKept += rows
        if (rows > 1 || (one.location !== null && rows !== 1))
          faults.push(
            `round ${String(round)}: ${one.location === null ? 'unanswered' : 'acknowledged'} reading ${one.key} is there ${String(rows)} times`,
          )
      }
      if (faults.length > 20) break
    }
    faults.push(...differences(files))
  })
  return {
    part: 'kill',
    done: `${String(rounds)} kills while ${String(NURSES)} nurses chart; every form sent again (seed ${String(seed)})`,
    counted: `${String(counted.acknowledged)} acknowledged, ${String(counted.unanswered)} unanswered (${String(counted.unansweredKept)} of them kept), ${String(counted.replayed)} answered the same again`,
    faults,
  }
}

/** Every nurse charts one extra reading after another; the kill comes some time after the first response. */
async function chartUntilKilled(
  service: Child,
  nurses: readonly Nurse[],
  round: number,
  random: () => number,
): Promise<Sent[]> {
  const sent: Sent[] = []
  let firstAnswer = (): void => undefined
  const answered = new Promise<void>((resolve) => {
    firstAnswer = resolve
  })
  let isKilled = false
  const chart = async (nurse: Nurse): Promise<void> => {
    for (let count = 0; !isKilled; count++) {
      const patient = patientOf(1 + Math.floor(random() * BEDS))
      const key = `extra.${patient.stayId}.r${String(round)}n${String(nurse.number)}c${String(count)}x`.padEnd(
        6 + patient.stayId.length + 1 + 16,
        '0',
      )
      const one = await chartOne(nurse, key, patient, 100 + Math.floor(random() * 80), sent)
      if (one === null) return
      if (one.status !== 303)
        throw new Error(`a reading was answered ${String(one.status)}: ${one.text.slice(0, 2000)}`)
      firstAnswer()
    }
  }
  const running = Promise.all(nurses.map(async (nurse) => chart(nurse)))
  await Promise.race([answered, running])
  await new Promise((resolve) => {
    setTimeout(resolve, random() * KILL_WITHIN_MS)
  })
  isKilled = true
  await service.kill()
  await running
  for (const nurse of nurses) nurse.close()
  return sent
}

/** Null when the service ended meanwhile. */
async function chartOne(
  nurse: Nurse,
  key: string,
  patient: Patient,
  glucose: number,
  sent: Sent[],
): Promise<Page | null> {
  try {
    const fields = await nurse.check(key, patient, String(glucose), 'other')
    if (fields === null) throw new Error(`no form for ${key}`)
    const one: Sent = { nurse: nurse.number, key, path: `/checks/${key}`, fields, location: null }
    sent.push(one)
    const page = await nurse.send(one.path, fields)
    if (page.status === 303) one.location = page.location
    return page
  } catch (error) {
    if (error instanceof Error && 'code' in error) return null
    throw error
  }
}

/** After the restart: the same body and key. */
async function sendAgain(
  sent: readonly Sent[],
  nurses: readonly Nurse[],
  counted: { replayed: number },
): Promise<readonly string[]> {
  const faults: string[] = []
  await Promise.all(
    nurses.map(async (nurse) => {
      for (const one of sent.filter(({ nurse: by }) => by === nurse.number)) {
        const page = await nurse.send(one.path, one.fields)
        if (page.status !== 303 || (one.location !== null && page.location !== one.location))
          faults.push(
            `${one.key} sent again: ${String(page.status)} to ${String(page.location)}, first to ${String(one.location)}`,
          )
        else counted.replayed += 1
      }
    }),
  )
  return faults
}

/** The number of ledger rows with each check's reading, after a given row. */
function charted({ file }: Files, afterSeq: number): ReadonlyMap<string, number> {
  const rows = look(file, (db) =>
    db
      .prepare<[number], { key: string; count: number }>(
        "SELECT json_extract(body, '$.reading.checkKey') AS key, count(*) AS count FROM ledger WHERE seq > ? AND type = 'reading-recorded' GROUP BY key",
      )
      .all(afterSeq),
  )
  return new Map(rows.map(({ key, count }) => [key, count]))
}
