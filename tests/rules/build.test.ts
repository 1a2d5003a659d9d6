/** `npm start` runs the build as it is, and only when it was made from the sources that are here: tried on a small package. */
import { spawnSync } from 'node:child_process'
import { copyFileSync, mkdirSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ROOT, textOf } from '../support/house.ts'

let folder = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-build-'))
  write('package.json', '{ "type": "module" }')
  for (const source of ['server/main.ts', 'server/http/route.ts', 'shared/a.ts', 'views/b.ts', 'migrations/0001_a.sql'])
    write(source, source)
  copyFileSync(join(ROOT, 'server/build.js'), join(folder, 'server/build.js'))
})
afterEach(() => {
  rmSync(folder, { recursive: true, force: true })
})

const write = (file: string, text: string): void => {
  mkdirSync(dirname(join(folder, file)), { recursive: true })
  writeFileSync(join(folder, file), text)
}
const run = (verb: 'stamp' | 'start'): readonly [number | null, string, string] => {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['server/build.js', verb], {
    cwd: folder,
    encoding: 'utf8',
  })
  return [status, stdout, stderr]
}
const compile = (): void => {
  write('dist/server/main.js', "console.log('started')")
  write('dist/shared/a.js', '')
}
const build = (): void => {
  compile()
  expect(run('stamp')).toEqual([0, '', ''])
}
const STARTED = [0, 'started\n', '']
const OTHER = [1, '', 'The build does not match the sources. Type: npm ci && npm run build\n']

describe('npm start', () => {
  it('is what package.json runs, without a compiler; every build is stamped after it compiled', () => {
    const { scripts } = JSON.parse(textOf('package.json')) as { scripts: Record<string, string> }
    expect(scripts['start']).toBe('node server/build.js start')
    expect(scripts['build']).toBe('tsc && node server/build.js stamp')
  })

  it('without a build says what to type', () => {
    expect(run('start')).toEqual([1, '', 'The service is not built. Type: npm ci && npm run build\n'])
  })

  it('starts what was built, whatever the times of the files', () => {
    build()
    utimesSync(join(folder, 'shared/a.ts'), 2_000_000_000, 2_000_000_000)
    expect(run('start')).toEqual(STARTED)
  })

  it.each([
    ['a changed source', 'server/http/route.ts'],
    ['a new source', 'views/setup/new.ts'],
    ['a new migration', 'migrations/0002_b.sql'],
  ])('refuses a build that is older than %s', (_name, file) => {
    build()
    write(file, 'changed')
    expect(run('start')).toEqual(OTHER)
    build()
    expect(run('start')).toEqual(STARTED)
  })

  it('refuses what another compiler run left, though the sources are those of the last build', () => {
    build()
    write('dist/shared/a.js', 'of another branch')
    expect(run('start')).toEqual(OTHER)
  })

  it('refuses a build with a source that is gone, and a build that did not finish', () => {
    build()
    rmSync(join(folder, 'shared/a.ts'))
    expect(run('start')).toEqual(OTHER)
    rmSync(join(folder, 'dist'), { recursive: true })
    compile()
    expect(run('start')).toEqual(OTHER)
  })

  it('compares only the folders that are installed, and no stylesheet or script of a page', () => {
    build()
    rmSync(join(folder, 'shared'), { recursive: true })
    write('views/assets/ward.css', 'changed')
    expect(run('start')).toEqual(STARTED)
  })
})
