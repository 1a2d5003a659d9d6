/** The inputs and result of a part of `npm run faults`. */
import Database from 'better-sqlite3'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connect } from '../../server/store/connection.ts'
import { ledgerOf, verifyChain } from '../../server/store/ledger.ts'
import { verifyStore } from '../../server/store/verify.ts'

/** short: seconds, in `npm test`; full: minutes. */
export type Size = 'short' | 'full'

export type Result = {
  readonly part: string
  readonly done: string
  readonly counted: string
  /** Each fault in a sentence; none: the part passed. */
  readonly faults: readonly string[]
}

export type Files = { readonly file: string; readonly headFile: string }

/** A folder for one part, deleted afterwards. */
export async function inScratch<T>(work: (files: Files, folder: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'ward-faults-'))
  try {
    return await work({ file: join(folder, 'ward.sqlite'), headFile: join(folder, 'head.json') }, folder)
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

/** Reads the database beside the service or after it. */
export function look<T>(file: string, work: (db: Database.Database) => T): T {
  const db = new Database(file, { readonly: true, timeout: 10_000 })
  try {
    return work(db)
  } finally {
    db.close()
  }
}

export const ledgerRows = (file: string): number =>
  look(file, (db) => db.prepare<[], { count: number }>('SELECT count(*) AS count FROM ledger').get()?.count ?? -1)

/** The faults of the ledger's chain in the file. */
export function chainFaults(file: string): readonly string[] {
  const connection = connect(file, 'read-only')
  try {
    return verifyChain(ledgerOf(connection)).faults.map(({ fault }) => fault)
  } finally {
    connection.raw.close()
  }
}

/** Everything that `npm run verify` finds. */
export function differences({ file, headFile }: Files): readonly string[] {
  return verifyStore({ file, headFile }).flatMap(({ what, differences: found }) =>
    found.map((one) => `verify, ${what}: ${one}`),
  )
}

/** A seeded generator, so that a part can be repeated with its printed seed (mulberry32, public domain). */
export function randomFrom(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32
  }
}
