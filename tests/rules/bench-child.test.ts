/** Requests of the bench to a measured process: several at once, each with its own response. */
import { describe, expect, it } from 'vitest'
import { answerTo, RequestChannel, type ChildResponse, type Question } from '../bench/child.ts'

/** Both sides connected without a process; the other side responds when it is called. */
function joined(answer: (question: unknown) => unknown) {
  const asked: Question[] = []
  const channel = new RequestChannel((question) => asked.push(question))
  const answerNext = async (at: number): Promise<ChildResponse> => {
    const [question] = asked.splice(at, 1)
    if (question === undefined) throw new Error('nothing was asked')
    const given = await answerTo(question, answer)
    channel.receive(given)
    return given
  }
  return { channel, answerNext }
}

describe('requests to a measured process', () => {
  it('get their own responses, also when the later one is answered first', async () => {
    const { channel, answerNext } = joined((question) => `answer to ${String(question)}`)
    const [first, second, third] = [channel.ask('one'), channel.ask('two'), channel.ask('three')]
    await answerNext(2)
    await answerNext(0)
    await answerNext(0)
    expect(await Promise.all([first, second, third])).toEqual(['answer to one', 'answer to two', 'answer to three'])
  })

  it('report why they fail, and the others still get a response', async () => {
    const { channel, answerNext } = joined((question) => {
      if (question === 'bad') throw new Error('no such question')
      return question
    })
    const bad = channel.ask('bad')
    const good = channel.ask('good')
    const seen = expect(bad).rejects.toThrow('no such question')
    await answerNext(0)
    await answerNext(0)
    await seen
    expect(await good).toBe('good')
  })

  it('are refused, pending or new, once the other side has ended', async () => {
    const { channel } = joined(() => null)
    const waiting = expect(channel.ask('one')).rejects.toThrow('ended with 1')
    channel.end('ended with 1')
    await waiting
    await expect(channel.ask('two')).rejects.toThrow('ended with 1')
  })

  it('ignore a response without a request', async () => {
    const { channel, answerNext } = joined((question) => question)
    const asked = channel.ask('one')
    channel.receive({ number: 99, answer: 'stray' })
    await answerNext(0)
    expect(await asked).toBe('one')
  })
})
