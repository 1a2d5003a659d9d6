/** The access report as a file: the rows of the page, each in one line. */
import { wardDate } from '../../shared/time/zone.ts'
import { ROLE_NAME } from '../../views/words/people.ts'
import { csvText, type Cell } from '../http/csv.ts'
import type { FileMade } from '../http/request-context.ts'
import type { AccessRow } from '../store/contract.ts'
import { timeToSecond, whatText, type Names } from './load.ts'
import type { AccessQuestion } from './question.ts'

/** More rows than this are no file: the service answers nobody else while it writes one (our own limit). */
export const FILE_MOST_ROWS = 20_000

type Column = { readonly name: string; readonly of: (row: AccessRow, names: Names) => Cell }

const yesNo = (holds: boolean | null): Cell => (holds === null ? 'not noted' : holds ? 'yes' : 'no')

const DONE: Readonly<Record<AccessRow['kind'], string>> = {
  patient: 'patient shown',
  ward: 'ward shown',
  refused: 'asked for, not shown',
  report: 'report made',
}

export const FILE_COLUMNS: readonly Column[] = [
  { name: 'date', of: ({ atMs, wardId }, names) => wardDate(atMs, names.zone(wardId)) },
  { name: 'time', of: ({ atMs, wardId }, names) => timeToSecond(atMs, names.zone(wardId)) },
  { name: 'clock', of: ({ wardId }, names) => names.zone(wardId) },
  { name: 'person', of: ({ staffId }, names) => names.person(staffId)?.name ?? null },
  { name: 'badge', of: ({ staffId }, names) => names.person(staffId)?.badge ?? null },
  { name: 'role', of: ({ role }) => (role === null ? 'not noted' : ROLE_NAME[role]) },
  { name: 'done', of: ({ kind }) => DONE[kind] },
  { name: 'page', of: (row, names) => whatText(row, names) },
  { name: 'wristband', of: ({ wristband }) => wristband },
  { name: 'ward', of: ({ wardId }, names) => names.ward(wardId) },
  { name: 'person_of_this_ward', of: ({ ownWard, kind }) => (kind === 'report' ? null : yesNo(ownWard)) },
  { name: 'answer', of: ({ requestId }) => requestId },
]

export function accessFile(
  { asked: { by }, fromDate, toDate }: AccessQuestion,
  rows: readonly AccessRow[],
  names: Names,
): FileMade {
  const text = csvText(
    FILE_COLUMNS.map(({ name }) => name),
    rows.map((row) => FILE_COLUMNS.map(({ of }) => of(row, names))),
  )
  return { name: `access-by-${by}-${fromDate}-to-${toDate}.csv`, type: 'text/csv; charset=utf-8', text }
}
