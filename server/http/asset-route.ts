/** Serves the stylesheet, the scripts and the icon, compressed; a browser may keep them for a year. */
import compress from '@fastify/compress'
import fastifyStatic from '@fastify/static'
import { packageRoot } from '../paths.ts'
import type { Server } from './route.ts'

const URL = '/assets/:file'

/** The one route that sends a file: the plugins see no other, so that pages keep their own way of leaving. */
export async function serveAssets(server: Server): Promise<void> {
  server.appContext.routes.push({ method: 'GET', url: URL, roles: 'anyone' })
  await server.app.register(async (scope) => {
    await scope.register(compress, { encodings: ['gzip'] })
    await scope.register(fastifyStatic, { root: packageRoot, serve: false })
    scope.get(URL, (request, reply) => {
      const { file } = request.params as { readonly file: string }
      const asset = server.appContext.assets.byName.get(file)
      if (asset === undefined) return reply.callNotFound()
      return reply.sendFile(asset.file, asset.folder, { maxAge: '365d', immutable: true })
    })
  })
}
