/** Counts every answer and serves the figures to the collector. */
import { createHash, timingSafeEqual } from 'node:crypto'
import { PageResponse } from './page.ts'
import { type Server, openRoute } from './route.ts'

/** Counts every answer and registers /metrics, where there are figures to give. */
export function serveMetrics(server: Server): void {
  const {
    app,
    services: {
      config: { metricsToken },
    },
    appContext: { metrics },
  } = server
  if (metrics === null || metricsToken === null) return
  app.addHook('onRequest', (request, reply, done) => {
    // a stream's answer lasts as long as the board stays open
    if (isStream(request.routeOptions.url)) {
      metrics.streamOpened()
      reply.raw.once('close', () => {
        metrics.streamClosed()
      })
    }
    done()
  })
  app.addHook('onResponse', (request, reply, done) => {
    const { url } = request.routeOptions
    if (!isStream(url)) metrics.answered(url ?? 'none', request.method, reply.statusCode, reply.elapsedTime / 1000)
    done()
  })
  openRoute(server, { method: 'GET', url: '/metrics' }, async ({ request }) => {
    if (!isBearer(request.headers.authorization, metricsToken))
      return new PageResponse(
        401,
        { 'www-authenticate': 'Bearer', 'content-type': 'text/plain; charset=utf-8' },
        'The token of the collector is missing or wrong.\n',
      )
    return new PageResponse(200, { 'content-type': metrics.registry.contentType }, await metrics.text())
  })
}

function isStream(url: string | undefined): boolean {
  return url?.endsWith('/stream') === true
}

/** Compares digests of one length, so that the time taken tells nothing of the token. */
function isBearer(header: string | undefined, token: string): boolean {
  const digest = (text: string): Buffer => createHash('sha256').update(text).digest()
  return timingSafeEqual(digest(header ?? ''), digest(`Bearer ${token}`))
}
