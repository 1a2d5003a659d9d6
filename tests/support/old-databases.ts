/** Databases as older versions of this program left them (tests/support/old-databases/README.md). */
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { brotliDecompressSync } from 'node:zlib'
import { ROOT } from './house.ts'

export type OldDatabase = {
  /** What was charted, in the words of the test that charted it. */
  readonly made: string
  readonly rows: number
  readonly bytes: number
  /** Ward time at which the program of its day was asked for the patients' pages. */
  readonly atMs: number
  /** By stay: values, doses and lows that the patient's page showed then. */
  readonly shown: Readonly<Record<string, readonly string[]>>
  /** Doses by name, as that program's tables held them; absent: not written down. */
  readonly doses?: Readonly<Record<string, OldDose>>
}

export type OldDose = {
  readonly doseId: string
  readonly voided: { readonly reason: string; readonly atMs: number } | null
  readonly outcome: string | null
  readonly signed: boolean
}

export type OldProgram = {
  readonly name: string
  readonly commit: string
  readonly schema: number
  /** every kind of event in its ledgers */ readonly types: readonly string[]
  readonly databases: readonly OldDatabase[]
  /** Writes one of them to a file. */ readonly write: (index: number, file: string) => void
}

const FOLDER = join(ROOT, 'tests/support/old-databases')

export function oldProgram(name: string): OldProgram {
  const index = JSON.parse(readFileSync(join(FOLDER, `${name}.json`), 'utf8')) as Omit<OldProgram, 'name' | 'write'>
  let whole: Buffer | null = null
  return {
    ...index,
    name,
    write: (at, file) => {
      whole ??= brotliDecompressSync(readFileSync(join(FOLDER, `${name}.sqlite.br`)))
      const from = index.databases.slice(0, at).reduce((sum, { bytes }) => sum + bytes, 0)
      writeFileSync(file, whole.subarray(from, from + (index.databases[at]?.bytes ?? 0)))
    },
  }
}
