/** GET and POST /flags/:itemId: looks again at what followed from a reading that was wrong. */
import { z } from 'zod'
import { refuse, type Outcome } from '../../shared/outcome.ts'
import { hasLowReading, resolveFlag, type FlagRefusal } from '../../shared/reading/flag.ts'
import { formatWhen } from '../../views/format.ts'
import { flagForm } from '../../views/reading/change.ts'
import { FLAG_SENTENCES } from '../../views/words/reading.ts'
import { bannerOf } from '../bedside/banner.ts'
import { NOTE } from '../bedside/fields.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { text } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { OpenItem, StayFacts } from '../store/contract.ts'
import { TICK } from './form.ts'

const FLAG_FORM = z.strictObject({ note: NOTE, closeLow: TICK })

/** Item ids are made of their kind and subject. */
export const FLAG_ADDRESS = z.object({ itemId: text })
type FlagRequest = RequestContext<z.output<typeof FLAG_ADDRESS>>

type FlagContext = { readonly item: OpenItem; readonly facts: StayFacts }

function flagContext(ctx: FlagRequest): FlagContext | undefined {
  const item = ctx.store.openItem(ctx.scope, ctx.params.itemId)
  const facts = item?.kind === 'flag' ? ctx.store.stayFacts(ctx.scope, item.stayId, ctx.nowMs) : undefined
  return item === undefined || facts === undefined ? undefined : { item, facts }
}

type FlagFields = ReturnType<(typeof FLAG_FORM)['parse']>

export const flagSpec: FormSpec<FlagFields, FlagRefusal | 'flag-gone', FlagRequest> = {
  name: 'flag',
  schema: FLAG_FORM,
  initial: () => ({}),
  draw: drawFlag,
  decide: (fields, ctx): Outcome<FormDecision, FlagRefusal | 'flag-gone'> => {
    const context = flagContext(ctx)
    if (context === undefined) return refuse('flag-gone')
    const { item, facts } = context
    const decision = resolveFlag(
      { ...fields, byId: ctx.actor.staffId },
      {
        flagId: item.itemId,
        stayId: item.stayId,
        wardId: item.wardId,
        low: lowOf(context),
        readings: facts.readings,
        policy: facts.policy.policy,
      },
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/stays/${item.stayId}` } } : decision
  },
  sentences: { ...FLAG_SENTENCES, 'flag-gone': () => 'This was resolved in the meantime.' },
  fieldOf: { 'flag-note-missing': 'note', 'flag-low-still-low': 'closeLow' },
  statusOf: { 'flag-gone': 409 },
}

function lowOf({ item, facts }: FlagContext): StayFacts['lows'][number] | null {
  return facts.lows.find(({ lowId }) => lowId === item.subjectId) ?? null
}

function drawFlag(ctx: FlagRequest, state: FormState): PageView | undefined {
  const context = flagContext(ctx)
  if (context === undefined) return undefined
  const { item, facts } = context
  recordPatientRead(ctx, item.stayId)
  const low = lowOf(context)
  const what = low === null ? 'A dose was already charted on it' : 'A low event was opened by it'
  const why = item.detail.endsWith('reading-in-error') ? 'was marked entered in error' : 'was corrected'
  return {
    title: 'Look again',
    body: flagForm({
      patient: bannerOf(facts, ctx.nowMs, true),
      ...state,
      about: `A reading ${why} at ${formatWhen(item.sinceMs, ctx.nowMs, facts.policy.policy.zone)}. ${what}: look at what followed from it.`,
      itemId: item.itemId,
      stayId: item.stayId,
      mayCloseLow: low !== null && low.closedAtMs === null && !hasLowReading(low, facts.readings, facts.policy.policy),
      way: low === null ? { path: `doses/${item.subjectId}`, label: 'Open the dose' } : null,
    }),
  }
}
