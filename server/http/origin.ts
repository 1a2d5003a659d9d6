/** Whether a POST was sent from a page of this service: the browser says so itself, and no page can change it. */
import type { FastifyRequest } from 'fastify'

/**
 * True when `Sec-Fetch-Site` says same-origin, or, where a browser does not send it (plain HTTP inside a hospital),
 * when `Origin` names this very host. A request with neither is refused: every browser in use sends one of them.
 */
export function isFromHere(request: FastifyRequest): boolean {
  const site = request.headers['sec-fetch-site']
  if (site !== undefined && site !== 'same-origin') return false
  const { origin } = request.headers
  if (origin === undefined) return site === 'same-origin'
  return URL.canParse(origin) && new URL(origin).host === request.host
}
