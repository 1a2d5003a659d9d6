/** Loads the rows of each export for wards and days. */
import { BANDS, ratesOf, type RateSums, type Share } from '../../shared/audit/rates.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import type { RequestContext } from '../http/request-context.ts'
import {
  LOW_COLUMNS,
  MEASURE_COLUMNS,
  RATE_COLUMNS,
  READING_COLUMNS,
  type Column,
  type MeasureRow,
  type RateRow,
  type ReadingRow,
  type StayNumber,
  type StayRow,
} from './export-columns.ts'
import type { Cell } from '../http/csv.ts'
import { loadEnded, measure } from './measures-load.ts'
import { loadSums, lowsOn, yieldToRequests, partsOf } from './rates-load.ts'
import { spanOn, type Period, type PeriodWard } from './rates-question.ts'

export const EXPORT_KINDS = ['readings', 'lows', 'rates', 'measures'] as const
export type ExportKind = (typeof EXPORT_KINDS)[number]

/** The content of the file: its columns, its rows in order, and its patients. */
export type ExportTable = {
  readonly columns: readonly { readonly name: string; readonly says: string }[]
  readonly rows: readonly (readonly Cell[])[]
  readonly stayIds: readonly string[]
}

/** The columns of a file, with or without patient names. */
export function columnsOf(
  what: ExportKind,
  identified: boolean,
): readonly { readonly name: string; readonly says: string; readonly names?: true }[] {
  const columns = { readings: READING_COLUMNS, lows: LOW_COLUMNS, rates: RATE_COLUMNS, measures: MEASURE_COLUMNS }[what]
  return columns.filter(({ names }) => identified || names !== true)
}

/** Loads the rows step by step, so that requests from the bedside never wait for a ward's whole year. */
export async function exportTable(
  ctx: RequestContext,
  what: ExportKind,
  period: Period,
  { identified, numberOf }: { readonly identified: boolean; readonly numberOf: StayNumber },
): Promise<ExportTable> {
  switch (what) {
    case 'readings':
      return tableOf(
        READING_COLUMNS,
        await inSteps(period, (ward, part) => readingRows(ctx, numberOf, ward, part)),
        identified,
      )
    case 'lows':
      return tableOf(
        LOW_COLUMNS,
        await inSteps(period, (ward, part) =>
          lowsOn(ctx, ward, part).map((found) => ({
            found,
            nowMs: ctx.nowMs,
            ...stayRow(numberOf, ward, found.stay),
          })),
        ),
        identified,
      )
    case 'rates':
      return { ...(await fill(RATE_COLUMNS, await rateRows(ctx, period), identified)), stayIds: [] }
    case 'measures':
      return tableOf(
        MEASURE_COLUMNS,
        await inSteps(period, (ward, part) => measureRows(ctx, numberOf, period, { ...part, wards: [ward] })),
        identified,
      )
  }
}

/** The rows of each ward in turn, some days at a time. */
async function inSteps<R>(
  period: Period,
  rowsOf: (ward: PeriodWard, part: Period) => readonly R[],
): Promise<readonly R[]> {
  const rows: R[] = []
  for (const ward of period.wards) {
    for (const part of partsOf(period)) {
      for (const row of rowsOf(ward, part)) rows.push(row)
      await yieldToRequests()
    }
  }
  return rows
}

/** Number of rows converted to cells or text at a time. */
const ROWS_AT_A_TIME = 2_000

/** The rows in chunks. Waiting requests are answered before each chunk. */
export async function* rowPieces<R>(rows: readonly R[]): AsyncGenerator<readonly R[]> {
  for (let from = 0; from < rows.length; from += ROWS_AT_A_TIME) {
    await yieldToRequests()
    yield rows.slice(from, from + ROWS_AT_A_TIME)
  }
}

async function fill<R>(
  columns: readonly Column<R>[],
  rows: readonly R[],
  identified: boolean,
): Promise<Pick<ExportTable, 'columns' | 'rows'>> {
  const shown = columns.filter(({ names }) => identified || names !== true)
  const cells: (readonly Cell[])[] = []
  for await (const piece of rowPieces(rows)) for (const row of piece) cells.push(shown.map(({ of }) => of(row)))
  return { columns: shown.map(({ name, says }) => ({ name, says })), rows: cells }
}

async function tableOf<R extends StayRow>(
  columns: readonly Column<R>[],
  rows: readonly R[],
  identified: boolean,
): Promise<ExportTable> {
  return { ...(await fill(columns, rows, identified)), stayIds: [...new Set(rows.map(({ stay }) => stay.stayId))] }
}

function stayRow(numberOf: StayNumber, ward: PeriodWard, stay: Stay): StayRow {
  return { ward, stay, number: numberOf(stay.stayId) }
}

function readingRows(ctx: RequestContext, numberOf: StayNumber, ward: PeriodWard, part: Period): readonly ReadingRow[] {
  const { store, scope } = ctx
  const span = spanOn(ward, part)
  const rowOf = (stay: Stay): StayRow => stayRow(numberOf, ward, stay)
  const stays = new Map(store.staysOnWard(scope, ward.wardId, span).map(({ stay }) => [stay.stayId, rowOf(stay)]))
  return store.auditReadings(scope, { wardIds: [ward.wardId], ...span }).flatMap((reading): readonly ReadingRow[] => {
    // a reading from paper may have been taken before the patient came to the ward that charted it
    const elsewhere = stays.has(reading.stayId) ? undefined : store.stayHistory(scope, reading.stayId)?.stay
    if (elsewhere !== undefined) stays.set(reading.stayId, rowOf(elsewhere))
    const row = stays.get(reading.stayId)
    return row === undefined ? [] : [{ ...row, reading }]
  })
}

/** `part`: the days on which the stays ended. `period` remains the measurement period. */
function measureRows(ctx: RequestContext, numberOf: StayNumber, period: Period, part: Period): readonly MeasureRow[] {
  const ended = loadEnded(ctx, part)
  return (['published', 'classed'] as const).flatMap((rule) =>
    measure(ended, period, rule).stays.map((measured) => ({
      ...stayRow(numberOf, measured.ward, measured.ended.stay),
      rule,
      measured,
    })),
  )
}

async function rateRows(ctx: RequestContext, period: Period): Promise<readonly RateRow[]> {
  const { all, byMonth, byWard } = await loadSums(ctx, period)
  const nameOf = new Map(period.wards.map(({ wardId, name }) => [wardId, name]))
  return [
    ...figuresOf('all', '', all),
    ...[...byMonth].sort(([a], [b]) => (a < b ? -1 : 1)).flatMap(([month, sums]) => figuresOf('month', month, sums)),
    ...period.wards.flatMap(({ wardId }) => {
      const sums = byWard.get(wardId)
      return sums === undefined ? [] : figuresOf('ward', nameOf.get(wardId) ?? '', sums)
    }),
  ]
}

function figuresOf(grouping: RateRow['grouping'], group: string, sums: RateSums): readonly RateRow[] {
  const rates = ratesOf(sums)
  const { total, numeric, lo, hi } = rates.readings
  const shares = (denominator: RateRow['denominator'], bands: Readonly<Record<string, Share>>): readonly RateRow[] =>
    BANDS.flatMap((figure) => {
      const share = bands[figure]
      return share === undefined ? [] : [{ grouping, group, denominator, figure, share, value: null, behind: share.of }]
    })
  const value = (
    denominator: RateRow['denominator'],
    figure: string,
    worth: number | null,
    behind: number,
  ): RateRow => ({ grouping, group, denominator, figure, share: null, value: worth, behind })
  return [
    ...shares('readings', rates.readings.bands),
    ...shares('patient-days', rates.days.bands),
    ...shares('stays', rates.stays.bands),
    value('readings', 'lo', lo, total),
    value('readings', 'hi', hi, total),
    value('readings', 'mean', rates.mean.ofReadings, numeric),
    value('patient-days', 'mean', rates.mean.ofDays, sums.days.withNumbers),
    value('stays', 'mean', rates.mean.ofStays, sums.stays.withNumbers),
    value('readings', 'sd', rates.sd, numeric),
    value('readings', 'cv', rates.cv, numeric),
    value('readings', 'lbgi', rates.lbgi, numeric),
    value('readings', 'hbgi', rates.hbgi, numeric),
  ]
}
