/** Reads about a ward. The facts of a ward are kept until its data version moves; then only the patients who changed are read again. */
import { and, asc, eq, isNull, sql } from 'drizzle-orm'
import { wardDate } from '../../shared/time/zone.ts'
import { DAY_MS, HOUR_MS } from '../../shared/time/span.ts'
import type { Connection } from './connection.ts'
import type { OpenItem, PolicyVersion, Store, WardFacts } from './contract.ts'
import { itemOf, meterOf, stayOf, stripLotOf, wardOf } from './facts.ts'
import { policyAtOf } from './policy-at.ts'
import { listOf } from './rows.ts'
import { maySee } from './scope.ts'
import { beds_taken, meter, open_item, staff, stay, strip_lot, tray_delay, ward } from './tables.ts'
import { wardStaysOf, type WardStay, type WardStaysAsked } from './ward-stays.ts'

/** Kept facts serve no longer than this, so that what only the look-back lets in does not pile up. */
const KEEP_MS = HOUR_MS
/** Closed low events that a round still tells of. */
const LOW_LOOK_BACK_MS = 7 * DAY_MS
const SLOT_LOOK_BACK_MS = 3 * DAY_MS

type Reads = Pick<
  Store,
  'wards' | 'wardVersion' | 'wardPolicy' | 'policyOfAnyWard' | 'wardFacts' | 'staysOfWard' | 'wardIds'
>

/** The parts of a ward's facts that are about no one patient. */
type WardWide = Pick<WardFacts, 'ward' | 'policy' | 'trayDelays' | 'meters' | 'stripLots' | 'bedsTaken'>
type Items = ReadonlyMap<string, readonly OpenItem[]>
type Kept = {
  readonly wide: WardWide
  readonly stays: ReadonlyMap<string, WardStay>
  readonly items: Items
  readonly facts: WardFacts
  readonly loadedForMs: number
}

/** The calendar date in UTC, a day early, so that no zone's date of that instant is left out. */
export function dateBefore(atMs: number): string {
  return wardDate(atMs - DAY_MS, 'UTC')
}

export function wardReadsOf(connection: Connection): Reads {
  const { raw, orm, wardChanges } = connection
  const wardId = sql.placeholder('wardId')
  const sinceDate = sql.placeholder('sinceDate')
  const present = and(eq(stay.ward_id, wardId), isNull(stay.discharged_at_ms))
  const policyAt = policyAtOf(connection)
  const staysOf = wardStaysOf(connection)

  const every = orm.select().from(ward).orderBy(asc(ward.name), asc(ward.ward_id)).prepare()
  // asked for each page that is drawn: a nurse's own ward out of a hundred is looked up, not searched for
  const some = orm
    .select()
    .from(ward)
    .where(sql`${ward.ward_id} in (select value from json_each(${sql.placeholder('wardIds')}))`)
    .orderBy(asc(ward.name), asc(ward.ward_id))
    .prepare()
  const one = orm.select().from(ward).where(eq(ward.ward_id, wardId)).prepare()
  const version = raw.prepare<[string], { data_version: number }>('SELECT data_version FROM ward WHERE ward_id = ?')
  const stays = orm.select().from(stay).where(present).orderBy(asc(stay.stay_id)).prepare()
  // by the item's own ward: what waits for a patient who has left the ward still waits for a person
  const items = listOf<typeof open_item, WardStaysAsked>(
    connection,
    open_item,
    `FROM open_item t WHERE t.ward_id = @wardId
       AND (@stays IS NULL OR t.stay_id IN (SELECT value FROM json_each(@stays))) ORDER BY t.since_ms`,
  )
  const delays = orm
    .select()
    .from(tray_delay)
    .where(and(eq(tray_delay.ward_id, wardId), sql`${tray_delay.date} >= ${sinceDate}`))
    .prepare()
  const meters = orm
    .select()
    .from(meter)
    .where(and(eq(meter.ward_id, wardId), isNull(meter.retired_at_ms)))
    .orderBy(asc(meter.serial))
    .prepare()
  const lots = orm.select().from(strip_lot).where(eq(strip_lot.ward_id, wardId)).orderBy(asc(strip_lot.lot)).prepare()
  const taken = orm
    .select({ staffId: staff.staff_id, name: staff.name, beds: beds_taken.beds, atMs: beds_taken.at_ms })
    .from(beds_taken)
    .innerJoin(staff, eq(staff.staff_id, beds_taken.staff_id))
    .where(eq(beds_taken.ward_id, wardId))
    .orderBy(asc(staff.name))
    .prepare()

  const about = (policy: PolicyVersion, nowMs: number, of: readonly string[] | null): WardStaysAsked => {
    const sinceMs = nowMs - policy.policy.missedLookBackHours * HOUR_MS - DAY_MS
    return {
      wardId: policy.wardId,
      stays: of === null ? null : JSON.stringify(of),
      nowMs,
      sinceMs,
      sinceDate: dateBefore(sinceMs),
      lowSinceMs: nowMs - LOW_LOOK_BACK_MS,
      slotSinceMs: nowMs - SLOT_LOOK_BACK_MS,
    }
  }
  const itemsOf = (asked: WardStaysAsked): Items => {
    const byStay = new Map<string, OpenItem[]>()
    for (const item of items(asked).map(itemOf)) byStay.set(item.stayId, [...(byStay.get(item.stayId) ?? []), item])
    return byStay
  }
  const load = (id: string, nowMs: number): Kept | undefined => {
    const policy = policyAt(id, nowMs)
    const found = one.get({ wardId: id })
    if (policy === undefined || found === undefined) return undefined
    const asked = about(policy, nowMs, null)
    const wide: WardWide = {
      ward: wardOf(found),
      policy,
      trayDelays: delays.all(asked).map(({ date, meal, minutes }) => ({ date, meal, minutes })),
      meters: meters.all(asked).map(meterOf),
      stripLots: lots.all(asked).map(stripLotOf),
      bedsTaken: taken.all(asked),
    }
    return keptOf(wide, staysOf(asked), itemsOf(asked), nowMs)
  }
  /** The same facts with these patients read again. */
  const renew = (before: Kept, changed: ReadonlySet<string>, nowMs: number): Kept => {
    const { wide } = before
    const asked = about(wide.policy, nowMs, [...changed])
    const [found, again, itemsAgain] = [one.get({ wardId: asked.wardId }), staysOf(asked), itemsOf(asked)]
    const renewed = new Map(
      [...before.stays].flatMap(([stayId, known]) => {
        const now = changed.has(stayId) ? again.get(stayId) : known
        return now === undefined ? [] : [[stayId, now] as const]
      }),
    )
    const others = [...before.items].filter(([stayId]) => !changed.has(stayId))
    return keptOf(
      { ...wide, ward: found === undefined ? wide.ward : wardOf(found) },
      renewed,
      new Map([...others, ...itemsAgain]),
      before.loadedForMs,
    )
  }

  const kept = new Map<string, Kept>()
  // one snapshot, also beside another process that writes
  const loadAndKeep = raw.transaction((id: string, nowMs: number): WardFacts | undefined => {
    const before = servesStill(id, nowMs)
    const upTo = version.get(id)?.data_version
    const changed =
      before === undefined || upTo === undefined
        ? null
        : wardChanges.staysBetween(id, before.wide.ward.dataVersion, upTo)
    const now = before === undefined || changed === null ? load(id, nowMs) : renew(before, changed, nowMs)
    if (now !== undefined) kept.set(id, now)
    return now === undefined ? undefined : atInstant(now.facts, nowMs)
  })
  /** The facts kept, where neither time nor policy asks for new ones; the data version is not looked at. */
  const servesStill = (id: string, nowMs: number): Kept | undefined => {
    const before = kept.get(id)
    const policy = policyAt(id, nowMs)
    // a policy can come to count by time alone, and how far back the facts go is the policy's to say
    const serves =
      before !== undefined &&
      before.wide.policy.version === policy?.version &&
      nowMs >= before.loadedForMs &&
      nowMs < before.loadedForMs + KEEP_MS
    return serves ? before : undefined
  }
  const wardFacts = (id: string, nowMs: number): WardFacts | undefined => {
    // inside a transaction the version may yet be rolled back and come again with other facts
    if (raw.inTransaction) return load(id, nowMs)?.facts
    const before = servesStill(id, nowMs)
    const isSame = before !== undefined && before.wide.ward.dataVersion === version.get(id)?.data_version
    return isSame ? atInstant(before.facts, nowMs) : loadAndKeep(id, nowMs)
  }

  return {
    wards: (scope) =>
      some
        .all({ wardIds: JSON.stringify(scope.wardIds) })
        .filter((row) => maySee(scope, row.ward_id))
        .map(wardOf),
    wardIds: () => every.all().map((row) => row.ward_id),
    wardVersion: (scope, id) => (maySee(scope, id) ? version.get(id)?.data_version : undefined),
    wardPolicy: (scope, id, nowMs) => (maySee(scope, id) ? policyAt(id, nowMs) : undefined),
    policyOfAnyWard: policyAt,
    wardFacts: (scope, id, nowMs) => (maySee(scope, id) ? wardFacts(id, nowMs) : undefined),
    staysOfWard: (scope, id) => (maySee(scope, id) ? stays.all({ wardId: id }).map(stayOf) : []),
  }
}

/** Puts the ward's facts together from its patients. Lists that have an order get it here. */
function keptOf(wide: WardWide, stays: Kept['stays'], items: Items, loadedForMs: number): Kept {
  const all = [...stays.values()]
  const facts: WardFacts = {
    ...wide,
    stays: all.map((one) => one.stay),
    plans: all.flatMap((one) => one.plans),
    outcomes: new Map(all.flatMap((one) => one.outcomes)),
    lastReadings: new Map(
      all.flatMap(({ lastReading }) => (lastReading === null ? [] : [[lastReading.stayId, lastReading]])),
    ),
    orders: all.flatMap((one) => one.orders),
    lows: all.flatMap((one) => one.lows).sort((a, b) => a.openedAtMs - b.openedAtMs),
    openItems: [...items.values()].flat().sort((a, b) => a.sinceMs - b.sinceMs || (a.itemId < b.itemId ? -1 : 1)),
    openDoses: all.flatMap((one) => one.openDoses).sort(byProposal),
    lastReadingDoses: all.flatMap((one) => one.lastReadingDoses).sort((a, b) => a.proposedAtMs - b.proposedAtMs),
    unaccountedDoses: all.flatMap((one) => one.unaccountedDoses).sort(byProposal),
    forLaboratory: all
      .flatMap((one) => one.forLaboratory)
      .sort((a, b) => a.takenAtMs - b.takenAtMs || (a.readingId < b.readingId ? -1 : 1)),
    settledSlots: new Set(all.flatMap((one) => one.settledSlots)),
    trays: all.flatMap((one) => one.trays),
    care: new Map(all.map(({ stay: { stayId }, care }) => [stayId, care])),
    stayRevisions: stays,
  }
  return { wide, stays, items, facts, loadedForMs }
}

function byProposal(a: { readonly proposedAtMs: number; readonly doseId: string }, b: typeof a): number {
  return a.proposedAtMs - b.proposedAtMs || (a.doseId < b.doseId ? -1 : 1)
}

/** Kept facts as they stand now: time alone ends orders. */
function atInstant(facts: WardFacts, nowMs: number): WardFacts {
  const stillRuns = ({ endedAtMs, order }: WardFacts['orders'][number]): boolean =>
    (endedAtMs === null || endedAtMs > nowMs) && (order.stopsAtMs === null || order.stopsAtMs > nowMs)
  return { ...facts, orders: facts.orders.filter(stillRuns) }
}
