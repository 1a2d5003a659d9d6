/**
 * `npm run check`: the types, the lint and the tests of the rules, side by side. Each one's output is printed whole when
 * it ends. The exit code is 1 when one fails. The linter's cache looks at changed files only: a fault that a change makes
 * in another file is found by `npm test`, which lints without a cache.
 */
import { spawn } from 'node:child_process'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const ROOT = dirname(dirname(fileURLToPath(import.meta.url)))
const CHECKS = {
  types: 'tsc --noEmit',
  eslint:
    'eslint --config tests/eslint.config.js --max-warnings 0 --cache --cache-strategy content --cache-location node_modules/.cache/eslint/ .',
  prettier: 'prettier --config tests/prettier.config.js --log-level warn --cache --check .',
  rules: 'vitest run --config tests/vitest.config.ts tests/rules',
}

const beganMs = Date.now()
const seconds = () => `${((Date.now() - beganMs) / 1000).toFixed(1)} s`
const failed = (await Promise.all(Object.entries(CHECKS).map(run))).filter((name) => name !== null)
console.log(failed.length === 0 ? `All checks passed in ${seconds()}.` : `Failed: ${failed.join(', ')}.`)
process.exitCode = failed.length === 0 ? 0 : 1

/** Resolves to the name of a check that failed, or null. */
function run([name, command]) {
  return new Promise((resolve) => {
    const [program, ...args] = command.split(' ')
    const child = spawn(join(ROOT, 'node_modules', '.bin', program), args, {
      cwd: ROOT,
      stdio: ['ignore', 'pipe', 'pipe'],
    })
    let output = ''
    for (const stream of [child.stdout, child.stderr]) stream.on('data', (text) => (output += String(text)))
    child.on('error', (error) => (output += String(error)))
    child.on('close', (code) => {
      console.log(`== ${name}: ${code === 0 ? 'passed' : 'FAILED'} after ${seconds()}\n${output.trim()}\n`.trimStart())
      resolve(code === 0 ? null : name)
    })
  })
}
