/** Serves the stylesheet, the scripts and the icon from memory; a browser may keep them for a year. */
import { Answer, messageAnswer, takesGzip } from './page.ts'
import { openRoute, type Server } from './route.ts'

const FOR_EVER = 'public, max-age=31536000, immutable'

export function serveAssets(server: Server): void {
  openRoute(server, { method: 'GET', url: '/assets/:file' }, (visit) => {
    const { file } = visit.request.params as { readonly file: string }
    const asset = server.house.assets.byName.get(file)
    if (asset === undefined) return messageAnswer(visit, 404, 'not-found')
    const headers = { 'content-type': asset.type, 'cache-control': FOR_EVER, etag: asset.etag, vary: 'accept-encoding' }
    if (visit.request.headers['if-none-match'] === asset.etag) return new Answer(304, headers, '')
    return takesGzip(visit.request) ? new Answer(200, { ...headers, 'content-encoding': 'gzip' }, asset.packed) : new Answer(200, headers, asset.plain)
  })
}
