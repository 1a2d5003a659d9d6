/** `.ci/run` tests a copy of what is committed, in a folder of its own: tried on a small package that lists its folder. */
import { spawnSync } from 'node:child_process'
import { copyFileSync, existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ROOT } from '../support/house.ts'

let folder = ''
let checkout = ''
let temporary = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-ci-'))
  checkout = join(folder, 'checkout')
  temporary = join(folder, 'temporary')
  for (const path of [checkout, join(checkout, '.ci'), join(checkout, 'dist'), temporary]) mkdirSync(path)
  copyFileSync(join(ROOT, '.ci/run'), join(checkout, '.ci/run'))
  writeFileSync(join(folder, 'outside.txt'), 'outside')
  write('package-lock.json', JSON.stringify({ name: 'small', lockfileVersion: 3, packages: {} }))
  write('committed.txt', 'committed')
  write('.gitignore', 'dist/\n')
  write('dist/built.js', '')
})
afterEach(() => {
  rmSync(folder, { recursive: true, force: true })
})

const write = (file: string, text: string): void => {
  writeFileSync(join(checkout, file), text)
}
/** The small package's test: the command as npm runs it. */
const testIs = (command: string): void => {
  write('package.json', JSON.stringify({ name: 'small', private: true, scripts: { test: command } }))
}
const GIT = ['-c', 'user.name=A', '-c', 'user.email=a@example.org', '-c', 'init.defaultBranch=main']
const git = (...args: readonly string[]): void => {
  const { status, stderr } = spawnSync('git', [...GIT, ...args], { cwd: checkout, encoding: 'utf8' })
  expect([args, status, stderr]).toEqual([args, 0, expect.any(String)])
}
/** A machine without git runs these tests too; `.ci/run` then takes the folder as it stands. */
const hasGit = spawnSync('git', ['--version']).status === 0
const commit = (): void => {
  if (!hasGit) return
  git('init', '--quiet')
  git('add', '.')
  git('commit', '--quiet', '--message', 'Begin')
}
const run = (): { status: number | null; lines: readonly string[]; said: string } => {
  // Node 22 and newer would keep compiled code of npm and tsc in the temporary folder
  const env = {
    PATH: process.env['PATH'] ?? '',
    HOME: folder,
    TMPDIR: temporary,
    CI: 'true',
    NODE_DISABLE_COMPILE_CACHE: '1',
  }
  const { status, stdout, stderr } = spawnSync('bash', ['.ci/run'], { cwd: checkout, env, encoding: 'utf8' })
  return { status, lines: stdout.trimEnd().split('\n'), said: stderr }
}
const LIST = 'ls -A; echo "in $PWD"; echo "3 passed, 0 failed"'

describe('.ci/run', { timeout: 120_000 }, () => {
  it('tests what is committed, elsewhere, and leaves nothing behind', () => {
    testIs(LIST)
    commit()
    write('committed.txt', 'changed')
    write('forgotten.txt', 'a file that was not added')
    const { status, lines, said } = run()
    expect([status, lines.at(-1)]).toEqual([0, '3 passed, 0 failed'])
    expect(lines).toContain('committed.txt')
    expect(lines.includes('forgotten.txt')).toBe(!hasGit)
    expect(lines).not.toContain('dist')
    expect(lines.find((line) => line.startsWith('in '))).toContain(temporary)
    expect(said).toContain(hasGit ? 'Uncommitted changes are not tested.' : 'no git checkout')
    expect(readdirSync(temporary)).toEqual([])
  })

  it('fails when a test reads a file outside the checkout', () => {
    testIs('cat ../outside.txt && echo "1 passed, 0 failed"')
    commit()
    const { status, lines } = run()
    expect(status).toBeGreaterThan(0)
    expect(lines).not.toContain('1 passed, 0 failed')
    expect(readdirSync(temporary)).toEqual([])
  })

  it('ends with the status and the last line of the tests', () => {
    testIs('echo "2 passed, 1 failed"; exit 1')
    commit()
    const { status, lines, said } = run()
    expect([status, lines.at(-1)]).toEqual([1, '2 passed, 1 failed'])
    expect(said).not.toContain('Uncommitted')
  })

  it('takes every file that is not installed or generated where there is no git checkout', () => {
    testIs(LIST)
    const { status, lines, said } = run()
    expect([status, lines.at(-1)]).toEqual([0, '3 passed, 0 failed'])
    expect(lines).toContain('committed.txt')
    expect(lines).not.toContain('dist')
    expect(said).toContain('no git checkout')
    expect(existsSync(join(checkout, 'dist/built.js'))).toBe(true)
    expect(readdirSync(temporary)).toEqual([])
  })
})
