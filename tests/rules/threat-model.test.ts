/** The threat model in server/http/SECURITY.md names only tests and files that exist, and each listed attack has a test named after it. */
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { filesBelow, literalsOf, ROOT, textOf } from '../support/house.ts'
import { faultOf, referencesIn } from '../support/references.ts'

const section = (title: string): string =>
  textOf('server/http/SECURITY.md')
    .split(/^## /m)
    .find((part) => part.startsWith(`${title}\n`)) ?? ''
const model = section('Threat model')

describe('the threat model', () => {
  it('check finds a missing test file and a missing title', () => {
    const planted = referencesIn(
      'x | `http/security-pins` “brute force”, `http/no-such-file` “x”, `http/security-pins` “no such title” |',
    )
    expect(planted.map(faultOf)).toEqual([
      null,
      'http/no-such-file: no file',
      'http/security-pins: no title with “no such title”',
    ])
  })

  it('names only tests that exist', () => {
    const references = referencesIn(model)
    expect(references.length).toBeGreaterThan(40)
    expect(references.map(faultOf).filter((fault) => fault !== null)).toEqual([])
  })

  it('names a test in every row of its table', () => {
    const rows = model
      .split('\n')
      .filter((line) => line.startsWith('| '))
      .slice(1)
    expect(rows.length).toBeGreaterThan(20)
    expect(rows.filter((row) => referencesIn(row.split(' | ').at(-1) ?? '').length === 0)).toEqual([])
  })

  it('names only files that exist', () => {
    const named = [...model.matchAll(/`((?:server|shared|views|tests)\/[\w./-]+)`/g)].map(([, path = '']) => path)
    expect(named.length).toBeGreaterThan(12)
    expect(named.filter((path) => !existsSync(join(ROOT, path)))).toEqual([])
  })

  it.each([
    'session fixation',
    'CSRF',
    'clickjacking',
    'header injection',
    'path traversal',
    'mass assignment',
    'IDOR',
    'open redirect',
    'cache of patient pages',
    'timing of PIN checks',
    'badge enumeration',
    'brute force',
  ])('%s has a test named after it', (attack) => {
    const attackers = filesBelow('tests', ['.test.ts']).filter((file) => file.startsWith('tests/http/security-'))
    expect(attackers.length).toBeGreaterThanOrEqual(5)
    expect(
      attackers.some((file) =>
        literalsOf(file).some((literal) => literal.toLowerCase().includes(attack.toLowerCase())),
      ),
    ).toBe(true)
  })
})

describe('dependencies', () => {
  /**
   * The oldest version that fixes every vulnerability of the package published by 26 November 2026, and one of those
   * advisories.
   */
  const FIXED: readonly (readonly [name: string, least: string, advisory: string])[] = [
    [
      'fastify',
      '5.12.2',
      'GHSA-3m5p-2c4r-xxw2, GHSA-w2qp-rph6-63g4 (and earlier GHSA-jx2c-rxcm-jvmq, GHSA-444r-cwp2-x5xf)',
    ],
    ['@fastify/static', '10.1.3', 'GHSA-423g-23ch-w7c6, GHSA-83w8-p2f5-377r, GHSA-8pvw-jcv7-9cmj'],
    ['drizzle-orm', '0.45.2', 'CVE-2026-39356'],
    ['brace-expansion', '5.0.8', 'GHSA-mh99-v99m-4gvg'],
    ['minimatch', '10.2.3', 'CVE-2026-27903, CVE-2026-27904'],
    ['fast-uri', '3.1.7', 'CVE-2026-6321, CVE-2026-6322, CVE-2026-13676'],
  ]
  const lock = JSON.parse(textOf('package-lock.json')) as {
    packages: Record<string, { version?: string; dev?: boolean; integrity?: string; hasInstallScript?: boolean }>
  }
  const running = Object.entries(lock.packages).filter(([path, entry]) => path !== '' && entry.dev !== true)
  const numbers = (version: string): readonly number[] => version.split(/[.-]/).slice(0, 3).map(Number)
  const isOlder = (one: string, than: string): boolean => {
    const [a, b] = [numbers(one), numbers(than)]
    const at = a.findIndex((part, index) => part !== b[index])
    return at >= 0 && (a[at] ?? 0) < (b[at] ?? 0)
  }

  it('compares versions as numbers', () => {
    expect([
      isOlder('10.1.2', '10.1.3'),
      isOlder('10.1.10', '10.1.3'),
      isOlder('9.9.9', '10.0.0'),
      isOlder('5.0.13', '5.0.8'),
      isOlder('5.12.2', '5.12.2'),
    ]).toEqual([true, false, true, false, false])
  })

  it.each(FIXED)('%s: no dependency is older than the version that fixed a published vulnerability', (name, least) => {
    const versions = running
      .filter(([path]) => path.endsWith(`node_modules/${name}`))
      .map(([, { version = '' }]) => version)
    expect(versions.length).toBeGreaterThan(0)
    expect(versions.filter((version) => isOlder(version, least))).toEqual([])
  })

  it('have a content hash in the lock file, and only the allowed package runs an install script', () => {
    expect(running.length).toBeGreaterThan(50)
    expect(running.filter(([, { integrity = '' }]) => !integrity.startsWith('sha512-')).map(([path]) => path)).toEqual(
      [],
    )
    const { allowScripts } = JSON.parse(textOf('package.json')) as { allowScripts: Record<string, boolean> }
    expect(
      running
        .filter(([, { hasInstallScript }]) => hasInstallScript === true)
        .map(([path]) => path.replace('node_modules/', '')),
    ).toEqual(Object.keys(allowScripts))
  })
})
