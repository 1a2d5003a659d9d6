/** A patient's page, and the forms for what was charted on paper. */
import { refuse } from '../../shared/outcome.ts'
import { parseGlucose, type GlucoseRefusal } from '../../shared/glucose/value.ts'
import { isInForce } from '../../shared/order/order.ts'
import { isRunning } from '../../shared/order/stop.ts'
import { checkAt } from '../../shared/reading/facts.ts'
import { recordReading, type ReadingRefusal } from '../../shared/reading/record.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { FACT_NAMES } from '../../shared/stay/facts.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { orderTable } from '../../views/dose/order-table.ts'
import { formatDate, formatDateTime } from '../../views/format.ts'
import { paperReading } from '../../views/stay/paper.ts'
import { stayPage, type StayPageView } from '../../views/stay/page.ts'
import { GLUCOSE_SENTENCES } from '../../views/words/glucose.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { ITEM_WAITS, LOW_GOES_ON } from '../../views/words/round.ts'
import { FACT, factText } from '../../views/words/stay.ts'
import { GLUCOSE_FIELD } from '../bedside/fields.ts'
import { nearMissOf, refuseWristband } from '../bedside/near-misses.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { formRoute } from '../http/forms.ts'
import { isNurse, messageResponse, page } from '../http/page.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { STAY_ADDRESS, type StayRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { isCriticalHidden } from '../bedside/masking.ts'
import { roundSnapshot } from '../bedside/ward-now.ts'
import { dosesWaiting, itemPath } from '../bedside/alerts.ts'
import type { StayFacts } from '../store/contract.ts'
import { stayContext } from '../bedside/facts-now.ts'
import { bannerOf } from '../bedside/banner.ts'
import { courseView } from './course.ts'
import { PAPER_FORM } from './forms.ts'
import { registerStayChanges } from './change-routes.ts'
import { planLines } from './plan-lines.ts'
import { timelineOf } from './timeline.ts'

export function registerStay(server: Server): void {
  route(server, { method: 'GET', url: '/stays/:stayId', roles: READERS, params: STAY_ADDRESS }, (ctx) => {
    const facts = stayContext(ctx)
    if (facts === undefined) return messageResponse(ctx, 404, 'not-found')
    recordPatientRead(ctx, facts.stay.stayId)
    return page(ctx, 200, { title: 'Patient', body: stayPage(pageView(ctx, facts)) })
  })
  formRoute(server, { url: '/stays/:stayId/paper-reading', roles: NURSES, params: STAY_ADDRESS, spec: PAPER })
  registerStayChanges(server)
}

function pageView(ctx: RequestContext, facts: StayFacts): StayPageView {
  const {
    stay,
    policy: { policy },
  } = facts
  const { zone } = policy
  // as on the ward's Round; nothing is due for a patient who has left
  const onRound = roundSnapshot(ctx, stay.wardId)?.model.patients.get(stay.stayId)
  return {
    stayId: stay.stayId,
    patient: bannerOf(facts, ctx.nowMs, true),
    facts: bedsideFacts(stay, ctx.nowMs, zone),
    plans: planLines(facts.plans, ctx.nowMs, zone),
    orders: facts.orders
      .filter((version) => isInForce(version, ctx.nowMs))
      .map((version) => {
        const verified =
          version.verified === null
            ? 'NOT VERIFIED by a second person'
            : `verified by ${nameOf(ctx, version.verified.byId)}`
        return {
          heading: `${version.order.insulin}, version ${String(version.version)}, ${verified}`,
          table: orderTable(version.order, zone),
        }
      }),
    waiting: [
      ...(onRound === undefined ? [] : dosesWaiting(onRound, { policy, nowMs: ctx.nowMs })),
      ...unverifiedOrders(facts, ctx.nowMs),
      ...facts.openItems.flatMap((item) => {
        if (item.kind === 'critical' && isCriticalHidden(ctx, facts, item)) return []
        const text = item.kind === 'low' ? LOW_GOES_ON : ITEM_WAITS[item.kind]
        // skip the link of an item that leads back to this page
        return text === null || itemPath(item) === `stays/${stay.stayId}` ? [] : [{ text, path: itemPath(item) }]
      }),
    ],
    course: courseView(ctx, facts),
    rows: timelineOf(ctx, facts),
    mayChart: isNurse(ctx.actor) && stay.dischargedAtMs === null,
    mayReadmit: isNurse(ctx.actor) && stay.dischargedAtMs !== null,
  }
}

/** Unverified orders, including those that start later. They give no dose before a second person has verified them. */
function unverifiedOrders({ orders }: StayFacts, nowMs: number): StayPageView['waiting'] {
  return orders
    .filter((version) => version.verified === null && isRunning(version, nowMs))
    .map(({ orderId, version, order }) => ({
      text: `Order not verified yet: ${order.insulin}`,
      path: `orders/${orderId}/${String(version)}`,
    }))
}

function bedsideFacts(stay: Stay, nowMs: number, zone: string): StayPageView['facts'] {
  return [
    { name: 'Admitted', value: formatDateTime(stay.admittedAtMs, zone) },
    ...(stay.dischargedAtMs === null ? [] : [{ name: 'Discharged', value: formatDateTime(stay.dischargedAtMs, zone) }]),
    ...FACT_NAMES.map((name) => ({ name: FACT[name], value: factText(name, stay.facts, { nowMs, zone }) })),
    { name: 'Born', value: formatDate(stay.bornOn) },
  ]
}

type PaperFields = ReturnType<(typeof PAPER_FORM)['parse']>
type PaperRefusal = ReadingRefusal | TakenAtRefusal | GlucoseRefusal | 'taker-unknown' | 'stay-gone'

const PAPER: FormSpec<PaperFields, PaperRefusal, StayRequest> = {
  name: 'paper-reading',
  schema: PAPER_FORM,
  initial: () => ({}),
  draw: drawPaper,
  decide: (fields, ctx) => {
    const facts = stayContext(ctx)
    if (facts === undefined) return refuse('stay-gone')
    if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
    const { policy } = facts.policy
    const glucose = parseGlucose(fields.glucose, policy.unit)
    if (!glucose.ok) return glucose
    const takenAt = parseTakenAt(fields.takenAt, policy.zone, ctx.nowMs)
    if (!takenAt.ok) return takenAt
    const taker = fields.takenBy === '' ? ctx.actor : ctx.store.staffByBadge(fields.takenBy)
    if (taker === undefined || !isNurse(taker) || !taker.wardIds.includes(facts.stay.wardId))
      return refuse('taker-unknown')
    const readingId = ctx.services.newId()
    const decision = recordReading(
      {
        readingId,
        newLowId: ctx.services.newId(),
        checkKey: checkAt(takenAt.value, facts)?.key ?? null,
        wristband: fields.wristband,
        glucose: glucose.value,
        takenAtMs: takenAt.value,
        meterId: fields.meterId === '' ? null : fields.meterId,
        stripLot: null,
        site: null,
        lateReason: 'charted-on-paper',
        extraReason: null,
        source: 'paper',
        byId: taker.staffId,
        chartedById: ctx.actor.staffId,
      },
      facts,
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/readings/${readingId}` } } : decision
  },
  sentences: {
    ...GLUCOSE_SENTENCES,
    ...READING_SENTENCES,
    'taker-unknown': () => 'No nurse of this ward has this badge. Type the badge of who took it, or leave it empty.',
    'stay-gone': () => 'This patient is not on a ward of yours any more.',
  },
  fieldOf: {
    ...GLUCOSE_FIELD,
    'reading-other-unit': 'glucose',
    'time-not-read': 'takenAt',
    'time-in-future': 'takenAt',
    'time-before-admission': 'takenAt',
    'taker-unknown': 'takenBy',
    'meter-unknown': 'meterId',
    'meter-other-unit': 'meterId',
  },
  statusOf: { 'wristband-wrong': 409, 'stay-discharged': 409, 'check-already-done': 409, 'stay-gone': 404 },
  keep: (reason, { wristband }, ctx) =>
    nearMissOf(ctx, { reason, wristband, at: 'paper-reading' }, () => stayContext(ctx)),
}

function drawPaper(ctx: StayRequest, state: FormState): PageView | undefined {
  const facts = stayContext(ctx)
  if (facts === undefined) return undefined
  recordPatientRead(ctx, facts.stay.stayId)
  return {
    title: 'Reading from paper',
    body: paperReading({
      stayId: facts.stay.stayId,
      patient: bannerOf(facts, ctx.nowMs, false),
      unit: facts.policy.policy.unit,
      ...state,
      meters: facts.meters.map(({ meterId, serial }) => ({ value: meterId, label: serial })),
    }),
  }
}
