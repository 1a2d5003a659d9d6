/** The bench's questions to a process under measurement: several at once, each with its own answer. */
import { describe, expect, it } from 'vitest'
import { answerTo, Letters, type ChildResponse, type Question } from '../bench/child.ts'

/** Both sides joined without a process between them; the other side answers when its turn is called. */
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

describe('questions to a process under measurement', () => {
  it('are answered each with its own answer, also when the later one is answered first', async () => {
    const { letters, answerNext } = joined((question) => `answer to ${String(question)}`)
    const [first, second, third] = [letters.ask('one'), letters.ask('two'), letters.ask('three')]
    await answerNext(2)
    await answerNext(0)
    await answerNext(0)
    expect(await Promise.all([first, second, third])).toEqual(['answer to one', 'answer to two', 'answer to three'])
  })

  it('that fail say why, and the others are still answered', async () => {
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

  it('are refused, waiting or new, once the other side has ended', async () => {
    const { letters } = joined(() => null)
    const waiting = expect(letters.ask('one')).rejects.toThrow('ended with 1')
    letters.end('ended with 1')
    await waiting
    await expect(letters.ask('two')).rejects.toThrow('ended with 1')
  })

  it('an answer to a question that nobody asked changes nothing', async () => {
    const { letters, answerNext } = joined((question) => question)
    const asked = letters.ask('one')
    letters.take({ number: 99, answer: 'stray' })
    await answerNext(0)
    expect(await asked).toBe('one')
  })
})
