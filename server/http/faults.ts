/** Faults of the database as the plumbing has to tell them apart, by SQLite's own codes. */

type Coded = Error & { readonly code: string }

function hasCode(error: unknown): error is Coded {
  return error instanceof Error && 'code' in error && typeof error.code === 'string'
}

/** Somebody else charted the same thing first: a unique key already stands. Other constraints are broken code. */
export function isUniqueConflict(error: unknown): error is Coded {
  return hasCode(error) && (error.code === 'SQLITE_CONSTRAINT_UNIQUE' || error.code === 'SQLITE_CONSTRAINT_PRIMARYKEY')
}

/** Another process holds the database and did not let go in time: nothing was written, and sending again is right. */
export function isBusy(error: unknown): boolean {
  return hasCode(error) && (error.code === 'SQLITE_BUSY' || error.code.startsWith('SQLITE_BUSY_'))
}
