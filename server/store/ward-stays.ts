/**
 * What the facts of a ward say about each patient who lies there, patient by patient: read for the whole ward or for
 * the few whose facts changed, by the same statements.
 */
import type { StayEntry } from '../../shared/care/entries.ts'
import type { StayCare } from '../../shared/care/facts.ts'
import type { CheckOutcome, PlanVersion } from '../../shared/check/check.ts'
import type { Direction, Dose, OutsideDose, TrayFact } from '../../shared/dose/dose.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { InsulinName, OrderVersion } from '../../shared/order/order.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { settledKeyOf } from '../../shared/check/scheduled.ts'
import type { Connection } from './connection.ts'
import { insulinGivenOf, lowOf, outcomeOf, planOf, stayOf, trayOf } from './facts.ts'
import { orderReadsOf } from './read-orders.ts'
import { factsOf, listOf } from './rows.ts'
import { check_outcome, low_event, plan_version, stay, tray } from './tables.ts'

/** One patient's share of the ward's facts (WardFacts says what each part holds). */
export type WardStay = {
  readonly stay: Stay
  readonly plans: readonly PlanVersion[]
  readonly outcomes: readonly (readonly [checkKey: string, outcome: CheckOutcome])[]
  readonly lastReading: Reading | null
  readonly orders: readonly OrderVersion[]
  readonly lows: readonly LowEvent[]
  readonly openDoses: readonly Dose[]
  readonly lastReadingDoses: readonly Dose[]
  readonly unaccountedDoses: readonly Dose[]
  readonly forLaboratory: readonly Reading[]
  readonly settledSlots: readonly string[]
  readonly trays: readonly TrayFact[]
  readonly care: StayCare
}

/** Which patients, and how far back. `stays`: a JSON list of ids, or null for everybody who lies on the ward. */
export type WardStaysAsked = {
  readonly wardId: string
  readonly stays: string | null
  readonly nowMs: number
  readonly sinceMs: number
  readonly sinceDate: string
  readonly lowSinceMs: number
  readonly slotSinceMs: number
}

const CHOSEN = `s.ward_id = @wardId AND s.discharged_at_ms IS NULL
  AND (@stays IS NULL OR s.stay_id IN (SELECT value FROM json_each(@stays)))`

/** Prepares the read: patients by stay id, in the order of the ids. */
export function wardStaysOf(connection: Connection): (asked: WardStaysAsked) => ReadonlyMap<string, WardStay> {
  type Asked = WardStaysAsked
  const orders = orderReadsOf(connection)
  const stays = listOf<typeof stay, Asked>(
    connection,
    stay,
    `FROM stay t JOIN stay s ON s.stay_id = t.stay_id WHERE ${CHOSEN} ORDER BY t.stay_id`,
  )
  const plans = listOf<typeof plan_version, Asked>(
    connection,
    plan_version,
    `FROM stay s JOIN plan_version t ON t.stay_id = s.stay_id WHERE ${CHOSEN}
       AND (t.until_ms IS NULL OR t.until_ms >= @sinceMs) ORDER BY t.stay_id, t.version`,
  )
  const outcomes = listOf<typeof check_outcome, Asked>(
    connection,
    check_outcome,
    `FROM stay s JOIN check_outcome t ON t.stay_id = s.stay_id WHERE ${CHOSEN} AND t.at_ms >= @sinceMs`,
  )
  const newest = factsOf<Reading, Asked>(
    connection,
    `SELECT r.fact FROM stay s JOIN reading r ON r.reading_id =
       (SELECT n.reading_id FROM reading n WHERE n.stay_id = s.stay_id AND n.effective = 1 ORDER BY n.taken_at_ms DESC, n.charted_at_ms DESC, n.rowid DESC LIMIT 1)
     WHERE ${CHOSEN}`,
  )
  const lows = listOf<typeof low_event, Asked>(
    connection,
    low_event,
    `FROM stay s JOIN low_event t ON t.stay_id = s.stay_id WHERE ${CHOSEN}
       AND (t.closed_at_ms IS NULL OR t.closed_at_ms >= @lowSinceMs) ORDER BY t.opened_at_ms`,
  )
  const openDoses = factsOf<Dose, Asked>(
    connection,
    `SELECT d.fact FROM stay s JOIN dose d ON d.stay_id = s.stay_id WHERE ${CHOSEN}
       AND d.open = 1 ORDER BY d.proposed_at_ms, d.dose_id`,
  )
  const dosesOfNewest = factsOf<Dose, { readings: string }>(
    connection,
    'SELECT d.fact FROM json_each(@readings) r JOIN dose d ON d.reading_id = r.value ORDER BY d.proposed_at_ms, d.rowid',
  )
  const unaccounted = factsOf<Dose, Asked>(
    connection,
    `SELECT d.fact FROM stay s JOIN dose d ON d.stay_id = s.stay_id WHERE ${CHOSEN}
       AND d.proposed_at_ms >= @slotSinceMs AND d.open = 0
       AND json_extract(d.fact, '$.outcome') IS NULL AND json_extract(d.fact, '$.product') IS NOT NULL
     ORDER BY d.proposed_at_ms, d.dose_id`,
  )
  const forLaboratory = factsOf<Reading, Asked>(
    connection,
    `SELECT r.fact FROM stay s JOIN reading r ON r.stay_id = s.stay_id WHERE ${CHOSEN}
       AND r.taken_at_ms >= @sinceMs AND r.effective = 1
       AND (r.out_of_range IS NOT NULL OR json_extract(r.fact, '$.source') = 'venous')
     ORDER BY r.taken_at_ms, r.reading_id`,
  )
  const settledSlots = connection.raw.prepare<
    [Asked],
    { stayId: string; slotKey: string; kind: string; orderId: string }
  >(
    `SELECT d.stay_id AS stayId, d.slot_key AS slotKey, json_extract(d.fact, '$.kind') AS kind,
       json_extract(d.fact, '$.working.orderId') AS orderId FROM stay s JOIN dose d ON d.stay_id = s.stay_id WHERE ${CHOSEN}
       AND d.proposed_at_ms >= @slotSinceMs
       AND d.slot_key IS NOT NULL AND d.open = 0 AND json_extract(d.fact, '$.outcome') IS NOT NULL
       AND json_extract(d.fact, '$.outcome.secondId') IS NULL`,
  )
  const trays = listOf<typeof tray, Asked>(
    connection,
    tray,
    `FROM stay s JOIN tray t ON t.stay_id = s.stay_id WHERE ${CHOSEN} AND t.date >= @sinceDate`,
  )
  const entries = factsOf<StayEntry, Asked>(
    connection,
    `SELECT e.fact FROM stay s JOIN stay_entry e ON e.stay_id = s.stay_id WHERE ${CHOSEN} ORDER BY e.at_ms, e.rowid`,
  )
  const recent = factsOf<Reading, Asked>(
    connection,
    `SELECT r.fact FROM stay s JOIN reading r ON r.stay_id = s.stay_id WHERE ${CHOSEN}
       AND r.taken_at_ms >= @sinceMs AND r.effective = 1 ORDER BY r.taken_at_ms DESC, r.charted_at_ms DESC, r.rowid DESC`,
  )
  const given = factsOf<Dose, Asked>(
    connection,
    `SELECT d.fact FROM stay s JOIN dose d ON d.stay_id = s.stay_id WHERE ${CHOSEN}
       AND d.given_at_ms IS NOT NULL AND d.given_at_ms >= @slotSinceMs`,
  )
  const notGiven = connection.raw.prepare<
    [Asked],
    { stayId: string; doseId: string; insulin: InsulinName; atMs: number }
  >(
    `SELECT d.stay_id AS stayId, d.dose_id AS doseId, d.insulin, json_extract(d.fact, '$.outcome.atMs') AS atMs
     FROM stay s JOIN dose d ON d.stay_id = s.stay_id WHERE ${CHOSEN} AND d.proposed_at_ms >= @slotSinceMs
       AND json_extract(d.fact, '$.outcome.kind') IN ('withheld', 'refused')`,
  )
  const feedStopped = connection.raw.prepare<[Asked], { stayId: string; fromMs: number }>(
    `SELECT f.stay_id AS stayId, min(f.from_ms) AS fromMs FROM stay s JOIN feed_interruption f ON f.stay_id = s.stay_id
     WHERE ${CHOSEN} AND f.until_ms IS NULL GROUP BY f.stay_id`,
  )
  const directions = factsOf<Direction, Asked>(
    connection,
    `SELECT d.fact FROM stay s JOIN direction d ON d.stay_id = s.stay_id WHERE ${CHOSEN} AND d.at_ms >= @slotSinceMs`,
  )
  const outside = factsOf<OutsideDose, Asked>(
    connection,
    `SELECT o.fact FROM stay s JOIN outside_dose o ON o.stay_id = s.stay_id WHERE ${CHOSEN}
       AND o.given_at_ms >= @slotSinceMs`,
  )

  return (asked) => {
    const entriesOf = byStay(entries(asked))
    const recentOf = byStay(recent(asked))
    const givenOf = byStay(given(asked))
    const outsideOf = byStay(outside(asked))
    const directionsOf = byStay(directions(asked))
    const notGivenOf = byStay(notGiven.all(asked))
    const feedStoppedOf = new Map(feedStopped.all(asked).map(({ stayId, fromMs }) => [stayId, fromMs]))
    const plansOf = byStay(plans(asked).map(planOf))
    const outcomesOf = byStay(
      outcomes(asked).map((row) => ({ stayId: row.stay_id, pair: [row.check_key, outcomeOf(row)] as const })),
    )
    const readings = newest(asked)
    const readingOf = new Map(readings.map((reading) => [reading.stayId, reading]))
    const ordersOf = byStay(orders.ofWard(asked.wardId, asked.nowMs, asked.stays))
    const lowsOf = byStay(lows(asked).map(lowOf))
    const openDosesOf = byStay(openDoses(asked))
    const lastDosesOf = byStay(dosesOfNewest({ readings: JSON.stringify(readings.map(({ readingId }) => readingId)) }))
    const unaccountedOf = byStay(unaccounted(asked))
    const forLaboratoryOf = byStay(forLaboratory(asked))
    const slotsOf = byStay(settledSlots.all(asked))
    const traysOf = byStay(trays(asked).map(trayOf))
    return new Map(
      stays(asked)
        .map(stayOf)
        .map((present) => {
          const { stayId } = present
          const one: WardStay = {
            stay: present,
            plans: plansOf.get(stayId) ?? [],
            outcomes: (outcomesOf.get(stayId) ?? []).map(({ pair }) => pair),
            lastReading: readingOf.get(stayId) ?? null,
            orders: ordersOf.get(stayId) ?? [],
            lows: lowsOf.get(stayId) ?? [],
            openDoses: openDosesOf.get(stayId) ?? [],
            lastReadingDoses: lastDosesOf.get(stayId) ?? [],
            unaccountedDoses: unaccountedOf.get(stayId) ?? [],
            forLaboratory: forLaboratoryOf.get(stayId) ?? [],
            settledSlots: (slotsOf.get(stayId) ?? []).map(settledKeyOf),
            trays: traysOf.get(stayId) ?? [],
            care: {
              entries: entriesOf.get(stayId) ?? [],
              readings: recentOf.get(stayId) ?? [],
              notGiven: notGivenOf.get(stayId) ?? [],
              feedStoppedSinceMs: feedStoppedOf.get(stayId) ?? null,
              directions: directionsOf.get(stayId) ?? [],
              insulinGiven: insulinGivenOf(givenOf.get(stayId) ?? [], outsideOf.get(stayId) ?? []),
            },
          }
          return [stayId, one]
        }),
    )
  }
}

function byStay<T extends { readonly stayId: string }>(all: readonly T[]): ReadonlyMap<string, readonly T[]> {
  const groups = new Map<string, T[]>()
  for (const one of all) {
    const group = groups.get(one.stayId)
    if (group === undefined) groups.set(one.stayId, [one])
    else group.push(one)
  }
  return groups
}
