/**
 * Brings an older database up to this program's schema: a copy of it is kept beside it first, and the migrations with
 * the rebuild that they ask for are one transaction, so that the file is either wholly new or what it was.
 */
import { statSync } from 'node:fs'
import { copyToPart } from './backup.ts'
import type { Connection } from './connection.ts'
import { refusalOf, StoreError } from './errors.ts'
import { hasCode, partOf, place, removePart } from './files.ts'
import { ledgerOf } from './ledger.ts'
import { knownSchema, migrate, refuseNewerSchema, schemaVersion } from './migrate.ts'
import { rebuildIfAsked } from './rebuild.ts'

/** The note that says which upgrade was the last, and where the database from before it is. */
export const UPGRADE_NOTE = 'upgrade'

/**
 * Upgrades `file`, which `connection` has open; a database of this schema is only rebuilt where that was asked for.
 * Answers what was upgraded in a sentence, or null. Throws a StoreError, and leaves the database as it was, when it is
 * damaged or the copy cannot be kept.
 */
export function upgrade(connection: Connection, file: string, keepCopy: boolean): string | null {
  const { raw } = connection
  refuseNewerSchema(raw)
  const from = schemaVersion(raw)
  const isOld = from > 0 && from < knownSchema()
  const kept = isOld && keepCopy ? keepBefore(file, from) : null
  return raw
    .transaction(() => {
      migrate(raw)
      rebuildIfAsked(connection, ledgerOf(connection))
      if (kept === null) return null
      const sentence = `From schema ${String(from)} to ${String(schemaVersion(raw))}. The database from before it is kept as ${kept}.`
      raw
        .prepare<[string, string]>(
          'INSERT INTO note (name, text) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET text = excluded.text',
        )
        .run(UPGRADE_NOTE, sentence)
      return sentence
    })
    .immediate()
}

/** Keeps a proven copy beside the database. Answers its name; null when another process has upgraded the database meanwhile. */
function keepBefore(file: string, schema: number): string | null {
  const target = `${file}.schema-${String(schema)}`
  const part = partOf(target)
  try {
    const copy = copyToPart(file, target)
    if (copy.faults.length > 0)
      throw new StoreError(
        'damaged-file',
        `${file} is damaged, so it was not upgraded: ${copy.faults.join('; ')}. Keep it as it is, and restore the newest backup.`,
      )
    if (copy.schema !== schema) return null
    // the file system's time: the store has no clock of its own
    const name = `${target}-${statSync(part).mtime.toISOString().replace(/[-:.]/g, '')}`
    try {
      place(part, name)
    } catch (error) {
      // another program that starts in this very millisecond has put the same there, as proven as ours
      if (!hasCode(error, 'EEXIST')) throw error
    }
    return name
  } catch (error) {
    throw refusalOf(error, part)
  } finally {
    removePart(part)
  }
}
