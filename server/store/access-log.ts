/** Writes the log of who looked at whom. Whose patient it was and whether the reader belonged there is worked out here, off the response path. */
import type { Connection } from './connection.ts'
import type { AccessEntry, AccessWrites } from './contract-access.ts'

type Row = [
  atMs: number,
  staffId: string,
  stayId: string | null,
  wardId: string | null,
  page: string,
  requestId: string,
  kind: string,
  role: string | null,
  ofWardId: string | null,
  ownWard: 0 | 1 | null,
  subjectId: string | null,
]

export function accessLogOf({ raw }: Connection): AccessWrites {
  const insert = raw.prepare<Row>(
    'INSERT INTO access_log (at_ms, staff_id, stay_id, ward_id, page, request_id, kind, role, of_ward_id, own_ward, subject_id) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)',
  )
  const wardOfStay = raw.prepare<[string], { ward_id: string }>('SELECT ward_id FROM stay WHERE stay_id = ?')
  const wardsOfStays = raw.prepare<[string], { stay_id: string; ward_id: string }>(
    'SELECT stay_id, ward_id FROM stay WHERE stay_id IN (SELECT value FROM json_each(?))',
  )
  // an address holds the id of a stay or of something about one
  const stayOfId = raw.prepare<{ id: string }, { stay_id: string | null }>(`SELECT COALESCE(
    (SELECT stay_id FROM stay WHERE stay_id = :id), (SELECT stay_id FROM reading WHERE reading_id = :id), (SELECT stay_id FROM dose WHERE dose_id = :id),
    (SELECT stay_id FROM low_event WHERE low_id = :id), (SELECT stay_id FROM order_version WHERE order_id = :id LIMIT 1), (SELECT stay_id FROM open_item WHERE item_id = :id)) AS stay_id`)

  const write = (entry: AccessEntry): void => {
    const { askedFor, ownWardIds, subjectId = null } = entry
    const stayId = askedFor === undefined ? entry.stayId : (stayOfId.get({ id: askedFor.id })?.stay_id ?? null)
    const ofWardId =
      stayId === null
        ? askedFor === undefined
          ? entry.wardId
          : null
        : (entry.ofWardId ?? wardOfStay.get(stayId)?.ward_id ?? null)
    const ownWard = ownWardIds === undefined || ofWardId === null ? null : ownWardIds.includes(ofWardId)
    // a mistyped address, or something of the person's own patient that is not there: nobody was kept from anything
    if (askedFor !== undefined && (stayId === null || (ownWard === true && !askedFor.byRole))) return
    const kind = entry.kind ?? (stayId === null ? 'ward' : 'patient')
    insert.run(
      entry.atMs,
      entry.staffId,
      stayId,
      entry.wardId,
      entry.page,
      entry.requestId,
      kind,
      entry.role ?? null,
      ofWardId,
      ownWard === null ? null : ownWard ? 1 : 0,
      subjectId,
    )
  }
  const all = (entries: readonly AccessEntry[]): void => {
    for (const entry of entries) write(entry)
  }
  const atOnce = raw.transaction(all)
  return {
    wardsOfStays: (stayIds) =>
      new Map(wardsOfStays.all(JSON.stringify(stayIds)).map(({ stay_id, ward_id }) => [stay_id, ward_id])),
    logAccess: (entries) => {
      if (raw.inTransaction) all(entries)
      else atOnce(entries)
    },
  }
}
