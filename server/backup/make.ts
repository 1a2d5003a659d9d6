/** Makes one backup: copy, put on disk, look at, and only then give it its name. */
import { existsSync } from 'node:fs'
import { dirname } from 'node:path'
import { accept, refuse, type Outcome, type Refused } from '../../shared/outcome.ts'
import { copyToPart, partsOf, type CopyFacts, type ReportParts } from '../store/backup.ts'
import { refusalOf, StoreError } from '../store/errors.ts'
import { knownSchema } from '../store/migrate.ts'
import { verifyStore } from '../store/verify.ts'
import { hasCode, isFolder, partOf, place, removePart } from '../store/files.ts'

export type BackupAsked = {
  readonly databaseFile: string
  /** The file to make; never one that is there. */
  readonly file: string
  /** True: derived tables and doses are worked out again too, which takes as long as the whole record is. */
  readonly thorough: boolean
}

export type BackupMade = Pick<CopyFacts, 'schema' | 'head' | 'sizeBytes'> & {
  /** What the thorough look found in tables and doses; null when there was none: not asked for, or an older schema. */
  readonly found: ReportParts | null
}

export type BackupRefusal =
  'no-database' | 'no-folder' | 'exists-already' | 'no-room' | 'not-writable' | 'copy-faulty' | 'store-fault'

/**
 * Copies the database while the service goes on writing. A refusal leaves no file behind; so does a kill, but for a
 * part under a temporary name, which the next run removes.
 */
export function makeBackup({ databaseFile, file, thorough }: BackupAsked): Outcome<BackupMade, BackupRefusal> {
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

/** What a disk or a database did, as a refusal about `file`; anything else is broken code, and thrown on. */
export function refusalFrom(error: unknown, file: string): Refused<BackupRefusal> {
  if (hasCode(error, 'EEXIST')) return refuse('exists-already', { file })
  const refusal = refusalOf(error, file)
  if (!(refusal instanceof StoreError)) throw error
  if (refusal.reason === 'disk-full') return refuse('no-room', { file })
  if (refusal.reason === 'read-only' || refusal.reason === 'no-permission') return refuse('not-writable', { file })
  return refuse('store-fault', { sentence: refusal.message })
}
