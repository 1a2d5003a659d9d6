/** Reads of the access log for the administrators' report: by patient, by person and by ward, newest first, paged by key. */
import type { Role } from '../../shared/ledger/events.ts'
import type { Connection } from './connection.ts'
import type { AccessAsked, AccessKind, AccessReads, AccessRow, AccessStay, AccessTotal } from './contract-access.ts'
import type { Scope } from './contract.ts'

type Found = {
  access_id: number
  at_ms: number
  staff_id: string
  role: Role | null
  kind: AccessKind
  page: string
  request_id: string
  stay_id: string | null
  wristband: string | null
  of_ward_id: string | null
  own_ward: 0 | 1 | null
  subject_id: string | null
}
type RowsAsked = {
  readonly id: string
  readonly fromMs: number
  readonly toMs: number
  readonly beforeMs: number
  readonly beforeId: number
  readonly most: number
}
type Counted = {
  staff_id: string
  patients: number
  wards: number
  refused: number
  reports: number
  elsewhere: number
  first_ms: number
  last_ms: number
}

/** The column that each kind of question is asked of; each has its index with the time behind it. */
const COLUMN: Readonly<Record<AccessAsked['by'], string>> = {
  patient: 'stay_id',
  person: 'staff_id',
  ward: 'of_ward_id',
}

export function accessReadsOf({ raw }: Connection): AccessReads {
  const prepared = (by: AccessAsked['by']) => ({
    // beforeMs bounds the walk of the index; beforeId parts rows of one instant
    rows: raw.prepare<
      RowsAsked,
      Found
    >(`SELECT a.access_id, a.at_ms, a.staff_id, a.role, a.kind, a.page, a.request_id, a.stay_id, stay.wristband, a.of_ward_id, a.own_ward, a.subject_id
      FROM access_log AS a LEFT JOIN stay ON stay.stay_id = a.stay_id
      WHERE a.${COLUMN[by]} = :id AND a.at_ms >= :fromMs AND a.at_ms < :toMs AND a.at_ms <= :beforeMs AND (a.at_ms < :beforeMs OR a.access_id < :beforeId)
      ORDER BY a.at_ms DESC, a.access_id DESC LIMIT :most`),
    totals: raw.prepare<
      { id: string; fromMs: number; toMs: number },
      Counted
    >(`SELECT staff_id, sum(kind = 'patient') AS patients, sum(kind = 'ward') AS wards, sum(kind = 'refused') AS refused,
      sum(kind = 'report') AS reports, sum(own_ward = 0 AND kind IN ('patient', 'ward')) AS elsewhere, min(at_ms) AS first_ms, max(at_ms) AS last_ms
      FROM access_log WHERE ${COLUMN[by]} = :id AND at_ms >= :fromMs AND at_ms < :toMs GROUP BY staff_id ORDER BY count(*) DESC, staff_id`),
  })
  const statements = { patient: prepared('patient'), person: prepared('person'), ward: prepared('ward') }
  const stays = raw.prepare<
    { text: string },
    { stay_id: string; ward_id: string; wristband: string; admitted_at_ms: number; discharged_at_ms: number | null }
  >(
    'SELECT stay_id, ward_id, wristband, admitted_at_ms, discharged_at_ms FROM stay WHERE wristband = :text OR stay_id = :text ORDER BY admitted_at_ms DESC, stay_id',
  )

  return {
    accessRows: (scope, { by, id, fromMs, toMs }, { before, most }) => {
      if (!mayAsk(scope)) return []
      return statements[by].rows
        .all({
          id,
          fromMs,
          toMs,
          beforeMs: before?.atMs ?? Number.MAX_SAFE_INTEGER,
          beforeId: before?.accessId ?? Number.MAX_SAFE_INTEGER,
          most,
        })
        .map(rowOf)
    },
    accessTotals: (scope, { by, id, fromMs, toMs }) =>
      mayAsk(scope) ? statements[by].totals.all({ id, fromMs, toMs }).map(totalOf) : [],
    accessStays: (scope, text) => {
      if (!mayAsk(scope)) return []
      return stays.all({ text }).map((row): AccessStay => ({
        stayId: row.stay_id,
        wardId: row.ward_id,
        wristband: row.wristband,
        admittedAtMs: row.admitted_at_ms,
        dischargedAtMs: row.discharged_at_ms,
      }))
    },
  }
}

function mayAsk({ role }: Scope): boolean {
  return role === 'administrator'
}

function rowOf(row: Found): AccessRow {
  return {
    accessId: row.access_id,
    atMs: row.at_ms,
    staffId: row.staff_id,
    role: row.role,
    kind: row.kind,
    page: row.page,
    requestId: row.request_id,
    stayId: row.stay_id,
    wristband: row.wristband,
    wardId: row.of_ward_id,
    ownWard: row.own_ward === null ? null : row.own_ward === 1,
    subjectId: row.subject_id,
  }
}

function totalOf(row: Counted): AccessTotal {
  return {
    staffId: row.staff_id,
    patients: row.patients,
    wards: row.wards,
    refused: row.refused,
    reports: row.reports,
    foreign: row.elsewhere,
    firstAtMs: row.first_ms,
    lastAtMs: row.last_ms,
  }
}
