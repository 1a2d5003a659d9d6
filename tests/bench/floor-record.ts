/**
 * The baseline of a recording: node:http, the form's body parsed, and the same rows in one raw transaction (WAL,
 * synchronous FULL). It has no session, rules or hash: the best that a database on this disk can do.
 */
import { randomBytes } from 'node:crypto'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { parse } from 'node:querystring'
import Database from 'better-sqlite3'
import { serveParent } from './child.ts'
import type { RowChange } from './rows.ts'

export type FloorRecord = {
  /** A copy of the service's database, which this process may write to. */
  readonly databaseFile: string
  /** The rows that one recording of the service wrote. */
  readonly changes: readonly RowChange[]
}

/**
 * The values for unique columns of a copied row: as long and as random as the service's own ids, new in each
 * transaction.
 */
function unique(value: unknown, count: number, fresh: string): unknown {
  if (typeof value === 'number') return value + 1000 * count
  return typeof value === 'string' ? fresh.slice(0, value.length) : value
}

serveParent<FloorRecord>(async ({ databaseFile, changes }) => {
  const db = new Database(databaseFile)
  db.pragma('journal_mode = WAL')
  db.pragma('synchronous = FULL')
  db.pragma('foreign_keys = OFF')
  db.pragma('ignore_check_constraints = ON')
  for (const { name } of db.prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'").all() as {
    name: string
  }[])
    db.exec(`DROP TRIGGER "${name}"`)
  const writers = changes.map((change) => {
    const columns = Object.keys(change.row)
    const names = columns.map((column) => `"${column}"`).join(', ')
    if (change.kind === 'insert') {
      const statement = db.prepare(
        `INSERT INTO "${change.table}" (${names}) VALUES (${columns.map(() => '?').join(', ')})`,
      )
      return (count: number, fresh: string) =>
        statement.run(
          columns.map((column) =>
            change.unique.includes(column) ? unique(change.row[column], count, fresh) : change.row[column],
          ),
        )
    }
    const statement = db.prepare(
      `UPDATE "${change.table}" SET (${names}) = (${columns.map(() => '?').join(', ')}) WHERE ${change.key.map((column) => `"${column}" = ?`).join(' AND ')}`,
    )
    const valuesOf = (row: typeof change.row) => [...columns, ...change.key].map((column) => row[column])
    const [odd, even] = [valuesOf(change.row), valuesOf(change.earlier)]
    // changes the row twice, because SQLite writes no page for an unchanged row
    return (count: number) => statement.run(count % 2 === 1 ? odd : even)
  })
  let count = 0
  const record = db.transaction(() => {
    count++
    const fresh = randomBytes(40).toString('hex')
    for (const write of writers) write(count, fresh)
  })
  const server = createServer((request, response) => {
    let body = ''
    request.setEncoding('utf8')
    request.on('data', (chunk: string) => (body += chunk))
    request.on('end', () => {
      if (parse(body)['key'] === undefined) {
        response.writeHead(422).end()
        return
      }
      record.immediate()
      response.writeHead(303, { location: '/readings/abcdefghijklmnop' }).end()
    })
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  return { port: (server.address() as AddressInfo).port, answer: () => count, close: () => server.close() }
})
