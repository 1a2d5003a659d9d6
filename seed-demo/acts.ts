/**
 * What people of the demo do. Each act uses the same decision as its page. Accepted events are appended as they are; a
 * refused act does nothing. The caller passes the time; nothing here reads a clock.
 */
import { stayAtNow } from '../server/dose/load.ts'
import type { Scope, StayFacts, Store } from '../server/store/contract.ts'
import { storeEvents } from '../server/store/store-events.ts'
import { slotAddress } from '../shared/check/scheduled.ts'
import { criticalConfirmed } from '../shared/critical/confirm.ts'
import type { Dose, MealAnswer, ProposalInputs } from '../shared/dose/dose.ts'
import { giveDose } from '../shared/dose/give.ts'
import { suggestInjectionSite } from '../shared/dose/injection-site.ts'
import { readProduct } from '../shared/dose/product.ts'
import { proposedDose } from '../shared/dose/proposed.ts'
import { answerSecondCheck, startAgain, type Signer } from '../shared/dose/second-check.ts'
import type { Glucose } from '../shared/glucose/value.ts'
import type { EventBodies, EventType, LedgerEvent } from '../shared/ledger/events.ts'
import { eventHead } from '../shared/ledger/head.ts'
import { inputsForSchedule, inputsFromReading, newestReading } from '../shared/order/inputs.ts'
import type { OrderVersion } from '../shared/order/order.ts'
import { doseKind } from '../shared/order/parts.ts'
import { proposeDose, type DoseFacts } from '../shared/order/propose.ts'
import type { ExtraReason, Reading } from '../shared/reading/reading.ts'
import { nursesWhoKnow } from '../shared/reading/mask.ts'
import { recordReading } from '../shared/reading/record.ts'
import { suggestFinger } from '../shared/reading/site.ts'
import { addDays, wardDate } from '../shared/time/zone.ts'

/** Where the demo writes: the store inside its one transaction, and a source of ids. */
export type Place = { readonly store: Store; readonly scope: Scope; readonly newId: () => string }

export type Measured = {
  readonly stayId: string
  readonly checkKey: string
  readonly glucose: Glucose
  readonly byId: string
  readonly extraReason: ExtraReason | null
}

export function factsOf({ store, scope }: Place, stayId: string, nowMs: number): StayFacts {
  const facts = store.stayFacts(scope, stayId, nowMs)
  if (facts === undefined) throw new Error(`the demo has no stay ${stayId}`)
  return facts
}

/** Appends one event about a stay. */
export function chart<T extends EventType>(
  { store }: Place,
  facts: StayFacts,
  of: { readonly type: T; readonly body: Readonly<EventBodies[T]>; readonly byId: string; readonly nowMs: number },
): void {
  const head = eventHead({ wardId: facts.ward.wardId, stayId: facts.stay.stayId }, of.byId, of.nowMs)
  storeEvents(store, [{ ...head, type: of.type, body: of.body } as LedgerEvent])
}

/**
 * Measures with a meter that passed today's controls, if there is one, and charts on the suggested finger. Null:
 * refused.
 */
export function measure(
  place: Place,
  of: Measured,
  nowMs: number,
): { readonly reading: Reading; readonly lowOpened: string | null } | null {
  const facts = factsOf(place, of.stayId, nowMs)
  const { policy } = facts.policy
  const today = wardDate(nowMs, policy.zone)
  const controlled = facts.meters.find(
    ({ lastControl }) => lastControl?.passed === true && wardDate(lastControl.atMs, policy.zone) === today,
  )
  const meter = controlled ?? facts.meters[0]
  const { fingers } = place.store.sitesUsed(place.scope, of.stayId)
  const suggested = suggestFinger(fingers, facts.stay.facts.restrictedHands, policy.fingers)
  const decided = recordReading(
    {
      readingId: place.newId(),
      newLowId: place.newId(),
      checkKey: of.checkKey,
      wristband: facts.stay.wristband,
      glucose: of.glucose,
      takenAtMs: nowMs,
      meterId: meter?.meterId ?? null,
      stripLot: facts.stripLots[0]?.lot ?? null,
      site: suggested.site,
      lateReason: null,
      extraReason: of.extraReason,
      source: 'capillary',
      byId: of.byId,
    },
    { ...facts, meters: place.store.metersWhen(place.scope, facts.ward.wardId, nowMs) },
    nowMs,
  )
  if (!decided.ok) return null
  storeEvents(place.store, decided.value)
  const recorded = decided.value.find((event) => event.type === 'reading-recorded')
  const opened = decided.value.find((event) => event.type === 'low-event-opened')
  return recorded === undefined ? null : { reading: recorded.body.reading, lowOpened: opened?.body.lowId ?? null }
}

/**
 * Calculates the dose that an order gives for a reading, or for a scheduled slot when `slot` is given. Null: refused.
 */
export function propose(
  place: Place,
  of: {
    readonly facts: StayFacts
    readonly order: OrderVersion
    readonly reading: Reading | null
    readonly slot: { readonly date: string; readonly time: string } | null
    readonly meal: MealAnswer | null
    readonly byId: string
  },
  nowMs: number,
): Dose | null {
  const { facts, order, slot } = of
  const { policy } = facts.policy
  const stay = stayAtNow(facts, nowMs)
  const reading = of.reading ?? newestReading(facts.readings)
  const inputs = inputsOf(of, stay, reading)
  if (inputs === null) return null
  const doseFacts: DoseFacts = {
    order,
    insulin: order.order.insulin,
    policy,
    policyVersion: facts.policy.version,
    reading,
    inputs,
  }
  const proposal = proposeDose(doseFacts)
  if (proposal.kind === 'stopped') return null
  const dose = proposedDose(doseFacts, proposal.working, {
    doseId: place.newId(),
    stay: { wardId: facts.ward.wardId, stayId: facts.stay.stayId },
    kind: doseKind(order.order, inputs),
    slotKey: slot === null ? null : `${facts.stay.stayId}.${slotAddress(slot.date, slot.time, order.orderId)}`,
    byId: of.byId,
    nowMs,
  })
  chart(place, facts, { type: 'dose-proposed', body: { dose }, byId: of.byId, nowMs })
  return dose
}

function inputsOf(
  { facts, order, slot, meal }: Parameters<typeof propose>[1],
  stay: ReturnType<typeof stayAtNow>,
  reading: Reading | null,
): ProposalInputs | null {
  if (slot !== null) return inputsForSchedule(stay, order, slot, true)
  if (reading === null) return null
  const { policy } = facts.policy
  const confirmed = criticalConfirmed(reading, {
    readings: facts.readings,
    lows: facts.lows,
    policy,
    nowMs: stay.nowMs,
  })
  return inputsFromReading(stay, reading, order, { meal, elsewhereAsked: true, criticalConfirmed: confirmed }, null)
}

/** The second nurse's own check: the meter's value and `units`. True: agreed. */
export function secondCheck(place: Place, doseId: string, signer: Signer, units: number, nowMs: number): boolean {
  const dose = place.store.doseById(place.scope, doseId)
  if (dose === undefined) return false
  const facts = factsOf(place, dose.stayId, nowMs)
  const reading = facts.readings.find((one) => one.readingId === dose.readingId) ?? null
  const knows = reading === null ? new Set<string>() : nursesWhoKnow(reading, facts.readings)
  const answer = answerSecondCheck({
    dose,
    reading,
    knows,
    policy: facts.policy.policy,
    signer,
    glucose: reading?.glucose ?? null,
    units,
    nowMs,
  })
  if (!answer.ok) return false
  chart(place, facts, {
    type: 'second-check-answered',
    body: { doseId, answer: answer.value },
    byId: signer.staffId,
    nowMs,
  })
  return answer.value.agreed
}

/** After a difference the first nurse reads the meter and the order again. */
export function startOver(place: Place, doseId: string, nowMs: number): void {
  const dose = place.store.doseById(place.scope, doseId)
  if (dose === undefined) return
  const facts = factsOf(place, dose.stayId, nowMs)
  const reading = facts.readings.find((one) => one.readingId === dose.readingId) ?? null
  // a low may have invalidated the dose since
  if (
    !startAgain({
      dose,
      reading,
      policy: facts.policy.policy,
      staffId: dose.proposedById,
      glucose: reading?.glucose ?? null,
      nowMs,
    }).ok
  )
    return
  chart(place, facts, { type: 'dose-started-again', body: { doseId }, byId: dose.proposedById, nowMs })
}

/** The second nurse checks the pen or vial and the syringe. */
export function verify(place: Place, doseId: string, signerId: string, nowMs: number): void {
  const dose = place.store.doseById(place.scope, doseId)
  if (dose === undefined) return
  const facts = factsOf(place, dose.stayId, nowMs)
  const today = wardDate(nowMs, facts.policy.policy.zone)
  const read = readProduct({
    dose,
    policy: facts.policy.policy,
    nowMs,
    today,
    signerId,
    wristband: facts.stay.wristband,
    patient: facts.stay,
    insulin: dose.insulin,
    concentration: 'U-100',
    expiresOn: addDays(today, 19),
    units: dose.units,
  })
  if (!read.ok) return
  const { insulin, concentration, expiresOn, units } = read.value
  chart(place, facts, {
    type: 'dose-verified',
    body: { doseId, byId: signerId, insulin, concentration, expiresOn, units },
    byId: signerId,
    nowMs,
  })
}

/** Gives a verified dose with the tray beside it, at the suggested site. */
export function give(place: Place, doseId: string, nowMs: number): void {
  const dose = place.store.doseById(place.scope, doseId)
  if (dose === undefined) return
  const facts = factsOf(place, dose.stayId, nowMs)
  const { injections } = place.store.sitesUsed(place.scope, dose.stayId)
  const { site } = suggestInjectionSite(injections, facts.stay.facts.restrictedHands)
  const { orderId, orderVersion } = dose.working
  const order = facts.orders.find((one) => one.orderId === orderId && one.version === orderVersion)
  const withMeal =
    dose.kind === 'from-reading' && dose.working.terms.some((term) => term.part.startsWith('meal') && !term.held)
  const given = giveDose({
    dose,
    policy: facts.policy.policy,
    nowMs,
    atMs: nowMs,
    wristband: facts.stay.wristband,
    patient: facts.stay,
    site,
    order: order?.order ?? null,
    bedside: facts.stay.facts,
    trayDelayedToMs: null,
    alreadyGiven: null,
    said: withMeal
      ? { food: 'tray-here', trayInMin: null, willEat: 'yes' }
      : { food: 'not-with-a-meal', trayInMin: null, willEat: 'no' },
  })
  if (given.ok)
    chart(place, facts, {
      type: 'dose-given',
      body: { doseId, site: given.value.site, food: given.value.food },
      byId: dose.proposedById,
      nowMs,
    })
}
