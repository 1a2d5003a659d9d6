/**
 * `npm run restore -- FILE`: replaces DATABASE_FILE by a copy of the backup FILE, with the service stopped. It reports
 * what the replaced database holds in addition. Exit code 1 when nothing was restored.
 */
import { parseArgs } from 'node:util'
import { RESTORE_SENTENCES } from '../../views/words/backup.ts'
import { SYSTEM_CLOCKS } from '../clocks.ts'
import { readConfig } from '../config.ts'
import { restoreBackup, type Restored } from './restore.ts'
import { sentenceOf } from '../../shared/outcome.ts'

function main(): number {
  const { positionals } = parseArgs({ allowPositionals: true })
  const [file, ...more] = positionals
  if (file === undefined || more.length > 0) return complain('Name the backup: npm run restore -- FILE')
  const config = readConfig(process.env)
  if (!config.ok) return complain(config.details.sentences)
  const { databaseFile, headFile } = config.value
  const restored = restoreBackup({ backupFile: file, databaseFile, headFile, nowMs: SYSTEM_CLOCKS.now() })
  if (!restored.ok) return complain(`Nothing was restored. ${sentenceOf(RESTORE_SENTENCES, restored)}`)
  const { head, schema, setAside, tables, doses } = restored.value
  console.log(
    `${databaseFile} is now a copy of ${file}: ${String(head.count)} ledger rows, schema ${String(schema)}. Hash of the last row: ${head.hash}`,
  )
  if (setAside !== null) console.log(`What stood there is kept as ${setAside}.`)
  console.log(lossOf(restored.value))
  if (tables.length > 0)
    console.log(
      `${String(tables.length)} rows of its tables differ from its record. They are filled anew from the record at the next start.`,
    )
  if (doses.length > 0)
    console.log(
      `${String(doses.length)} of its doses do not work out as they were stored: the verify command names them.`,
    )
  console.log(
    'PINs set, and reads of patients recorded, after the backup was made are not in it. Start the service, then run the verify command.',
  )
  return 0
}

/** What the restored record lacks, in a sentence. */
function lossOf({ head, setAside, difference, rowsKnownOutside }: Restored): string {
  if (difference === null) {
    const known =
      rowsKnownOutside === null
        ? ''
        : ` The head kept outside knew ${String(rowsKnownOutside)} rows: ${String(Math.max(0, rowsKnownOutside - head.count))} more than the backup has.`
    return setAside === null
      ? `There was no database there.${known}`
      : `What was set aside cannot be read, so nobody can say what is lost.${known}`
  }
  if (difference.more === 0) return 'Nothing is lost: every row of the database that was set aside is in the backup.'
  const rows = `${String(difference.more)} ledger ${difference.more === 1 ? 'row' : 'rows'}`
  if (difference.kind === 'parted')
    return `${rows} of the database that was set aside are not in the backup: the two records part after row ${String(difference.common)}.`
  const at = (ms: number | null): string => (ms === null ? '–' : new Date(ms).toISOString())
  return `${rows} of the database that was set aside ${difference.more === 1 ? 'is' : 'are'} not in the backup, charted from ${at(difference.chartedFromMs)} to ${at(difference.chartedToMs)} (UTC). Chart again from paper what is missing.`
}

function complain(text: string): number {
  console.error(text)
  return 1
}

process.exitCode = main()
