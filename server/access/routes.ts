/** Who looked at which patient: an administrator's report out of the access log, on a page and as a file. Each report is noted in that log. */
import { accept, type Outcome } from '../../shared/outcome.ts'
import { accessPage } from '../../views/access/page.ts'
import { reportPage } from '../../views/access/report.ts'
import { formatDateTime } from '../../views/format.ts'
import { FORM_SENTENCES } from '../../views/words/http.ts'
import { ACCESS_SENTENCES, type AccessRefusal } from '../../views/words/access.ts'
import { formRoute } from '../http/forms.ts'
import { patternOf } from '../http/log.ts'
import { fileResponse, messageResponse, page, sentenceResponse, type PageResponse } from '../http/page.ts'
import { ADMINISTRATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { todayOf } from '../setup/people-load.ts'
import type { AccessPlace } from '../store/contract.ts'
import { accessFile, FILE_MOST_ROWS } from './file.ts'
import { namesFor, periodText, rowView, subjectText, totalView } from './load.ts'
import {
  MOST_DAYS,
  QUESTION_FIELDS,
  questionOfQuery,
  REPORT_QUERY,
  type ReportRequest,
  readQuestion,
  reportQuery,
  type AccessQuestion,
  type QuestionFields,
} from './question.ts'

/** Rows on one page of the report. */
const PAGE_ROWS = 100

const ASK: FormSpec<QuestionFields, AccessRefusal> = {
  name: 'access-report',
  schema: QUESTION_FIELDS,
  initial: (ctx) => {
    const today = todayOf(ctx, [])
    return { by: 'patient', patient: '', badge: '', ward: '', from: today, to: today }
  },
  draw: drawQuestion,
  decide: askFor,
  sentences: ACCESS_SENTENCES,
  fieldOf: {},
  statusOf: {},
}

export function registerAccess(server: Server): void {
  formRoute(server, { url: '/setup/access', roles: ADMINISTRATORS, spec: ASK })
  route(
    server,
    { method: 'GET', url: '/setup/access/report', roles: ADMINISTRATORS, query: REPORT_QUERY },
    onQuestion(showReport),
  )
  route(
    server,
    { method: 'GET', url: '/setup/access/file', roles: ADMINISTRATORS, query: REPORT_QUERY },
    onQuestion(makeFile),
  )
}

function drawQuestion(ctx: RequestContext, state: FormState): PageView {
  const wards = ctx.store.setUpWards(ctx.scope).map(({ wardId, name }) => ({ value: wardId, label: name }))
  // nothing is saved here: what is marked keeps the report from being made
  const problem =
    state.problem === FORM_SENTENCES.faulty ? 'Not looked for yet. Put right what is marked.' : state.problem
  return { title: 'Access report', body: accessPage({ wards, mostDays: MOST_DAYS, ...state, problem }) }
}

/** Leads to the report under an address that holds ids only: a wristband number stands in no address. */
function askFor(fields: QuestionFields, ctx: RequestContext): Outcome<FormDecision, AccessRefusal> {
  const question = readQuestion(fields, ctx)
  return question.ok
    ? accept({ events: [], location: `/setup/access/report?${reportQuery(question.value)}` })
    : question
}

/** Reads the question of the address, notes that it was asked, and brings the log up to this moment. */
function onQuestion(
  answer: (ctx: ReportRequest, question: AccessQuestion) => PageResponse,
): (ctx: ReportRequest) => PageResponse {
  return (ctx) => {
    const question = questionOfQuery(ctx)
    if (question === undefined) return messageResponse(ctx, 404, 'not-found')
    ctx.appContext.accessLog.flush()
    const made = answer(ctx, question)
    if (made.status === 200) noteReport(ctx, question)
    return made
  }
}

function noteReport(
  { appContext, nowMs, actor, request }: RequestContext,
  { asked: { by, id } }: AccessQuestion,
): void {
  appContext.accessLog.add({
    atMs: nowMs,
    staffId: actor.staffId,
    stayId: by === 'patient' ? id : null,
    wardId: by === 'ward' ? id : null,
    page: patternOf(request),
    requestId: request.id,
    kind: 'report',
    role: actor.role,
    ...(by === 'person' ? { subjectId: id } : {}),
  })
}

/** The row after which a page begins, as an address has it: instant and number. */
function placeOf({ query: { before } }: ReportRequest): AccessPlace | null {
  const [, atMs, accessId] = /^(\d{1,15})\.(\d{1,15})$/.exec(before) ?? []
  return atMs === undefined || accessId === undefined ? null : { atMs: Number(atMs), accessId: Number(accessId) }
}

function showReport(ctx: ReportRequest, question: AccessQuestion): PageResponse {
  const { store, scope } = ctx
  const names = namesFor(ctx, question)
  const before = placeOf(ctx)
  // counted for the first page alone: a ward's year is a fifth of a second
  const totals = before === null ? store.accessTotals(scope, question.asked) : null
  const found = store.accessRows(scope, question.asked, { before, most: PAGE_ROWS + 1 })
  const rows = found.slice(0, PAGE_ROWS)
  const last = rows.at(-1)
  const count =
    totals?.reduce((sum, { patients, wards, refused, reports }) => sum + patients + wards + refused + reports, 0) ??
    null
  const query = reportQuery(question)
  return page(ctx, 200, {
    title: 'Access report',
    body: reportPage({
      by: question.asked.by,
      subject: subjectText(ctx, question, names),
      period: periodText(question),
      zone: question.zone,
      count,
      totals: totals?.map((total) => totalView(total, names, question)) ?? null,
      rows: rows.map((row) => rowView(row, names, question)),
      newestPath: before === null ? null : `setup/access/report?${query}`,
      olderPath:
        found.length > PAGE_ROWS && last !== undefined
          ? `setup/access/report?${query}&before=${String(last.atMs)}.${String(last.accessId)}`
          : null,
      filePath: count !== null && count <= FILE_MOST_ROWS ? `setup/access/file?${query}` : null,
      fileMost: FILE_MOST_ROWS,
      made: `Asked by ${ctx.actor.name}, ${formatDateTime(ctx.nowMs, question.zone)}. Asking is recorded too.`,
    }),
  })
}

function makeFile(ctx: RequestContext, question: AccessQuestion): PageResponse {
  const rows = ctx.store.accessRows(ctx.scope, question.asked, { before: null, most: FILE_MOST_ROWS + 1 })
  if (rows.length > FILE_MOST_ROWS)
    return sentenceResponse(
      ctx,
      422,
      'No file made',
      `There are more than ${String(FILE_MOST_ROWS)} rows. Ask about fewer days.`,
    )
  return fileResponse(ctx, accessFile(question, rows, namesFor(ctx, question)))
}
