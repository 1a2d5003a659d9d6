/** Faults of the database as the plumbing has to tell them apart, by SQLite's own codes (sqlite.org/rescode.html). */
import type { StoreFailure } from '../../views/words/http.ts'

type Coded = Error & { readonly code: string }

function hasCode(error: unknown): error is Coded {
  return error instanceof Error && 'code' in error && typeof error.code === 'string'
}

/** Somebody else charted the same thing first: a unique key already stands. Other constraints are broken code. */
export function isUniqueConflict(error: unknown): error is Coded {
  return hasCode(error) && (error.code === 'SQLITE_CONSTRAINT_UNIQUE' || error.code === 'SQLITE_CONSTRAINT_PRIMARYKEY')
}

/** By primary code; an extended code begins with it. A disk too full for the log's index is a full disk. */
const FAILURES: readonly (readonly [code: string, failure: StoreFailure])[] = [
  ['SQLITE_BUSY', 'busy'],
  ['SQLITE_FULL', 'full'],
  ['SQLITE_IOERR_SHMSIZE', 'full'],
  ['SQLITE_READONLY', 'read-only'],
  ['SQLITE_CORRUPT', 'damaged'],
  ['SQLITE_NOTADB', 'damaged'],
  ['SQLITE_IOERR', 'failing'],
  ['SQLITE_CANTOPEN', 'failing'],
]

/**
 * What keeps the store from taking or giving anything: nothing was saved, and it is no fault of what was sent. Null for
 * every other error. Busy: another process held the database and did not let go in time.
 */
export function storeFailureOf(error: unknown): StoreFailure | null {
  if (!hasCode(error)) return null
  const { code } = error
  return FAILURES.find(([one]) => code === one || code.startsWith(`${one}_`))?.[1] ?? null
}
