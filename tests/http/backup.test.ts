/** A backup is a whole, verified copy under its final name, made while the service runs, or there is no file at all. */
import Database from 'better-sqlite3'
import { spawn, spawnSync } from 'node:child_process'
import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { makeBackup } from '../../server/backup/make.ts'
import { copyDatabase, inspectCopy } from '../../server/store/backup.ts'
import { createEmpty } from '../../server/store/files.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { BACKUP_SENTENCES } from '../../views/words/backup.ts'
import {
  aPlace,
  built,
  chart,
  command,
  kill,
  readingsIn,
  rowsIn,
  startWriter,
  tamper,
  type Place,
} from '../support/backups.ts'
import { sentenceOf } from '../../shared/outcome.ts'

let place: Place
beforeEach(() => {
  place = aPlace(20)
})
afterEach(() => {
  place.remove()
})

/** The capabilities with which root reads and writes what permissions forbid. */
const NO_OVERRIDE = '-dac_override,-dac_read_search'

const make = (file = place.backup) => makeBackup({ databaseFile: place.file, file, thorough: true })
/** Every file in the folder except the database and its logs. */
const others = (): readonly string[] =>
  readdirSync(place.folder)
    .filter((name) => !name.startsWith('ward.sqlite') && name !== 'head.json')
    .sort()
const said = (): string => {
  const made = make()
  return made.ok ? 'made' : sentenceOf(BACKUP_SENTENCES, made)
}

describe('npm run backup', () => {
  it('makes a whole copy readable by its owner only, and prints rows, hash, size and time', async () => {
    const ran = await command('backup', place, place.backup)
    const { count, hash } = JSON.parse(readFileSync(place.headFile, 'utf8')) as { count: number; hash: string }
    expect(ran.err).toBe('')
    expect(ran.out).toMatch(
      new RegExp(
        `copy\\.sqlite: ${String(count)} ledger rows, \\d+\\.\\d MB, schema \\d+, made and looked at in \\d+\\.\\d s\\.\nHash of the last row: ${hash}\n`,
      ),
    )
    expect(statSync(place.backup).mode & 0o777).toBe(0o600)
    expect(others()).toEqual(['copy.sqlite'])
    expect(
      verifyStore({ file: place.backup, headFile: place.headFile }).flatMap(({ differences }) => differences),
    ).toEqual([])
    // one file that needs no log beside it
    expect(new Database(place.backup, { readonly: true }).pragma('journal_mode', { simple: true })).toBe('delete')
    // application_id tells our files from those of other programs
    expect(readFileSync(place.backup).readUInt32BE(68)).toBe(0x77617264)
  })

  it('requires exactly one name', async () => {
    expect(await command('backup', place)).toMatchObject({
      code: 1,
      out: '',
      err: 'Name the file to make: npm run backup -- FILE\n',
    })
    expect((await command('backup', place, 'a', 'b')).code).toBe(1)
  })

  it('keeps the order of rows, on which reads rely for ties', () => {
    make()
    const order = (file: string) => {
      const db = new Database(file, { readonly: true })
      const rows = ['reading', 'staff', 'stay', 'one_time_key'].map((table) =>
        db.prepare(`SELECT rowid FROM ${table} ORDER BY rowid`).all(),
      )
      db.close()
      return rows
    }
    expect(order(place.backup)).toEqual(order(place.file))
  })

  it('reports a database that differs from its record, and keeps the exact copy', async () => {
    tamper(place.file, (db) => {
      db.exec("UPDATE reading SET fact = replace(fact, '182', '183') WHERE reading_id LIKE '%7'")
    })
    const ran = await command('backup', place, place.backup)
    expect([ran.code, ran.err]).toEqual([0, expect.stringContaining('2 differences from its record')])
    expect(existsSync(place.backup)).toBe(true)
  })
})

describe('while another process charts', () => {
  it('repeatedly holds every reading acknowledged before it began, in order, with a whole chain', async () => {
    const writer = startWriter(place, 20)
    try {
      for (let round = 0; round < 3; round += 1) {
        await writer.more(20)
        const before = writer.acknowledged()
        const file = join(place.folder, `copy-${String(round)}.sqlite`)
        const ran = await command('backup', place, file)
        const during = writer.acknowledged() - before
        expect([ran.code, ran.err]).toEqual([0, ''])
        // charting went on meanwhile
        expect(during).toBeGreaterThan(0)
        const kept = readingsIn(file)
        expect(kept.length).toBeGreaterThanOrEqual(20 + before)
        expect(kept).toEqual(kept.map((_, index) => index))
      }
    } finally {
      await writer.stop()
    }
  })

  it('reaches the head at its start; a copy that does not is refused', () => {
    createEmpty(place.backup)
    const reaches = copyDatabase(place.file, place.backup)
    expect(inspectCopy(place.backup, reaches).faults).toEqual([])
    expect(inspectCopy(place.backup, { count: reaches.count + 1, hash: reaches.hash }).faults).toEqual([
      expect.stringContaining('its tail is missing'),
    ])
    expect(inspectCopy(place.backup, { ...reaches, hash: 'f'.repeat(64) }).faults).toEqual([
      expect.stringContaining(`row ${String(reaches.count)} is not the one`),
    ])
  })
})

describe('refuses with a message and leaves no file:', () => {
  it('a file that already exists', () => {
    writeFileSync(place.backup, 'something dear')
    expect(said()).toBe(`${place.backup} is there already, and a backup never writes over a file. Choose another name.`)
    expect(readFileSync(place.backup, 'utf8')).toBe('something dear')
    rmSync(place.backup)
    mkdirSync(place.backup)
    expect(said()).toContain('is there already')
  })

  it('a name that is taken while the copy is made', async () => {
    // the copy has started once its partial file exists
    chart(place, 20, 400)
    const child = spawn(process.execPath, [built('server/backup/run.js'), place.backup], {
      env: { ...process.env, DATABASE_FILE: place.file },
      stdio: ['ignore', 'ignore', 'pipe'],
    })
    let complaint = ''
    child.stderr.on('data', (chunk: Buffer) => {
      complaint += chunk.toString()
    })
    const ended = new Promise((resolve) => child.on('close', resolve))
    while (!others().some((name) => name.endsWith('.part'))) await new Promise((resolve) => setTimeout(resolve, 1))
    writeFileSync(place.backup, 'something dear')
    expect(await ended).toBe(1)
    expect(complaint).toContain('is there already')
    expect(readFileSync(place.backup, 'utf8')).toBe('something dear')
    expect(others()).toEqual(['copy.sqlite'])
  })

  it('a folder that does not exist', () => {
    const made = make(join(place.folder, 'away', 'copy.sqlite'))
    expect(made).toMatchObject({ ok: false, reason: 'no-folder', details: { folder: join(place.folder, 'away') } })
  })

  it('a missing database, an empty file, a text, a database of another program', () => {
    const other = { ...place, file: join(place.folder, 'other') }
    const ask = () => {
      const made = makeBackup({ databaseFile: other.file, file: place.backup, thorough: true })
      return made.ok ? 'made' : sentenceOf(BACKUP_SENTENCES, made)
    }
    expect(ask()).toBe(`There is no database at ${other.file}. Check DATABASE_FILE.`)
    writeFileSync(other.file, '')
    expect(ask()).toContain('is not a database of this program')
    writeFileSync(other.file, 'a text and no database '.repeat(500))
    expect(ask()).toContain('is not a database of this program')
    rmSync(other.file)
    const foreign = new Database(other.file)
    foreign.exec('CREATE TABLE shopping (item TEXT)')
    foreign.close()
    expect(ask()).toContain('is a database of another program')
    expect(others()).toEqual(['other'])
  })

  it('an event changed by one byte, naming its row', () => {
    tamper(place.file, (db) => {
      db.exec("UPDATE ledger SET body = replace(body, '182', '183') WHERE seq = 12")
    })
    expect(said()).toContain('row 12 is not what its hash was made from: it was changed')
    expect(others()).toEqual([])
  })

  it('an overwritten page of the file', () => {
    const bytes = readFileSync(place.file)
    bytes.fill(0xff, 4096 * 5, 4096 * 6)
    writeFileSync(place.file, bytes)
    expect(said()).toMatch(/is damaged|row \d+/)
    expect(others()).toEqual([])
  })

  it('a full disk', () => {
    const disk = join(place.folder, 'small')
    mkdirSync(disk)
    const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=128k', 'tmpfs', disk]).status === 0
    // without the right to mount, a file size limit for the process replaces the full disk
    const run = (file: string) =>
      mounted
        ? spawnSync(process.execPath, [built('server/backup/run.js'), file], {
            env: { ...process.env, DATABASE_FILE: place.file },
            encoding: 'utf8',
          })
        : spawnSync(
            'bash',
            [
              '-c',
              `trap '' XFSZ; ulimit -f 128; exec "${process.execPath}" "${built('server/backup/run.js')}" "${file}"`,
            ],
            { env: { ...process.env, DATABASE_FILE: place.file }, encoding: 'utf8' },
          )
    try {
      const ran = run(join(disk, 'copy.sqlite'))
      expect(ran.status).toBe(1)
      expect(ran.stderr).toMatch(
        mounted
          ? /^No backup was made\. There is no room for/
          : /^No backup was made\. (There is no room for|The disk of .* does not read or write)/,
      )
      expect(readdirSync(disk)).toEqual([])
    } finally {
      if (mounted) spawnSync('umount', [disk])
    }
  })

  it('a folder without write permission', () => {
    const locked = join(place.folder, 'locked')
    mkdirSync(locked)
    chmodSync(locked, 0o500)
    // root ignores permissions unless it gives that capability up
    const asOwner =
      process.getuid?.() === 0
        ? ['setpriv', `--inh-caps=${NO_OVERRIDE}`, `--bounding-set=${NO_OVERRIDE}`, process.execPath]
        : [process.execPath]
    const [program = '', ...options] = asOwner
    const ran = spawnSync(program, [...options, built('server/backup/run.js'), join(locked, 'copy.sqlite')], {
      env: { ...process.env, DATABASE_FILE: place.file },
      encoding: 'utf8',
    })
    expect([ran.status, ran.stderr]).toEqual([1, expect.stringMatching(/^No backup was made\. .*cannot be written/)])
    chmodSync(locked, 0o700)
    expect(readdirSync(locked)).toEqual([])
  })
})

describe('a killed backup', () => {
  it('leaves no file under the final name, and the next run removes its partial file', async () => {
    chart(place, 20, 400)
    let caught = 0
    for (let round = 0; round < 6; round += 1) {
      const child = spawn(process.execPath, [built('server/backup/run.js'), place.backup], {
        env: { ...process.env, DATABASE_FILE: place.file },
        stdio: 'ignore',
      })
      while (!others().some((name) => name.endsWith('.part')) && child.exitCode === null)
        await new Promise((resolve) => setTimeout(resolve, 1))
      await new Promise((resolve) => setTimeout(resolve, round * 4))
      await kill(child)
      if (child.signalCode !== 'SIGKILL') rmSync(place.backup)
      else {
        caught += 1
        expect(existsSync(place.backup)).toBe(false)
        expect(others().filter((name) => name.includes('.part')).length).toBeGreaterThan(0)
      }
    }
    expect(caught).toBeGreaterThan(2)
    const made = make()
    expect(made.ok).toBe(true)
    expect(others()).toEqual(['copy.sqlite'])
    expect(rowsIn(place.backup)).toBe(rowsIn(place.file))
  })

  it('keeps the partial file of another process, and files with other names', () => {
    const child = spawn('sleep', ['60'])
    try {
      const busy = `${place.backup}.${String(child.pid)}.part`
      const strange = join(place.folder, 'copy.sqlite.part')
      const gone = `${place.backup}.999999999.part`
      for (const file of [busy, strange, gone]) writeFileSync(file, '')
      expect(make().ok).toBe(true)
      expect([busy, strange, gone].map((file) => existsSync(file))).toEqual([true, true, false])
    } finally {
      child.kill('SIGKILL')
    }
  })
})
