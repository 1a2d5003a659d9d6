/**
 * Scheduled backups: a timer in the service. Each run uses its own process, so that no request waits for a disk. The
 * timer is monotonic, so clock changes do not shift the runs.
 */
import { fork, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { join } from 'node:path'
import type { Config } from '../config.ts'
import { packageRoot } from '../paths.ts'
import { clearParts } from '../store/files.ts'
import type { BackupFolderState, ScheduledBackupInput, ScheduledBackupResult } from './scheduled-backup.ts'

/**
 * well: the newest backup is younger than two intervals. failing: the last run failed. late: neither. off: no folder is
 * configured.
 */
export type BackupState = 'off' | 'well' | 'late' | 'failing'

export type BackupStatus = {
  readonly state: BackupState
  /** The newest backup that was verified. Null: none is known. */
  readonly newest: { readonly atMs: number; readonly ageMs: number } | null
  readonly kept: number
  /** Why and when the last run failed. Null: it did not fail. */
  readonly failure: { readonly atMs: number; readonly sentence: string } | null
  readonly sameDisk: boolean | null
}

export type Backups = {
  readonly status: () => BackupStatus
  /** Starts the schedule. The first run is now, and makes a backup only if the newest one is an interval old. */
  readonly start: (log: BackupLog) => void
  /** Runs a backup now and waits for it. While one is running, no other is started. */
  readonly turn: () => Promise<void>
  /** Stops the timer and the current run. No incomplete file keeps a real name. */
  readonly stop: () => Promise<void>
}

export type BackupLog = {
  readonly info: (facts: object, text: string) => void
  readonly error: (facts: object, text: string) => void
}

export type BackupNeeds = {
  readonly config: Pick<Config, 'databaseFile' | 'backupFolder' | 'backupEveryMin' | 'backupKeep'>
  /** Ward time and monotonic time, both in milliseconds. */
  readonly now: () => number
  readonly mono: () => number
  /** How to run a backup: in a separate process, except in tests. */
  readonly take?: TakeTurn
}

/** Starts a run. `ended` is its result; null when it ended without a message. */
export type TakeTurn = (asked: ScheduledBackupInput) => {
  readonly ended: Promise<ScheduledBackupResult | null>
  readonly kill: () => void
}

const OFF: BackupStatus = { state: 'off', newest: null, kept: 0, failure: null, sameDisk: null }
const NO_WORD = 'The backup ended before it was done. It is tried again at the next turn.'

/** The scheduled backups of a service. They do nothing without a configured folder. */
export function scheduleBackups({ config, now, mono, take = inProcess }: BackupNeeds): Backups {
  const { backupFolder: folder, backupEveryMin, backupKeep, databaseFile } = config
  if (folder === null)
    return { status: () => OFF, start: () => undefined, turn: () => Promise.resolve(), stop: () => Promise.resolve() }
  const everyMs = backupEveryMin * 60_000
  let timer: NodeJS.Timeout | null = null
  let going: { readonly ended: Promise<void>; readonly kill: () => void } | null = null
  let stopped = false
  let log: BackupLog | null = null
  let seen: BackupFolderState | null = null
  /** When the folder was last checked, on the monotonic clock. Before the first check: when this object was created. */
  let seenAt = mono()
  let failure: BackupStatus['failure'] = null

  const newest = (): BackupStatus['newest'] =>
    seen?.newest == null ? null : { atMs: seen.newest.atMs, ageMs: seen.newest.ageMs + (mono() - seenAt) }
  const isLate = (): boolean => {
    if (seen?.nothingYet === true) return false
    // before the first check nothing is known; this must not last
    const ageMs = seen === null ? mono() - seenAt : (newest()?.ageMs ?? Infinity)
    return ageMs > 2 * everyMs
  }
  const took = (done: ScheduledBackupResult | null): void => {
    if (stopped) return
    const sentence = done === null ? NO_WORD : done.failure
    failure = sentence === null ? null : { atMs: now(), sentence }
    if (done?.seen != null) [seen, seenAt] = [done.seen, mono()]
    if (sentence !== null) log?.error({ reason: sentence }, 'no backup was made; it is tried again at the next turn')
    else if (done?.made === true) log?.info({ kept: done.seen?.kept }, 'a backup was made')
  }
  const turn = async (enoughMs: number): Promise<void> => {
    if (going !== null || stopped) return
    const { ended, kill } = take({ databaseFile, folder, keep: backupKeep, nowMs: now(), enoughMs })
    const noted = ended.then(took)
    going = { ended: noted, kill }
    try {
      await noted
    } finally {
      going = null
    }
  }
  const next = (afterMs: number): void => {
    timer = setTimeout(() => {
      next(everyMs)
      void turn(0)
    }, afterMs)
    timer.unref()
  }
  return {
    status: () => ({
      state: failure !== null ? 'failing' : isLate() ? 'late' : 'well',
      newest: newest(),
      kept: seen?.kept ?? 0,
      failure,
      sameDisk: seen?.sameDisk ?? null,
    }),
    start: (to) => {
      log = to
      void turn(everyMs).then(() => {
        if (!stopped) next(failure !== null ? everyMs : Math.max(1, everyMs - (newest()?.ageMs ?? 0)))
      })
    },
    turn: () => turn(0),
    stop: async () => {
      stopped = true
      if (timer !== null) clearTimeout(timer)
      going?.kill()
      await going?.ended
    },
  }
}

/** The built code, even when the service runs from source: a separate process cannot read TypeScript. */
const CHILD = join(packageRoot, 'dist', 'server', 'backup', 'child.js')

/** Runs a backup in a separate process. */
function inProcess(asked: ScheduledBackupInput): ReturnType<TakeTurn> {
  const child = fork(CHILD, [JSON.stringify(asked)], { stdio: ['ignore', 'ignore', 'inherit', 'ipc'], execArgv: [] })
  let killed = false
  const ended = answerOf(child).then((done) => {
    if (killed) clearAfter(asked.folder)
    return done
  })
  return {
    ended,
    kill: () => {
      killed = true
      child.kill()
    },
  }
}

async function answerOf(child: ChildProcess): Promise<ScheduledBackupResult | null> {
  let done: ScheduledBackupResult | null = null
  child.on('message', (message) => {
    done = message as ScheduledBackupResult
  })
  // the message may arrive after the exit and before the disconnect; a process that failed to start has neither
  await Promise.race([Promise.all([once(child, 'exit'), once(child, 'disconnect')]), once(child, 'error')]).catch(
    () => undefined,
  )
  return done
}

/** Deletes incomplete files. If the folder is gone, the next run deletes them. */
function clearAfter(folder: string): void {
  try {
    clearParts(folder, (name) => name.startsWith('ward-backup-'))
  } catch {
    // a removed disk must not keep the service from stopping
  }
}
