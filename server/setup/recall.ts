/**
 * "Which results came from this lot or meter between these times": one question in the query string, one page of
 * results.
 */
import type { z } from 'zod'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { maskedDose } from '../../shared/reading/mask.ts'
import { accept, refuse, sentenceOf, type Outcome } from '../../shared/outcome.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { addDays, localDateTime, parseLocalDateTime, wardDate, wardTime } from '../../shared/time/zone.ts'
import { recallPage, type RecallPageView, type RecallRowView } from '../../views/setup/recall.ts'
import { formatDateTime, formatDay, formatInsulin, formatName, formatTime } from '../../views/format.ts'
import { RECALL_SENTENCES, type RecallRefusal } from '../../views/words/meter.ts'
import { METER_DOUBT } from '../../views/words/reading.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { isId } from '../http/ids.ts'
import { page, type PageResponse } from '../http/page.ts'
import { RECALLERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { PERIOD_QUERY, queryText } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { isMasked } from '../bedside/masking.ts'
import type { MeterRecord, RecallRow, StayFacts } from '../store/contract.ts'
import { ownWard, setUpWards, type SetUpWard } from './meters-load.ts'

/** The default question covers the last seven days. */
const DEFAULT_DAYS = 7
/** Longest period of one question, in days: longer than one strip lot is in use. */
const MOST_DAYS = 366

const RECALL_QUERY = PERIOD_QUERY.extend({ meter: queryText, lot: queryText })
type RecallRequest = RequestContext<object, z.output<typeof RECALL_QUERY>>

export function registerRecall(server: Server): void {
  route(server, { method: 'GET', url: '/recall', roles: RECALLERS, query: RECALL_QUERY }, recall)
}

type Supplies = {
  readonly wards: readonly SetUpWard[]
  readonly meters: readonly (MeterRecord & { readonly wardName: string })[]
  readonly lots: readonly string[]
}

function suppliesOf(ctx: RequestContext): Supplies {
  const wards = setUpWards(ctx)
  const meters = wards.flatMap((ward) =>
    ctx.store.metersOfWard(ctx.scope, ward.wardId).map((meter) => ({ ...meter, wardName: ward.name })),
  )
  const lots = new Set(
    wards.flatMap(({ wardId }) => ctx.store.stripLotsOfWard(ctx.scope, wardId).map(({ lot }) => lot)),
  )
  return { wards, meters, lots: [...lots].sort() }
}

function recall(ctx: RecallRequest): PageResponse {
  const supplies = suppliesOf(ctx)
  const zone = zoneOf(ctx, supplies)
  const isAsked = Object.values(ctx.query).some((text) => text !== '')
  const values = {
    meter: ctx.query.meter,
    lot: ctx.query.lot,
    from: isAsked
      ? ctx.query.from
      : `${addDays(wardDate(ctx.nowMs, zone), -DEFAULT_DAYS)}T${wardTime(ctx.nowMs, zone)}`,
    to: isAsked ? ctx.query.to : localDateTime(ctx.nowMs, zone),
  }
  const draw = (status: number, rest: Pick<RecallPageView, 'errors' | 'problem' | 'answer'>): PageResponse =>
    page(ctx, status, {
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
  const question = readQuestion(ctx, supplies, zone)
  if (!question.ok) {
    const sentence = sentenceOf(RECALL_SENTENCES, question)
    return draw(422, {
      errors: { [FIELD_OF[question.reason]]: sentence },
      problem: 'Not looked for yet. Put right what is marked.',
      answer: null,
    })
  }
  return draw(200, { errors: {}, problem: null, answer: answerTo(ctx, question.value, supplies, zone) })
}

const FIELD_OF: Readonly<Record<RecallRefusal, 'meter' | 'from' | 'to'>> = {
  'recall-nothing-asked': 'meter',
  'recall-time-not-read': 'from',
  'recall-turned-round': 'to',
  'recall-too-long': 'to',
}

/** Times are those of the chosen meter's ward. Without a meter they are those of the person's own ward. */
function zoneOf(ctx: RecallRequest, { wards, meters }: Supplies): string {
  const chosen = meters.find(({ meterId }) => meterId === ctx.query.meter)
  return (wards.find(({ wardId }) => wardId === chosen?.wardId) ?? ownWard(ctx, wards))?.zone ?? 'UTC'
}

type Question = {
  readonly meter: Supplies['meters'][number] | null
  readonly lot: string | null
  readonly fromMs: number
  readonly toMs: number
}

function readQuestion(ctx: RecallRequest, { meters, lots }: Supplies, zone: string): Outcome<Question, RecallRefusal> {
  const [meterId, lot] = [ctx.query.meter, ctx.query.lot]
  const meter = isId(meterId) ? meters.find((one) => one.meterId === meterId) : undefined
  // an unknown meter or lot must not be treated as "any"
  if ((meterId !== '' && meter === undefined) || (lot !== '' && !lots.includes(lot)) || (meterId === '' && lot === ''))
    return refuse('recall-nothing-asked')
  const fromMs = parseLocalDateTime(ctx.query.from, zone, ctx.nowMs)
  const toMs = parseLocalDateTime(ctx.query.to, zone, ctx.nowMs)
  if (fromMs === null || toMs === null) return refuse('recall-time-not-read')
  if (fromMs >= toMs) return refuse('recall-turned-round')
  if (toMs - fromMs > MOST_DAYS * DAY_MS) return refuse('recall-too-long', { days: MOST_DAYS })
  return accept({ meter: meter ?? null, lot: lot === '' ? null : lot, fromMs, toMs })
}

function answerTo(
  ctx: RequestContext,
  question: Question,
  supplies: Supplies,
  zone: string,
): NonNullable<RecallPageView['answer']> {
  const { meter, lot, fromMs, toMs } = question
  const found = ctx.store.recallRows(ctx.scope, { meterId: meter?.meterId ?? null, lot, fromMs, toMs })
  const facts = new Map<string, StayFacts | undefined>()
  for (const { stay } of found) {
    if (facts.has(stay.stayId)) continue
    facts.set(stay.stayId, ctx.store.stayFacts(ctx.scope, stay.stayId, ctx.nowMs))
    recordPatientRead(ctx, stay.stayId)
  }
  const rows = found.map((row) => rowView(ctx, row, facts.get(row.stay.stayId), supplies, zone))
  const which = [meter === null ? null : `meter ${meter.serial}`, lot === null ? null : `strip lot ${lot}`]
    .filter((one) => one !== null)
    .join(' with ')
  return {
    asked: `Results from ${which}, taken from ${formatDateTime(fromMs, zone)} until before ${formatDateTime(toMs, zone)} (${zone}).`,
    rows,
    patients: facts.size,
    doses: rows.reduce((sum, { doses }) => sum + doses.length, 0),
    lows: rows.reduce((sum, { lows }) => sum + lows.length, 0),
    printed: `Looked up by ${ctx.actor.name}, ${formatDateTime(ctx.nowMs, zone)}. Patients of your own wards only.`,
  }
}

function rowView(
  ctx: RequestContext,
  { reading, stay, doseIds }: RecallRow,
  facts: StayFacts | undefined,
  { wards, meters }: Supplies,
  askedZone: string,
): RecallRowView {
  // if the reading was taken on another ward before a move, use the question's clock
  const zone = wards.find(({ wardId }) => wardId === reading.wardId)?.zone ?? askedZone
  const meter = meters.find(({ meterId }) => meterId === reading.meterId)
  // without the stay's facts nothing shows that the value may be seen
  const masked = facts === undefined || isMasked(ctx, reading, facts)
  return {
    when: formatDateTime(reading.takenAtMs, zone),
    patient: formatName(stay),
    where: `${whereNow(ctx, stay, wards, zone)}, wristband ${stay.wristband}`,
    stayPath: `stays/${stay.stayId}`,
    value: masked ? 'awaiting second check' : formatGlucose(reading.glucose),
    readingPath: `readings/${reading.readingId}`,
    by: `taken by ${nameOf(ctx, reading.byId)}`,
    supplies: [
      meter === undefined ? null : `meter ${meter.serial}`,
      reading.stripLot === null ? null : `strips ${reading.stripLot}`,
    ]
      .filter((one) => one !== null)
      .join(', '),
    doses: doseIds.flatMap((doseId) => doseText(ctx, doseId, facts, zone)),
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

function whereNow(ctx: RequestContext, stay: RecallRow['stay'], wards: readonly SetUpWard[], zone: string): string {
  const ward = wards.find(({ wardId }) => wardId === stay.wardId)
  if (stay.dischargedAtMs !== null) return `discharged ${formatDay(stay.dischargedAtMs, ward?.zone ?? zone)}`
  return stay.wardId === ctx.wardId ? `bed ${stay.bed}` : `${ward?.name ?? 'another ward'}, bed ${stay.bed}`
}

function doseText(ctx: RequestContext, doseId: string, facts: StayFacts | undefined, zone: string): readonly string[] {
  const dose = ctx.store.doseById(ctx.scope, doseId)
  if (dose === undefined || facts === undefined || dose.outcome?.kind !== 'given') return []
  if (maskedDose(ctx.actor, dose, { nowMs: ctx.nowMs, policy: facts.policy.policy }))
    return ['A dose, awaiting second check']
  return [`Given ${formatInsulin(dose.units, dose.insulin)} at ${formatTime(dose.outcome.atMs, zone)}`]
}
