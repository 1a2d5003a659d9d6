/** The file work under backups and restores: nothing half made under a real name, nothing written over, all of it on disk. */
import {
  closeSync,
  constants,
  copyFileSync,
  existsSync,
  fchmodSync,
  fsyncSync,
  linkSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs'
import { basename, dirname, join } from 'node:path'

/** For the eyes of the service's own account: a copy holds everything that the database holds. */
const OWNER_ONLY = 0o600

const PART = /^(.+)\.(\d{1,10})\.part(-journal|-wal|-shm)?$/

/** The name under which this process writes what will be `file`. */
export function partOf(file: string): string {
  return `${file}.${String(process.pid)}.part`
}

/** Makes an empty file that only its owner may read, whatever the umask. Throws when it is there. */
export function createEmpty(file: string): void {
  const descriptor = openSync(file, 'wx', OWNER_ONLY)
  try {
    fchmodSync(descriptor, OWNER_ONLY)
  } finally {
    closeSync(descriptor)
  }
}

/** Waits until a file, or the names in a folder, are on disk. */
export function sync(path: string): void {
  const descriptor = openSync(path, 'r')
  try {
    fsyncSync(descriptor)
  } finally {
    closeSync(descriptor)
  }
}

/** Gives a finished part its real name. Throws EEXIST rather than write over a file that came meanwhile. */
export function place(part: string, file: string): void {
  giveSecondName(part, file)
  rmSync(part)
  sync(dirname(file))
}

/** A second name for the same file; a copy where the file system knows no second names. Throws EEXIST. */
export function giveSecondName(file: string, name: string): void {
  try {
    linkSync(file, name)
  } catch (error) {
    if (!hasCode(error, 'EPERM', 'ENOTSUP', 'EOPNOTSUPP', 'ENOSYS', 'EMLINK')) throw error
    copyFileSync(file, name, constants.COPYFILE_EXCL)
    sync(name)
  }
}

/** Puts `from` in the place of `to` in one step and waits until the folder has it. */
export function replace(from: string, to: string): void {
  renameSync(from, to)
  sync(dirname(to))
}

/** Removes what is half made; what cannot be removed now, the next run removes, and the reason why nothing was made is not hidden by it. */
export function removePart(part: string): void {
  for (const suffix of ['', '-journal', '-wal', '-shm']) {
    try {
      rmSync(`${part}${suffix}`, { force: true })
    } catch {
      return
    }
  }
}

/** Removes what processes that are gone left half made of files whose name `isOurs`. */
export function clearParts(folder: string, isOurs: (name: string) => boolean): void {
  for (const name of readdirSync(folder)) {
    const [, of = '', pid = ''] = PART.exec(name) ?? []
    // this process has begun nothing yet, so that its own number is a dead one's
    if (of !== '' && isOurs(of) && (Number(pid) === process.pid || !isAlive(Number(pid))))
      rmSync(join(folder, name), { force: true })
  }
}

/** Removes what was left half made of this one file. */
export function clearPartsOf(file: string): void {
  clearParts(dirname(file), (name) => name === basename(file))
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0)
    return true
  } catch (error) {
    return !hasCode(error, 'ESRCH')
  }
}

export function isFolder(path: string): boolean {
  return existsSync(path) && statSync(path).isDirectory()
}

export function hasCode(error: unknown, ...codes: readonly string[]): boolean {
  return error instanceof Error && 'code' in error && codes.includes(String(error.code))
}
