/** The semaphore: never more work at once than allowed, first come first served, and a fault blocks nobody. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Semaphore } from '../../server/http/semaphore.ts'

/** Work that ends when the test says so. */
function held(
  log: string[],
  name: string,
): { readonly work: () => Promise<string>; readonly end: (fault?: Error) => void } {
  let end: (fault?: Error) => void = () => {
    throw new Error(`${name} has not begun`)
  }
  const work = (): Promise<string> =>
    new Promise((resolve, reject) => {
      log.push(name)
      end = (fault) => {
        if (fault === undefined) resolve(name)
        else reject(fault)
      }
    })
  return {
    work,
    end: (fault) => {
      end(fault)
    },
  }
}

const settled = (): Promise<void> => new Promise((resolve) => setImmediate(resolve))

describe('semaphore', () => {
  it('starts as many as allowed at once, and the rest in order', async () => {
    const semaphore = new Semaphore(2)
    const begun: string[] = []
    const works = ['a', 'b', 'c', 'd'].map((name) => held(begun, name))
    const results = works.map(({ work }) => semaphore.run(work))
    await settled()
    expect(begun).toEqual(['a', 'b'])
    works[1]?.end()
    await settled()
    expect(begun).toEqual(['a', 'b', 'c'])
    works[0]?.end()
    await settled()
    expect(begun).toEqual(['a', 'b', 'c', 'd'])
    works[2]?.end()
    works[3]?.end()
    expect(await Promise.all(results)).toEqual(['a', 'b', 'c', 'd'])
  })

  it('releases after a fault, and reports the fault to its own caller only', async () => {
    const semaphore = new Semaphore(1)
    const begun: string[] = []
    const [bad, good] = [held(begun, 'bad'), held(begun, 'good')]
    const refused = expect(semaphore.run(bad.work)).rejects.toThrow('no core left')
    const done = semaphore.run(good.work)
    await settled()
    bad.end(new Error('no core left'))
    await refused
    await settled()
    good.end()
    expect(await done).toBe('good')
  })

  it('does not let a new caller pass those who wait', async () => {
    const semaphore = new Semaphore(1)
    const begun: string[] = []
    const [first, waiting, late] = [held(begun, 'first'), held(begun, 'waiting'), held(begun, 'late')]
    const done = semaphore.run(first.work).then(() => semaphore.run(late.work))
    const waited = semaphore.run(waiting.work)
    await settled()
    first.end()
    await settled()
    expect(begun).toEqual(['first', 'waiting'])
    waiting.end()
    await waited
    await settled()
    late.end()
    expect(await done).toBe('late')
  })

  it('never exceeds the limit, in any order of work, and does all of it', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 4 }),
        fc.array(fc.record({ pauses: fc.integer({ min: 0, max: 3 }), fails: fc.boolean() }), { maxLength: 30 }),
        async (atOnce, jobs) => {
          const semaphore = new Semaphore(atOnce)
          let [running, most] = [0, 0]
          const results = await Promise.allSettled(
            jobs.map(({ pauses, fails }, at) =>
              semaphore.run(async () => {
                most = Math.max(most, ++running)
                for (let pause = 0; pause < pauses; pause++) await Promise.resolve()
                running--
                if (fails) throw new Error('fails')
                return at
              }),
            ),
          )
          expect(most).toBeLessThanOrEqual(atOnce)
          expect(results.map((result) => (result.status === 'fulfilled' ? result.value : 'failed'))).toEqual(
            jobs.map(({ fails }, at) => (fails ? 'failed' : at)),
          )
          expect(running).toBe(0)
        },
      ),
      { numRuns: 60 },
    )
  })
})
