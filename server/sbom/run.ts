/**
 * `npm run sbom -- [FILE]`: writes the software bill of materials of what is shipped to data/sbom.cdx.json, or FILE.
 * Exit code 1 when it could not be made or does not match the lock file; then nothing is written.
 */
import { mkdirSync, renameSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { parseArgs } from 'node:util'
import { packageRoot } from '../paths.ts'
import { makeBom, type BomRefusal } from './sbom.ts'

const SENTENCES: Readonly<Record<BomRefusal, string>> = {
  'npm-failed': 'npm could not make the bill of materials. It needs npm 10 or newer.',
  'not-a-bill': 'What npm made is not CycloneDX.',
  'not-the-lock-file': 'What npm made does not match package-lock.json.',
  'licence-missing': 'Packages without a licence are shipped.',
}

function main(): number {
  const { positionals } = parseArgs({ allowPositionals: true })
  if (positionals.length > 1) return complain('Name one file at most: npm run sbom -- [FILE]')
  const file = positionals[0] ?? join(packageRoot, 'data', 'sbom.cdx.json')
  const made = makeBom(packageRoot)
  if (!made.ok) return complain(`${SENTENCES[made.reason]} ${made.details.text}`)
  mkdirSync(dirname(file), { recursive: true })
  writeFileSync(`${file}.part`, `${JSON.stringify(made.value, null, 1)}\n`)
  renameSync(`${file}.part`, file)
  console.log(`${file}: CycloneDX ${made.value.specVersion}, ${String(made.value.components.length)} packages.`)
  return 0
}

function complain(text: string): number {
  console.error(text)
  return 1
}

process.exitCode = main()
