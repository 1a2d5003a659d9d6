/**
 * The software bill of materials of what is shipped, in CycloneDX' JSON (ecma-international.org, ECMA-424): npm's own,
 * made from the lock file without the network, then held against that lock file.
 */
import { spawnSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'

const COMPONENT = z.looseObject({
  'bom-ref': z.string(),
  type: z.string(),
  name: z.string().min(1),
  version: z.string().min(1),
  purl: z.string().startsWith('pkg:npm/'),
  licenses: z
    .array(
      z.union([
        z.object({ license: z.object({ id: z.string().min(1) }) }),
        z.object({ license: z.object({ name: z.string().min(1) }) }),
        z.object({ expression: z.string().min(1) }),
      ]),
    )
    .optional(),
})
const BOM = z.looseObject({
  bomFormat: z.literal('CycloneDX'),
  specVersion: z.string().regex(/^1\.\d+$/),
  metadata: z.looseObject({ component: z.looseObject({ 'bom-ref': z.string(), name: z.string(), type: z.string() }) }),
  components: z.array(COMPONENT),
  dependencies: z.array(z.looseObject({ ref: z.string(), dependsOn: z.array(z.string()).optional() })).optional(),
})
export type Bom = z.infer<typeof BOM>

const LOCK = z.object({
  name: z.string(),
  packages: z.record(
    z.string(),
    z.object({ version: z.string().optional(), dev: z.boolean().optional(), link: z.boolean().optional() }),
  ),
})

/** `details.text` says what npm said, or what is wrong with it. */
export type BomRefusal = 'npm-failed' | 'not-a-bill' | 'not-the-lock-file' | 'licence-missing'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'npm-failed': { text: string }
    'not-a-bill': { text: string }
    'not-the-lock-file': { text: string }
    'licence-missing': { text: string }
  }
}

/** What the lock file ships: "name@version", each once, sorted. */
export function shippedPackages(lockText: string): readonly string[] {
  const { packages } = LOCK.parse(JSON.parse(lockText))
  const shipped = Object.entries(packages).filter(
    ([path, entry]) => path !== '' && entry.dev !== true && entry.link !== true,
  )
  return [
    ...new Set(shipped.map(([path, { version }]) => `${path.replace(/^.*node_modules\//, '')}@${version ?? ''}`)),
  ].sort()
}

/**
 * The shipped part of a bill of everything. npm's own `--omit dev` would also leave out what is shipped and needed by a
 * test's package besides (npm 11.19: 27 of 162).
 */
function shippedPart(bom: Bom, shipped: readonly string[]): Bom {
  const components = bom.components.filter(({ name, version }) => shipped.includes(`${name}@${version}`))
  const refs = new Set(components.map((one) => one['bom-ref']))
  const dependencies = (bom.dependencies ?? []).flatMap((one) => {
    const isRoot = one.ref === bom.metadata.component['bom-ref']
    return isRoot || refs.has(one.ref)
      ? [{ ...one, dependsOn: (one.dependsOn ?? []).filter((ref) => refs.has(ref)) }]
      : []
  })
  return { ...bom, components, dependencies }
}

/** Takes from npm's bill of everything what is shipped: every package of the lock file that is, in its version and with its licence. */
export function readBom(text: string, lockText: string): Outcome<Bom, BomRefusal> {
  const read = BOM.safeParse(parsed(text))
  if (!read.success)
    return refuse('not-a-bill', {
      text: read.error.issues.map(({ path, message }) => `${path.join('.')}: ${message}`).join('; '),
    })
  const shipped = shippedPackages(lockText)
  const bom = shippedPart(read.data, shipped)
  const found = new Set(bom.components.map(({ name, version }) => `${name}@${version}`))
  const missing = shipped.filter((one) => !found.has(one))
  if (missing.length > 0) return refuse('not-the-lock-file', { text: missing.join(', ') })
  const bare = bom.components.filter(({ licenses = [] }) => licenses.length === 0).map(({ name }) => name)
  return bare.length > 0 ? refuse('licence-missing', { text: bare.join(', ') }) : accept(bom)
}

/** Asks npm for the bill of the package in `folder`. npm takes everything from the lock file. */
export function makeBom(folder: string): Outcome<Bom, BomRefusal> {
  const run = spawnSync(
    'npm',
    ['sbom', '--sbom-format', 'cyclonedx', '--sbom-type', 'application', '--package-lock-only', '--offline'],
    { cwd: folder, encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 },
  )
  if (run.status !== 0) return refuse('npm-failed', { text: run.error?.message ?? run.stderr })
  const lockText = readFileSync(join(folder, 'package-lock.json'), 'utf8')
  const read = readBom(run.stdout, lockText)
  if (!read.ok) return read
  const { name } = LOCK.parse(JSON.parse(lockText))
  // npm names the whole after the folder it lies in
  return accept({
    ...read.value,
    metadata: { ...read.value.metadata, component: { ...read.value.metadata.component, name } },
  })
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text)
  } catch {
    return null
  }
}
