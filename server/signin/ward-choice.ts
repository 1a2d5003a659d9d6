/** Choosing the ward and the beds one looks after: kept with the login, and told to the ward as a fact. */
import { meterOptions } from '../check/meters.ts'
import { formRoute } from '../http/forms.ts'
import { isNurse } from '../http/page.ts'
import { READERS } from '../http/roles.ts'
import type { Server } from '../http/route.ts'
import type { FormState, PageView, Visit } from '../http/visit.ts'
import type { Ward } from '../store/contract.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { WARD_CHOICE_SENTENCES, type WardChoiceRefusal } from '../../views/words/http.ts'
import { wardPage } from '../../views/signin/ward.ts'
import { WARD_FORM } from './forms.ts'
import type { z } from 'zod'

type WardForm = z.infer<typeof WARD_FORM>

export function registerWardChoice(server: Server): void {
  formRoute<WardForm, WardChoiceRefusal>(server, {
    url: '/ward',
    roles: READERS,
    spec: {
      name: 'choose-ward',
      schema: WARD_FORM,
      initial: (visit) => initialValues(visit),
      draw: (visit, state) => draw(visit, state),
      decide: (form, visit) => chooseWard(form, visit),
      sentences: WARD_CHOICE_SENTENCES,
      fieldOf: { 'ward-not-yours': 'wardId' },
      statusOf: { 'ward-not-yours': 404 },
    },
  })
}

export function bedField(wardId: string, bed: string): string {
  return `bed.${wardId}.${bed}`
}

function meterField(wardId: string): string {
  return `meter-${wardId}`
}

/** The ward and the meter of the login, and the beds taken last. */
function initialValues(visit: Visit): Readonly<Record<string, string>> {
  const values: Record<string, string> = {}
  if (visit.wardId !== null) values['wardId'] = visit.wardId
  if (!isNurse(visit.actor)) return values
  if (visit.wardId !== null && visit.meterId !== null) values[meterField(visit.wardId)] = visit.meterId
  for (const ward of visit.store.wards(visit.scope)) {
    const taken = visit.store
      .wardFacts(visit.scope, ward.wardId, visit.nowMs)
      ?.bedsTaken.find((one) => one.staffId === visit.actor.staffId)
    for (const bed of taken?.beds ?? []) values[bedField(ward.wardId, bed)] = 'yes'
  }
  return values
}

function draw(visit: Visit, state: FormState): PageView {
  const wards = visit.store.wards(visit.scope).map((ward) => ({
    wardId: ward.wardId,
    name: ward.name,
    beds: isNurse(visit.actor) ? ward.beds.map((bed) => ({ bed, field: bedField(ward.wardId, bed) })) : [],
    meter: isNurse(visit.actor) ? { field: meterField(ward.wardId), options: metersOf(visit, ward.wardId) } : null,
  }))
  return { title: 'Ward and beds', body: wardPage({ wards, state }) }
}

function metersOf(visit: Visit, wardId: string): readonly { readonly value: string; readonly label: string }[] {
  const facts = visit.store.wardFacts(visit.scope, wardId, visit.nowMs)
  return facts === undefined ? [] : meterOptions(facts, visit.nowMs)
}

/**
 * Refuses a ward that is not the person's, a bed that is not on it, and beds ticked on another ward (rather than
 * silently leaving them out), and a meter of another ward. No bed at all means the whole ward.
 */
function chooseWard(
  form: WardForm,
  visit: Visit,
): Outcome<{ events: readonly LedgerEvent[]; location: string; also: () => void }, WardChoiceRefusal> {
  const wards = visit.store.wards(visit.scope)
  const ward = wards.find((one) => one.wardId === form.wardId)
  if (ward === undefined) return refuse('ward-not-yours')
  const ticked = Object.keys(form).filter((name) => name !== 'wardId' && !name.startsWith('meter-'))
  const beds = isNurse(visit.actor) ? ward.beds.filter((bed) => ticked.includes(bedField(ward.wardId, bed))) : []
  if (beds.length !== ticked.length) return refuse('bed-not-on-ward', { ward: ward.name })
  const meterId = form[meterField(ward.wardId)] ?? ''
  if (meterId !== '' && !metersOf(visit, ward.wardId).some(({ value }) => value === meterId))
    return refuse('meter-not-on-ward', { ward: ward.name })
  const also = (): void => {
    visit.store.touchSession(visit.tokenHash, { wardId: ward.wardId, meterId: meterId === '' ? null : meterId })
  }
  return accept({
    events: isNurse(visit.actor) ? [bedsTaken(visit, ward, beds)] : [],
    location: isNurse(visit.actor) ? '/round' : '/',
    also,
  })
}

function bedsTaken(visit: Visit, ward: Ward, beds: readonly string[]): LedgerEvent {
  return {
    type: 'beds-taken',
    wardId: ward.wardId,
    stayId: null,
    actorId: visit.actor.staffId,
    happenedAtMs: visit.nowMs,
    chartedAtMs: visit.nowMs,
    body: { staffId: visit.actor.staffId, beds },
  }
}
