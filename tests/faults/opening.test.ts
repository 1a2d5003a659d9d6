/**
 * A database that cannot be served is refused with one plain sentence that names the file and says what to do. The
 * file, its neighbours and its folder do not change, and no port is opened.
 */
import Database from 'better-sqlite3'
import { spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import {
  chmodSync,
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { packageRoot } from '../../server/paths.ts'
import { StoreError, type StoreFault } from '../../server/store/errors.ts'
import { openStore } from '../../server/store/open.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { anEvent, aReading, aScope, aSmallWard, idOf, MINUTE, NOW } from '../support/makers.ts'
import { realDisk } from './disk.ts'

const MAIN = join(packageRoot, 'dist/server/main.js')

let folder: string
let file: string
let headFile: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-open-'))
  file = join(folder, 'data', 'ward.sqlite')
  headFile = join(folder, 'apart', 'head.json')
})
afterEach(() => {
  rmSync(folder, { recursive: true, force: true })
})

/** A ward with `count` readings, cleanly closed. */
function closedWard(at = file, head: string | null = headFile, count = 200): void {
  const store = openStore({ file: at, headFile: head })
  store.transact(() => {
    store.append(aSmallWard())
    for (let number = 0; number < count; number++) {
      const takenAtMs = NOW + number * MINUTE
      store.append([
        anEvent(
          'reading-recorded',
          { reading: aReading({ readingId: idOf(`r${String(number)}x`), checkKey: null, takenAtMs }) },
          { happenedAtMs: takenAtMs },
        ),
      ])
    }
    return null
  })
  store.close()
}

/**
 * Every file below a folder by name with its content, and every folder. A log's index is left out, because SQLite
 * rebuilds it for readers.
 */
function allOf(at: string): readonly string[] {
  return readdirSync(at, { recursive: true, encoding: 'utf8' })
    .filter((name) => !name.endsWith('-shm'))
    .sort()
    .map((name) => {
      const path = join(at, name)
      return statSync(path).isDirectory()
        ? `${name}/`
        : `${name} ${createHash('sha256').update(readFileSync(path)).digest('hex')}`
    })
}

function refusal(): StoreError {
  try {
    openStore({ file, headFile }).close()
  } catch (error) {
    if (error instanceof StoreError) return error
    throw error
  }
  throw new Error('it was opened')
}

function change(statements: string): void {
  const db = new Database(file)
  db.exec(statements)
  db.close()
}

const foreign = (statements: string) => (): void => {
  mkdirSync(join(folder, 'data'))
  change(statements)
}

/** Overwrites the page in the middle of the file. */
function spoilPage(): void {
  const bytes = readFileSync(file)
  const page = Math.floor(bytes.length / 4096 / 2)
  bytes.fill(0x5a, page * 4096, (page + 1) * 4096)
  writeFileSync(file, bytes)
}

/** The log that another ward's service left when it was killed. */
function foreignLog(): void {
  const other = join(folder, 'other.sqlite')
  const store = openStore({ file: other })
  store.transact(() => {
    store.append(aSmallWard())
    return null
  })
  copyFileSync(`${other}-wal`, `${file}-wal`)
  store.close()
  rmSync(other)
}

const CASES: readonly (readonly [name: string, prepare: () => void, reason: StoreFault, sentence: RegExp])[] = [
  [
    'a text',
    () => {
      mkdirSync(join(folder, 'data'))
      writeFileSync(file, 'a letter to the ward\n'.repeat(50))
    },
    'not-a-database',
    /ward\.sqlite is not a database of this program\. Check DATABASE_FILE\.$/,
  ],
  [
    'an empty file',
    () => {
      mkdirSync(join(folder, 'data'))
      writeFileSync(file, '')
    },
    'empty-file',
    /ward\.sqlite is empty\. .*remove it; else restore/,
  ],
  [
    'a folder',
    () => {
      mkdirSync(file, { recursive: true })
    },
    'not-a-file',
    /ward\.sqlite is not a file\. Check DATABASE_FILE\.$/,
  ],
  [
    'a path through a file',
    () => {
      writeFileSync(join(folder, 'data'), 'x')
    },
    'not-a-file',
    /something in its path/,
  ],
  [
    'the database of another program, with its mark',
    foreign('PRAGMA application_id = 252006675; CREATE TABLE ledger (a)'),
    'another-program',
    /is a database of another program\. Check DATABASE_FILE\.$/,
  ],
  [
    'the database of another program, without a mark',
    foreign('CREATE TABLE ledger (a); PRAGMA user_version = 3'),
    'another-program',
    /another program/,
  ],
  [
    'the database of another program, written with a log',
    foreign('PRAGMA journal_mode = WAL; CREATE TABLE a (a)'),
    'another-program',
    /another program/,
  ],
  [
    'a file cut off',
    () => {
      closedWard()
      truncateSync(file, 40_960)
    },
    'damaged-file',
    /is damaged.*Keep this file as it is, and restore the newest backup/,
  ],
  [
    'a file cut off in its first page',
    () => {
      closedWard()
      truncateSync(file, 1000)
    },
    'damaged-file',
    /is damaged/,
  ],
  [
    'a spoilt page',
    () => {
      closedWard()
      spoilPage()
    },
    'damaged-file',
    /is damaged.*restore the newest backup/,
  ],
  [
    'a newer schema',
    () => {
      closedWard()
      change('PRAGMA user_version = 999')
    },
    'newer-schema',
    /newer version of the program.*999.*Start the newer program, or restore/,
  ],
  [
    'a schema version that nobody writes',
    () => {
      closedWard()
      change('PRAGMA user_version = -3')
    },
    'damaged-schema',
    /schema version of .*ward\.sqlite is -3/,
  ],
  [
    'a schema version too low for its tables',
    () => {
      closedWard()
      change('PRAGMA user_version = 3')
    },
    'damaged-schema',
    /The tables in .*ward\.sqlite are not the ones/,
  ],
  [
    'a table gone',
    () => {
      closedWard()
      change('DROP TABLE tray')
    },
    'damaged-schema',
    /The tables in .*ward\.sqlite are not the ones/,
  ],
  [
    'a tail cut off',
    () => {
      closedWard()
      change('DROP TRIGGER ledger_not_deleted; DELETE FROM ledger WHERE seq > 100')
    },
    'ledger-behind-head',
    /ends at row 100.*its tail is missing.*Restore the database/,
  ],
  [
    'the log of another database',
    () => {
      closedWard()
      foreignLog()
    },
    'damaged-file',
    /./,
  ],
  [
    'a file that is gone, its head still there',
    () => {
      closedWard()
      renameSync(file, `${file}.away`)
    },
    'file-missing',
    /There is no database at .*ward\.sqlite, but .*head\.json knows one with \d+ rows: a disk may not be mounted/,
  ],
  [
    'a file that is gone, its log still there',
    () => {
      mkdirSync(join(folder, 'data'))
      writeFileSync(`${file}-wal`, 'x')
    },
    'file-missing',
    /but its log .*ward\.sqlite-wal is there/,
  ],
  [
    'a head that is no head',
    () => {
      closedWard()
      writeFileSync(headFile, 'x')
    },
    'head-unreadable',
    /The ledger head in .*head\.json cannot be read.*move it away/,
  ],
  [
    'a head that is a folder',
    () => {
      mkdirSync(headFile, { recursive: true })
    },
    'head-unreadable',
    /The ledger head in .*head\.json cannot be read/,
  ],
]

describe('is refused and unchanged', () => {
  it.each(CASES)('%s', (_name, prepare, reason, sentence) => {
    prepare()
    const before = allOf(folder)
    const refused = refusal()
    expect([refused.reason, refused.message]).toEqual([reason, expect.stringMatching(sentence)])
    // before an upgrade the old database is copied beside it
    expect(allOf(folder).filter((name) => !/^data\/ward\.sqlite\.schema-3-\d/.test(name))).toEqual(before)
  })

  it('the log of another whole database, which would silently replace this one', () => {
    closedWard()
    const other = join(folder, 'other.sqlite')
    const store = openStore({ file: other })
    store.transact(() => {
      store.append(aSmallWard())
      return null
    })
    // every page of the other database is in its log
    const db = new Database(other)
    db.exec('VACUUM')
    copyFileSync(`${other}-wal`, `${file}-wal`)
    db.close()
    store.close()
    const before = readFileSync(file)
    expect(refusal().reason).toBe('ledger-behind-head')
    expect(readFileSync(file).equals(before)).toBe(true)
    rmSync(`${file}-wal`)
    rmSync(`${file}-shm`, { force: true })
    expect(verifyStore({ file, headFile }).flatMap(({ differences }) => differences)).toEqual([])
  })

  it('a program without its migrations creates nothing', () => {
    // a copy of the program without its migrations
    const copy = join(folder, 'program')
    const { status, stderr } = startMain({ root: copyOfProgram(copy) })
    expect([status, stderr]).toEqual([
      1,
      expect.stringMatching(
        /^The service cannot start: The program's own folder .*migrations is missing or not whole\. Install the program again/,
      ),
    ])
    expect(existsSync(join(folder, 'data'))).toBe(false)
  })
})

describe('no permission', () => {
  /** Runs as an account to which permissions apply: root drops its rights meanwhile. */
  const asNobody = <T>(work: () => T): T => {
    const isRoot = process.geteuid?.() === 0
    if (!isRoot) return work()
    process.setegid?.(65_534)
    process.seteuid?.(65_534)
    try {
      return work()
    } finally {
      process.seteuid?.(0)
      process.setegid?.(0)
    }
  }
  beforeEach(() => {
    closedWard()
    for (const one of [folder, join(folder, 'data'), join(folder, 'apart')]) chmodSync(one, 0o777)
    chmodSync(file, 0o666)
    chmodSync(headFile, 0o666)
  })
  afterEach(() => {
    for (const one of [join(folder, 'data'), join(folder, 'apart')]) chmodSync(one, 0o777)
  })

  it.each<readonly [string, () => void, StoreFault, RegExp]>([
    [
      'to read the file',
      () => {
        chmodSync(file, 0o000)
      },
      'no-permission',
      /The service may not read and write .*ward\.sqlite\. Give the account/,
    ],
    [
      'to write the file',
      () => {
        chmodSync(file, 0o444)
      },
      'no-permission',
      /may not read and write/,
    ],
    [
      'to make a log beside it',
      () => {
        chmodSync(join(folder, 'data'), 0o555)
      },
      'no-permission',
      /may not read and write .*the file and its folder/,
    ],
    [
      'to write a log that is there',
      () => {
        writeFileSync(`${file}-wal`, '')
        chmodSync(`${file}-wal`, 0o444)
      },
      'no-permission',
      /may not read and write/,
    ],
    [
      'to write the head',
      () => {
        chmodSync(join(folder, 'apart'), 0o555)
      },
      'head-not-writable',
      /The ledger head cannot be written to .*head\.json.*set HEAD_FILE/,
    ],
    [
      'to make a file that is not there',
      () => {
        rmSync(file)
        rmSync(headFile)
        chmodSync(join(folder, 'data'), 0o555)
      },
      'no-permission',
      /may not read and write/,
    ],
  ])('%s', (_name, prepare, reason, sentence) => {
    prepare()
    const before = allOf(folder)
    const refused = asNobody(refusal)
    expect([refused.reason, refused.message]).toEqual([reason, expect.stringMatching(sentence)])
    expect(allOf(folder)).toEqual(before)
  })

  it('only permission is refused: with it the same file opens', () => {
    asNobody(() => {
      openStore({ file, headFile }).close()
    })
  })
})

describe('a small real disk', () => {
  it('full: creates no new database and opens no old one; read-only: neither', () => {
    const disk = realDisk(2048)
    if (disk === null) {
      console.warn('This machine allows no mount: a full and a read-only disk are not shown here.')
      return
    }
    try {
      file = join(disk.folder, 'data', 'ward.sqlite')
      disk.fill()
      let before = allOf(disk.folder)
      expect(refusal()).toMatchObject({
        reason: 'disk-full',
        message: `The disk of ${file} is full. Make room on it, then start again.`,
      })
      expect(allOf(disk.folder)).toEqual(before)
      disk.free()
      closedWard(file, headFile, 20)
      // no room at all; room for the log's index of 32 KiB and for no page of the log
      for (const leaveKib of [0, 36]) {
        disk.fill(leaveKib)
        before = allOf(disk.folder)
        expect(refusal().reason, `${String(leaveKib)} KiB left`).toBe('disk-full')
        // without room for the index SQLite cannot remove an empty log
        expect(allOf(disk.folder).filter((name) => !name.startsWith('data/ward.sqlite-wal e3b0c442'))).toEqual(before)
        disk.free()
        openStore({ file, headFile }).close()
      }
      disk.makeReadOnly()
      before = allOf(disk.folder)
      expect(refusal()).toMatchObject({
        reason: 'read-only',
        message: expect.stringMatching(/ward\.sqlite cannot be written: .*is read-only\. Make it writable/) as string,
      })
      expect(allOf(disk.folder)).toEqual(before)
      disk.makeWritable()
      openStore({ file, headFile }).close()
    } finally {
      disk.close()
    }
  })
})

describe('allowed cases', () => {
  it("opens a killed service's own log and loses nothing of it", () => {
    closedWard(file, headFile, 3)
    const store = openStore({ file, headFile })
    store.transact(() => {
      store.append([anEvent('reading-recorded', { reading: aReading({ readingId: idOf('last'), checkKey: null }) })])
      return null
    })
    const copy = join(folder, 'copy')
    mkdirSync(copy)
    for (const end of ['', '-wal']) copyFileSync(`${file}${end}`, join(copy, `ward.sqlite${end}`))
    store.close()
    const again = openStore({ file: join(copy, 'ward.sqlite'), headFile })
    expect(again.readingById(aScope(), idOf('last'))?.readingId).toBe(idOf('last'))
    again.close()
    expect(
      verifyStore({ file: join(copy, 'ward.sqlite'), headFile }).flatMap(({ differences }) => differences),
    ).toEqual([])
  })

  it('opens a database without the mark and marks it', () => {
    closedWard(file, headFile, 1)
    change('PRAGMA application_id = 0')
    openStore({ file, headFile }).close()
    const db = new Database(file)
    expect(db.pragma('application_id', { simple: true })).toBe(0x77617264)
    db.close()
  })
})

/** The program without its migrations; imports resolve to the original place. */
function copyOfProgram(at: string): string {
  mkdirSync(at)
  copyFileSync(join(packageRoot, 'package.json'), join(at, 'package.json'))
  const copied = spawnSync('cp', ['-R', join(packageRoot, 'dist'), join(packageRoot, 'views'), at])
  const linked = spawnSync('ln', ['-s', join(packageRoot, 'node_modules'), join(at, 'node_modules')])
  if (copied.status !== 0 || linked.status !== 0) throw new Error('the program could not be copied')
  return at
}

/** The service as an administrator starts it. */
function startMain({ root = packageRoot }: { readonly root?: string } = {}): {
  readonly status: number | null
  readonly stderr: string
  readonly stdout: string
} {
  expect(existsSync(MAIN), 'npm run build comes first').toBe(true)
  const env = { PATH: process.env['PATH'] ?? '', DATABASE_FILE: file, HEAD_FILE: headFile, PORT: '0' }
  return spawnSync(process.execPath, [join(root, 'dist/server/main.js')], {
    env,
    encoding: 'utf8',
    timeout: 100_000,
    killSignal: 'SIGKILL',
  })
}

describe('the service itself', () => {
  it.each(CASES.filter(([name]) => /newer schema|a spoilt page|with its mark/.test(name)))(
    'exits with 1 and the message, and opens no port: %s',
    (_name, prepare, _reason, sentence) => {
      prepare()
      const { status, stderr, stdout } = startMain()
      expect(status).toBe(1)
      expect(stdout).toBe('')
      const [line = '', ...more] = stderr.trimEnd().split('\n')
      expect(line).toMatch(/^The service cannot start: /)
      expect(line.replace('The service cannot start: ', '')).toMatch(sentence)
      expect(more).toEqual([])
    },
  )
})
