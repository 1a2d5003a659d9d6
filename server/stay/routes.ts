/** A patient's page, and the forms for what was charted on paper. */
import { tasksOf } from '../../shared/care/tasks.ts'
import { isInForce } from '../../shared/order/order.ts'
import { isRunning } from '../../shared/order/stop.ts'
import { FACT_NAMES } from '../../shared/stay/facts.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { orderTable } from '../../views/dose/order-table.ts'
import { formatDate, formatDateTime } from '../../views/format.ts'
import { stayPage, type StayPageView } from '../../views/stay/page.ts'
import { ITEM_WAITS, LOW_GOES_ON } from '../../views/words/round.ts'
import { FACT, factText } from '../../views/words/stay.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { formRoute } from '../http/forms.ts'
import { isNurse, messageResponse, page } from '../http/page.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { STAY_ADDRESS } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { isCriticalHidden } from '../bedside/masking.ts'
import { roundSnapshot } from '../bedside/ward-now.ts'
import { dosesWaiting, itemPath, taskAlerts } from '../bedside/alerts.ts'
import { careFactsOf } from '../bedside/tasks.ts'
import type { StayFacts } from '../store/contract.ts'
import { stayContext } from '../bedside/facts-now.ts'
import { bannerOf } from '../bedside/banner.ts'
import { courseView } from './course.ts'
import { registerStayChanges } from './change-routes.ts'
import { TASK_ADDRESS, taskSpec } from './task.ts'
import { paperReadingSpec } from './paper-reading.ts'
import { planLines } from './plan-lines.ts'
import { timelineOf } from './timeline.ts'

export function registerStay(server: Server): void {
  route(server, { method: 'GET', url: '/stays/:stayId', roles: READERS, params: STAY_ADDRESS }, (ctx) => {
    const facts = stayContext(ctx)
    if (facts === undefined) return messageResponse(ctx, 404, 'not-found')
    recordPatientRead(ctx, facts.stay.stayId)
    return page(ctx, 200, { title: 'Patient', body: stayPage(pageView(ctx, facts)) })
  })
  formRoute(server, {
    url: '/stays/:stayId/paper-reading',
    roles: NURSES,
    params: STAY_ADDRESS,
    spec: paperReadingSpec,
  })
  formRoute(server, { url: '/stays/:stayId/tasks/:taskKey', roles: NURSES, params: TASK_ADDRESS, spec: taskSpec })
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
      ...taskAlerts(tasksOf(careFactsOf(facts, ctx.nowMs), ctx.nowMs).tasks, { policy, nowMs: ctx.nowMs }),
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
