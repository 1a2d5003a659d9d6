/** The Round and its printed sheets. A nurse on the ward opens the Round first and returns to it after each bed. */
import { decideScan } from '../../shared/check/scan.ts'
import { formatWhen } from '../../views/format.ts'
import { noCheckOpen, roundList, roundPage, scanAgain, wrongWristband } from '../../views/round/page.ts'
import { printKit, printRound } from '../../views/round/print.ts'
import { SCAN_SENTENCE } from '../../views/words/check.ts'
import { drawCheckForm } from '../check/form.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { echo, parseFields, readFields } from '../http/fields.ts'
import { fragment, messageResponse, page, redirect, type PageResponse } from '../http/page.ts'
import { NURSES } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { RequestContext } from '../http/request-context.ts'
import { BEDS_QUERY, type BedsRequest } from '../bedside/beds-taken.ts'
import { trainingNote } from '../bedside/training-note.ts'
import { ScanForm, WRISTBAND_MOST } from './forms.ts'
import { roundSnapshot, type RoundSnapshot } from '../bedside/ward-now.ts'
import { kitFor, listView } from './page.ts'
import { renderedRound } from './render.ts'
import { printRoundView } from './print.ts'
import { sentenceOf } from '../../shared/outcome.ts'
import { patientHeadOf } from '../bedside/banner.ts'

/** Registers the Round, its list, the scan box and the two sheets. */
export function registerRound(server: Server): void {
  route(
    server,
    { method: 'GET', url: '/round', roles: NURSES, query: BEDS_QUERY },
    onWard((ctx: BedsRequest, snapshot) =>
      page(ctx, 200, {
        title: 'Round',
        body: roundPage({
          list: listView(ctx, snapshot),
          kit: kitFor(ctx, snapshot),
          training: trainingNote(ctx, snapshot.facts.policy.policy.zone),
        }),
      }),
    ),
  )

  route(
    server,
    { method: 'GET', url: '/round/list', roles: NURSES, query: BEDS_QUERY },
    onWard((ctx: BedsRequest, snapshot) => fragment(ctx, 200, roundList(listView(ctx, snapshot)))),
  )

  route(server, { method: 'GET', url: '/scan', roles: NURSES }, (ctx) => redirect(ctx, '/round'))
  route(server, { method: 'POST', url: '/scan', roles: NURSES }, onWard(scan))

  route(
    server,
    { method: 'GET', url: '/print/round', roles: NURSES },
    onWard((ctx, snapshot) =>
      page(ctx, 200, { title: 'Round sheet', body: printRound(printRoundView(ctx, snapshot)), chrome: 'print' }),
    ),
  )

  route(
    server,
    { method: 'GET', url: '/print/kit', roles: NURSES, query: BEDS_QUERY },
    onWard((ctx: BedsRequest, snapshot) => {
      const { progress } = listView(ctx, snapshot)
      const { heading, asOf } = renderedRound(snapshot)
      const view = {
        wardName: snapshot.facts.ward.name,
        heading,
        printed: asOf,
        left: progress,
        kit: kitFor(ctx, snapshot),
      }
      return page(ctx, 200, { title: 'Kit list', body: printKit(view), chrome: 'print' })
    }),
  )
}

/** Passes the ward's round to the handler. A person without a ward chooses one first. */
function onWard<C extends RequestContext>(
  handler: (ctx: C, snapshot: RoundSnapshot) => PageResponse,
): (ctx: C) => PageResponse {
  return (ctx) => {
    const snapshot = ctx.wardId === null ? undefined : roundSnapshot(ctx, ctx.wardId)
    return snapshot === undefined ? redirect(ctx, '/ward') : handler(ctx, snapshot)
  }
}

/** Goes from a wristband to the form of that patient's check. The scan confirms the patient. */
function scan(ctx: RequestContext, snapshot: RoundSnapshot): PageResponse {
  const sent = readFields(ctx.request.body)
  const form = parseFields(ScanForm, sent)
  if (!form.ok) {
    const error = form.errors['wristband'] ?? form.problem
    return page(ctx, 422, {
      title: 'Find a patient',
      body: scanAgain({ value: (echo(sent.fields, [])['wristband'] ?? '').slice(0, WRISTBAND_MOST), error }),
    })
  }
  const { wristband } = form.value
  const { model, facts } = snapshot
  const patient = [...model.patients.values()].find(({ stay }) => stay.wristband === wristband)
  const decision = decideScan({
    stayId: patient?.stay.stayId ?? null,
    elsewhere: patient === undefined ? elsewhere(ctx, wristband) : null,
    checks: model.lines.flatMap(({ stayId, check, state }) =>
      stayId === patient?.stay.stayId && check !== null && state !== null ? [{ check, state }] : [],
    ),
  })
  if (!decision.ok)
    return page(ctx, 409, {
      title: 'Wrong wristband',
      body: wrongWristband({ sentence: sentenceOf(SCAN_SENTENCE, decision) }),
    })
  if (patient === undefined) throw new Error('a scan was accepted without a patient')
  recordPatientRead(ctx, patient.stay.stayId)
  const { checkKey, nextDueMs } = decision.value
  if (checkKey === null) {
    const next =
      nextDueMs === null ? null : `The next one is due ${formatWhen(nextDueMs, ctx.nowMs, facts.policy.policy.zone)}.`
    return page(ctx, 200, {
      title: 'No check open',
      body: noCheckOpen({ patient: patientHeadOf(patient.stay), next }),
    })
  }
  const view = drawCheckForm(ctx, checkKey, wristband)
  return view === undefined ? messageResponse(ctx, 404, 'not-found') : page(ctx, 200, view)
}

/** Where else the wristband is worn, for wards that this person may see. */
function elsewhere(ctx: RequestContext, wristband: string): { readonly bed: string; readonly ward: string } | null {
  const found = ctx.store.stayByWristband(wristband)
  const ward =
    found === undefined ? undefined : ctx.store.wards(ctx.scope).find(({ wardId }) => wardId === found.wardId)
  return found === undefined || ward === undefined ? null : { bed: found.bed, ward: ward.name }
}
