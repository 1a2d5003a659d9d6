/** Charting goes on while many PINs are verified. The tests compare the order of responses, never times. */
import { pbkdf2, randomBytes } from 'node:crypto'
import { promisify } from 'node:util'
import { gzip } from 'node:zlib'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { hashPin } from '../../server/http/pins.ts'
import { people } from '../support/people.ts'
import { makeWorld, type World } from '../support/world.ts'

const derive = promisify(pbkdf2)
const pack = promisify(gzip)
/** Fewer than the limits for one badge and one address. */
const FOR_ONE_BADGE = 4

let world: World
beforeEach(async () => {
  world = await makeWorld()
})
afterEach(async () => world.close())

it('PIN hashing leaves threads for other work: a file is compressed before most PINs are verified', async () => {
  const staff = Object.values(people).slice(0, 6)
  const hashes = await Promise.all(staff.map(async ({ staffId, pin }) => ({ staffId, hash: await hashPin(pin) })))
  world.store.transact(() => {
    for (const { staffId, hash } of hashes) world.store.setPinHash(staffId, hash)
    return null
  })
  let proved = 0
  const signIns = staff.flatMap(({ badge, pin }) =>
    Array.from({ length: FOR_ONE_BADGE }, async () => {
      const got = await world.visitor().postRaw('/sign-in', { badge, pin })
      proved++
      return got.status
    }),
  )
  // every one of them has reached its PIN
  await new Promise((resolve) => setTimeout(resolve, 20))
  await pack(randomBytes(50_000))
  expect(proved).toBeLessThan(signIns.length / 2)
  expect([...new Set(await Promise.all(signIns))]).toEqual([303])
})

it('compresses an ordinary page without waiting for a thread', async () => {
  const nora = await world.signIn(people.nora)
  let done = 0
  // all threads are busy and more work waits for them
  const held = Array.from({ length: 24 }, async () => {
    await derive('a', 'b', 150_000, 32, 'sha256')
    done++
  })
  const got = await world.server.app.inject({
    method: 'GET',
    url: '/second-checks',
    headers: {
      host: 'ward.test',
      'accept-encoding': 'gzip',
      'sec-fetch-site': 'same-origin',
      cookie: [...nora.cookies].map(([name, value]) => `${name}=${value}`).join('; '),
    },
  })
  expect([got.statusCode, got.headers['content-encoding']]).toEqual([200, 'gzip'])
  expect(done).toBeLessThan(held.length / 2)
  await Promise.all(held)
})
