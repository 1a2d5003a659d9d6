/**
 * A small keep-alive HTTP/1.1 client over raw sockets, so that measuring uses little of the measured machine. One
 * request at a time on each connection, like a browser's form.
 */
import { connect, type Socket } from 'node:net'

export type HttpResponse = { readonly status: number; readonly headers: string; readonly body: Buffer }
export type Asked = {
  readonly method: 'GET' | 'POST'
  readonly path: string
  readonly headers: Readonly<Record<string, string>>
  readonly body?: string
}

/** One connection. Send the next request only after the last response. */
export class Connection {
  readonly #socket: Socket
  readonly #host: string
  #received: Buffer = Buffer.alloc(0)
  #waiting: { readonly resolve: (answer: HttpResponse) => void; readonly reject: (error: Error) => void } | null = null

  private constructor(socket: Socket, host: string) {
    this.#socket = socket
    this.#host = host
    socket.on('data', (chunk) => {
      this.#received = this.#received.length === 0 ? chunk : Buffer.concat([this.#received, chunk])
      this.#read()
    })
    socket.on('error', (error) => this.#waiting?.reject(error))
    socket.on('close', () => this.#waiting?.reject(new Error('the server closed the connection')))
  }

  static async open(port: number): Promise<Connection> {
    const socket = connect({ port, host: '127.0.0.1', noDelay: true })
    await new Promise<void>((resolve, reject) => socket.once('connect', resolve).once('error', reject))
    return new Connection(socket, `127.0.0.1:${port}`)
  }

  /** False once the server or the network has closed it, as a server does with an idle one. */
  get isOpen(): boolean {
    return !this.#socket.destroyed && this.#socket.readable
  }

  ask(asked: Asked): Promise<HttpResponse> {
    let head = `${asked.method} ${asked.path} HTTP/1.1\r\nhost: ${this.#host}\r\n`
    for (const [name, value] of Object.entries(asked.headers)) head += `${name}: ${value}\r\n`
    if (asked.body !== undefined)
      head += `content-type: application/x-www-form-urlencoded\r\ncontent-length: ${Buffer.byteLength(asked.body)}\r\n`
    return new Promise((resolve, reject) => {
      this.#waiting = { resolve, reject }
      this.#socket.write(`${head}\r\n${asked.body ?? ''}`)
    })
  }

  close(): void {
    this.#socket.destroy()
  }

  #read(): void {
    const headEnd = this.#received.indexOf('\r\n\r\n')
    if (headEnd < 0 || this.#waiting === null) return
    const headers = this.#received.toString('latin1', 0, headEnd)
    const status = Number(headers.slice(9, 12))
    const whole = bodyOf(headers, this.#received, headEnd + 4, status)
    if (whole === null) return
    this.#received = this.#received.subarray(whole.end)
    const { resolve } = this.#waiting
    this.#waiting = null
    resolve({ status, headers, body: whole.body })
  }
}

/** The body and its end. Null while a part is missing. */
function bodyOf(
  headers: string,
  received: Buffer,
  start: number,
  status: number,
): { readonly body: Buffer; readonly end: number } | null {
  const length = /\r\ncontent-length: *(\d+)/i.exec(headers)?.[1]
  if (length !== undefined) {
    const end = start + Number(length)
    return received.length < end ? null : { body: received.subarray(start, end), end }
  }
  if (!/\r\ntransfer-encoding: *chunked/i.test(headers))
    return status === 204 || status === 304 ? { body: Buffer.alloc(0), end: start } : null
  const chunks: Buffer[] = []
  for (let at = start; ;) {
    const lineEnd = received.indexOf('\r\n', at)
    if (lineEnd < 0) return null
    const size = Number.parseInt(received.toString('latin1', at, lineEnd), 16)
    const next = lineEnd + 2 + size + 2
    if (received.length < next) return null
    if (size === 0) return { body: Buffer.concat(chunks), end: next }
    chunks.push(received.subarray(lineEnd + 2, lineEnd + 2 + size))
    at = next
  }
}

/**
 * Sends requests from several connections at once until they run out or the time is over. Returns requests a second.
 * Throws on an unexpected status, so that a fast refusal does not count as speed.
 */
export async function drive(load: {
  readonly port: number
  readonly connections: number
  readonly forMs: number
  readonly expect: number
  readonly next: () => Asked | null
}): Promise<number> {
  const connections = await Promise.all(Array.from({ length: load.connections }, () => Connection.open(load.port)))
  const startedAt = performance.now()
  let answered = 0
  await Promise.all(
    connections.map(async (connection) => {
      for (let asked = load.next(); asked !== null && performance.now() - startedAt < load.forMs; asked = load.next()) {
        const answer = await connection.ask(asked)
        if (answer.status !== load.expect)
          throw new Error(
            `${asked.method} ${asked.path} answered ${answer.status}: ${answer.body.toString('latin1', 0, 300)}`,
          )
        answered++
      }
    }),
  )
  const seconds = (performance.now() - startedAt) / 1000
  for (const connection of connections) connection.close()
  return answered / seconds
}
