/** The short form of `npm run faults`: each part for a few seconds, and no fault. */
import { describe, expect, it } from 'vitest'
import { clock } from './clock.ts'
import { diskFull } from './disk-full.ts'
import { kill } from './kill.ts'
import { malformed } from './malformed.ts'
import { race } from './race.ts'
import type { Result } from './part.ts'

/** Each run has another seed, and a fault names its seed. */
const SEED = 20_260_310

describe('the parts of npm run faults', { timeout: 600_000 }, () => {
  it.each<readonly [string, () => Promise<Result>, RegExp]>([
    ['kill', () => kill('short', SEED), /^[1-9]\d* acknowledged, /],
    [
      'disk-full',
      () => diskFull('short'),
      /^10 forms back with the sentence, 0 for which the log had room, 50 pages opened meanwhile, 10 charted once/,
    ],
    ['clock', () => clock('short'), /^[1-9]\d\d assertions/],
    ['malformed', () => malformed('short', SEED), /(^|, )422: [1-9]\d*/],
    [
      'race',
      () => race('short', SEED),
      /^[1-9]\d* checks, [1-9]\d* posts: [1-9]\d* won, [1-9]\d* lost and told so; ([1-9]\d*0) doses, \1 given/,
    ],
  ])('%s', async (_name, part, counted) => {
    const result = await part()
    expect(result.faults).toEqual([])
    expect(result.counted).toMatch(counted)
  })
})
