/** A database of today's schema, made once for each worker: migrating an empty one anew for every test is most of a test's work. */
import Database from 'better-sqlite3'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openStore } from '../../server/store/open.ts'

function serialized(): Buffer {
  const folder = mkdtempSync(join(tmpdir(), 'ward-image-'))
  const file = join(folder, 'ward.sqlite')
  try {
    openStore({ file }).close()
    const db = new Database(file)
    try {
      // an image in write-ahead mode cannot be opened in memory
      db.pragma('journal_mode = DELETE')
      return db.serialize()
    } finally {
      db.close()
    }
  } finally {
    rmSync(folder, { recursive: true })
  }
}

/**
 * What the service makes of a file that is not there, serialized: a store in memory starts from it. Made as this module
 * loads, so that no test which watches the database sees it made.
 */
export const emptyImage = serialized()
