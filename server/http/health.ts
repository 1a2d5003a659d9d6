/**
 * /healthz: whether the database answers and can be written, and in one word how the scheduled backups stand. Only the
 * database decides the status: a ward that cannot be backed up charts all the same. Says nothing else, to anybody.
 */
import { PageResponse } from './page.ts'
import { openRoute, type Server } from './route.ts'

/** A write is really made, so that it is asked for at most once in this many milliseconds. */
const ASKED_AGAIN_AFTER_MS = 1000

type Health = { readonly readable: boolean; readonly writable: boolean }

export function serveHealth(server: Server): void {
  const { store, mono, backups } = server.services
  let last: { readonly health: Health; readonly atMs: number } | null = null
  openRoute(server, { method: 'GET', url: '/healthz' }, (ctx) => {
    const atMs = mono()
    if (last === null || atMs - last.atMs >= ASKED_AGAIN_AFTER_MS) last = { health: probe(ctx.request.log), atMs }
    const { readable, writable } = last.health
    const well = readable && writable
    return new PageResponse(
      well ? 200 : 503,
      { 'content-type': 'application/json; charset=utf-8' },
      JSON.stringify({
        status: well ? 'well' : 'not well',
        database: { readable, writable },
        backup: backups?.status().state ?? 'off',
      }),
    )
  })

  function probe(log: { error: (error: unknown, text: string) => void }): Health {
    try {
      const { readable, writable } = store.probe()
      return { readable, writable }
    } catch (error) {
      log.error(error, 'the database did not answer')
      return { readable: false, writable: false }
    }
  }
}
