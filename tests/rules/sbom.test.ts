/**
 * The bill of materials is CycloneDX, lists every shipped package with version and licence, contains nothing of this
 * machine, and needs no network.
 */
import { afterAll, describe, expect, it, vi } from 'vitest'
import { makeBom, readBom, shippedPackages, type Bom } from '../../server/sbom/sbom.ts'
import { ROOT, textOf } from '../support/house.ts'

const lockText = textOf('package-lock.json')

describe('bill of materials', () => {
  // no registry can be reached: nothing listens on this address
  vi.stubEnv('npm_config_registry', 'http://127.0.0.1:9')
  afterAll(() => {
    vi.unstubAllEnvs()
  })
  const made = makeBom(ROOT)
  const bom = (): Bom => {
    if (!made.ok) throw new Error(`${made.reason} ${JSON.stringify(made.details)}`)
    return made.value
  }

  it('is CycloneDX of this package', () => {
    expect(bom()).toMatchObject({
      bomFormat: 'CycloneDX',
      specVersion: expect.stringMatching(/^1\.[5-9]$/) as string,
      metadata: { component: { name: 'ward-glucose-round', type: 'application' } },
    })
    expect(bom()['serialNumber']).toMatch(/^urn:uuid:[0-9a-f-]{36}$/)
  })

  it('names every shipped package of package.json, and no test-only one', () => {
    const { dependencies, devDependencies } = JSON.parse(textOf('package.json')) as {
      dependencies: Record<string, string>
      devDependencies: Record<string, string>
    }
    const names = new Set(bom().components.map(({ name }) => name))
    expect(Object.keys(dependencies).filter((name) => !names.has(name))).toEqual([])
    // npm installs types beside drizzle-orm too, which may use them
    expect(Object.keys(devDependencies).filter((name) => names.has(name) && !name.startsWith('@types/'))).toEqual([])
  })

  it('lists dependencies, and refers only to its own components', () => {
    const refs = new Set([bom().metadata.component['bom-ref'], ...bom().components.map((one) => one['bom-ref'])])
    const needs = bom().dependencies ?? []
    expect(needs.length).toBe(refs.size)
    expect(needs.flatMap(({ ref, dependsOn = [] }) => [ref, ...dependsOn]).filter((ref) => !refs.has(ref))).toEqual([])
    expect(
      needs
        .find(({ ref }) => ref === bom().metadata.component['bom-ref'])
        ?.dependsOn?.filter((ref) => !ref.startsWith('@types/')),
    ).toHaveLength(Object.keys((JSON.parse(textOf('package.json')) as { dependencies: object }).dependencies).length)
  })

  it('names every shipped package of the lock file with version and licence', () => {
    // reads the lock file a second way
    const { packages } = JSON.parse(lockText) as {
      packages: Record<string, { version: string; dev?: boolean; license?: string }>
    }
    const shipped = Object.entries(packages).filter(([path, { dev }]) => path !== '' && dev !== true)
    expect(shipped.length).toBeGreaterThan(80)
    for (const [path, { version, license }] of shipped) {
      const name = path.slice(path.lastIndexOf('node_modules/') + 'node_modules/'.length)
      const found = bom().components.find((one) => one.name === name && one.version === version)
      expect(found, `${name}@${version}`).toBeDefined()
      expect(JSON.stringify(found?.licenses), name).toContain(license ?? 'a licence')
      expect(found?.purl).toBe(`pkg:npm/${name.replace('@', '%40')}@${version}`)
    }
  })

  it('contains no registry address and no machine path', () => {
    const text = JSON.stringify(bom())
    expect(text).not.toMatch(/registry|127\.0\.0\.1|file:/)
    expect(text).not.toContain(ROOT)
  })
})

describe('refuses an incomplete bill', () => {
  const lock = JSON.stringify({
    name: 'x',
    packages: {
      '': {},
      'node_modules/a': { version: '1.0.0' },
      'node_modules/b/node_modules/@c/d': { version: '2.0.0' },
      'node_modules/e': { version: '3.0.0', dev: true },
    },
  })
  const component = (name: string, version: string, licenses: unknown = [{ license: { id: 'MIT' } }]): object => ({
    'bom-ref': `${name}@${version}`,
    type: 'library',
    name,
    version,
    purl: `pkg:npm/${name}@${version}`,
    licenses,
  })
  const bill = (...components: readonly object[]): string =>
    JSON.stringify({
      bomFormat: 'CycloneDX',
      specVersion: '1.5',
      metadata: { component: { 'bom-ref': 'x@1', name: 'x', type: 'application' } },
      components,
      dependencies: [
        { ref: 'x@1', dependsOn: ['a@1.0.0', 'e@3.0.0'] },
        { ref: 'e@3.0.0', dependsOn: ['a@1.0.0'] },
      ],
    })
  const [a, d] = [component('a', '1.0.0'), component('@c/d', '2.0.0')]

  it('reads what the lock file ships', () => {
    expect(shippedPackages(lock)).toEqual(['@c/d@2.0.0', 'a@1.0.0'])
    const got = readBom(bill(a, d, component('e', '3.0.0')), lock)
    expect(got).toMatchObject({
      ok: true,
      value: { components: [{ name: 'a' }, { name: '@c/d' }], dependencies: [{ ref: 'x@1', dependsOn: ['a@1.0.0'] }] },
    })
  })

  it.each([
    ['a package missing', bill(a), 'not-the-lock-file', '@c/d@2.0.0'],
    ['another version', bill(a, component('@c/d', '2.0.1')), 'not-the-lock-file', '@c/d@2.0.0'],
    ['no licence', bill(a, component('@c/d', '2.0.0', [])), 'licence-missing', '@c/d'],
    ['another format', bill(a, d).replace('CycloneDX', 'Other'), 'not-a-bill', 'bomFormat'],
    ['no JSON', 'npm error', 'not-a-bill', ''],
  ])('%s', (_name, text, reason, says) => {
    const got = readBom(text, lock)
    expect(got).toMatchObject({ ok: false, reason })
    if (!got.ok) expect(got.details.text).toContain(says)
  })
})
