/** Applies what is about a stay: admission, moves with their history, facts, plans and food. */
import { eq, sql } from 'drizzle-orm'
import { stayIdOf, wardIdOf, type Derived, type Handlers } from './derived.ts'
import type { DoseBook } from './dose-book.ts'
import type { OpenItems } from './open-items.ts'
import { low_event, plan_version, stay_bed } from './tables.ts'

type Types = 'stay-admitted' | 'stay-moved' | 'stay-discharged' | 'facts-set' | 'plan-set' | 'tray-charted' | 'share-eaten-charted' | 'wristband-mismatched'

export function stayHandlers(derived: Derived, items: OpenItems, doses: DoseBook): Handlers<Types> {
  const { orm } = derived.connection
  const beds = orm.select().from(stay_bed).where(eq(stay_bed.stay_id, sql.placeholder('stayId'))).orderBy(stay_bed.number).prepare()
  const plans = orm.select().from(plan_version).where(eq(plan_version.stay_id, sql.placeholder('stayId'))).prepare()
  const lows = orm.select().from(low_event).where(eq(low_event.stay_id, sql.placeholder('stayId'))).prepare()

  const leaveBed = (stayId: string, atMs: number): number => {
    const last = beds.all({ stayId }).at(-1)
    if (last === undefined) throw new Error(`stay ${stayId} was never in a bed`)
    derived.stayBed.put({ ...last, to_ms: atMs })
    return last.number
  }

  return {
    'stay-admitted': (event) => {
      const [stayId, wardId, { body, happenedAtMs }] = [stayIdOf(event), wardIdOf(event), event]
      derived.stay.insert({
        stay_id: stayId, ward_id: wardId, bed: body.bed, wristband: body.wristband, family_name: body.familyName, given_name: body.givenName,
        born_on: body.bornOn, admitted_at_ms: happenedAtMs, discharged_at_ms: null, on_ward_since_ms: happenedAtMs, facts: body.facts,
      })
      derived.stayBed.insert({ stay_id: stayId, number: 1, ward_id: wardId, bed: body.bed, from_ms: happenedAtMs, to_ms: null })
    },
    // checks, orders, open lows and open items follow the stay; a dose being worked out does not
    'stay-moved': (event) => {
      const [stayId, { body, happenedAtMs, chartedAtMs }] = [stayIdOf(event), event]
      const stay = derived.stay.need(stayId)
      const number = leaveBed(stayId, happenedAtMs)
      derived.stayBed.insert({ stay_id: stayId, number: number + 1, ward_id: body.toWardId, bed: body.bed, from_ms: happenedAtMs, to_ms: null })
      const onWardSince = stay.ward_id === body.toWardId ? stay.on_ward_since_ms : happenedAtMs
      derived.stay.put({ ...stay, ward_id: body.toWardId, bed: body.bed, on_ward_since_ms: onWardSince })
      doses.voidOpen(stayId, chartedAtMs, () => 'stay-moved')
      items.moveStay(stayId, body.toWardId)
      for (const low of lows.all({ stayId })) if (low.closed_at_ms === null) derived.lowEvent.put({ ...low, ward_id: body.toWardId })
    },
    'stay-discharged': (event) => {
      const [stayId, { happenedAtMs, chartedAtMs }] = [stayIdOf(event), event]
      leaveBed(stayId, happenedAtMs)
      derived.stay.put({ ...derived.stay.need(stayId), discharged_at_ms: happenedAtMs })
      doses.voidOpen(stayId, chartedAtMs, () => 'stay-discharged')
      // what a person must still account for stays open: lows, untold criticals and flags
      items.close(stayId, 'insulin-no-tray')
      items.close(stayId, 'insulin-question')
    },
    'facts-set': (event) => {
      derived.stay.put({ ...derived.stay.need(stayIdOf(event)), facts: event.body.facts })
    },
    'plan-set': (event) => {
      const [stayId, { body, happenedAtMs: fromMs }] = [stayIdOf(event), event]
      // a new plan ends the ones before it from its start on; what was planned until then stays. A check ordered once
      // is an addition: it ends no plan, and no plan ends it
      for (const before of plans.all({ stayId })) {
        if (body.plan.kind === 'once' || before.plan.kind === 'once') continue
        if (before.until_ms === null || before.until_ms > fromMs) derived.planVersion.put({ ...before, until_ms: Math.max(before.from_ms, fromMs) })
      }
      derived.planVersion.insert({ stay_id: stayId, version: body.version, plan: body.plan, from_ms: fromMs, until_ms: body.untilMs })
    },
    'tray-charted': (event) => {
      const [stayId, { date, meal, servedAtMs }] = [stayIdOf(event), event.body]
      const share = derived.tray.get(stayId, date, meal)?.share_eaten_percent ?? null
      derived.tray.put({ stay_id: stayId, date, meal, served_at_ms: servedAtMs, share_eaten_percent: share })
      items.close(stayId, 'insulin-no-tray')
    },
    'share-eaten-charted': (event) => {
      const [stayId, { date, meal, percent }] = [stayIdOf(event), event.body]
      const served = derived.tray.get(stayId, date, meal)?.served_at_ms ?? null
      derived.tray.put({ stay_id: stayId, date, meal, served_at_ms: served, share_eaten_percent: percent })
    },
    // a near miss for the educator: the ledger keeps it, no page of the round derives from it
    'wristband-mismatched': () => undefined,
  }
}
