/** Sends raw bytes over a connection that is reopened whenever the service closes it, and reads the status. */
import { connect, type Socket } from 'node:net'

export type RawAnswer = { readonly status: number; readonly location: string | null }

/** No response of the service takes nearly as long: a timeout is a fault. */
const NO_ANSWER_MS = 60_000

export class RawConnection {
  readonly #port: number
  #socket: Socket | null = null

  constructor(port: number) {
    this.#port = port
  }

  /** Null when no response came. `isHead`: a response without its body. */
  async send(request: string | Buffer, isHead: boolean): Promise<RawAnswer | null> {
    const socket = this.#socket?.writable === true ? this.#socket : await this.#open()
    return new Promise((resolve) => {
      let received: Buffer = Buffer.alloc(0)
      const settle = (goesOn: boolean): void => {
        clearTimeout(timer)
        socket.off('data', onData).off('close', onClose)
        if (!goesOn) this.close()
        const status = statusOf(received)
        resolve(
          status === null
            ? null
            : { status, location: /\r\nlocation: *([^\r]*)/i.exec(received.toString('latin1'))?.[1] ?? null },
        )
      }
      const onData = (chunk: Buffer): void => {
        received = withoutContinue(Buffer.concat([received, chunk]))
        const whole = wholeAnswer(received, isHead)
        if (whole !== null) settle(whole.goesOn)
      }
      // a response may come in part before the service closes on unreadable input
      const onClose = (): void => {
        settle(false)
      }
      const timer = setTimeout(() => {
        settle(false)
      }, NO_ANSWER_MS)
      socket.on('data', onData).on('close', onClose)
      socket.write(request)
    })
  }

  close(): void {
    this.#socket?.destroy()
    this.#socket = null
  }

  async #open(): Promise<Socket> {
    const socket = connect({ port: this.#port, host: '127.0.0.1', noDelay: true })
    socket.on('error', () => undefined)
    await new Promise<void>((resolve) => {
      socket.once('connect', resolve).once('close', resolve)
    })
    this.#socket = socket
    return socket
  }
}

/** "100 Continue" precedes the response and is skipped. */
function withoutContinue(received: Buffer): Buffer {
  const end = received.indexOf('\r\n\r\n')
  return statusOf(received) === 100 && end >= 0 ? Buffer.from(received.subarray(end + 4)) : received
}

function statusOf(received: Buffer): number | null {
  const status = /^HTTP\/1\.1 (\d{3}) /.exec(received.toString('latin1', 0, 20))?.[1]
  return status === undefined ? null : Number(status)
}

/** Null while a part is missing; and whether the connection stays open. */
function wholeAnswer(received: Buffer, isHead: boolean): { readonly goesOn: boolean } | null {
  const headEnd = received.indexOf('\r\n\r\n')
  const status = statusOf(received)
  if (headEnd < 0 || status === null) return null
  const head = received.toString('latin1', 0, headEnd)
  const goesOn = !/\r\nconnection: close/i.test(head)
  const length = /\r\ncontent-length: *(\d+)/i.exec(head)?.[1]
  const body = received.length - headEnd - 4
  if (isHead || status === 204 || status === 304 || (length !== undefined && body >= Number(length))) return { goesOn }
  if (length === undefined && /\r\ntransfer-encoding: *chunked/i.test(head))
    return received.subarray(-5).toString('latin1') === '0\r\n\r\n' ? { goesOn } : null
  return null
}
