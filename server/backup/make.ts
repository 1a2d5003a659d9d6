/** Makes one backup: copies, syncs to disk and verifies it, and only then gives it its name. */
import { existsSync } from 'node:fs'
import { dirname } from 'node:path'
import { accept, refuse, type Outcome, type Refused } from '../../shared/outcome.ts'
import { copyToPart, partsOf, type CopyFacts, type ReportParts } from '../store/backup.ts'
import { refusalOf, StoreError } from '../store/errors.ts'
import { knownSchema } from '../store/migrate.ts'
import { verifyStore } from '../store/verify.ts'
import { hasCode, isFolder, partOf, place, removePart } from '../store/files.ts'

export type BackupRequest = {
  readonly databaseFile: string
  /** The file to make. It must not exist. */
  readonly file: string
  /** True: also recalculates derived tables and doses. The time grows with the whole record. */
  readonly thorough: boolean
}

export type BackupMade = Pick<CopyFacts, 'schema' | 'head' | 'sizeBytes'> & {
  /** What the thorough check found in tables and doses. Null: not requested, or an older schema. */
  readonly found: ReportParts | null
}

export type BackupRefusal =
  'no-database' | 'no-folder' | 'exists-already' | 'no-room' | 'not-writable' | 'copy-faulty' | 'store-fault'

/**
 * Copies the database while the service continues to write. A refusal leaves no file behind. A killed process may leave
 * a part under a temporary name; the next run removes it.
 */
export function makeBackup({ databaseFile, file, thorough }: BackupRequest): Outcome<BackupMade, BackupRefusal> {
  if (!existsSync(databaseFile)) return refuse('no-database', { file: databaseFile })
  if (!isFolder(dirname(file))) return refuse('no-folder', { folder: dirname(file) })
  if (existsSync(file)) return refuse('exists-already', { file })
  const part = partOf(file)
  try {
    const { faults, schema, head, sizeBytes } = copyToPart(databaseFile, file)
    const found =
      thorough && faults.length === 0 && schema === knownSchema()
        ? partsOf(verifyStore({ file: part, headFile: null }))
        : null
    const wrong = [...faults, ...(found?.record ?? [])]
    if (wrong.length > 0) return refuse('copy-faulty', { faults: wrong.join('\n') })
    place(part, file)
    return accept({ schema, head, sizeBytes, found })
  } catch (error) {
    return refusalFrom(error, file)
  } finally {
    removePart(part)
  }
}

/** Turns a disk or database error into a refusal about `file`. Any other error is a bug and is thrown again. */
export function refusalFrom(error: unknown, file: string): Refused<BackupRefusal> {
  if (hasCode(error, 'EEXIST')) return refuse('exists-already', { file })
  const refusal = refusalOf(error, file)
  if (!(refusal instanceof StoreError)) throw error
  if (refusal.reason === 'disk-full') return refuse('no-room', { file })
  if (refusal.reason === 'read-only' || refusal.reason === 'no-permission') return refuse('not-writable', { file })
  return refuse('store-fault', { sentence: refusal.message })
}
