/** What a person has to know by name to run or change the service is named in README.md or DEVELOPERS.md. */
import { describe, expect, it } from 'vitest'
import { ENVIRONMENT_NAMES } from '../../server/config.ts'
import { textOf } from '../support/house.ts'

const docs = `${textOf('README.md')}\n${textOf('DEVELOPERS.md')}`
const isNamed = (name: string): boolean =>
  new RegExp(`(?<![\\w/:-])${name.replace(/[.*+?^${}()|[\]\\/]/g, '\\$&')}(?![\\w/:-])`).test(docs)

describe('the documentation', () => {
  it('is read as words, not as parts of words', () => {
    expect(isNamed('npm')).toBe(true)
    expect(isNamed('np')).toBe(false)
    // a place left to be filled in
    expect(docs.match(/@@\w*@@/g) ?? []).toEqual([])
  })

  it('names every npm script', () => {
    const { scripts } = JSON.parse(textOf('package.json')) as { scripts: Record<string, string> }
    const missing = Object.keys(scripts).filter((script) => !isNamed(`npm run ${script}`) && !isNamed(`npm ${script}`))
    expect(missing).toEqual([])
  })

  it('names every environment variable', () => {
    expect(ENVIRONMENT_NAMES.length).toBeGreaterThan(3)
    expect([...ENVIRONMENT_NAMES, 'CHROMIUM_PATH'].filter((name) => !isNamed(name))).toEqual([])
  })
})
