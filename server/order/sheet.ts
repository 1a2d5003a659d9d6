/** One version of an order: its page, and the sheet for the binder. */
import { verifyBlock } from '../../shared/order/verify.ts'
import { orderTable } from '../../views/dose/order-table.ts'
import { formatDateTime, formatWhen } from '../../views/format.ts'
import { orderPage, type OrderPageView, type VerificationView } from '../../views/order/order.ts'
import { orderSheet } from '../../views/order/sheet.ts'
import { answerText, questionText, RECEIVED, VERSION_MARK } from '../../views/words/verification.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { isNurse } from '../http/page.ts'
import type { OrderVersionRequest } from '../http/parameters.ts'
import type { PageView, RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { bannerOf, patientHeadOf } from '../bedside/banner.ts'
import type { OrderVerification } from '../store/contract.ts'
import {
  hasRunning,
  limitsOf,
  orderContext,
  orderPath,
  runsText,
  stoppedText,
  titleOf,
  transcribedText,
  verifiedText,
  type OrderContext,
} from './reading-load.ts'

/** The page of the version of the address; undefined when it is not there, or not on a ward of this person's. */
export function versionPage(ctx: OrderVersionRequest): PageView | undefined {
  const context = orderContext(ctx)
  if (context === undefined) return undefined
  recordPatientRead(ctx, context.version.stayId)
  return { title: 'Insulin order', body: orderPage(pageView(ctx, context)) }
}

function pageView(ctx: RequestContext, context: OrderContext): OrderPageView {
  const { facts, version, versions, verifications, state, zone } = context
  const stopped = stoppedText(ctx, context)
  return {
    stayId: version.stayId,
    patient: bannerOf(facts, ctx.nowMs, true),
    title: `Insulin order: ${titleOf(version)}`,
    mark: VERSION_MARK[state],
    waits:
      state === 'not-verified' ? 'It gives no dose before a second nurse has verified it from the original.' : null,
    facts: [
      { name: 'Runs', value: runsText(version, ctx.nowMs, zone) },
      ...(stopped === null ? [] : [{ name: 'Stop', value: stopped }]),
      { name: 'Prescriber', value: `${version.order.prescriber}, ${RECEIVED[version.order.received]}` },
      { name: 'Transcribed', value: transcribedText(ctx, version, zone) },
      { name: 'Verified', value: verifiedText(ctx, version, zone) },
      { name: 'Doses', value: 'each keeps the version that it was worked out from' },
    ],
    table: orderTable(version.order, zone),
    limits: limitsOf(context),
    verifications: verifications
      .filter((one) => one.version === version.version)
      .map((one) => verificationView(ctx, context, one)),
    differed:
      state === 'differed' ? { revisePath: mayRevise(ctx, context) ? `orders/${version.orderId}/revise` : null } : null,
    actions: actionsOf(ctx, context),
    others: versions
      .filter((other) => other.version !== version.version)
      .map((other) => ({
        path: orderPath(other),
        label: `${titleOf(other)}, transcribed ${transcribedText(ctx, other, zone)}`,
      })),
  }
}

function verificationView(
  ctx: RequestContext,
  { version: { order }, zone }: OrderContext,
  one: OrderVerification,
): VerificationView {
  return {
    agreed: one.agreed,
    byWhen: `${nameOf(ctx, one.byId)}, ${formatWhen(one.atMs, ctx.nowMs, zone)}`,
    answers: one.answers.map((answer) => ({
      question: questionText(answer.question, order.unit),
      entered: answerText(answer, 'entered', order.unit),
      transcribed: answerText(answer, 'transcribed', order.unit),
      agrees: answer.agrees,
    })),
  }
}

function mayRevise(ctx: RequestContext, { facts, version, versions }: OrderContext): boolean {
  return isNurse(ctx.actor) && facts.stay.dischargedAtMs === null && versions[0]?.version === version.version
}

function actionsOf(ctx: RequestContext, context: OrderContext): OrderPageView['actions'] {
  const {
    version,
    facts: { stay },
    state,
  } = context
  const path = orderPath(version)
  const print = { path: `print/${path}`, label: 'Print the sheet', main: false }
  if (!isNurse(ctx.actor) || stay.dischargedAtMs !== null) return [print]
  const block = verifyBlock(
    {
      version,
      differed: state === 'differed',
      wardId: stay.wardId,
      dischargedAtMs: stay.dischargedAtMs,
      nowMs: ctx.nowMs,
    },
    ctx.actor.staffId,
  )
  return [
    ...(block === null ? [{ path: `${path}/verify`, label: 'Verify from the original', main: true }] : []),
    ...(mayRevise(ctx, context) && state !== 'differed'
      ? [{ path: `orders/${version.orderId}/revise`, label: 'New version', main: false }]
      : []),
    ...(hasRunning(context, ctx.nowMs)
      ? [{ path: `orders/${version.orderId}/stop`, label: 'Stop the order', main: false }]
      : []),
    print,
  ]
}

/** The sheet of the version of the address; undefined when it is not there, or not on a ward of this person's. */
export function sheetPage(ctx: OrderVersionRequest): PageView | undefined {
  const context = orderContext(ctx)
  if (context === undefined) return undefined
  const { facts, version, state, zone } = context
  recordPatientRead(ctx, version.stayId)
  return {
    title: 'Insulin order sheet',
    chrome: 'print',
    body: orderSheet({
      wardName: facts.ward.name,
      patient: patientHeadOf(facts.stay),
      title: titleOf(version),
      state: VERSION_MARK[state].word,
      usable: state === 'in-force' || state === 'starts-later',
      transcribed: transcribedText(ctx, version, zone),
      verified: verifiedText(ctx, version, zone),
      stopped: stoppedText(ctx, context),
      table: orderTable(version.order, zone),
      limits: limitsOf(context),
      printed: formatDateTime(ctx.nowMs, zone),
      printedBy: ctx.actor.name,
    }),
  }
}
