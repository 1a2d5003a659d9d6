/**
 * `npm run backup -- FILE`: copies the database of DATABASE_FILE into FILE while the service runs, and verifies the
 * copy before naming it. Exit code 1 without a backup.
 */
import { parseArgs } from 'node:util'
import { BACKUP_SENTENCES } from '../../views/words/backup.ts'
import { SYSTEM_CLOCKS } from '../clocks.ts'
import { readConfig } from '../config.ts'
import { makeBackup } from './make.ts'
import { sentenceOf } from '../../shared/outcome.ts'

function main(): number {
  const { positionals } = parseArgs({ allowPositionals: true })
  const [file, ...more] = positionals
  if (file === undefined || more.length > 0) return complain('Name the file to make: npm run backup -- FILE')
  const config = readConfig(process.env)
  if (!config.ok) return complain(config.details.sentences)
  const startedMs = SYSTEM_CLOCKS.mono()
  const made = makeBackup({ databaseFile: config.value.databaseFile, file, thorough: true })
  if (!made.ok) return complain(`No backup was made. ${sentenceOf(BACKUP_SENTENCES, made)}`)
  const { head, schema, sizeBytes, found } = made.value
  console.log(
    `${file}: ${String(head.count)} ledger rows, ${(sizeBytes / 1e6).toFixed(1)} MB, schema ${String(schema)}, made and looked at in ${((SYSTEM_CLOCKS.mono() - startedMs) / 1000).toFixed(1)} s.`,
  )
  console.log(`Hash of the last row: ${head.hash}`)
  if (found === null)
    console.log('The database is of an older schema, so its tables and doses were not worked out again.')
  const differences = [...(found?.tables ?? []), ...(found?.doses ?? [])]
  if (differences.length > 0)
    complain(
      `The backup is a true copy, and its record is whole. But the database itself has ${String(differences.length)} ${differences.length === 1 ? 'difference' : 'differences'} from its record: run the verify command.`,
    )
  return 0
}

function complain(text: string): number {
  console.error(text)
  return 1
}

process.exitCode = main()
