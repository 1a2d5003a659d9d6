/** Measured servers run in separate processes and exchange messages with the bench. */
import { fork } from 'node:child_process'
import { once } from 'node:events'
import { fileURLToPath } from 'node:url'

export type Child = {
  readonly port: number
  /** Sends a request to the child. Several may be pending at once: each gets its own response. */
  readonly ask: (question: unknown) => Promise<unknown>
  readonly stop: () => Promise<void>
}

/** A request and its response have the same number, since a later request may be answered first. */
type Numbered = { readonly number: number }
export type Question = Numbered & { readonly question: unknown }
export type ChildResponse = Numbered & ({ readonly answer: unknown } | { readonly fault: string })

/** Starts `<name>.js` beside this file, sends it `setUp`, and waits for its port. */
export async function startChild(name: string, setUp: unknown): Promise<Child> {
  const process_ = fork(fileURLToPath(new URL(`./${name}.js`, import.meta.url)), {
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  })
  const channel = new RequestChannel((question) => process_.send(question))
  process_.on('message', (answer) => {
    channel.receive(answer as ChildResponse)
  })
  process_.once('exit', (code) => {
    channel.end(`${name} ended with ${code ?? 'a signal'}`)
  })
  const { port } = (await channel.ask(setUp).catch((error: unknown) => {
    process_.kill()
    throw error
  })) as { port: number }
  return {
    port,
    ask: (question) => channel.ask(question),
    stop: async () => {
      if (process_.exitCode !== null || process_.signalCode !== null) return
      const gone = once(process_, 'exit')
      process_.disconnect()
      await gone
    },
  }
}

/** The bench's side: sends requests and matches responses in any order. */
export class RequestChannel {
  readonly #send: (question: Question) => void
  readonly #waiting = new Map<
    number,
    { readonly resolve: (answer: unknown) => void; readonly reject: (error: Error) => void }
  >()
  #count = 0
  #ended: string | null = null

  constructor(send: (question: Question) => void) {
    this.#send = send
  }

  /** Rejects when the request fails, and when the other side has ended. */
  ask(question: unknown): Promise<unknown> {
    if (this.#ended !== null) return Promise.reject(new Error(this.#ended))
    const number = ++this.#count
    return new Promise((resolve, reject) => {
      this.#waiting.set(number, { resolve, reject })
      this.#send({ number, question })
    })
  }

  receive(answer: ChildResponse): void {
    const pending = this.#waiting.get(answer.number)
    this.#waiting.delete(answer.number)
    if ('fault' in answer) pending?.reject(new Error(answer.fault))
    else pending?.resolve(answer.answer)
  }

  /** The other side has ended: rejects everything pending. */
  end(why: string): void {
    this.#ended = why
    for (const { reject } of this.#waiting.values()) reject(new Error(why))
    this.#waiting.clear()
  }
}

/** Handles one request: its response, or its error, under its number. */
export async function answerTo(
  { number, question }: Question,
  answer: (question: unknown) => unknown,
): Promise<ChildResponse> {
  try {
    return { number, answer: await answer(question) }
  } catch (error) {
    return { number, fault: error instanceof Error ? (error.stack ?? error.message) : String(error) }
  }
}

/** The child's side: the first request sets it up, each later one is answered; it ends with its parent. */
export function serveParent<S>(
  start: (
    setUp: S,
  ) => Promise<{ readonly port: number; readonly answer: (question: unknown) => unknown; readonly close: () => void }>,
): void {
  const send = (answer: ChildResponse): void => {
    process.send?.(answer)
  }
  process.once('message', (first: Question) => {
    void answerTo(first, async (setUp) => {
      const { port, answer, close } = await start(setUp as S)
      process.on('message', (question: Question) => {
        void answerTo(question, answer).then(send)
      })
      process.once('disconnect', () => {
        close()
        process.exit(0)
      })
      return { port }
    }).then(send)
  })
}
