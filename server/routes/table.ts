/** The route table as text: one line for each path, with its methods and the roles that may use it. */
import type { RouteSpec } from '../http/route-spec.ts'

const HEADINGS: Line = ['path', 'methods', 'roles']

/** What the two exceptions in the table mean. */
const NOTES = [
  '“anyone” needs no login.',
  '/metrics exists only where METRICS_TOKEN is set, and only a request with that token is answered.',
]

type Line = readonly [path: string, methods: string, roles: string]

/**
 * Formats routes as aligned columns with a heading and notes, sorted by path. A path whose methods have different roles
 * gets a line for each set of roles.
 */
export function formatRoutes(routes: readonly RouteSpec[]): string {
  const lines = [HEADINGS, ...linesOf(routes)]
  const widths = [0, 1].map((column) => Math.max(...lines.map((line) => (line[column] ?? '').length)))
  const text = lines.map(([path, methods, roles]) =>
    [path.padEnd(widths[0] ?? 0), methods.padEnd(widths[1] ?? 0), roles].join('  '),
  )
  return [...text, '', ...NOTES].join('\n')
}

function linesOf(routes: readonly RouteSpec[]): readonly Line[] {
  const grouped = new Map<string, { path: string; roles: string; methods: string[] }>()
  for (const { method, url, roles } of routes) {
    const named = roles === 'anyone' ? roles : roles.join(', ')
    const key = `${url} ${named}`
    const group = grouped.get(key) ?? { path: url, roles: named, methods: [] }
    grouped.set(key, group)
    group.methods.push(method)
  }
  return [...grouped.values()]
    .map(({ path, methods, roles }): Line => [path, methods.sort().join(', '), roles])
    .sort(([one], [other]) => (one < other ? -1 : one > other ? 1 : 0))
}
