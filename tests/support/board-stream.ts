/** A reader of the board's event stream, as a browser's EventSource reads it. */

export type Message = {
  readonly event: string
  readonly data: {
    readonly version?: string
    readonly put?: readonly (readonly [string, string])[]
    readonly needs?: readonly string[]
    readonly reason?: string
    readonly pass?: string
    readonly now?: number
    readonly at?: string
  }
}

export class BoardStream {
  readonly status: number
  readonly headers: Headers
  /** All messages, oldest first. */
  readonly messages: Message[] = []
  closed = false
  readonly #stop: AbortController

  private constructor(response: Response, stop: AbortController) {
    this.status = response.status
    this.headers = response.headers
    this.#stop = stop
    void this.#read(response)
  }

  static async open(
    origin: string,
    cookies: ReadonlyMap<string, string>,
    query = '',
    path = '/board/stream',
  ): Promise<BoardStream> {
    const stop = new AbortController()
    const cookie = [...cookies].map(([name, value]) => `${name}=${value}`).join('; ')
    const response = await fetch(`${origin}${path}${query}`, {
      headers: { accept: 'text/event-stream', ...(cookie === '' ? {} : { cookie }) },
      signal: stop.signal,
      redirect: 'manual',
    })
    return new BoardStream(response, stop)
  }

  /** Waits for the first message after `from` with the event's name. */
  async next(event: string, from = 0): Promise<Message> {
    for (;;) {
      const found = this.messages.slice(from).find((message) => message.event === event)
      if (found !== undefined) return found
      if (this.closed)
        throw new Error(`closed without ${event}: ${this.messages.map((message) => message.event).join(', ')}`)
      await new Promise((resolve) => setTimeout(resolve, 10))
    }
  }

  close(): void {
    this.#stop.abort()
  }

  async #read(response: Response): Promise<void> {
    let text = ''
    try {
      for await (const chunk of response.body ?? []) {
        text += Buffer.from(chunk as Uint8Array).toString('utf8')
        for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
          const [, event = '', data = '{}'] = /^event: (\w+)\ndata: (.*)$/s.exec(text.slice(0, end)) ?? []
          this.messages.push({ event, data: JSON.parse(data) as Message['data'] })
          text = text.slice(end + 2)
        }
      }
    } catch {
      // disconnected: `closed` is true
    }
    this.closed = true
  }
}
