/**
 * The service's disk fills up while nurses chart. Each form comes back with its message, nothing is half stored, and
 * pages still open. Killed on the full disk, the service does not start again and says why. With room again, every
 * form sent again is charted once.
 */
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { startChild, type Child } from './child.ts'
import { realDisk } from './disk.ts'
import { Nurse, wordsOf, type Fields } from './nurse.ts'
import { differences, inScratch, ledgerRows, type Files, type Result, type Size } from './part.ts'
import { patientOf, wardInstant } from './ward.ts'

const NURSES = 5
const BEDS = 5
/** Room for the database, its log and a start. */
const DISK_KIB = 16_384

type Held = { readonly nurse: Nurse; readonly path: string; readonly fields: Fields }

export async function diskFull(size: Size): Promise<Result> {
  const times = size === 'full' ? 20 : 2
  const disk = realDisk(DISK_KIB)
  const faults: string[] = []
  const counted = { refused: 0, stored: 0, pages: 0, charted: 0 }
  const setUp = (files: Files) => ({ ...files, beds: BEDS, nurses: NURSES, atMs: wardInstant('2026-03-10T07:20') })
  const run = async (files: Files): Promise<void> => {
    let service = await startChild(setUp(files))
    const full = async (on: boolean): Promise<void> => {
      if (disk === null) await service.ask({ kind: 'query-only', on })
      else if (on) disk.fill()
      else disk.free()
    }
    const signIn = (): Promise<readonly Nurse[]> =>
      Promise.all(Array.from({ length: NURSES }, (_, at) => Nurse.signIn(service.port, at + 1)))
    let nurses = await signIn()
    for (let time = 0; time < times; time++) {
      // each nurse has filled in a form
      const held = await Promise.all(
        nurses.map(async (nurse, at): Promise<Held> => {
          const patient = patientOf(1 + at)
          const key = `extra.${patient.stayId}.t${String(time)}x`.padEnd(6 + patient.stayId.length + 1 + 16, '0')
          const fields = await nurse.check(key, patient, String(110 + at), 'other')
          if (fields === null) throw new Error(`no form for ${key}`)
          return { nurse, path: `/checks/${key}`, fields }
        }),
      )
      const before = ledgerRows(files.file)
      await full(true)
      const storedBefore = counted.stored
      await Promise.all(
        held.map(async (one) => {
          await expectRefused(one, faults, counted)
        }),
      )
      const stored = counted.stored - storedBefore
      for (const { nurse } of held) {
        for (const path of ['/round', '/board', '/second-checks', `/stays/${patientOf(1).stayId}`, '/handover']) {
          const { status } = await nurse.get(path)
          counted.pages += 1
          if (status !== 200 && !(path === '/board' && status === 403))
            faults.push(`full: ${path} answered ${String(status)}`)
        }
      }
      await afterProbe()
      // a checkpointed log has room for a few more entries
      if (stored === 0) await expectHealth(service, 503, faults)
      if (ledgerRows(files.file) !== before + stored)
        faults.push(
          `full: ${String(ledgerRows(files.file) - before)} rows were stored and ${String(stored)} acknowledged`,
        )
      if (disk !== null && time === times - 1) {
        await service.kill()
        faults.push(...(await refusesToStart(files, setUp, stored > 0)))
        disk.free()
        service = await startChild(setUp(files))
        for (const nurse of nurses) nurse.close()
        nurses = await signIn()
      } else await full(false)
      for (const [at, one] of held.entries()) {
        const page = await (nurses[at] ?? one.nurse).send(one.path, one.fields)
        if (page.status === 303) counted.charted += 1
        else faults.push(`room again: ${one.path} answered ${String(page.status)}: ${wordsOf(page)}`)
      }
      if (ledgerRows(files.file) !== before + NURSES)
        faults.push(`room again: ${String(ledgerRows(files.file) - before)} rows for ${String(NURSES)} forms`)
      await afterProbe()
      await expectHealth(service, 200, faults)
    }
    const { unhandled } = await service.state()
    faults.push(...unhandled)
    for (const nurse of nurses) nurse.close()
    const code = await service.stop()
    if (code !== 0) faults.push(`the service ended with ${String(code)}`)
    faults.push(...differences(files))
  }
  try {
    if (disk === null) await inScratch(run)
    else await run({ file: join(disk.folder, 'ward.sqlite'), headFile: join(disk.folder, 'head.json') })
  } finally {
    disk?.close()
  }
  return {
    part: 'disk-full',
    done: `${disk === null ? 'writes refused by the database (this machine allows no mount)' : `a disk of ${String(DISK_KIB / 1024)} MiB filled`} ${String(times)} times while ${String(NURSES)} nurses chart${disk === null ? '' : '; a start on the full disk'}`,
    counted: `${String(counted.refused)} forms back with the sentence, ${String(counted.stored)} for which the log had room, ${String(counted.pages)} pages opened meanwhile, ${String(counted.charted)} charted once when sent again`,
    faults,
  }
}

/** Refused with all typed values, or acknowledged and then found. */
async function expectRefused(
  { nurse, path, fields }: Held,
  faults: string[],
  counted: { refused: number; stored: number },
): Promise<void> {
  const page = await nurse.send(path, fields)
  const isBack =
    page.status === 503 &&
    /Not saved\. The service’s disk (is full|can be read but not written)\./.test(page.text) &&
    page.text.includes(`value="${fields['glucose'] ?? ''}"`) &&
    page.text.includes(fields['key'] ?? 'no key')
  if (isBack) counted.refused += 1
  else if (page.status === 303) counted.stored += 1
  else faults.push(`full: ${path} answered ${String(page.status)}: ${wordsOf(page)}`)
}

/** The service checks its database at most once a second and repeats its result meanwhile. */
async function afterProbe(): Promise<void> {
  await new Promise((resolve) => {
    setTimeout(resolve, 1100)
  })
}

async function expectHealth({ port }: Child, status: number, faults: string[]): Promise<void> {
  const answer = await fetch(`http://127.0.0.1:${String(port)}/healthz`)
  if (answer.status !== status) faults.push(`/healthz answered ${String(answer.status)} instead of ${String(status)}`)
}

/** Unless the log has room, which is possible after a checkpoint. */
async function refusesToStart(
  files: Files,
  setUp: (files: Files) => Parameters<typeof startChild>[0],
  hasRoom: boolean,
): Promise<readonly string[]> {
  try {
    await (await startChild(setUp(files))).stop()
    return hasRoom ? [] : ['full: the service started']
  } catch (error) {
    const said = error instanceof Error ? error.message : String(error)
    return /^The disk of .* is full\. Make room on it, then start again\.$/.test(said) && existsSync(files.file)
      ? []
      : [`full: a start was refused with: ${said}`]
  }
}
