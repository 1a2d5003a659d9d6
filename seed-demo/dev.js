/**
 * `npm run dev`: compiles at every change and restarts the demo, on a database that is made for this run and removed
 * when it ends. PORT chooses the port (8080 unless set, 0 for any free one). While a change does not compile, the last
 * good build keeps running. Ctrl-C stops everything.
 */
import { spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, watch } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'

const ROOT = dirname(dirname(fileURLToPath(import.meta.url)))
const COMPILER = createRequire(import.meta.url).resolve('typescript/bin/tsc')
const DEMO = join(ROOT, 'dist', 'seed-demo', 'run.js')
/** The last line that the demo prints when it is ready. */
const READY = 'Stop with Ctrl-C.'
/** Read when the service starts, and not compiled. */
const READ_AT_START = ['views/assets', 'migrations']
const STOP_WITHIN_MS = 5_000

const scratch = mkdtempSync(join(tmpdir(), 'ward-dev-'))
const port = process.env['PORT'] ?? '8080'
let service = null
let hasStarted = false
let compiles = false
let restartWanted = false
let restarting = false
let stopping = false

const compiler = spawn(process.execPath, [COMPILER, '--watch', '--preserveWatchOutput'], {
  cwd: ROOT,
  stdio: ['ignore', 'pipe', 'inherit'],
})
compiler.on('exit', () => {
  if (!stopping) void stopAll(1)
})
createInterface({ input: compiler.stdout }).on('line', (line) => {
  const errors = /Found (\d+) errors?\. Watching for file changes/.exec(line)?.[1]
  if (errors !== undefined) {
    compiles = errors === '0'
    if (compiles) void restart()
    else console.log(hasStarted ? 'It does not compile. The last good build keeps running.' : 'It does not compile.')
  } else if (line !== '' && !/Starting (incremental )?compilation|File change detected/.test(line)) console.log(line)
})

let settle
for (const folder of READ_AT_START) {
  watch(join(ROOT, folder), { recursive: true }, () => {
    clearTimeout(settle)
    settle = setTimeout(() => {
      if (compiles) void restart()
    }, 100)
  })
}

for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => void stopAll(0))
console.log('Compiling.')

/** Stops the running demo, if any, and starts the present build; changes that come meanwhile are one more restart. */
async function restart() {
  restartWanted = true
  if (restarting) return
  restarting = true
  while (restartWanted && !stopping) {
    restartWanted = false
    await end(service)
    if (!stopping) service = start()
  }
  restarting = false
}

function start() {
  const child = spawn(process.execPath, [DEMO, '--port', port], { cwd: scratch, stdio: ['ignore', 'pipe', 'inherit'] })
  const beganMs = Date.now()
  let address = ''
  createInterface({ input: child.stdout }).on('line', (line) => {
    address = /http:\/\/\S+/.exec(line)?.[0] ?? address
    if (!hasStarted) console.log(line)
    else if (line === READY) console.log(`Restarted in ${((Date.now() - beganMs) / 1000).toFixed(1)} s: ${address}`)
    if (line === READY) hasStarted = true
  })
  child.on('exit', (code, signal) => {
    if (service !== child) return
    service = null
    if (!stopping && !restarting)
      console.log(`The service ended (${String(signal ?? code)}). It starts again at the next change.`)
  })
  return child
}

/** Asks a process to stop and waits for it; kills it when it takes too long. */
async function end(child) {
  if (child === null || child.exitCode !== null || child.signalCode !== null) return
  await new Promise((resolve) => {
    const timer = setTimeout(() => child.kill('SIGKILL'), STOP_WITHIN_MS)
    child.once('exit', () => {
      clearTimeout(timer)
      resolve()
    })
    child.kill('SIGTERM')
  })
}

async function stopAll(exitCode) {
  if (stopping) return
  stopping = true
  await Promise.all([end(compiler), end(service)])
  if (existsSync(scratch)) rmSync(scratch, { recursive: true })
  process.exit(exitCode)
}
