/** The second person's decision on a transcription: verified, ended, or not accepted. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { InsulinName, InsulinOrder, OrderVersion, ScaleAnswer } from './order.ts'
import { boundText, isDeliverable, LARGEST_BOUND } from './scale.ts'
import { transcribedAnswer, type VerificationAnswer, type VerificationQuestion } from './verification.ts'
import { countOf } from './written.ts'

/** Why this person cannot verify this version. */
export type VerifyBlock =
  | 'order-gone'
  | 'stay-discharged'
  | 'verified-already'
  | 'verification-differed'
  | 'order-ended'
  | 'verifier-transcribed'
/** The number is that of the question, so that the message appears beside it. */
export type EnteredRefusal = 'answer-1' | 'answer-2' | 'answer-3'

/** What is wrong with a typed answer. */
type AnswerFault = { found: 'missing' | 'both' | 'no-units' } | { found: 'no-glucose'; unit: string; example: string }

declare module '../outcome.ts' {
  interface RefusalDetails {
    'answer-1': AnswerFault
    'answer-2': AnswerFault
    'answer-3': AnswerFault
  }
}
export type VerifyRefusal = VerifyBlock | EnteredRefusal

export type VerifyFacts = {
  readonly version: OrderVersion
  /** True when an earlier verification of this version differed. */
  readonly differed: boolean
  readonly wardId: string
  readonly dischargedAtMs: number | null
  readonly nowMs: number
}

/**
 * Why the person may not verify the version now. Null: they may. The transcriber never may. A version is verified once,
 * and one difference ends it permanently. A version that starts later can be verified before it starts.
 */
export function verifyBlock(
  { version, differed, dischargedAtMs, nowMs }: VerifyFacts,
  byId: string,
): VerifyBlock | null {
  if (dischargedAtMs !== null) return 'stay-discharged'
  if (version.verified !== null) return 'verified-already'
  if (differed) return 'verification-differed'
  const { stopsAtMs } = version.order
  if ((version.endedAtMs !== null && version.endedAtMs <= nowMs) || (stopsAtMs !== null && stopsAtMs <= nowMs))
    return 'order-ended'
  return version.transcribedById === byId ? 'verifier-transcribed' : null
}

/** One typed answer: digits, or the tick beside them ("no dose, call" for a dose, "never held" for a hold). */
export type TypedAnswer = { readonly text: string; readonly ticked: boolean }

/**
 * Parses the form's answers in the questions' order: units in halves, a hold as the order's unit prints it. An
 * unreadable answer is refused and does not count as a difference.
 */
export function readAnswers(
  order: InsulinOrder,
  questions: readonly VerificationQuestion[],
  typed: readonly TypedAnswer[],
): Outcome<readonly ScaleAnswer[], EnteredRefusal> {
  const read: ScaleAnswer[] = []
  for (const [index, question] of questions.entries()) {
    const reason = (['answer-1', 'answer-2', 'answer-3'] as const)[index]
    if (reason === undefined) throw new Error('more questions than the form has')
    const { text, ticked } = typed[index] ?? { text: '', ticked: false }
    if (text === '' && !ticked) return refuse(reason, { found: 'missing' })
    if (text !== '' && ticked) return refuse(reason, { found: 'both' })
    const isHold = question.kind === 'scheduled-hold'
    const answer = ticked ? (isHold ? 0 : 'call') : isHold ? holdOf(text, order) : unitsOf(text)
    if (answer === null)
      return refuse(
        reason,
        isHold
          ? { found: 'no-glucose', unit: order.unit, example: boundText(order.unit === 'mg/dL' ? 100 : 56, order.unit) }
          : { found: 'no-units' },
      )
    read.push(answer)
  }
  return accept(read)
}

function unitsOf(text: string): number | null {
  if (!/^\d{1,3}([.]5)?$/.test(text)) return null
  return isDeliverable(Number(text)) ? Number(text) : null
}

function holdOf(text: string, { unit }: InsulinOrder): number | null {
  const count = countOf(text, unit)
  return count !== null && count > 0 && count <= LARGEST_BOUND[unit] ? count : null
}

export type Verifying = {
  readonly byId: string
  readonly insulin: InsulinName
  readonly questions: readonly VerificationQuestion[]
  /** In the questions' order. */
  readonly entered: readonly ScaleAnswer[]
}

/**
 * Compares insulin and answers with the transcription. If all are equal, both answered and verified events are charted.
 * Any difference charts answered and not agreed, which ends the version permanently. The service repairs nothing and
 * does not decide which side is right.
 */
export function verifyOrder(
  { byId, insulin, questions, entered }: Verifying,
  facts: VerifyFacts,
): Outcome<readonly LedgerEvent[], VerifyBlock> {
  const block = verifyBlock(facts, byId)
  if (block !== null) return refuse(block)
  const {
    version: { orderId, version, stayId, order },
    wardId,
    nowMs,
  } = facts
  const doses = questions.map((question, index): VerificationAnswer => {
    const [answer, transcribed] = [entered[index], transcribedAnswer(order, question)]
    if (answer === undefined) throw new Error('a question without its answer')
    return { question, entered: answer, transcribed, agrees: answer === transcribed }
  })
  const answers: VerificationAnswer[] = [
    { question: { kind: 'insulin' }, entered: insulin, transcribed: order.insulin, agrees: insulin === order.insulin },
    ...doses,
  ]
  const agreed = answers.every(({ agrees }) => agrees)
  const head = eventHead({ wardId, stayId }, byId, nowMs)
  const answered: LedgerEvent = {
    ...head,
    type: 'order-verification-answered',
    body: { orderId, version, answers, agreed },
  }
  return accept(agreed ? [answered, { ...head, type: 'order-verified', body: { orderId, version } }] : [answered])
}

/** The state of a version, as its page names it. */
export type VersionState =
  'not-verified' | 'in-force' | 'starts-later' | 'expired' | 'stopped' | 'replaced' | 'differed'

/**
 * The state of a version at an instant. `versions` are all versions of its order. Ended takes precedence over every
 * other state. A version that ends when a newer one starts is replaced. Any other end before its own date is a stop.
 */
export function versionState(
  version: OrderVersion,
  among: { readonly versions: readonly OrderVersion[]; readonly differed: boolean; readonly nowMs: number },
): VersionState {
  const { versions, differed, nowMs } = among
  const { endedAtMs, order } = version
  if (differed) return 'differed'
  if (endedAtMs !== null && endedAtMs <= nowMs)
    return versions.some((newer) => newer.version > version.version && startsAs(newer) === endedAtMs)
      ? 'replaced'
      : 'stopped'
  if (order.stopsAtMs !== null && order.stopsAtMs <= nowMs) return 'expired'
  if (version.verified === null) return 'not-verified'
  return nowMs < order.startsAtMs ? 'starts-later' : 'in-force'
}

/** The instant at which a version replaces the one before. */
function startsAs({ writtenAtMs, order }: OrderVersion): number {
  return Math.max(writtenAtMs, order.startsAtMs)
}
