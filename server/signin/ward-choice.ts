/** Choosing the ward and the beds one looks after: kept with the login, and told to the ward as a fact. */
import { meterOptions } from '../bedside/meter-options.ts'
import { formRoute } from '../http/forms.ts'
import { isNurse } from '../http/page.ts'
import { READERS } from '../http/roles.ts'
import type { Server } from '../http/route.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { Ward } from '../store/contract.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { WARD_CHOICE_SENTENCES, type WardChoiceRefusal } from '../../views/words/http.ts'
import { wardPage } from '../../views/signin/ward.ts'
import { headOf } from '../bedside/event-head.ts'
import { WARD_FORM } from './forms.ts'
import type { z } from 'zod'

type WardForm = z.infer<typeof WARD_FORM>

export function registerWardChoice(server: Server): void {
  const spec: FormSpec<WardForm, WardChoiceRefusal> = {
    name: 'choose-ward',
    schema: WARD_FORM,
    initial: (ctx) => initialValues(ctx),
    draw: (ctx, state) => draw(ctx, state),
    decide: (form, ctx) => chooseWard(form, ctx),
    sentences: WARD_CHOICE_SENTENCES,
    fieldOf: { 'ward-not-yours': 'wardId' },
    statusOf: { 'ward-not-yours': 404 },
  }
  formRoute(server, { url: '/ward', roles: READERS, spec })
}

export function bedField(wardId: string, bed: string): string {
  return `bed.${wardId}.${bed}`
}

function meterField(wardId: string): string {
  return `meter-${wardId}`
}

/** The ward and the meter of the login, and the beds taken last. */
function initialValues(ctx: RequestContext): Readonly<Record<string, string>> {
  const values: Record<string, string> = {}
  if (ctx.wardId !== null) values['wardId'] = ctx.wardId
  if (!isNurse(ctx.actor)) return values
  if (ctx.wardId !== null && ctx.meterId !== null) values[meterField(ctx.wardId)] = ctx.meterId
  for (const ward of ctx.store.wards(ctx.scope)) {
    const taken = ctx.store
      .wardFacts(ctx.scope, ward.wardId, ctx.nowMs)
      ?.bedsTaken.find((one) => one.staffId === ctx.actor.staffId)
    for (const bed of taken?.beds ?? []) values[bedField(ward.wardId, bed)] = 'yes'
  }
  return values
}

function draw(ctx: RequestContext, state: FormState): PageView {
  const wards = ctx.store.wards(ctx.scope).map((ward) => ({
    wardId: ward.wardId,
    name: ward.name,
    beds: isNurse(ctx.actor) ? ward.beds.map((bed) => ({ bed, field: bedField(ward.wardId, bed) })) : [],
    meter: isNurse(ctx.actor) ? { field: meterField(ward.wardId), options: metersOf(ctx, ward.wardId) } : null,
  }))
  return { title: 'Ward and beds', body: wardPage({ wards, state }) }
}

function metersOf(ctx: RequestContext, wardId: string): readonly { readonly value: string; readonly label: string }[] {
  const facts = ctx.store.wardFacts(ctx.scope, wardId, ctx.nowMs)
  return facts === undefined ? [] : meterOptions(facts, ctx.nowMs)
}

/**
 * Refuses a ward that is not the person's, a bed that is not on it, and beds ticked on another ward (rather than
 * silently leaving them out), and a meter of another ward. No bed at all means the whole ward.
 */
function chooseWard(form: WardForm, ctx: RequestContext): Outcome<FormDecision, WardChoiceRefusal> {
  const wards = ctx.store.wards(ctx.scope)
  const ward = wards.find((one) => one.wardId === form.wardId)
  if (ward === undefined) return refuse('ward-not-yours')
  const ticked = Object.keys(form).filter((name) => name !== 'wardId' && !name.startsWith('meter-'))
  const beds = isNurse(ctx.actor) ? ward.beds.filter((bed) => ticked.includes(bedField(ward.wardId, bed))) : []
  if (beds.length !== ticked.length) return refuse('ticked-bed-not-on-ward', { ward: ward.name })
  const meterId = form[meterField(ward.wardId)] ?? ''
  if (meterId !== '' && !metersOf(ctx, ward.wardId).some(({ value }) => value === meterId))
    return refuse('meter-not-on-ward', { ward: ward.name })
  return accept({
    events: isNurse(ctx.actor) ? [bedsTaken(ctx, ward, beds)] : [],
    location: isNurse(ctx.actor) ? '/round' : '/',
    effects: [{ kind: 'choose-ward', wardId: ward.wardId, meterId: meterId === '' ? null : meterId }],
  })
}

function bedsTaken(ctx: RequestContext, ward: Ward, beds: readonly string[]): LedgerEvent {
  return {
    ...headOf(ctx, { wardId: ward.wardId }),
    type: 'beds-taken',
    body: { staffId: ctx.actor.staffId, beds },
  }
}
