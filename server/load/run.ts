/** `npm run load -- FILE [--database FILE]`: loads a ward, its people or its patients from a file, all of it or nothing. */
import { readFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { SYSTEM_CLOCKS } from '../clocks.ts'
import { readConfig } from '../config.ts'
import { newId } from '../http/ids.ts'
import { StoreError } from '../store/errors.ts'
import { openStore } from '../store/open.ts'
import { loadInto, type LoadResult } from './load.ts'

const USAGE = 'npm run load -- file.json [--database FILE]'

async function main(): Promise<number> {
  const { values, positionals } = parseArgs({ allowPositionals: true, options: { database: { type: 'string' } } })
  const [file, ...more] = positionals
  if (file === undefined || more.length > 0) return complain(`Name one file: ${USAGE}`)
  const config = readConfig(
    values.database === undefined ? process.env : { ...process.env, DATABASE_FILE: values.database },
  )
  if (!config.ok) return complain(config.details.sentences)
  let json: unknown
  try {
    json = JSON.parse(readFileSync(file, 'utf8'))
  } catch (error) {
    return complain(`${file} could not be read as JSON: ${error instanceof Error ? error.message : String(error)}`)
  }
  const { databaseFile, headFile } = config.value
  try {
    const store = openStore({ file: databaseFile, headFile })
    try {
      return report(await loadInto(json, { store, nowMs: SYSTEM_CLOCKS.now(), newId }))
    } finally {
      store.close()
    }
  } catch (error) {
    if (error instanceof StoreError) return complain(`Nothing was loaded: ${error.message}`)
    throw error
  }
}

function report(result: LoadResult): number {
  if (!result.ok) {
    for (const { path, sentence } of result.faults) console.error(`${path}: ${sentence}`)
    return complain(
      `Nothing was loaded: ${String(result.faults.length)} ${result.faults.length === 1 ? 'fault' : 'faults'}.`,
    )
  }
  const { counts, made } = result.loaded
  for (const [name, count] of Object.entries(counts)) console.log(`${name}: ${String(count)}`)
  if (made.length > 0) console.log('\nPINs made here. They are shown once; hand each to its owner:')
  for (const { badge, name, pin } of made) console.log(`${badge}  ${name}  ${pin}`)
  return 0
}

function complain(text: string): number {
  console.error(text)
  return 1
}

process.exitCode = await main()
