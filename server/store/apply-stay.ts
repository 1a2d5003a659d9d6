/** Applies what is about a stay: admission, identity, moves with their history, bedside facts, feed and food. */
import { eq, sql } from 'drizzle-orm'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { BedsideFacts } from '../../shared/stay/stay.ts'
import { stayIdOf, wardIdOf, type Derived, type Handlers } from './derived.ts'
import type { DoseBook } from './dose-book.ts'
import type { OpenItems } from './open-items.ts'
import { low_event, stay_bed } from './tables.ts'

type Types =
  | 'stay-admitted'
  | 'stay-readmitted'
  | 'stay-identified'
  | 'stay-moved'
  | 'stay-discharged'
  | 'facts-set'
  | 'feed-interrupted'
  | 'feed-resumed'
  | 'tray-charted'
  | 'share-eaten-charted'
  | 'wristband-mismatched'
  | 'entry-charted'

/** Items that end for the ward once somebody else has taken the patient's open matters over. */
const LEFT_WITH_THE_PATIENT = ['low', 'critical', 'flag', 'insulin-question', 'handover'] as const

export function stayHandlers(derived: Derived, items: OpenItems, doses: DoseBook): Handlers<Types> {
  const { orm } = derived.connection
  const beds = orm
    .select()
    .from(stay_bed)
    .where(eq(stay_bed.stay_id, sql.placeholder('stayId')))
    .orderBy(stay_bed.number)
    .prepare()
  const lows = orm
    .select()
    .from(low_event)
    .where(eq(low_event.stay_id, sql.placeholder('stayId')))
    .prepare()

  const lastFacts = derived.connection.raw.prepare<[string], { last: number | null }>(
    'SELECT max(number) AS last FROM facts_version WHERE stay_id = ?',
  )

  const keepFacts = (event: LedgerEvent, facts: BedsideFacts): void => {
    const stayId = stayIdOf(event)
    derived.factsVersion.insert({
      stay_id: stayId,
      number: (lastFacts.get(stayId)?.last ?? 0) + 1,
      facts,
      at_ms: event.happenedAtMs,
      by_id: event.actorId,
    })
  }
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
        stay_id: stayId,
        ward_id: wardId,
        bed: body.bed,
        wristband: body.wristband,
        family_name: body.familyName,
        given_name: body.givenName,
        born_on: body.bornOn,
        admitted_at_ms: happenedAtMs,
        discharged_at_ms: null,
        on_ward_since_ms: happenedAtMs,
        facts: body.facts,
        previous_stay_id: null,
      })
      derived.stayBed.insert({
        stay_id: stayId,
        number: 1,
        ward_id: wardId,
        bed: body.bed,
        from_ms: happenedAtMs,
        to_ms: null,
      })
      keepFacts(event, body.facts)
    },
    'stay-readmitted': (event) => {
      derived.stay.put({ ...derived.stay.need(stayIdOf(event)), previous_stay_id: event.body.previousStayId })
    },
    'stay-identified': (event) => {
      const { wristband, familyName, givenName, bornOn } = event.body
      derived.stay.put({
        ...derived.stay.need(stayIdOf(event)),
        wristband,
        family_name: familyName,
        given_name: givenName,
        born_on: bornOn,
      })
    },
    // checks, orders, open lows and open items follow the stay
    'stay-moved': (event) => {
      const [stayId, { body, happenedAtMs }] = [stayIdOf(event), event]
      const stay = derived.stay.need(stayId)
      const number = leaveBed(stayId, happenedAtMs)
      derived.stayBed.insert({
        stay_id: stayId,
        number: number + 1,
        ward_id: body.toWardId,
        bed: body.bed,
        from_ms: happenedAtMs,
        to_ms: null,
      })
      const onWardSince = stay.ward_id === body.toWardId ? stay.on_ward_since_ms : happenedAtMs
      derived.stay.put({ ...stay, ward_id: body.toWardId, bed: body.bed, on_ward_since_ms: onWardSince })
      items.moveStay(stayId, body.toWardId)
      for (const low of lows.all({ stayId }))
        if (low.closed_at_ms === null) derived.lowEvent.put({ ...low, ward_id: body.toWardId })
    },
    'stay-discharged': (event) => {
      const [stayId, { happenedAtMs }] = [stayIdOf(event), event]
      leaveBed(stayId, happenedAtMs)
      derived.stay.put({ ...derived.stay.need(stayId), discharged_at_ms: happenedAtMs })
      // what a person must still account for stays open: lows, untold criticals and flags
      items.close(stayId, 'insulin-no-tray')
      items.close(stayId, 'insulin-question')
    },
    'facts-set': (event) => {
      derived.stay.put({ ...derived.stay.need(stayIdOf(event)), facts: event.body.facts })
      keepFacts(event, event.body.facts)
    },
    'feed-interrupted': (event) => {
      const { interruptionId, reason } = event.body
      derived.feedInterruption.insert({
        interruption_id: interruptionId,
        stay_id: stayIdOf(event),
        reason,
        from_ms: event.happenedAtMs,
        until_ms: null,
        by_id: event.actorId,
      })
    },
    'feed-resumed': ({ body, happenedAtMs }) => {
      const interruption = derived.feedInterruption.need(body.interruptionId)
      if (interruption.until_ms !== null) throw new Error(`feed interruption ${body.interruptionId} has ended`)
      derived.feedInterruption.put({ ...interruption, until_ms: happenedAtMs })
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
    'entry-charted': (event) => {
      const { body, happenedAtMs: atMs, chartedAtMs, actorId: byId } = event
      const stayId = stayIdOf(event)
      derived.stayEntry.insert({
        entry_id: body.entryId,
        stay_id: stayId,
        kind: body.kind,
        at_ms: atMs,
        fact: { ...body, stayId, atMs, chartedAtMs, byId },
      })
      if (body.kind === 'dose-taken-back') {
        const { doseId, why, note, secondId } = body.fact
        const dose = doses.needGiven(doseId)
        const given = { byId: dose.outcome.byId, atMs: dose.outcome.atMs }
        doses.put({ ...dose, outcome: { kind: 'taken-back', byId, atMs, why, note, given, secondId } })
        if (why !== 'another-amount') items.closeOne('insulin-no-tray', doseId)
      }
      if (body.kind === 'outside-dose-taken-back') derived.outsideDose.remove(body.fact.outsideDose.outsideDoseId)
      if (body.kind === 'left-open' && body.fact.how === 'not-yet')
        items.open({ kind: 'handover', stayId, subjectId: stayId, sinceMs: atMs, detail: '' })
      // who took it over sees to it from now on; after a death nobody does
      if (body.kind === 'left-open-handed' || (body.kind === 'left-open' && body.fact.how !== 'not-yet'))
        for (const kind of LEFT_WITH_THE_PATIENT) items.close(stayId, kind)
    },
    // a near miss for the educator: the ledger keeps it, no page of the round derives from it
    'wristband-mismatched': () => undefined,
  }
}
