/** What a person has to know by name to run or change the service is named in README.md or DEVELOPERS.md. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ENVIRONMENT_NAMES } from '../../server/config.ts'
import { routeTable } from '../../server/http/route.ts'
import { textOf } from '../support/house.ts'
import { makeWorld, type World } from '../support/world.ts'

const docs = `${textOf('README.md')}\n${textOf('DEVELOPERS.md')}`
const isNamed = (name: string): boolean =>
  new RegExp(`(?<![\\w/:-])${name.replace(/[.*+?^${}()|[\]\\/]/g, '\\$&')}(?![\\w/:-])`).test(docs)

describe('the documentation', () => {
  let world: World
  beforeAll(async () => {
    world = await makeWorld()
  })
  afterAll(async () => world.close())

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

  it('names every route', () => {
    const routes = routeTable(world.server)
    expect(routes.length).toBeGreaterThan(20)
    expect([...new Set(routes.map(({ url }) => url))].filter((url) => !isNamed(url))).toEqual([])
  })
})
