/** Starts the service of service.ts in a separate process, sends it requests, and kills it. */
import { fork, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { packageRoot } from '../../server/paths.ts'
import type { Question, SetUp, State } from './service.ts'

const SERVICE = join(packageRoot, 'dist/tests/faults/service.js')

export type Child = {
  readonly port: number
  readonly ask: (question: Question) => Promise<unknown>
  readonly state: () => Promise<State>
  /** SIGKILL: no handler runs and nothing is flushed. */
  readonly kill: () => Promise<void>
  /** SIGTERM as on a ward: finishes, checkpoints and ends. Returns the exit code. */
  readonly stop: () => Promise<number | null>
}

/** Resolves once it listens. Throws with the message when it refuses to start. */
export async function startChild(setUp: SetUp): Promise<Child> {
  if (!existsSync(SERVICE)) throw new Error('npm run build comes first')
  const child = fork(SERVICE, { stdio: ['ignore', 'inherit', 'inherit', 'ipc'] })
  const gone = once(child, 'exit') as Promise<[number | null, string | null]>
  child.send(setUp)
  const first = await message(child)
  if (typeof first['port'] !== 'number') {
    await gone
    throw new Error(String(first['refused']))
  }
  const ask = async (question: Question): Promise<unknown> => {
    child.send(question)
    return (await message(child))['answer']
  }
  return {
    port: first['port'],
    ask,
    state: async () => (await ask({ kind: 'state' })) as State,
    kill: async () => {
      child.kill('SIGKILL')
      await gone
    },
    stop: async () => {
      if (child.connected) child.disconnect()
      return (await gone)[0]
    },
  }
}

async function message(child: ChildProcess): Promise<Readonly<Record<string, unknown>>> {
  return new Promise((resolve, reject) => {
    const onMessage = (answer: unknown): void => {
      child.off('exit', onExit)
      resolve(answer as Readonly<Record<string, unknown>>)
    }
    const onExit = (code: number | null): void => {
      child.off('message', onMessage)
      reject(new Error(`the service ended with ${code === null ? 'a signal' : String(code)}`))
    }
    child.once('message', onMessage)
    child.once('exit', onExit)
  })
}
