/** What all forms about one stay share: loading, rendering and the redirect. */
import { refuse, type Outcome } from '../../shared/outcome.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { WornElsewhere } from '../../shared/stay/identity.ts'
import type { Html } from '../../views/html.ts'
import type { BannerView } from '../../views/stay/banner.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormDecision, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'

/** The time zone for times typed about the stay. */
export function zoneOfStay(ctx: StayRequest): string | undefined {
  return stayOfAddress(ctx)?.policy.policy.zone
}

export type StayFormView = FormState & { readonly stayId: string; readonly patient: BannerView }

/** Renders a form of the stay and records that its page was read. Undefined: the stay is not there. */
export function drawStay(
  ctx: StayRequest,
  title: string,
  state: FormState,
  body: (view: StayFormView, facts: StayFacts) => Html,
): PageView | undefined {
  const facts = stayOfAddress(ctx)
  if (facts === undefined) return undefined
  recordPatientRead(ctx, facts.stay.stayId)
  return {
    title,
    body: body({ stayId: facts.stay.stayId, patient: bannerOf(facts, ctx.nowMs, true), ...state }, facts),
  }
}

/** Loads and decides. After acceptance it redirects to the patient's page, or to `location`. */
export function decideStay<R extends string>(
  ctx: StayRequest,
  decide: (facts: StayFacts) => Outcome<readonly LedgerEvent[], R>,
  location?: (facts: StayFacts) => string,
): Outcome<FormDecision, R | 'stay-gone'> {
  const facts = stayOfAddress(ctx)
  if (facts === undefined) return refuse('stay-gone')
  const decision = decide(facts)
  return decision.ok
    ? { ok: true, value: { events: decision.value, location: location?.(facts) ?? `/stays/${facts.stay.stayId}` } }
    : decision
}

/**
 * Who wears a wristband now, as far as this person may know. On their own wards this is bed and ward. On others it is
 * only that the wristband is in use. `except` is the current stay. Null: nobody wears it.
 */
export function wornElsewhere(ctx: RequestContext, wristband: string, except: string | null): WornElsewhere | null {
  const found = ctx.store.stayByWristband(wristband)
  if (found === undefined || found.stayId === except) return null
  const ward = ctx.store.wards(ctx.scope).find(({ wardId }) => wardId === found.wardId)
  if (ward === undefined) return { bed: null, ward: null }
  return { bed: found.bed, ward: ward.wardId === ctx.wardId ? null : ward.name }
}
