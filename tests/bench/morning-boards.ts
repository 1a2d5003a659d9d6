/**
 * One open board for each ward, and one list of all wards for each hospital: raw sockets that read the stream and
 * measure how long a charted value takes to appear.
 */
import { connect, type Socket } from 'node:net'

/** A reading of this morning on a bed's tile; one of the day before is shown with its weekday. */
const TODAYS = /tile-reading">(?:[^<]* mg\/dL, )?0[78]:\d\d/

export class MorningBoards {
  readonly #sockets: Socket[] = []
  /** By ward and bed, in elapsed time. */
  readonly #charted = new Map<string, number>()
  readonly #shown = new Map<string, number>()
  #ended = 0

  /** Opens the ward's board. Resolves once the whole board has come. */
  openBoard(port: number, ward: number, cookie: string): Promise<void> {
    return this.#open(port, '/board/stream', cookie, (message) => {
      this.#read(ward, message)
    })
  }

  /** Opens the list of all wards of one person. */
  openAllWards(port: number, cookie: string): Promise<void> {
    return this.#open(port, '/board/wards/stream', cookie, () => {})
  }

  #open(port: number, path: string, cookie: string, changed: (message: string) => void): Promise<void> {
    return new Promise((resolve, reject) => {
      const socket = connect({ port, host: '127.0.0.1', noDelay: true })
      this.#sockets.push(socket)
      let rest = ''
      socket.setEncoding('utf8')
      socket.once('error', reject)
      socket.once('connect', () =>
        socket.write(
          `GET ${path}?version= HTTP/1.1\r\nhost: 127.0.0.1:${String(port)}\r\naccept: text/event-stream\r\ncookie: ${cookie}\r\n\r\n`,
        ),
      )
      socket.on('data', (chunk: string) => {
        const messages = (rest + chunk).split('\n\n')
        rest = messages.pop() ?? ''
        for (const message of messages) {
          if (message.includes('event: full')) resolve()
          if (message.includes('event: ended')) {
            this.#ended++
            reject(new Error(`${path} was ended before it began: ${message}`))
          }
          if (message.includes('event: change')) changed(message)
        }
      })
    })
  }

  charted(ward: number, bed: number, atMs: number): void {
    this.#charted.set(`${String(ward)}.${String(bed)}`, atMs)
  }

  /** Milliseconds from each chart's response to its board; 0 where the board was first. */
  delays(): { readonly delays: readonly number[]; readonly neverShown: number; readonly ended: number } {
    const shown = [...this.#charted].flatMap(([place, chartedMs]) => {
      const shownMs = this.#shown.get(place)
      return shownMs === undefined ? [] : [Math.max(0, shownMs - chartedMs)]
    })
    return { delays: shown, neverShown: this.#charted.size - shown.length, ended: this.#ended }
  }

  close(): void {
    for (const socket of this.#sockets) socket.destroy()
  }

  #read(ward: number, message: string): void {
    const atMs = performance.now()
    const line = message.slice(message.indexOf('data: ') + 'data: '.length)
    const { put } = JSON.parse(line) as { put: readonly (readonly [part: string, html: string])[] }
    for (const [part, html] of put) {
      const bed = /^bed\.(\d+)$/.exec(part)?.[1]
      if (bed === undefined || !TODAYS.test(html)) continue
      const place = `${String(ward)}.${bed}`
      if (!this.#shown.has(place)) this.#shown.set(place, atMs)
    }
  }
}
