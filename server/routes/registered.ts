/** The routes of a real ward's service, from the route table that the service itself fills. */
import { buildServer } from '../app.ts'
import { defaultConfig } from '../config.ts'
import { newId } from '../http/ids.ts'
import type { RouteSpec } from '../http/route-spec.ts'
import { routeTable } from '../http/route.ts'
import { openStore } from '../store/open.ts'

/** Any valid token: /metrics is registered only where one is set. */
const METRICS_TOKEN = 'listed-and-never-used'

/** Builds the service on an empty database in memory, without listening, and returns its routes. */
export async function registeredRoutes(): Promise<readonly RouteSpec[]> {
  const store = openStore({ file: ':memory:' })
  try {
    const server = await buildServer({
      store,
      now: () => 0,
      mono: () => 0,
      newId,
      config: { ...defaultConfig(), logLevel: 'silent', metricsToken: METRICS_TOKEN },
      demoClock: null,
    })
    const routes = [...routeTable(server)]
    await server.app.close()
    return routes
  } finally {
    store.close()
  }
}
