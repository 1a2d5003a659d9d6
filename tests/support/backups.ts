/** A small charted database in its own folder, a process that charts in it, and the commands as built. */
import Database from 'better-sqlite3'
import { execFile, spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { packageRoot } from '../../server/paths.ts'
import { openStore } from '../../server/store/open.ts'
import { anEvent, aReading, aSmallWard, MINUTE, NOW } from './makers.ts'

export type Place = {
  readonly folder: string
  readonly file: string
  readonly headFile: string
  readonly backup: string
  readonly remove: () => void
}

/** A folder with a small ward in a closed database, `readings` charted. */
export function aPlace(readings = 0): Place {
  const folder = mkdtempSync(join(tmpdir(), 'ward-backup-'))
  const place = {
    folder,
    file: join(folder, 'ward.sqlite'),
    headFile: join(folder, 'head.json'),
    backup: join(folder, 'copy.sqlite'),
    remove: () => {
      rmSync(folder, { recursive: true, force: true })
    },
  }
  chart(place, 0, readings)
  return place
}

/** Charts `count` readings from the number `first` on into the closed database, which is created if missing. */
export function chart({ file, headFile }: Pick<Place, 'file' | 'headFile'>, first: number, count: number): void {
  const store = openStore({ file, headFile })
  store.transact(() => {
    if (store.isEmpty()) store.append(aSmallWard())
    for (let number = first; number < first + count; number += 1) {
      const takenAtMs = NOW + number * MINUTE
      store.append([
        anEvent(
          'reading-recorded',
          {
            reading: aReading({
              readingId: `reading${String(number).padStart(9, '0')}`,
              checkKey: `check.${String(number)}`,
              takenAtMs,
            }),
          },
          { happenedAtMs: takenAtMs },
        ),
      ])
    }
    return null
  })
  store.close()
}

/** Numbers of the readings in a file, in order. */
export function readingsIn(file: string): readonly number[] {
  return withDatabase(file, (db) =>
    db.prepare<[], { reading_id: string }>('SELECT reading_id FROM reading ORDER BY reading_id').all(),
  ).map((row) => Number(row.reading_id.replace('reading', '')))
}

export function rowsIn(file: string): number {
  return (
    withDatabase(file, (db) => db.prepare<[], { count: number }>('SELECT count(*) AS count FROM ledger').get())
      ?.count ?? -1
  )
}

function withDatabase<T>(file: string, ask: (db: Database.Database) => T): T {
  const db = new Database(file, { readonly: true })
  try {
    return ask(db)
  } finally {
    db.close()
  }
}

/** Changes a file directly, without the triggers that refuse a change. */
export function tamper(file: string, change: (db: Database.Database) => void): void {
  const db = new Database(file)
  db.pragma('foreign_keys = OFF')
  for (const name of ['ledger_not_changed', 'ledger_not_deleted']) db.exec(`DROP TRIGGER ${name}`)
  change(db)
  db.close()
}

export function built(name: string): string {
  const file = join(packageRoot, 'dist', name)
  if (!existsSync(file)) throw new Error('npm run build comes first')
  return file
}

export type Writer = {
  /** The number of readings it has acknowledged. */
  readonly acknowledged: () => number
  /** Resolves when it has acknowledged `count` more than now. */
  readonly more: (count: number) => Promise<void>
  readonly stop: () => Promise<void>
}

/** A separate process that charts one reading after another, from the number `first` on. */
export function startWriter({ file, headFile }: Place, first: number): Writer {
  const child = spawn(process.execPath, [built('tests/faults/writer.js'), file, headFile, String(first)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  let said = 0
  child.stdout.on('data', (chunk: Buffer) => {
    said += chunk.toString().split('\n').length - 1
  })
  return {
    acknowledged: () => said,
    more: async (count) => {
      const enough = said + count
      while (said < enough) await once(child.stdout, 'data')
    },
    stop: () => kill(child),
  }
}

export async function kill(child: ChildProcess, signal: 'SIGKILL' | 'SIGTERM' = 'SIGKILL'): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return
  const gone = once(child, 'exit')
  child.kill(signal)
  await gone
}

export type Ran = { readonly code: number; readonly out: string; readonly err: string }

/** Runs the built `npm run backup` or `npm run restore` on the folder's database. */
export async function command(
  name: 'backup' | 'restore' | 'verify',
  place: Pick<Place, 'file' | 'headFile'>,
  ...args: readonly string[]
): Promise<Ran> {
  const env = { ...process.env, DATABASE_FILE: place.file, HEAD_FILE: place.headFile }
  try {
    const { stdout, stderr } = await promisify(execFile)(process.execPath, [built(`server/${name}/run.js`), ...args], {
      env,
    })
    return { code: 0, out: stdout, err: stderr }
  } catch (error) {
    const { code, stdout, stderr } = error as { code: number; stdout: string; stderr: string }
    return { code, out: stdout, err: stderr }
  }
}
