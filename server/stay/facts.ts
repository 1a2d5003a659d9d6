/** GET and POST /stays/:stayId/facts: changes the bedside facts. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { changedFacts, setFacts, type FactsRefusal } from '../../shared/stay/facts.ts'
import { formatWhen } from '../../views/format.ts'
import { factsForm } from '../../views/stay/facts.ts'
import { FACT, factText } from '../../views/words/stay.ts'
import { FACTS_SENTENCES, STAY_GONE } from '../../views/words/stay-refusals.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec, FormState } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import type { StayFacts, StayHistory } from '../store/contract.ts'
import {
  FACTS_FIELDS,
  FACTS_FIELD_OF,
  factsValues,
  HANDS_SCHEMA,
  READ_SENTENCES,
  readFacts,
  type FactsReadRefusal,
} from './fields.ts'
import { decideStay, drawStay } from './load.ts'
import { nilPlanText } from './words.ts'

const FACTS_FORM = z.strictObject({
  ...HANDS_SCHEMA,
  ...FACTS_FIELDS,
  basedOn: z
    .string({ error: 'Open the page again.' })
    .regex(/^\d{1,6}$/, { error: 'Open the page again.' })
    .transform(Number),
})
type Fields = z.output<typeof FACTS_FORM>
type Refusal = FactsRefusal | FactsReadRefusal | 'stay-gone'

/** The number of the current version of the facts. */
function latestOf(history: StayHistory | undefined): number {
  return history?.facts.at(-1)?.number ?? 0
}

function historyOf(ctx: StayRequest, { stay }: Pick<StayFacts, 'stay'>): StayHistory | undefined {
  return ctx.store.stayHistory(ctx.scope, stay.stayId)
}

export const factsSpec: FormSpec<Fields, Refusal, StayRequest> = {
  name: 'stay-facts',
  schema: FACTS_FORM,
  initial: (ctx) => {
    const facts = stayOfAddress(ctx)
    if (facts === undefined) return {}
    return {
      ...factsValues(facts.stay.facts, { zone: facts.policy.policy.zone, nowMs: ctx.nowMs }),
      basedOn: String(latestOf(historyOf(ctx, facts))),
    }
  },
  draw: (ctx, state) =>
    drawStay(ctx, 'Facts at the bedside', state, (view, facts) => {
      // only a nurse who was told of the other change continues from it
      const told = state.errors['basedOn'] !== undefined
      const history = historyOf(ctx, facts)
      return factsForm({
        ...view,
        basedOn: told ? String(latestOf(history)) : (state.values['basedOn'] ?? ''),
        meanwhile: told && history !== undefined ? meanwhileOf(ctx, state, facts, history) : null,
        nilPlan: nilPlanText(facts.policy.policy),
      })
    }),
  decide: (fields, ctx) =>
    decideStay(ctx, (facts) => {
      const {
        stay,
        plans,
        policy: { policy },
      } = facts
      const read = readFacts(fields, fields, stay.facts, { zone: policy.zone, nowMs: ctx.nowMs })
      if (!read.ok) return read
      const history = historyOf(ctx, facts)
      if (history === undefined) return refuse('stay-gone')
      return setFacts(
        { facts: read.value, basedOn: fields.basedOn, byId: ctx.actor.staffId },
        { stay, plans, policy, nowMs: ctx.nowMs, latest: latestOf(history) },
      )
    }),
  sentences: { ...FACTS_SENTENCES, ...READ_SENTENCES, ...STAY_GONE },
  fieldOf: { ...FACTS_FIELD_OF, 'facts-changed-meanwhile': 'basedOn' },
  statusOf: { 'facts-stay-discharged': 409, 'facts-changed-meanwhile': 409, 'stay-gone': 404 },
}

/** Who changed what since the form was opened, with the old and the new value of each fact. */
function meanwhileOf(ctx: StayRequest, state: FormState, facts: StayFacts, history: StayHistory): readonly string[] {
  const { zone } = facts.policy.policy
  const at = { nowMs: ctx.nowMs, zone }
  const opened = history.facts.find(({ number }) => String(number) === state.values['basedOn'])
  const [latest] = history.facts.slice(-1)
  if (opened === undefined || latest === undefined) return []
  const who = `${nameOf(ctx, latest.byId)}, ${formatWhen(latest.atMs, ctx.nowMs, zone)}`
  return changedFacts(opened.facts, latest.facts).map(
    (name) => `${FACT[name]}: ${factText(name, opened.facts, at)} → ${factText(name, latest.facts, at)} (${who})`,
  )
}
