/** What keeps a store from opening: a stable reason and one plain sentence for whoever runs the ward's machine. */
export type StoreFault =
  | 'newer-schema'
  | 'older-schema'
  | 'damaged-schema'
  | 'migrations-missing'
  | 'pragma-not-set'
  | 'not-a-database'
  | 'another-program'
  | 'empty-file'
  | 'file-missing'
  | 'not-a-file'
  | 'damaged-file'
  | 'read-only'
  | 'no-permission'
  | 'disk-full'
  | 'disk-failing'
  | 'in-use'
  | 'ledger-behind-head'
  | 'head-unreadable'
  | 'head-not-writable'

export class StoreError extends Error {
  readonly reason: StoreFault

  constructor(reason: StoreFault, sentence: string, options?: ErrorOptions) {
    super(sentence, options)
    this.name = 'StoreError'
    this.reason = reason
  }
}

const RESTORE = 'Keep this file as it is, and restore the newest backup to another name.'

/** By SQLite's result codes and the operating system's: the first that the code begins with. */
const SENTENCES: readonly (readonly [
  codes: readonly string[],
  reason: StoreFault,
  sentence: (file: string) => string,
])[] = [
  [
    ['SQLITE_FULL', 'ENOSPC', 'EDQUOT', 'SQLITE_IOERR_SHMSIZE'],
    'disk-full',
    (file) => `The disk of ${file} is full. Make room on it, then start again.`,
  ],
  [
    ['SQLITE_READONLY', 'EROFS', 'EPERM', 'SQLITE_CANTOPEN_FULLPATH'],
    'read-only',
    (file) =>
      `${file} cannot be written: the file, its folder or its file system is read-only. Make it writable for the service, then start again.`,
  ],
  [
    ['EACCES', 'SQLITE_PERM'],
    'no-permission',
    (file) =>
      `The service may not read and write ${file}. Give the account that runs the service the file and its folder, then start again.`,
  ],
  [['SQLITE_CORRUPT'], 'damaged-file', (file) => `${file} is damaged. ${RESTORE}`],
  [['SQLITE_NOTADB'], 'not-a-database', (file) => `${file} is not a database of this program. Check DATABASE_FILE.`],
  [
    ['SQLITE_BUSY', 'SQLITE_LOCKED'],
    'in-use',
    (file) => `${file} is held by another program. Stop that program, then start again.`,
  ],
  [
    ['EISDIR', 'ENOTDIR', 'EEXIST', 'ENOENT', 'ELOOP', 'ENAMETOOLONG', 'SQLITE_CANTOPEN'],
    'not-a-file',
    (file) =>
      `${file} cannot be opened as a file: something in its path is missing, is no folder, or is a folder itself. Check the path, then start again.`,
  ],
  [
    ['SQLITE_IOERR', 'EIO'],
    'disk-failing',
    (file) =>
      `The disk of ${file} does not read or write as it should. Check the disk, then start again or restore the newest backup on another one.`,
  ],
  // "no such table", "table already exists": the schema is not the one that its version number says
  [
    ['SQLITE_ERROR', 'SQLITE_SCHEMA'],
    'damaged-schema',
    (file) => `The tables in ${file} are not the ones that its schema version says. ${RESTORE}`,
  ],
]

/** The fault as a StoreError with a sentence about `file`; anything else, which is broken code, as it came. */
export function refusalOf(error: unknown, file: string): unknown {
  if (error instanceof StoreError || !(error instanceof Error) || !('code' in error) || typeof error.code !== 'string')
    return error
  const { code } = error
  const found = SENTENCES.find(([codes]) => codes.some((one) => code === one || code.startsWith(`${one}_`)))
  return found === undefined ? error : new StoreError(found[1], found[2](file), { cause: error })
}
