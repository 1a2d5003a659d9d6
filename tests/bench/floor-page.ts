/**
 * The baseline of a page: node:http, one prepared statement, string concatenation, and exactly the bytes of the real
 * page, compressed at the same level. It has no session, roles or rules, so no framework can be faster.
 */
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { promisify } from 'node:util'
import { brotliCompress, constants, deflate, gzip } from 'node:zlib'
import Database from 'better-sqlite3'
import { serveParent } from './child.ts'

export type FloorPage = {
  readonly databaseFile: string
  /** The real page, split into one piece for each bed of the ward. */
  readonly pieces: readonly string[]
  readonly encoding: 'gzip' | 'br' | 'deflate' | 'identity'
  readonly level: number
}

const compressors = {
  gzip: (text: string, level: number) => promisify<string, object, Buffer>(gzip)(text, { level }),
  deflate: (text: string, level: number) => promisify<string, object, Buffer>(deflate)(text, { level }),
  br: (text: string, level: number) =>
    promisify<string, object, Buffer>(brotliCompress)(text, { params: { [constants.BROTLI_PARAM_QUALITY]: level } }),
  identity: (text: string) => Promise.resolve(Buffer.from(text)),
}

serveParent<FloorPage>(async ({ databaseFile, pieces, encoding, level }) => {
  const db = new Database(databaseFile)
  db.pragma('journal_mode = WAL')
  db.exec('CREATE TABLE piece (position INTEGER PRIMARY KEY, html TEXT NOT NULL) STRICT')
  const insert = db.prepare('INSERT INTO piece VALUES (?, ?)')
  pieces.forEach((html, position) => insert.run(position, html))
  const statement = db.prepare('SELECT html FROM piece ORDER BY position')
  const compress = compressors[encoding]
  const server = createServer((_request, response) => {
    let page = ''
    for (const row of statement.all() as { html: string }[]) page += row.html
    void compress(page, level).then((body) => {
      response.writeHead(200, {
        'content-type': 'text/html; charset=utf-8',
        'content-encoding': encoding,
        'content-length': body.length,
      })
      response.end(body)
    })
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  return { port: (server.address() as AddressInfo).port, answer: () => null, close: () => server.close() }
})
