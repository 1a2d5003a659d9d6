/** `npm run check` with programs in place of the compiler, the linters and the test runner. */
import { spawnSync } from 'node:child_process'
import { chmodSync, copyFileSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it, describe } from 'vitest'
import { ROOT } from '../support/house.ts'

let folder = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-check-'))
  mkdirSync(join(folder, 'tests'))
  mkdirSync(join(folder, 'node_modules/.bin'), { recursive: true })
  writeFileSync(join(folder, 'package.json'), '{ "type": "module" }')
  copyFileSync(join(ROOT, 'tests/check.js'), join(folder, 'tests/check.js'))
  for (const name of ['tsc', 'eslint', 'prettier', 'vitest']) program(name, `echo "${name} $*"`)
})
afterEach(() => {
  rmSync(folder, { recursive: true, force: true })
})

const program = (name: string, script: string): void => {
  const file = join(folder, 'node_modules/.bin', name)
  writeFileSync(file, `#!/bin/sh\n${script}\n`)
  chmodSync(file, 0o755)
}
const check = (): { status: number | null; out: string } => {
  const { status, stdout } = spawnSync(process.execPath, ['tests/check.js'], { cwd: folder, encoding: 'utf8' })
  return { status, out: stdout }
}

describe('npm run check', () => {
  it('runs all four, and passes when all pass', () => {
    const { status, out } = check()
    expect([status, out.match(/^== \w+: passed/gm)?.sort()]).toEqual([
      0,
      ['== eslint: passed', '== prettier: passed', '== rules: passed', '== types: passed'],
    ])
    expect(out).toMatch(/^All checks passed in [\d.]+ s\.$/m)
    expect(out).toMatch(/^tsc --noEmit$/m)
    expect(out).toMatch(/^eslint .*--max-warnings 0 .*--cache-location node_modules\/\.cache\//m)
    expect(out).toMatch(/^prettier .*--check \.$/m)
    expect(out).toMatch(/^vitest run .* tests\/rules$/m)
  })

  it.each([
    ['tsc', 'types'],
    ['eslint', 'eslint'],
    ['prettier', 'prettier'],
    ['vitest', 'rules'],
  ])('fails when %s fails, and shows what it said in one piece', (name, shown) => {
    program(name, 'echo first; sleep 0.3; echo second >&2; exit 2')
    const { status, out } = check()
    expect(status).toBe(1)
    expect(out).toMatch(new RegExp(`^== ${shown}: FAILED after [\\d.]+ s\\nfirst\\nsecond\\n`, 'm'))
    expect(out.trimEnd().split('\n').at(-1)).toBe(`Failed: ${shown}.`)
  })

  it('fails when a program is not installed', () => {
    rmSync(join(folder, 'node_modules/.bin/eslint'))
    const { status, out } = check()
    expect(status).toBe(1)
    expect(out).toContain('== eslint: FAILED')
  })
})
