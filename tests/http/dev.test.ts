/** `npm run dev` on a small program: it restarts at each change that compiles, and leaves nothing behind. */
import { spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ROOT } from '../support/house.ts'

let folder = ''
let temporary = ''
let dev: ChildProcess | null = null
let output = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-watch-'))
  temporary = join(folder, 'temporary')
  mkdirSync(temporary)
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'))
  const compilerOptions = { module: 'NodeNext', rootDir: '.', outDir: 'dist', types: ['node'], skipLibCheck: true }
  write('package.json', '{ "type": "module" }')
  write('tsconfig.json', JSON.stringify({ compilerOptions, include: ['seed-demo'] }))
  write('views/assets/ward.css', '')
  write('migrations/0001_a.sql', '')
  answer('one')
  copyFileSync(join(ROOT, 'seed-demo/dev.js'), join(folder, 'seed-demo/dev.js'))
  output = ''
  dev = spawn(process.execPath, ['seed-demo/dev.js'], {
    cwd: folder,
    // Node 22 and newer would keep compiled code of npm and tsc in the temporary folder
    env: { PATH: process.env['PATH'] ?? '', TMPDIR: temporary, PORT: '0', NODE_DISABLE_COMPILE_CACHE: '1' },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  for (const stream of [dev.stdout, dev.stderr]) stream?.on('data', (text: Buffer) => (output += text.toString()))
})
afterEach(() => {
  dev?.kill('SIGKILL')
  rmSync(folder, { recursive: true, force: true })
})

const write = (file: string, text: string): void => {
  mkdirSync(dirname(join(folder, file)), { recursive: true })
  writeFileSync(join(folder, file), text)
}
/** A program in the demo's place: the same option, the same last line, a file where it is run; it answers with the text. */
const answer = (text: string): void => {
  write(
    'seed-demo/run.ts',
    `import { writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
writeFileSync('demo.sqlite', '')
const server = createServer((_request, response) => response.end('${text}'))
server.listen(Number(process.argv[process.argv.indexOf('--port') + 1]), '127.0.0.1', () => {
  console.log('http://127.0.0.1:' + String((server.address() as AddressInfo).port))
  console.log('Stop with Ctrl-C.')
})
process.once('SIGTERM', () => process.exit(0))
`,
  )
}
const address = (): string => [...output.matchAll(/http:\/\/127\.0\.0\.1:\d+/g)].at(-1)?.[0] ?? ''
const answered = async (): Promise<string> => {
  try {
    return await (await fetch(address())).text()
  } catch {
    return 'nothing'
  }
}
const restarts = (): number => output.match(/Restarted in/g)?.length ?? 0

describe('npm run dev', () => {
  it('serves, restarts at a change, keeps the last good build while one does not compile, and stops everything', async () => {
    await expect.poll(answered, { timeout: 60_000 }).toBe('one')
    expect(output).toContain('Stop with Ctrl-C.')

    answer('two')
    await expect.poll(answered).toBe('two')
    await expect.poll(restarts).toBe(1)

    write('seed-demo/other.ts', "export const units: number = 'ten'\n")
    await expect.poll(() => output).toContain('The last good build keeps running.')
    expect(output).toContain('seed-demo/other.ts')
    expect(output).toContain('error TS2322')
    expect([await answered(), restarts()]).toEqual(['two', 1])

    write('seed-demo/other.ts', 'export const units = 10\n')
    await expect.poll(restarts).toBe(2)
    write('views/assets/ward.css', 'p {}')
    await expect.poll(restarts).toBe(3)
    expect(await answered()).toBe('two')

    expect(readdirSync(temporary)).toHaveLength(1)
    expect(existsSync(join(folder, 'demo.sqlite'))).toBe(false)
    const last = address()
    dev?.kill('SIGINT')
    expect(await once(dev as ChildProcess, 'exit')).toEqual([0, null])
    await expect(fetch(last)).rejects.toThrow()
    expect(readdirSync(temporary)).toEqual([])
  })
})
