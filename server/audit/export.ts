/** Exports figures or rows as a file. The export is an event of the record: what was exported, by whom and why. */
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { exportPage } from '../../views/audit/export.ts'
import { EXPORT_SENTENCES, type ExportRefusal } from '../../views/words/rates.ts'
import { fileResponse, type PageResponse } from '../http/page.ts'
import type { FormDecision, FileMade, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { stayNumbers } from './export-columns.ts'
import { csvRows, csvText } from '../http/csv.ts'
import { headOf } from '../bedside/event-head.ts'
import { columnsOf, EXPORT_KINDS, exportTable, rowPieces, type ExportKind, type ExportTable } from './export-rows.ts'
import {
  defaultPeriod,
  lastDayHint,
  periodText,
  readPeriod,
  spanOn,
  withinWardDays,
  wardsOfScope,
  type Period,
} from './rates-question.ts'
import { wardOptions } from './rates.ts'

const REASON_LETTERS = 200

const FIELDS = z.strictObject({
  what: z.enum(EXPORT_KINDS),
  format: z.enum(['csv', 'json']),
  ward: z.string().min(1).max(40),
  from: z.string().min(1).max(10),
  to: z.string().min(1).max(10),
  identified: z.literal('yes').optional(),
  reason: z.string().trim().max(REASON_LETTERS).default(''),
})
type Fields = z.infer<typeof FIELDS>

export const EXPORT: FormSpec<Fields, ExportRefusal, RequestContext, Prepared> = {
  name: 'export',
  schema: FIELDS,
  initial: (ctx) => ({ what: 'readings', format: 'csv', ...defaultPeriod(ctx, wardsOfScope(ctx)), reason: '' }),
  draw: (ctx, state) => drawExport(ctx, state),
  before: prepare,
  decide: decideExport,
  sentences: EXPORT_SENTENCES,
  fieldOf: { 'export-reason-missing': 'reason' },
  statusOf: {},
}

function drawExport(ctx: RequestContext, { values, errors, problem }: FormState): PageView {
  const wards = wardsOfScope(ctx)
  return {
    title: 'Export',
    body: exportPage({
      wards: wardOptions(wards),
      values,
      errors,
      problem,
      lastDay: lastDayHint(wards, ctx.nowMs),
      files: EXPORT_KINDS.map((what) => ({
        what,
        columns: columnsOf(what, true).map(({ name, says, names }) => ({ name, says, names: names === true })),
      })),
    }),
  }
}

/** The export, prepared before the decision. */
type Prepared = { readonly period: Period; readonly table: ExportTable; readonly file: FileMade }

/** Reads and writes the whole file step by step, from the current record. */
async function prepare(fields: Fields, ctx: RequestContext): Promise<Outcome<Prepared, ExportRefusal>> {
  const read = readPeriod(fields, wardsOfScope(ctx), ctx.nowMs)
  // sums by patient-day load quickly for any period; rows do not
  const period = read.ok && fields.what !== 'rates' ? withinWardDays(read.value) : read
  if (!period.ok) return period
  const identified = fields.identified === 'yes'
  if (identified && fields.reason === '') return refuse('export-reason-missing')
  const fileId = ctx.services.newId()
  const numberOf = stayNumbers(ctx, identified ? { identified } : { identified: false, fileId })
  const table = await exportTable(ctx, fields.what, period.value, { identified, numberOf })
  return accept({ period: period.value, table, file: await fileOf(fields, period.value, identified, table) })
}

/** A file that describes every column of every file. It contains no patient data, so it is not recorded. */
export function columnsResponse(ctx: RequestContext): PageResponse {
  const rows = EXPORT_KINDS.flatMap((what) =>
    columnsOf(what, true).map(({ name, says, names }) => [what, name, says, names === true ? 'yes' : 'no']),
  )
  return fileResponse(ctx, {
    name: 'export-columns.csv',
    type: 'text/csv; charset=utf-8',
    text: csvText(['file', 'column', 'holds', 'only_with_names'], rows),
  })
}

/** Writes the event to the ledger before the file is sent. */
function decideExport(
  fields: Fields,
  ctx: RequestContext,
  { period, table, file }: Prepared,
): Outcome<FormDecision, ExportRefusal> {
  const identified = fields.identified === 'yes'
  const spans = period.wards.map((ward) => spanOn(ward, period))
  const [only] = period.wards
  return accept({
    events: [
      {
        ...headOf(ctx, { wardId: period.wards.length === 1 && only !== undefined ? only.wardId : null }),
        type: 'export-made',
        body: {
          what: fields.what,
          format: fields.format,
          identified,
          reason: fields.reason === '' ? null : fields.reason,
          rows: table.rows.length,
          fromMs: Math.min(...spans.map(({ fromMs }) => fromMs)),
          toMs: Math.max(...spans.map(({ toMs }) => toMs)),
        },
      },
    ],
    location: '/audit/export',
    // exporting a named patient counts as reading the patient
    effects: identified ? [{ kind: 'patient-reads', stayIds: table.stayIds }] : [],
    file,
  })
}

/**
 * What a file says about its period, in its name and its content. Dates in the question are dates of the patients in
 * the file. With the days since admission and times of day they would reveal when a patient was here. So a file without
 * names gives the year only (45 CFR 164.514(b)(2); R).
 */
function aboutOf(
  what: ExportKind,
  period: Period,
  identified: boolean,
): { readonly file: string; readonly asked: string } {
  const { fromDate, toDate, wards } = period
  if (identified || what === 'rates')
    return { file: `${fromDate}-to-${toDate}${identified ? '-identified' : ''}`, asked: periodText(period) }
  const years = [...new Set([fromDate.slice(0, 4), toDate.slice(0, 4)])]
  return {
    file: `without-names-${years.join('-to-')}`,
    asked: `${wards.map(({ name }) => name).join(', ')}, ${years.join(' to ')}`,
  }
}

async function fileOf(
  { what, format }: { readonly what: ExportKind; readonly format: 'csv' | 'json' },
  period: Period,
  identified: boolean,
  { columns, rows }: ExportTable,
): Promise<FileMade> {
  const about = aboutOf(what, period, identified)
  const name = `${what}-${about.file}.${format}`
  const header = columns.map((column) => column.name)
  const pieces: string[] = []
  if (format === 'csv') {
    for await (const piece of rowPieces(rows)) pieces.push(csvRows(piece))
    return { name, type: 'text/csv; charset=utf-8', text: csvRows([header]) + pieces.join('') }
  }
  for await (const piece of rowPieces(rows))
    pieces.push(
      ...piece.map((row) =>
        JSON.stringify(Object.fromEntries(header.map((column, index) => [column, row[index] ?? null]))),
      ),
    )
  const head = JSON.stringify(
    { format: 'ward-glucose-round export 1', what, asked: about.asked, identified, columns },
    null,
    1,
  )
  return {
    name,
    type: 'application/json; charset=utf-8',
    text: `${head.replace(/\n\}$/, '')},\n "rows": [\n${pieces.join(',\n')}\n]\n}\n`,
  }
}
