/** `npm run routes` prints exactly the routes that are registered. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { RouteSpec } from '../../server/http/route-spec.ts'
import { routeTable } from '../../server/http/route.ts'
import { registeredRoutes } from '../../server/routes/registered.ts'
import { formatRoutes } from '../../server/routes/table.ts'
import { makeWorld, type World } from '../support/world.ts'

/** Reads the printed table back: one text for each method and path, "GET /ward: floor-nurse, charge-nurse". */
function printedRoutes(text: string): readonly string[] {
  const [table = ''] = text.split('\n\n')
  return table
    .split('\n')
    .slice(1)
    .flatMap((line) => {
      const [path = '', methods = '', roles = ''] = line.split(/ {2,}/)
      return methods.split(', ').map((method) => `${method} ${path}: ${roles}`)
    })
    .sort()
}

const routesAsText = (routes: readonly RouteSpec[]): readonly string[] =>
  routes.map(({ method, url, roles }) => `${method} ${url}: ${roles === 'anyone' ? roles : roles.join(', ')}`).sort()

describe('formatRoutes', () => {
  it('joins the methods of a path and sorts by path', () => {
    expect(
      formatRoutes([
        { method: 'POST', url: '/ward', roles: ['educator'] },
        { method: 'GET', url: '/ward', roles: ['educator'] },
        { method: 'GET', url: '/healthz', roles: 'anyone' },
      ]).split('\n\n')[0],
    ).toBe(['path      methods    roles', '/healthz  GET        anyone', '/ward     GET, POST  educator'].join('\n'))
  })

  it('prints a line for each set of roles when the methods of a path differ in roles', () => {
    const routes: readonly RouteSpec[] = [
      { method: 'GET', url: '/ward', roles: ['floor-nurse', 'educator'] },
      { method: 'POST', url: '/ward', roles: ['educator'] },
    ]
    expect(printedRoutes(formatRoutes(routes))).toEqual(['GET /ward: floor-nurse, educator', 'POST /ward: educator'])
  })
})

describe('npm run routes', () => {
  let world: World
  beforeAll(async () => {
    world = await makeWorld({ config: { metricsToken: 'a-token-for-this-test' } })
  })
  afterAll(async () => world.close())

  it('prints every registered route with its roles, and no other route', async () => {
    const registered = routesAsText(routeTable(world.server))
    expect(registered.length).toBeGreaterThan(100)
    expect(registered).toContain('GET /metrics: anyone')
    expect(printedRoutes(formatRoutes(await registeredRoutes()))).toEqual(registered)
  })
})
