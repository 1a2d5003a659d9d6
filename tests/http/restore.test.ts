/** A restore replaces the database with a verified copy, keeps the old files, and reports what the backup lacks. */
import { spawn } from 'node:child_process'
import {
  chmodSync,
  chownSync,
  copyFileSync,
  existsSync,
  linkSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { makeBackup } from '../../server/backup/make.ts'
import { restoreBackup, type Restored } from '../../server/restore/restore.ts'
import { startService } from '../../server/start.ts'
import { connect } from '../../server/store/connection.ts'
import { ledgerOf } from '../../server/store/ledger.ts'
import { knownSchema } from '../../server/store/migrate.ts'
import { openStore } from '../../server/store/open.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { RESTORE_SENTENCES } from '../../views/words/backup.ts'
import {
  aPlace,
  chart,
  command,
  kill,
  readingsIn,
  rowsIn,
  startWriter,
  tamper,
  type Place,
} from '../support/backups.ts'
import { NOW } from '../support/makers.ts'
import { TEST_CONFIG } from '../support/world.ts'
import { sentenceOf } from '../../shared/outcome.ts'

const AT = Date.UTC(2026, 2, 3, 9, 15, 7, 42)
const DATED = 'set-aside-20260303T091507042Z'

let place: Place
beforeEach(() => {
  place = aPlace(10)
  backUp(place.backup)
})
afterEach(() => {
  place.remove()
})

function backUp(file: string): void {
  const made = makeBackup({ databaseFile: place.file, file, thorough: true })
  if (!made.ok) throw new Error(made.reason)
}
const restore = (over: Partial<Parameters<typeof restoreBackup>[0]> = {}) =>
  restoreBackup({ backupFile: place.backup, databaseFile: place.file, headFile: place.headFile, nowMs: AT, ...over })
function restored(): Restored {
  const done = restore()
  if (!done.ok) throw new Error(sentenceOf(RESTORE_SENTENCES, done))
  return done.value
}
function refusal(over: Partial<Parameters<typeof restoreBackup>[0]> = {}): string {
  const before = picture()
  const done = restore(over)
  // after a refusal nothing is moved, made or changed
  expect(picture()).toEqual(before)
  return done.ok ? 'restored' : sentenceOf(RESTORE_SENTENCES, done)
}
/** Every file with its bytes. */
const picture = () =>
  Object.fromEntries(
    readdirSync(place.folder)
      .filter((name) => !name.endsWith('-shm') && statSync(join(place.folder, name)).isFile())
      .map((name) => [name, readFileSync(join(place.folder, name), 'base64')]),
  )
const head = () => JSON.parse(readFileSync(place.headFile, 'utf8')) as { count: number; hash: string }
const differences = () =>
  verifyStore({ file: place.file, headFile: place.headFile }).flatMap((line) => line.differences)

describe('npm run restore', () => {
  it('puts a copy in place, sets the database and its head aside, and lists the missing rows with their time', async () => {
    const [rows, kept] = [rowsIn(place.backup), readFileSync(place.backup)]
    chart(place, 10, 3)
    const later = head()
    const ran = await command('restore', place, place.backup)
    expect([ran.code, ran.err]).toEqual([0, ''])
    expect(ran.out).toContain(`is now a copy of ${place.backup}: ${String(rows)} ledger rows`)
    expect(ran.out).toContain(
      '3 ledger rows of the database that was set aside are not in the backup, charted from 2026-03-02T12:30:00.000Z to 2026-03-02T12:32:00.000Z (UTC).',
    )
    expect(readingsIn(place.file)).toHaveLength(10)
    expect(head()).toEqual({ count: rows, hash: expect.stringMatching(/^[0-9a-f]{64}$/) as string })
    const aside = /kept as (.*)\.\n/.exec(ran.out)?.[1] ?? ''
    expect(readingsIn(aside)).toHaveLength(13)
    const stamp = aside.slice(place.file.length)
    expect(JSON.parse(readFileSync(`${place.headFile}${stamp}`, 'utf8'))).toEqual(later)
    expect(readFileSync(place.backup)).toEqual(kept)
    expect((await command('verify', place)).out).toContain('Verified: no difference.')
  })

  it('requires exactly one name', async () => {
    expect((await command('restore', place)).err).toBe('Name the backup: npm run restore -- FILE\n')
  })

  it('gives a service that starts, answers, charts and verifies', async () => {
    chart(place, 10, 3)
    restored()
    const running = await startService(
      { ...TEST_CONFIG, databaseFile: place.file, headFile: place.headFile },
      { clocks: { now: () => NOW, mono: () => 0 }, demoClock: null },
    )
    expect(await (await fetch(`${running.address}/healthz`)).json()).toMatchObject({ status: 'well' })
    await running.stop()
    chart(place, 10, 2)
    expect(readingsIn(place.file)).toHaveLength(12)
    expect(differences()).toEqual([])
  })
})

describe('reported loss', () => {
  it('is nothing when the backup has every row', () => {
    expect(restored()).toMatchObject({
      setAside: `${place.file}.${DATED}`,
      difference: { kind: 'one-chain', more: 0 },
      tables: [],
      doses: [],
    })
  })

  it('is nothing when the backup has more rows', () => {
    const early = join(place.folder, 'early.sqlite')
    backUp(early)
    chart(place, 10, 3)
    rmSync(place.backup)
    backUp(place.backup)
    expect(restore({ backupFile: early }).ok).toBe(true)
    expect(restore({ nowMs: AT + 1 })).toMatchObject({
      ok: true,
      value: { difference: { kind: 'one-chain', more: 0 } },
    })
    expect(readingsIn(place.file)).toHaveLength(13)
  })

  it('names where two records differ when they are not on one chain', () => {
    const common = rowsIn(place.backup)
    chart(place, 10, 5)
    const other = join(place.folder, 'other.sqlite')
    backUp(other)
    restored()
    chart(place, 100, 2)
    expect(restore({ backupFile: other, nowMs: AT + 1 })).toMatchObject({
      ok: true,
      value: { difference: { kind: 'parted', common, more: 2 } },
    })
    expect(differences()).toEqual([])
  })

  it('uses the head file when the database is missing or unreadable', () => {
    chart(place, 10, 3)
    const rows = rowsIn(place.file)
    rmSync(place.file)
    writeFileSync(`${place.file}-wal`, 'the log of a file that is gone')
    expect(restored()).toMatchObject({ setAside: null, difference: null, rowsKnownOutside: rows })
    expect([existsSync(`${place.file}-wal`), readFileSync(`${place.file}.${DATED}-wal`, 'utf8')]).toEqual([
      false,
      'the log of a file that is gone',
    ])
    expect(differences()).toEqual([])
    writeFileSync(place.file, 'not a database any more '.repeat(1000))
    writeFileSync(`${place.file}-wal`, 'nor a log')
    expect(restore({ nowMs: AT + 1 })).toMatchObject({
      ok: true,
      value: { setAside: `${place.file}.${DATED.replace('042', '043')}`, difference: null },
    })
    expect(differences()).toEqual([])
    const aside = `${place.file}.${DATED.replace('042', '043')}`
    expect([readFileSync(aside, 'utf8').slice(0, 14), readFileSync(`${aside}-wal`, 'utf8')]).toEqual([
      'not a database',
      'nor a log',
    ])
    expect(existsSync(`${place.file}-wal`)).toBe(false)
  })
})

describe('refuses and changes nothing', () => {
  it('while an idle service has the database open', () => {
    const store = openStore({ file: place.file, headFile: place.headFile })
    try {
      expect(refusal()).toBe(
        `${place.file} is in use. Stop the service, and every command that reads the database, then restore.`,
      )
    } finally {
      store.close()
    }
    expect(restore().ok).toBe(true)
  })

  it('while another process charts, and while one only reads', async () => {
    const writer = startWriter(place, 10)
    await writer.more(5)
    const ran = await command('restore', place, place.backup)
    expect([ran.code, ran.err]).toEqual([1, expect.stringContaining('is in use')])
    // rows charted meanwhile are still there
    await writer.more(5)
    const said = writer.acknowledged()
    await writer.stop()
    expect(readingsIn(place.file).length).toBeGreaterThanOrEqual(10 + said)
    const reader = connect(place.file, 'read-only')
    reader.raw.prepare('SELECT count(*) FROM ledger').get()
    expect((await command('restore', place, place.backup)).err).toContain('is in use')
    reader.raw.close()
    expect(differences()).toEqual([])
  })

  it('while a process holds a damaged database file', async () => {
    writeFileSync(place.file, 'rubbish '.repeat(2000))
    const holder = spawn('bash', ['-c', 'exec 9<"$0"; echo held; sleep 60', place.file], {
      stdio: ['ignore', 'pipe', 'ignore'],
    })
    await new Promise((resolve) => holder.stdout.once('data', resolve))
    expect(refusal()).toContain('a process still has it open')
    await kill(holder)
  })

  it('for a missing file, a folder, or the database itself under any name', () => {
    expect(refusal({ backupFile: join(place.folder, 'nothing') })).toContain('There is no file')
    mkdirSync(join(place.folder, 'somewhere'))
    expect(refusal({ backupFile: join(place.folder, 'somewhere') })).toContain('There is no file')
    expect(refusal({ backupFile: place.file })).toContain('one and the same file')
    const link = join(place.folder, 'link.sqlite')
    linkSync(place.file, link)
    expect(refusal({ backupFile: link })).toContain('one and the same file')
    expect(refusal({ databaseFile: join(place.folder, 'away', 'ward.sqlite') })).toContain('There is no folder')
  })

  it('for an edited backup, naming the row', () => {
    tamper(place.backup, (db) => {
      db.exec("UPDATE ledger SET body = replace(body, '182', '183') WHERE seq = 12")
    })
    expect(refusal()).toContain(
      `${place.backup} is damaged and was not restored. Take another backup.\nrow 12 is not what its hash was made from: it was changed`,
    )
  })

  it('for a backup without one row, and one truncated in the middle of the file', () => {
    const whole = readFileSync(place.backup)
    tamper(place.backup, (db) => {
      db.exec('DELETE FROM ledger WHERE seq = 12')
    })
    expect(refusal()).toContain('row 13 follows row 11: rows between are missing')
    writeFileSync(place.backup, whole.subarray(0, Math.floor(whole.length / 2)))
    expect(refusal()).toMatch(/damaged/)
  })

  it('for a text, an empty file, and a backup by a newer program', () => {
    const newer = join(place.folder, 'newer.sqlite')
    copyFileSync(place.backup, newer)
    tamper(newer, (db) => {
      db.pragma(`user_version = ${String(knownSchema() + 1)}`)
    })
    expect(refusal({ backupFile: newer })).toContain(
      `written by a newer version of the program (its schema is ${String(knownSchema() + 1)}`,
    )
    writeFileSync(newer, 'a text '.repeat(3000))
    expect(refusal({ backupFile: newer })).toContain('is not a database of this program')
    writeFileSync(newer, '')
    expect(refusal({ backupFile: newer })).toContain('is not a database of this program')
  })

  it('for a database with its log beside it: copied while in use', () => {
    const loose = join(place.folder, 'loose.sqlite')
    const store = openStore({ file: place.file, headFile: place.headFile })
    store.setNote('anything', 'so that there is something in the log')
    copyFileSync(place.file, loose)
    copyFileSync(`${place.file}-wal`, `${loose}-wal`)
    store.close()
    expect(refusal({ backupFile: loose })).toContain('has a write-ahead log beside it')
  })
})

describe('other content of the copy', () => {
  it('is rebuilt at the next start when tables differ from the record', () => {
    tamper(place.backup, (db) => {
      db.exec("UPDATE reading SET fact = replace(fact, '182', '183') WHERE reading_id LIKE '%7'")
    })
    expect(restored().tables.length).toBeGreaterThan(0)
    openStore({ file: place.file, headFile: place.headFile }).close()
    expect(differences()).toEqual([])
  })

  it('gets the owner and permissions of the old database', () => {
    // root restores, and the service's own account must be able to open it
    if (process.getuid?.() === 0) chownSync(place.file, 65534, 65533)
    chmodSync(place.file, 0o640)
    const before = statSync(place.file)
    restored()
    const { uid, gid, mode } = statSync(place.file)
    expect([uid, gid, mode]).toEqual([before.uid, before.gid, before.mode])
  })
})

describe('an interrupted restore', () => {
  it('before the new file is in place leaves the old database and head whole', () => {
    chart(place, 10, 3)
    const [before, rows] = [head(), rowsIn(place.file)]
    // the head cannot be written: a folder has the name of its temporary file
    mkdirSync(`${place.headFile}.${String(process.pid)}.new`)
    writeFileSync(join(`${place.headFile}.${String(process.pid)}.new`, 'x'), '')
    expect(() => restore()).toThrow()
    expect([head(), rowsIn(place.file)]).toEqual([before, rows])
    expect(readdirSync(place.folder).filter((name) => name.includes('.part') || name.includes('set-aside'))).toEqual([])
    expect(differences()).toEqual([])
  })

  it('by a kill is cleaned up, and the next restore succeeds', () => {
    writeFileSync(`${place.file}.999999999.part`, 'half')
    writeFileSync(`${place.file}.999999999.part-wal`, 'half')
    expect(restore().ok).toBe(true)
    expect(readdirSync(place.folder).filter((name) => name.includes('.part'))).toEqual([])
    const { raw } = connect(place.file, 'read-only')
    expect(ledgerOf({ raw }).head()).toEqual(head())
    raw.close()
  })
})
