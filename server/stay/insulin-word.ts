/** GET and POST /stays/:stayId/insulin-word: what the prescriber says about insulin that is held or was not asked about. */
import { z } from 'zod'
import { chartWords, holdOf, insulinsInForce, leftUnasked, type WordRefusal } from '../../shared/care/insulin-words.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import { refuse } from '../../shared/outcome.ts'
import { formatWhen } from '../../views/format.ts'
import { insulinWordForm } from '../../views/stay/insulin-word.ts'
import { STAY_GONE } from '../../views/words/stay-refusals.ts'
import { WORD_SENTENCES } from '../../views/words/insulin-word.ts'
import { nextSlotsOf, saidFrom, WORD_FIELDS, wordRows, type SaidRefusal } from '../bedside/insulin-words.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'
import { TICK } from './fields.ts'
import { decideStay, drawStay } from './load.ts'

const WORD_FORM = z.strictObject({
  ...WORD_FIELDS,
  told: z.string().trim().max(100, { error: 'A name has at most 100 characters.' }).default(''),
  readBack: TICK,
  ordered: z.string().trim().max(500, { error: 'At most 500 characters.' }).default(''),
})
type Fields = z.output<typeof WORD_FORM>
type Refusal =
  WordRefusal | SaidRefusal | 'word-told-missing' | 'word-not-read-back' | 'word-nothing-waits' | 'stay-gone'

export const insulinWordSpec: FormSpec<Fields, Refusal, StayRequest> = {
  name: 'insulin-word',
  schema: WORD_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(ctx, 'The prescriber’s word about insulin', state, (view, facts) => {
      const { zone } = facts.policy.policy
      const when = (ms: number): string => formatWhen(ms, ctx.nowMs, zone)
      const insulins = insulinsWaiting(facts, ctx.nowMs)
      return insulinWordForm({
        ...view,
        rows: wordRows(facts, insulins, ctx.nowMs, when),
        holds: insulins.flatMap((insulin) => {
          const hold = holdOf(facts.entries, facts.directions, insulin, ctx.nowMs)
          if (hold === null) return []
          const until = hold.fact.untilMs === null ? 'until asked again' : `until ${when(hold.fact.untilMs)}`
          return [`${insulin}: held ${until}, said ${hold.fact.told} at ${when(hold.atMs)}.`]
        }),
      })
    }),
  decide: (fields, ctx) =>
    decideStay<Exclude<Refusal, 'stay-gone'>>(ctx, (facts) => {
      const insulins = insulinsWaiting(facts, ctx.nowMs)
      if (insulins.length === 0) return refuse('word-nothing-waits')
      if (fields.told === '') return refuse('word-told-missing')
      if (!fields.readBack) return refuse('word-not-read-back')
      const said = saidFrom(fields, insulins, facts.policy.policy.zone, ctx.nowMs)
      if (!said.ok) return said
      return chartWords(
        said.value,
        { lowId: null, told: fields.told, ordered: fields.ordered, byId: ctx.actor.staffId },
        { stay: facts.stay, slots: nextSlotsOf(facts, ctx.nowMs), newId: ctx.services.newId, nowMs: ctx.nowMs },
      )
    }),
  sentences: { ...WORD_SENTENCES, ...STAY_GONE },
  fieldOf: { 'word-told-missing': 'told', 'word-not-read-back': 'readBack' },
  statusOf: { 'word-nothing-waits': 409, 'stay-gone': 404 },
}

/** Insulins that are held now, or that nobody has asked about after a low. */
function insulinsWaiting(facts: StayFacts, nowMs: number): readonly InsulinName[] {
  const { entries, directions, orders } = facts
  const left = leftUnasked(entries, directions).flatMap(({ insulins }) => insulins)
  const held = insulinsInForce(orders, nowMs).filter((insulin) => holdOf(entries, directions, insulin, nowMs) !== null)
  return [...new Set([...left, ...held])]
}
