/** Starting and stopping a service with a real file and a real socket. */
import { once } from 'node:events'
import { mkdtempSync, rmSync, existsSync, statSync } from 'node:fs'
import { request as ask } from 'node:http'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { startService, type Running } from '../../server/start.ts'
import { openStore } from '../../server/store/open.ts'
import { TEST_CONFIG } from '../support/world.ts'

let folder = ''
let running: Running | null = null
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-start-'))
})
afterEach(async () => {
  await running?.stop()
  running = null
  rmSync(folder, { recursive: true, force: true })
})

const clocks = { now: () => 1_790_000_000_000, mono: () => 5_000 }
const config = () => ({
  ...TEST_CONFIG,
  databaseFile: join(folder, 'data', 'ward.sqlite'),
  headFile: join(folder, 'elsewhere', 'head.json'),
})

describe('startService', () => {
  it('creates its folders, listens, answers, and leaves one checkpointed file', async () => {
    running = await startService(config(), { clocks, demoClock: null })
    expect(running.address).toMatch(/^http:\/\/127\.0\.0\.1:\d+$/)
    expect(await (await fetch(`${running.address}/healthz`)).json()).toEqual({
      status: 'well',
      database: { readable: true, writable: true },
      backup: 'off',
    })
    await running.stop()
    await running.stop()
    const { databaseFile } = config()
    expect(statSync(databaseFile).size).toBeGreaterThan(0)
    expect(existsSync(`${databaseFile}-wal`)).toBe(false)
    await expect(fetch(`${running.address}/healthz`)).rejects.toThrow()
  })

  it('makes a set-up code for an empty database only: readable groups, no look-alikes, new each start', async () => {
    running = await startService(config(), { clocks, demoClock: null })
    const first = running.services.setUpCode
    expect(first).toMatch(/^([A-HJ-NP-Z2-9]{5}-){3}[A-HJ-NP-Z2-9]{5}$/)
    const form = new URLSearchParams({
      code: first ?? '',
      name: 'Ada Brook',
      badge: 'A0001',
      pin: '480517',
      pinAgain: '480517',
    })
    const post = await fetch(`${running.address}/first-administrator`, {
      method: 'POST',
      body: form,
      headers: { origin: running.address },
      redirect: 'manual',
    })
    expect(post.status).toBe(303)
    await running.stop()
    running = await startService(config(), { clocks, demoClock: null })
    expect(running.services.setUpCode).toBeNull()
    expect(running.services.store.staffByBadge('A0001')?.name).toBe('Ada Brook')
  })

  it('finishes open requests when told to stop', async () => {
    running = await startService(config(), { clocks, demoClock: null })
    const { port } = new URL(running.address)
    const body = 'badge=A0001&pin=123456'
    const slow = ask({
      host: '127.0.0.1',
      port,
      path: '/sign-in',
      method: 'POST',
      headers: {
        origin: running.address,
        'content-type': 'application/x-www-form-urlencoded',
        'content-length': body.length,
      },
    })
    const answered = once(slow, 'response') as Promise<[{ statusCode?: number; resume: () => void }]>
    slow.write(body.slice(0, 10))
    await once(slow, 'socket')
    // once a second connection gets a response, the server has the first request's headers
    await fetch(`${running.address}/healthz`)
    const stopped = running.stop()
    slow.end(body.slice(10))
    const [response] = await answered
    expect(response.statusCode).toBe(422)
    response.resume()
    await stopped
  })

  it('closes the store when it cannot listen', async () => {
    running = await startService(config(), { clocks, demoClock: null })
    const { port } = new URL(running.address)
    const other = { ...config(), databaseFile: join(folder, 'other.sqlite'), port: Number(port) }
    await expect(startService(other, { clocks, demoClock: null })).rejects.toThrow('EADDRINUSE')
    expect(existsSync(`${other.databaseFile}-wal`)).toBe(false)
    openStore({ file: other.databaseFile }).close()
  })
})
