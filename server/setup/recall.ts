/** "Which results came from this lot or meter between these times": one question in the address, one page of results. */
import { formatGlucose } from '../../shared/glucose/value.ts'
import { maskedDose } from '../../shared/reading/mask.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { addDays, localDateTime, parseLocalDateTime, wardDate, wardTime } from '../../shared/time/zone.ts'
import { recallPage, type RecallPageView, type RecallRowView } from '../../views/setup/recall.ts'
import { formatDateTime, formatDay, formatInsulin, formatName, formatTime } from '../../views/format.ts'
import { RECALL_SENTENCES, type RecallRefusal } from '../../views/words/meter.ts'
import { METER_DOUBT } from '../../views/words/reading.ts'
import { recordPatientRead } from '../http/access.ts'
import { isId } from '../http/ids.ts'
import { page, type Answer } from '../http/page.ts'
import { RECALLERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { Visit } from '../http/visit.ts'
import { isMasked, nameOf } from '../reading/load.ts'
import type { MeterRecord, RecallRow, StayFacts } from '../store/contract.ts'
import { ownWard, queryText, setUpWards, type SetUpWard } from './meters-load.ts'

/** What is asked when nothing else is: the last seven days. */
const DEFAULT_DAYS = 7
/** Longest span of one question, in days: longer than strips of one lot are in use. */
const MOST_DAYS = 366

export function registerRecall(server: Server): void {
  route(server, { method: 'GET', url: '/recall', roles: RECALLERS }, recall)
}

type Supplies = {
  readonly wards: readonly SetUpWard[]
  readonly meters: readonly (MeterRecord & { readonly wardName: string })[]
  readonly lots: readonly string[]
}

function suppliesOf(visit: Visit): Supplies {
  const wards = setUpWards(visit)
  const meters = wards.flatMap((ward) =>
    visit.store.metersOfWard(visit.scope, ward.wardId).map((meter) => ({ ...meter, wardName: ward.name })),
  )
  const lots = new Set(
    wards.flatMap(({ wardId }) => visit.store.stripLotsOfWard(visit.scope, wardId).map(({ lot }) => lot)),
  )
  return { wards, meters, lots: [...lots].sort() }
}

function recall(visit: Visit): Answer {
  const supplies = suppliesOf(visit)
  const zone = zoneOf(visit, supplies)
  const isAsked = ['meter', 'lot', 'from', 'to'].some((name) => queryText(visit, name) !== '')
  const values = {
    meter: queryText(visit, 'meter'),
    lot: queryText(visit, 'lot'),
    from: isAsked
      ? queryText(visit, 'from')
      : `${addDays(wardDate(visit.nowMs, zone), -DEFAULT_DAYS)}T${wardTime(visit.nowMs, zone)}`,
    to: isAsked ? queryText(visit, 'to') : localDateTime(visit.nowMs, zone),
  }
  const draw = (status: number, rest: Pick<RecallPageView, 'errors' | 'problem' | 'answer'>): Answer =>
    page(visit, status, {
      title: 'Results from a meter or lot',
      body: recallPage({
        values,
        meters: supplies.meters.map(({ meterId, serial, wardName, retired }) => ({
          value: meterId,
          label: `${serial}, ${wardName}${retired === null ? '' : ', retired'}`,
        })),
        lots: supplies.lots.map((lot) => ({ value: lot, label: lot })),
        ...rest,
      }),
    })
  if (!isAsked) return draw(200, { errors: {}, problem: null, answer: null })
  const question = readQuestion(visit, supplies, zone)
  if (!question.ok) {
    const sentence = RECALL_SENTENCES[question.reason](question.details)
    return draw(422, {
      errors: { [FIELD_OF[question.reason]]: sentence },
      problem: 'Not looked for yet. Put right what is marked.',
      answer: null,
    })
  }
  return draw(200, { errors: {}, problem: null, answer: answerTo(visit, question.value, supplies, zone) })
}

const FIELD_OF: Readonly<Record<RecallRefusal, 'meter' | 'from' | 'to'>> = {
  'recall-nothing-asked': 'meter',
  'recall-time-not-read': 'from',
  'recall-turned-round': 'to',
  'recall-too-long': 'to',
}

/** The chosen meter's ward keeps the clock; without a meter the person's own ward does. */
function zoneOf(visit: Visit, { wards, meters }: Supplies): string {
  const chosen = meters.find(({ meterId }) => meterId === queryText(visit, 'meter'))
  return (wards.find(({ wardId }) => wardId === chosen?.wardId) ?? ownWard(visit, wards))?.zone ?? 'UTC'
}

type Question = {
  readonly meter: Supplies['meters'][number] | null
  readonly lot: string | null
  readonly fromMs: number
  readonly toMs: number
}

function readQuestion(visit: Visit, { meters, lots }: Supplies, zone: string): Outcome<Question, RecallRefusal> {
  const [meterId, lot] = [queryText(visit, 'meter'), queryText(visit, 'lot')]
  const meter = isId(meterId) ? meters.find((one) => one.meterId === meterId) : undefined
  // what is named and not known is no "any"
  if ((meterId !== '' && meter === undefined) || (lot !== '' && !lots.includes(lot)) || (meterId === '' && lot === ''))
    return refuse('recall-nothing-asked')
  const fromMs = parseLocalDateTime(queryText(visit, 'from'), zone, visit.nowMs)
  const toMs = parseLocalDateTime(queryText(visit, 'to'), zone, visit.nowMs)
  if (fromMs === null || toMs === null) return refuse('recall-time-not-read')
  if (fromMs >= toMs) return refuse('recall-turned-round')
  if (toMs - fromMs > MOST_DAYS * DAY_MS) return refuse('recall-too-long', { days: MOST_DAYS })
  return accept({ meter: meter ?? null, lot: lot === '' ? null : lot, fromMs, toMs })
}

function answerTo(
  visit: Visit,
  question: Question,
  supplies: Supplies,
  zone: string,
): NonNullable<RecallPageView['answer']> {
  const { meter, lot, fromMs, toMs } = question
  const found = visit.store.recallRows(visit.scope, { meterId: meter?.meterId ?? null, lot, fromMs, toMs })
  const facts = new Map<string, StayFacts | undefined>()
  for (const { stay } of found) {
    if (facts.has(stay.stayId)) continue
    facts.set(stay.stayId, visit.store.stayFacts(visit.scope, stay.stayId, visit.nowMs))
    recordPatientRead(visit, stay.stayId)
  }
  const rows = found.map((row) => rowView(visit, row, facts.get(row.stay.stayId), supplies, zone))
  const which = [meter === null ? null : `meter ${meter.serial}`, lot === null ? null : `strip lot ${lot}`]
    .filter((one) => one !== null)
    .join(' with ')
  return {
    asked: `Results from ${which}, taken from ${formatDateTime(fromMs, zone)} until before ${formatDateTime(toMs, zone)} (${zone}).`,
    rows,
    patients: facts.size,
    doses: rows.reduce((sum, { doses }) => sum + doses.length, 0),
    lows: rows.reduce((sum, { lows }) => sum + lows.length, 0),
    printed: `Looked up by ${visit.actor.name}, ${formatDateTime(visit.nowMs, zone)}. Patients of your own wards only.`,
  }
}

function rowView(
  visit: Visit,
  { reading, stay, doseIds }: RecallRow,
  facts: StayFacts | undefined,
  { wards, meters }: Supplies,
  askedZone: string,
): RecallRowView {
  // taken on a ward that is not the person's, before a move: on the clock of the question
  const zone = wards.find(({ wardId }) => wardId === reading.wardId)?.zone ?? askedZone
  const meter = meters.find(({ meterId }) => meterId === reading.meterId)
  // without the stay's facts nothing shows that the value may be seen
  const masked = facts === undefined || isMasked(visit, reading, facts)
  return {
    when: formatDateTime(reading.takenAtMs, zone),
    patient: formatName(stay),
    where: `${whereNow(visit, stay, wards, zone)}, wristband ${stay.wristband}`,
    stayPath: `stays/${stay.stayId}`,
    value: masked ? 'awaiting second check' : formatGlucose(reading.glucose),
    readingPath: `readings/${reading.readingId}`,
    by: `taken by ${nameOf(visit, reading.byId)}`,
    supplies: [
      meter === undefined ? null : `meter ${meter.serial}`,
      reading.stripLot === null ? null : `strips ${reading.stripLot}`,
    ]
      .filter((one) => one !== null)
      .join(', '),
    doses: doseIds.flatMap((doseId) => doseText(visit, doseId, facts, zone)),
    lows: (facts?.lows ?? [])
      .filter(({ openedByReadingId }) => openedByReadingId === reading.readingId)
      .map(({ lowId }) => ({ text: 'Low event', path: `lows/${lowId}` })),
    notes: [
      ...(reading.supersededBy === null ? [] : ['Corrected since']),
      ...(reading.voided === null ? [] : ['Entered in error']),
      ...reading.doubts.map((doubt) => `Charted in doubt: ${METER_DOUBT[doubt]}`),
    ],
  }
}

function whereNow(visit: Visit, stay: RecallRow['stay'], wards: readonly SetUpWard[], zone: string): string {
  const ward = wards.find(({ wardId }) => wardId === stay.wardId)
  if (stay.dischargedAtMs !== null) return `discharged ${formatDay(stay.dischargedAtMs, ward?.zone ?? zone)}`
  return stay.wardId === visit.wardId ? `bed ${stay.bed}` : `${ward?.name ?? 'another ward'}, bed ${stay.bed}`
}

function doseText(visit: Visit, doseId: string, facts: StayFacts | undefined, zone: string): readonly string[] {
  const dose = visit.store.doseById(visit.scope, doseId)
  if (dose === undefined || facts === undefined || dose.outcome?.kind !== 'given') return []
  if (maskedDose(visit.actor, dose, { nowMs: visit.nowMs, policy: facts.policy.policy }))
    return ['A dose, awaiting second check']
  return [`Given ${formatInsulin(dose.units, dose.insulin)} at ${formatTime(dose.outcome.atMs, zone)}`]
}
