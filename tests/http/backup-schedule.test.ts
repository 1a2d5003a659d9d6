/**
 * Scheduled backups: how many are kept, failure reports, independence of clock changes, one at a time, no effect on
 * charting.
 */
import { copyFileSync, existsSync, mkdirSync, readdirSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { nameOf, timeOfName } from '../../server/backup/folder.ts'
import { scheduleBackups, type Backups, type TakeTurn } from '../../server/backup/schedule.ts'
import {
  runScheduledBackup,
  type ScheduledBackupInput,
  type ScheduledBackupResult,
} from '../../server/backup/scheduled-backup.ts'
import { startService } from '../../server/start.ts'
import { firstHashOf } from '../../server/store/backup.ts'
import { openStore } from '../../server/store/open.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { aPlace, chart, tamper, type Place } from '../support/backups.ts'
import { HOUR, MINUTE, NOW } from '../support/makers.ts'
import { TEST_CONFIG } from '../support/world.ts'

let place: Place
let folder: string
beforeEach(() => {
  place = aPlace(3)
  folder = join(place.folder, 'backups')
  mkdirSync(folder)
})
afterEach(() => {
  vi.useRealTimers()
  place.remove()
})

const turn = (over: Partial<ScheduledBackupInput> = {}): ScheduledBackupResult =>
  runScheduledBackup({ databaseFile: place.file, folder, keep: 3, nowMs: NOW, enoughMs: 0, ...over })
const kept = (): readonly string[] => readdirSync(folder).sort()
const record = (): string => firstHashOf(place.file) ?? ''
const named = (atMs: number): string => nameOf(record(), atMs)

describe('backup names', () => {
  it('sort by time and name their database; other files are not backups', () => {
    const times = [0, NOW - HOUR, NOW - 1, NOW, NOW + 1, Date.UTC(2031, 11, 31, 23, 59, 59, 999)]
    const names = times.map((at) => named(at))
    expect([...names].sort()).toEqual(names)
    expect(names.map((name) => timeOfName(record(), name))).toEqual(times)
    const other = nameOf('f'.repeat(64), NOW)
    for (const name of [
      other,
      'ward.sqlite',
      `${named(NOW)}.1.part`,
      `${named(NOW)}x`,
      named(NOW).replace('20260302', '20260231'),
    ])
      expect(timeOfName(record(), name)).toBeNull()
  })
})

describe('one scheduled run', () => {
  it('makes a whole backup, and none while the newest is recent', () => {
    expect(turn()).toEqual({
      failure: null,
      made: true,
      seen: { newest: { atMs: NOW, ageMs: 0 }, kept: 1, sameDisk: true, nothingYet: false },
    })
    expect(
      verifyStore({ file: join(folder, named(NOW)), headFile: place.headFile }).flatMap(
        ({ differences }) => differences,
      ),
    ).toEqual([])
    expect(statSync(join(folder, named(NOW))).mode & 0o777).toBe(0o600)
    expect(turn({ nowMs: NOW + 59 * MINUTE, enoughMs: HOUR })).toMatchObject({
      made: false,
      seen: { kept: 1, newest: { ageMs: 59 * MINUTE } },
    })
    expect(turn({ nowMs: NOW + 60 * MINUTE, enoughMs: HOUR })).toMatchObject({ made: true, seen: { kept: 2 } })
  })

  it('keeps the configured number, deletes the oldest, and touches no other file', () => {
    const others = [
      'ward-backup-notes.txt',
      nameOf('0'.repeat(64), NOW - 90 * HOUR),
      `ward-backup-${record().slice(0, 8)}-yesterday.sqlite`,
    ]
    for (const name of others) writeFileSync(join(folder, name), 'not mine to delete')
    for (let hour = 0; hour < 6; hour += 1) turn({ nowMs: NOW + hour * HOUR })
    expect(kept().filter((name) => !others.includes(name))).toEqual([3, 4, 5].map((hour) => named(NOW + hour * HOUR)))
    expect(kept()).toEqual(expect.arrayContaining(others))
    expect(turn({ nowMs: NOW + 6 * HOUR, keep: 1 }).seen?.kept).toBe(1)
    expect(kept().filter((name) => !others.includes(name))).toEqual([named(NOW + 6 * HOUR)])
  })

  it('deletes neither the newest nor the last whole backup when a backup fails', () => {
    turn({ keep: 1 })
    tamper(place.file, (db) => {
      db.exec("UPDATE ledger SET body = replace(body, '182', '183') WHERE seq = 12")
    })
    const failed = turn({ nowMs: NOW + HOUR, keep: 1 })
    expect([failed.made, failed.failure]).toEqual([
      false,
      expect.stringContaining('row 12 is not what its hash was made from'),
    ])
    expect(failed.seen).toMatchObject({ kept: 1, newest: { ageMs: HOUR } })
    expect(kept()).toEqual([named(NOW)])
  })

  it('backs up after the clock was set back, and deletes backups dated in the future first', () => {
    const ahead = [30, 31, 32].map((hour) => NOW + hour * HOUR)
    for (const nowMs of ahead) turn({ nowMs })
    expect(turn({ nowMs: NOW, enoughMs: HOUR })).toMatchObject({
      made: true,
      seen: { newest: { atMs: NOW, ageMs: 0 }, kept: 3 },
    })
    expect(kept()).toEqual([NOW, ahead[1] ?? 0, ahead[2] ?? 0].map(named))
    turn({ nowMs: NOW + HOUR })
    turn({ nowMs: NOW + 2 * HOUR })
    expect(kept()).toEqual([0, 1, 2].map((hour) => named(NOW + hour * HOUR)))
  })

  it('removes the files of a killed run, by its own names only', () => {
    const [left, strange] = [`${named(NOW - HOUR)}.999999999.part`, 'dear.sqlite.999999999.part']
    for (const name of [left, strange]) writeFileSync(join(folder, name), '')
    turn()
    expect(kept()).toEqual([strange, named(NOW)].sort())
  })

  it.each([
    [
      'the folder is gone',
      () => {
        rmSync(folder, { recursive: true })
      },
      /^There is no folder/,
    ],
    [
      'the folder is a file',
      () => {
        rmSync(folder, { recursive: true })
        writeFileSync(folder, '')
      },
      /^There is no folder/,
    ],
    [
      'the database is no database',
      () => {
        writeFileSync(place.file, 'rubbish '.repeat(1000))
      },
      /is not a database of this program/,
    ],
  ])('reports when %s', (_name, break_, sentence) => {
    break_()
    const done = turn()
    expect([done.made, done.failure]).toEqual([false, expect.stringMatching(sentence)])
  })

  it('deletes nothing when the record is empty', () => {
    const file = join(place.folder, 'new.sqlite')
    openStore({ file }).close()
    expect(turn({ databaseFile: file })).toEqual({
      failure: null,
      made: false,
      seen: { newest: null, kept: 0, sameDisk: true, nothingYet: true },
    })
  })

  it('keeps the backups of two services in one folder apart', () => {
    const other = aPlace(0)
    // a second ward with a different first row
    rmSync(other.file)
    copyFileSync(place.file, other.file)
    tamper(other.file, (db) => {
      db.exec("UPDATE ledger SET hash = replace(hash, substr(hash, 1, 1), '_') WHERE seq = 1")
    })
    expect(firstHashOf(other.file)?.slice(0, 8)).not.toBe(record().slice(0, 8))
    for (let hour = 0; hour < 3; hour += 1) turn({ nowMs: NOW + hour * HOUR, keep: 2 })
    runScheduledBackup({ databaseFile: other.file, folder, keep: 1, nowMs: NOW + 9 * HOUR, enoughMs: 0 })
    expect(kept()).toHaveLength(2)
    other.remove()
  })
})

describe('the timer', () => {
  const seen = (ageMs: number): ScheduledBackupResult => ({
    failure: null,
    made: ageMs === 0,
    seen: { newest: { atMs: NOW - ageMs, ageMs }, kept: 1, sameDisk: false, nothingYet: false },
  })
  const failed: ScheduledBackupResult = { failure: 'The disk of it is full.', made: false, seen: null }

  /** A schedule of every 60 minutes on fake timers. The test decides how each run ends. */
  function scheduled(answer: () => ScheduledBackupResult | null | Promise<ScheduledBackupResult | null>) {
    vi.useFakeTimers()
    const asked: ScheduledBackupInput[] = []
    const killed: number[] = []
    const told: string[] = []
    let wallMs = NOW
    const take: TakeTurn = (one) => {
      asked.push(one)
      return {
        ended: Promise.resolve().then(answer),
        kill: () => {
          killed.push(asked.length)
        },
      }
    }
    const backups: Backups = scheduleBackups({
      config: { databaseFile: place.file, backupFolder: folder, backupEveryMin: 60, backupKeep: 3 },
      now: () => wallMs,
      mono: () => performance.now(),
      take,
    })
    const log = {
      info: (_facts: object, text: string) => {
        told.push(text)
      },
      error: (facts: object) => {
        told.push(JSON.stringify(facts))
      },
    }
    return {
      backups,
      asked,
      killed,
      told,
      start: async () => {
        backups.start(log)
        await vi.advanceTimersByTimeAsync(0)
      },
      later: (ms: number) => vi.advanceTimersByTimeAsync(ms),
      step: (ms: number) => {
        wallMs += ms
      },
    }
  }

  it('checks at once, then runs when the newest backup is one interval old', async () => {
    const s = scheduled(() => seen(20 * MINUTE))
    await s.start()
    expect(s.asked.map(({ enoughMs }) => enoughMs)).toEqual([HOUR])
    await s.later(40 * MINUTE - 1)
    expect(s.asked).toHaveLength(1)
    await s.later(1)
    expect(s.asked.map(({ enoughMs }) => enoughMs)).toEqual([HOUR, 0])
    await s.later(3 * HOUR)
    expect(s.asked).toHaveLength(5)
    await s.backups.stop()
  })

  it.each([
    ['a day back', -24 * HOUR],
    ['a day ahead', 24 * HOUR],
  ])('does not shift a run when the clock jumps %s', async (_name, ms) => {
    const s = scheduled(() => seen(0))
    await s.start()
    s.step(ms)
    await s.later(HOUR)
    expect(s.asked).toHaveLength(2)
    expect(s.backups.status().state).toBe('well')
    await s.backups.stop()
  })

  it('is late when the newest is older than two intervals, whatever the clock says', async () => {
    let answer: ScheduledBackupResult | null | Promise<null> = seen(0)
    const s = scheduled(() => answer)
    await s.start()
    expect(s.backups.status()).toEqual({
      state: 'well',
      newest: { atMs: NOW, ageMs: 0 },
      kept: 1,
      failure: null,
      sameDisk: false,
    })
    // the next run never ends
    answer = new Promise(() => undefined)
    await s.later(2 * HOUR)
    expect(s.backups.status().state).toBe('well')
    await s.later(1)
    expect(s.backups.status()).toMatchObject({ state: 'late', newest: { ageMs: 2 * HOUR + 1 } })
    // and no second run starts beside it
    await s.later(5 * HOUR)
    expect(s.asked).toHaveLength(2)
  })

  it('is late when the first check never ends', async () => {
    const s = scheduled(() => new Promise(() => undefined))
    await s.start()
    expect(s.backups.status().state).toBe('well')
    await s.later(2 * HOUR + 1)
    expect(s.backups.status().state).toBe('late')
  })

  it('reports a failure, tries again at the next run, and recovers', async () => {
    let answer: ScheduledBackupResult | null = seen(0)
    const s = scheduled(() => answer)
    await s.start()
    answer = failed
    s.step(HOUR)
    await s.later(HOUR)
    expect(s.backups.status()).toEqual({
      state: 'failing',
      newest: { atMs: NOW, ageMs: HOUR },
      kept: 1,
      failure: { atMs: NOW + HOUR, sentence: 'The disk of it is full.' },
      sameDisk: false,
    })
    expect(s.told.at(-1)).toContain('The disk of it is full.')
    answer = null
    await s.later(HOUR)
    expect(s.backups.status().failure?.sentence).toContain('ended before it was done')
    answer = seen(0)
    await s.later(HOUR)
    expect(s.backups.status()).toMatchObject({ state: 'well', failure: null, newest: { ageMs: 0 } })
    expect(s.told.at(-1)).toBe('a backup was made')
    await s.backups.stop()
  })

  it('makes one backup when asked twice at once', async () => {
    let end: (done: ScheduledBackupResult) => void = () => undefined
    const s = scheduled(
      () =>
        new Promise<ScheduledBackupResult>((resolve) => {
          end = resolve
        }),
    )
    const [first, second] = [s.backups.turn(), s.backups.turn()]
    await second
    expect(s.asked).toHaveLength(1)
    end(seen(0))
    await first
    await s.backups.stop()
  })

  it('starts nothing after a stop, and ends the current run', async () => {
    let end: (done: ScheduledBackupResult | null) => void = () => undefined
    const s = scheduled(
      () =>
        new Promise<ScheduledBackupResult | null>((resolve) => {
          end = resolve
        }),
    )
    await s.start()
    const stopped = s.backups.stop()
    expect(s.killed).toEqual([1])
    end(null)
    await stopped
    await s.later(9 * HOUR)
    expect(s.asked).toHaveLength(1)
    // an interrupted run is not a failure
    expect(s.backups.status().failure).toBeNull()
  })

  it('does nothing without a folder', async () => {
    const off = scheduleBackups({
      config: { databaseFile: place.file, backupFolder: null, backupEveryMin: 60, backupKeep: 3 },
      now: () => NOW,
      mono: () => 0,
      take: () => {
        throw new Error('begun')
      },
    })
    off.start({ info: () => undefined, error: () => undefined })
    await off.turn()
    expect(off.status()).toEqual({ state: 'off', newest: null, kept: 0, failure: null, sameDisk: null })
    await off.stop()
  })
})

describe('in a service', () => {
  const config = (over: object = {}) => ({
    ...TEST_CONFIG,
    databaseFile: place.file,
    headFile: place.headFile,
    backupFolder: folder,
    backupEveryMin: 60,
    backupKeep: 2,
    ...over,
  })
  const clocks = () => ({ now: () => Date.now(), mono: () => performance.now() })
  const health = async (address: string) =>
    (await (await fetch(`${address}/healthz`)).json()) as { status: string; backup: string }

  it('backs up in its own process; /healthz says ok and no path', async () => {
    const running = await startService(config(), { clocks: clocks(), demoClock: null })
    await expect.poll(kept).toHaveLength(1)
    await expect.poll(() => running.services.backups?.status().newest).not.toBeNull()
    expect(await health(running.address)).toEqual({
      status: 'well',
      database: { readable: true, writable: true },
      backup: 'well',
    })
    const [name = ''] = kept()
    expect(statSync(join(folder, name)).mode & 0o777).toBe(0o600)
    expect(
      verifyStore({ file: join(folder, name), headFile: place.headFile }).flatMap(({ differences }) => differences),
    ).toEqual([])
    await running.stop()
    // a restart within the hour makes no second backup
    const again = await startService(config(), { clocks: clocks(), demoClock: null })
    await expect.poll(() => again.services.backups?.status().kept).toBe(1)
    expect(kept()).toEqual([name])
    await again.stop()
  })

  it('reports a lost disk, and the ward still charts', async () => {
    renameSync(folder, `${folder}-unplugged`)
    const running = await startService(config(), { clocks: clocks(), demoClock: null })
    await expect.poll(async () => (await health(running.address)).backup).toBe('failing')
    expect(await health(running.address)).toMatchObject({ status: 'well' })
    expect((await fetch(`${running.address}/healthz`)).status).toBe(200)
    await running.stop()
  })

  it('stops cleanly during a backup and leaves no partial file', async () => {
    chart(place, 3, 400)
    const running = await startService(config(), { clocks: clocks(), demoClock: null })
    await expect.poll(kept, { interval: 2 }).not.toEqual([])
    await running.stop()
    expect(kept().filter((name) => name.includes('.part'))).toEqual([])
    for (const name of kept())
      expect(
        verifyStore({ file: join(folder, name), headFile: null }).flatMap(({ differences }) => differences),
      ).toEqual([])
    expect(existsSync(`${place.file}-wal`)).toBe(false)
  })
})
