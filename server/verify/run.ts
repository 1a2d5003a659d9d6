/**
 * `npm run verify -- [FILE] [--head FILE]`: proves the database of DATABASE_FILE, or FILE. Exit code 1 when anything
 * differs, 2 when it could not be looked at. Changes nothing and can run beside the service.
 */
import { existsSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { readConfig } from '../config.ts'
import { StoreError } from '../store/errors.ts'
import { verifyStore, type Verified } from '../store/verify.ts'

/** Differences of one kind are printed up to this many; the count is always whole. */
const SHOWN = 20

function main(): number {
  const { values, positionals } = parseArgs({ allowPositionals: true, options: { head: { type: 'string' } } })
  if (positionals.length > 1) return complain('Name one file at most: npm run verify -- [FILE] [--head FILE]')
  const config = readConfig(process.env)
  if (!config.ok) return complain(config.details.sentences)
  const given = positionals[0]
  const file = given ?? config.value.databaseFile
  // the configured head belongs to the configured database, not to a copy or to another one
  const headFile = values.head ?? (given === undefined ? config.value.headFile : null)
  if (!existsSync(file)) return complain(`There is no database at ${file}.`)
  try {
    return report(file, verifyStore({ file, headFile }), headFile)
  } catch (error) {
    if (error instanceof StoreError) return complain(error.message)
    throw error
  }
}

function report(file: string, lines: readonly Verified[], headFile: string | null): number {
  const width = Math.max(...lines.map(({ what }) => what.length))
  console.log(file)
  console.log(`${'what'.padEnd(width)}  ${'checked'.padStart(10)}  ${'differences'.padStart(11)}`)
  for (const { what, checked, differences } of lines)
    console.log(`${what.padEnd(width)}  ${String(checked).padStart(10)}  ${String(differences.length).padStart(11)}`)
  if (headFile === null) console.log('The head kept outside was not compared: name it with --head FILE.')
  for (const { what, differences } of lines) {
    for (const difference of differences.slice(0, SHOWN)) console.log(`DIFFERENCE ${difference}`)
    if (differences.length > SHOWN) console.log(`DIFFERENCE and ${String(differences.length - SHOWN)} more of ${what}`)
  }
  const total = lines.reduce((sum, { differences }) => sum + differences.length, 0)
  console.log(
    total === 0
      ? 'Verified: no difference.'
      : `NOT verified: ${String(total)} ${total === 1 ? 'difference' : 'differences'}.`,
  )
  return total === 0 ? 0 : 1
}

function complain(text: string): number {
  console.error(text)
  return 2
}

process.exitCode = main()
