/**
 * Acknowledged means on disk: after a kill at any moment every acknowledged reading is there once, and nothing is
 * half done.
 */
import Database from 'better-sqlite3'
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { packageRoot } from '../../server/paths.ts'
import { openStore } from '../../server/store/open.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { anEvent, aReading, aSmallWard } from '../support/makers.ts'

const WRITER = join(packageRoot, 'dist/tests/faults/writer.js')

let folder: string
let file: string
let headFile: string

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-kill-'))
  file = join(folder, 'ward.sqlite')
  headFile = join(folder, 'head.json')
  const store = openStore({ file, headFile })
  store.transact(() => {
    store.append(aSmallWard())
    return null
  })
  store.close()
})

afterEach(() => {
  vi.restoreAllMocks()
  rmSync(folder, { recursive: true })
})

/**
 * Lets the writer chart until it has acknowledged `count` readings, then kills it at once. Returns the last
 * acknowledged number.
 */
async function killAfter(count: number, first: number): Promise<number> {
  const writer = spawn(process.execPath, [WRITER, file, headFile, String(first)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const gone = once(writer, 'exit')
  let said = ''
  for await (const chunk of writer.stdout) {
    said += String(chunk)
    if (said.split('\n').length > count) writer.kill('SIGKILL')
  }
  const [, signal] = (await gone) as [number | null, string | null]
  expect(signal).toBe('SIGKILL')
  // a line truncated by the kill was not acknowledged
  const lines = said.split('\n').slice(0, -1)
  expect(lines.length).toBeGreaterThanOrEqual(count)
  return Number(lines.at(-1))
}

function stored(): readonly number[] {
  const db = new Database(file, { readonly: true })
  const rows = db.prepare<[], { reading_id: string }>('SELECT reading_id FROM reading ORDER BY reading_id').all()
  db.close()
  return rows.map((row) => Number(row.reading_id.replace('reading', '')))
}

describe('a writer killed while charting', () => {
  it('keeps every acknowledged reading once and in order, and a whole chain, over ten kills', async () => {
    expect(existsSync(WRITER), 'npm run build comes first').toBe(true)
    let next = 0
    for (const count of [1, 2, 3, 5, 8, 1, 13, 21, 1, 34]) {
      const last = await killAfter(count, next)
      const kept = stored()
      // at most one more: committed and killed before it was acknowledged
      expect(kept.length - 1).toBeGreaterThanOrEqual(last)
      expect(kept).toEqual(kept.map((_, index) => index))
      next = kept.length
    }
    // the file as the kill left it, with its write-ahead log
    expect(verifyStore({ file, headFile }).flatMap(({ differences }) => differences)).toEqual([])
    const store = openStore({ file, headFile })
    store.close()
    expect(verifyStore({ file, headFile }).flatMap(({ differences }) => differences)).toEqual([])
    expect(stored()).toHaveLength(next)
  })
})

describe('the charting connection', () => {
  it('syncs the write-ahead log at every commit: synchronous is FULL while it charts and afterwards', () => {
    const pragma = vi.spyOn(Database.prototype, 'pragma')
    const store = openStore({ file, headFile })
    // the check before opening used another connection
    const connection = (pragma.mock.contexts as Database.Database[]).find(({ open }) => open)
    pragma.mockRestore()
    if (connection === undefined) throw new Error('no connection is open')
    const settings = () => [
      connection.pragma('journal_mode', { simple: true }),
      connection.pragma('synchronous', { simple: true }),
    ]
    store.transact(() => {
      store.append([anEvent('reading-recorded', { reading: aReading() })])
      expect(settings()).toEqual(['wal', 2])
      return null
    })
    expect(settings()).toEqual(['wal', 2])
    store.close()
  })

  it('has the reading in the file before the transaction returns, as another connection sees', () => {
    const store = openStore({ file, headFile })
    const seen = store.transact(() => {
      store.append([anEvent('reading-recorded', { reading: aReading() })])
      return stored().length
    })
    expect([seen, stored().length]).toEqual([0, 1])
    store.close()
  })

  it('leaves no log when it closes: everything is in one file', () => {
    const store = openStore({ file, headFile })
    store.transact(() => {
      store.append([anEvent('reading-recorded', { reading: aReading() })])
      return null
    })
    expect(existsSync(`${file}-wal`)).toBe(true)
    store.close()
    expect(existsSync(`${file}-wal`)).toBe(false)
  })
})
