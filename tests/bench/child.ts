/** Servers under measurement run in processes of their own and talk to the bench by messages. */
import { fork, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { fileURLToPath } from 'node:url'

export type Child = {
  readonly port: number
  /** Asks the child something; it answers one message for each. */
  readonly ask: (question: unknown) => Promise<unknown>
  readonly stop: () => Promise<void>
}

/** Starts `<name>.js` beside this file, hands it `setUp`, and waits until it says which port it listens on. */
export async function startChild(name: string, setUp: unknown): Promise<Child> {
  const process_ = fork(fileURLToPath(new URL(`./${name}.js`, import.meta.url)), { stdio: ['ignore', 'inherit', 'inherit', 'ipc'] })
  process_.send(setUp as object)
  const { port } = (await message(process_, name)) as { port: number }
  return {
    port,
    ask: async (question) => {
      process_.send(question as object)
      return message(process_, name)
    },
    stop: async () => {
      if (process_.exitCode !== null) return
      const gone = once(process_, 'exit')
      process_.disconnect()
      await gone
    },
  }
}

async function message(process_: ChildProcess, name: string): Promise<unknown> {
  return new Promise((resolve, reject) => {
    const onMessage = (answer: unknown): void => {
      process_.off('exit', onExit)
      resolve(answer)
    }
    const onExit = (code: number | null): void => {
      process_.off('message', onMessage)
      reject(new Error(`${name} ended with ${code ?? 'a signal'}`))
    }
    process_.once('message', onMessage)
    process_.once('exit', onExit)
  })
}

/** The child's side: the first message sets it up, each later one is answered; it ends with its parent. */
export function asChild<S>(start: (setUp: S) => Promise<{ readonly port: number; readonly answer: (question: unknown) => unknown; readonly close: () => void }>): void {
  const send = (value: unknown): void => {
    process.send?.(value)
  }
  process.once('message', (setUp) => {
    void start(setUp as S).then(({ port, answer, close }) => {
      process.on('message', (question) => void Promise.resolve(answer(question)).then(send))
      process.once('disconnect', () => {
        close()
        process.exit(0)
      })
      send({ port })
    })
  })
}
