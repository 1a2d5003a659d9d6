/**
 * Many open boards in a separate process: raw sockets that request the stream, as browsers do, and count what comes.
 */
import { connect, type Socket } from 'node:net'
import { serveParent } from './child.ts'

/** `cookies`: one session for each three boards or fewer. */
export type Boards = { readonly port: number; readonly cookies: readonly string[] }
export type BoardsQuestion = { readonly kind: 'open' | 'close' } | { readonly kind: 'seen' }
/** What the boards have received since the last request. */
export type BoardsSeen = {
  readonly open: number
  readonly changes: number
  readonly beats: number
  readonly bytes: number
  readonly ended: number
}

serveParent<Boards>(async ({ port, cookies }) => {
  let sockets: Socket[] = []
  let seen = { changes: 0, beats: 0, bytes: 0, ended: 0 }
  const open = (cookie: string): Promise<Socket> =>
    new Promise((resolve, reject) => {
      const socket = connect({ port, host: '127.0.0.1', noDelay: true })
      socket.once('error', reject)
      socket.once('connect', () =>
        socket.write(
          `GET /board/stream?version= HTTP/1.1\r\nhost: 127.0.0.1:${String(port)}\r\naccept: text/event-stream\r\ncookie: ${cookie}\r\n\r\n`,
        ),
      )
      socket.on('data', (chunk) => {
        const text = chunk.toString('latin1')
        if (text.includes('event: full')) resolve(socket)
        seen.bytes += chunk.length
        seen.changes += text.split('event: change\n').length - 1
        seen.beats += text.split('event: beat\n').length - 1
        seen.ended += text.split('event: ended\n').length - 1
      })
    })
  const answer = async (question: unknown): Promise<unknown> => {
    const asked = question as BoardsQuestion
    if (asked.kind === 'open') sockets = await Promise.all(cookies.map(open))
    if (asked.kind === 'close') for (const socket of sockets.splice(0)) socket.destroy()
    const report: BoardsSeen = { open: sockets.filter(({ destroyed }) => !destroyed).length, ...seen }
    seen = { changes: 0, beats: 0, bytes: 0, ended: 0 }
    return report
  }
  return {
    port,
    answer,
    close: () => {
      for (const socket of sockets) socket.destroy()
    },
  }
})
