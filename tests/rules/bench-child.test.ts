/** Requests of the bench to a measured process: several at once, each with its own response. */
import { describe, expect, it } from 'vitest'
import { answerTo, Letters, type ChildResponse, type Question } from '../bench/child.ts'

/** Both sides connected without a process; the other side responds when it is called. */
function joined(answer: (question: unknown) => unknown) {
  const asked: Question[] = []
  const letters = new Letters((question) => asked.push(question))
  const answerNext = async (at: number): Promise<ChildResponse> => {
    const [question] = asked.splice(at, 1)
    if (question === undefined) throw new Error('nothing was asked')
    const given = await answerTo(question, answer)
    letters.take(given)
    return given
  }
  return { letters, answerNext }
}

describe('requests to a measured process', () => {
  it('get their own responses, also when the later one is answered first', async () => {
    const { letters, answerNext } = joined((question) => `answer to ${String(question)}`)
    const [first, second, third] = [letters.ask('one'), letters.ask('two'), letters.ask('three')]
    await answerNext(2)
    await answerNext(0)
    await answerNext(0)
    expect(await Promise.all([first, second, third])).toEqual(['answer to one', 'answer to two', 'answer to three'])
  })

  it('report why they fail, and the others still get a response', async () => {
    const { letters, answerNext } = joined((question) => {
      if (question === 'bad') throw new Error('no such question')
      return question
    })
    const bad = letters.ask('bad')
    const good = letters.ask('good')
    const seen = expect(bad).rejects.toThrow('no such question')
    await answerNext(0)
    await answerNext(0)
    await seen
    expect(await good).toBe('good')
  })

  it('are refused, pending or new, once the other side has ended', async () => {
    const { letters } = joined(() => null)
    const waiting = expect(letters.ask('one')).rejects.toThrow('ended with 1')
    letters.end('ended with 1')
    await waiting
    await expect(letters.ask('two')).rejects.toThrow('ended with 1')
  })

  it('ignore a response without a request', async () => {
    const { letters, answerNext } = joined((question) => question)
    const asked = letters.ask('one')
    letters.take({ number: 99, answer: 'stray' })
    await answerNext(0)
    expect(await asked).toBe('one')
  })
})
