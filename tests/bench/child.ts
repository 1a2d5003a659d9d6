/** Servers under measurement run in processes of their own and talk to the bench by messages. */
import { fork } from 'node:child_process'
import { once } from 'node:events'
import { fileURLToPath } from 'node:url'

export type Child = {
  readonly port: number
  /** Asks the child something. Several questions may be under way at once: each gets its own answer. */
  readonly ask: (question: unknown) => Promise<unknown>
  readonly stop: () => Promise<void>
}

/** A question and its answer carry one number, since a later question may be answered first. */
type Numbered = { readonly number: number }
export type Question = Numbered & { readonly question: unknown }
export type ChildResponse = Numbered & ({ readonly answer: unknown } | { readonly fault: string })

/** Starts `<name>.js` beside this file, hands it `setUp`, and waits until it says which port it listens on. */
export async function startChild(name: string, setUp: unknown): Promise<Child> {
  const process_ = fork(fileURLToPath(new URL(`./${name}.js`, import.meta.url)), {
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  })
  const letters = new Letters((question) => process_.send(question))
  process_.on('message', (answer) => {
    letters.take(answer as ChildResponse)
  })
  process_.once('exit', (code) => {
    letters.end(`${name} ended with ${code ?? 'a signal'}`)
  })
  const { port } = (await letters.ask(setUp).catch((error: unknown) => {
    process_.kill()
    throw error
  })) as { port: number }
  return {
    port,
    ask: (question) => letters.ask(question),
    stop: async () => {
      if (process_.exitCode !== null || process_.signalCode !== null) return
      const gone = once(process_, 'exit')
      process_.disconnect()
      await gone
    },
  }
}

/** The asking side: questions out, answers back in whatever order they come. */
export class Letters {
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

  /** Rejects when the question could not be answered, and when the other side has ended. */
  ask(question: unknown): Promise<unknown> {
    if (this.#ended !== null) return Promise.reject(new Error(this.#ended))
    const number = ++this.#count
    return new Promise((resolve, reject) => {
      this.#waiting.set(number, { resolve, reject })
      this.#send({ number, question })
    })
  }

  take(answer: ChildResponse): void {
    const asker = this.#waiting.get(answer.number)
    this.#waiting.delete(answer.number)
    if ('fault' in answer) asker?.reject(new Error(answer.fault))
    else asker?.resolve(answer.answer)
  }

  /** The other side is gone: nobody who still waits will be answered. */
  end(why: string): void {
    this.#ended = why
    for (const { reject } of this.#waiting.values()) reject(new Error(why))
    this.#waiting.clear()
  }
}

/** The answering side of one question: its answer, or what went wrong, under its number. */
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

/** The child's side: the first question sets it up, each later one is answered; it ends with its parent. */
export function asChild<S>(
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
