/**
 * Full disks for tests: a small real file system in memory where this machine allows a mount, else a database that is
 * read-only. `kind` says which.
 */
import Database from 'better-sqlite3'
import { execFileSync } from 'node:child_process'
import { closeSync, mkdtempSync, openSync, rmSync, rmdirSync, statSync, truncateSync, writeSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

export type Disk = {
  readonly kind: 'a real disk' | 'a database that may only be read'
  readonly folder: string
  /** Takes all free space, except this many KiB on a real disk. */
  readonly fill: (leaveKib?: number) => void
  /** Frees the space. */
  readonly free: () => void
  readonly close: () => void
}

export type RealDisk = Disk & { readonly makeReadOnly: () => void; readonly makeWritable: () => void }

const CHUNK = Buffer.alloc(4096)

/** A file system of this many KiB; null where mounting is not allowed. */
export function realDisk(kibibytes: number): RealDisk | null {
  const folder = mkdtempSync(join(tmpdir(), 'ward-disk-'))
  const mount = (...args: readonly string[]): void => {
    execFileSync('mount', args, { stdio: 'ignore' })
  }
  try {
    mount('-t', 'tmpfs', '-o', `size=${String(kibibytes)}k`, 'tmpfs', folder)
  } catch {
    rmdirSync(folder)
    return null
  }
  const ballast = join(folder, 'ballast')
  return {
    kind: 'a real disk',
    folder,
    fill: (leaveKib = 0) => {
      const descriptor = openSync(ballast, 'a')
      try {
        for (;;) if (writeSync(descriptor, CHUNK) < CHUNK.length) break
      } catch (error) {
        if (!(error instanceof Error && 'code' in error && error.code === 'ENOSPC')) throw error
      } finally {
        closeSync(descriptor)
      }
      truncateSync(ballast, statSync(ballast).size - leaveKib * 1024)
    },
    free: () => {
      rmSync(ballast, { force: true })
    },
    makeReadOnly: () => {
      mount('-o', 'remount,ro', folder)
    },
    makeWritable: () => {
      mount('-o', 'remount,rw', folder)
    },
    close: () => {
      execFileSync('umount', ['--lazy', folder], { stdio: 'ignore' })
      rmdirSync(folder)
    },
  }
}

/** The service's report of it. */
export function saidOf(disk: Disk): string {
  return disk.kind === 'a real disk' ? 'disk is full' : 'disk can be read but not written'
}

/** A real disk, or the nearest substitute for databases that this process opens from now on. */
export function smallDisk(kibibytes: number): Disk {
  const real = realDisk(kibibytes)
  if (real !== null) return real
  const folder = mkdtempSync(join(tmpdir(), 'ward-disk-'))
  const connections = connectionsFromHere()
  return {
    kind: 'a database that may only be read',
    folder,
    fill: () => {
      queryOnly(connections, true)
    },
    free: () => {
      queryOnly(connections, false)
    },
    close: () => {
      rmSync(folder, { recursive: true, force: true })
    },
  }
}

export function queryOnly(connections: Iterable<Database.Database>, on: boolean): void {
  for (const one of connections) if (one.open) one.exec(`PRAGMA query_only = ${on ? 'ON' : 'OFF'}`)
}

/** Every connection to a database file that this process opens from now on. */
export function connectionsFromHere(): ReadonlySet<Database.Database> {
  const found = new Set<Database.Database>()
  const pragma = Object.getOwnPropertyDescriptor(Database.prototype, 'pragma')?.value as (
    this: Database.Database,
    ...args: readonly unknown[]
  ) => unknown
  Database.prototype.pragma = function (this: Database.Database, ...args: readonly unknown[]): unknown {
    if (!this.memory && !this.readonly) found.add(this)
    return pragma.apply(this, [...args])
  }
  return found
}
