/** Secrets, logins, one-time keys, drafts and people: what is looked up by a key, most of it outside the ledger. */
import { asc, eq, sql } from 'drizzle-orm'
import { randomBytes } from 'node:crypto'
import type { Connection } from './connection.ts'
import type { Session, Store } from './contract.ts'
import { staffOf } from './facts.ts'
import { rowsOf } from './rows.ts'
import { maySee } from './scope.ts'
import { draft, one_time_key, pin_code, pin_credential, secret, session as sessionTable } from './tables-outside.ts'
import { staff as staffTable } from './tables.ts'

/** What was typed when a login ran out is kept this long; it can hold what a patient's page holds. */
const DRAFT_KEPT_MS = 24 * 3_600_000
const SECRET_BYTES = 32

type Logins = Pick<
  Store,
  | 'staffById'
  | 'staffByBadge'
  | 'isEmpty'
  | 'setPinHash'
  | 'pinHash'
  | 'putSession'
  | 'session'
  | 'touchSession'
  | 'dropSession'
  | 'secret'
  | 'staffList'
  | 'putPinCode'
  | 'pinCode'
  | 'dropPinCode'
  | 'dropSessionsOf'
  | 'lookUpKey'
  | 'settleKey'
  | 'putDraft'
  | 'draft'
>

export function loginsOf(connection: Connection): Logins {
  const { raw, orm } = connection
  const staff = rowsOf(connection, staffTable)
  const pins = rowsOf(connection, pin_credential)
  const pinCodes = rowsOf(connection, pin_code)
  const sessions = rowsOf(connection, sessionTable)
  const secrets = rowsOf(connection, secret)
  const keys = rowsOf(connection, one_time_key)
  const drafts = rowsOf(connection, draft)
  const byBadge = orm
    .select()
    .from(staffTable)
    .where(eq(staffTable.badge, sql.placeholder('badge')))
    .prepare()
  const everybody = orm.select().from(staffTable).orderBy(asc(staffTable.name), asc(staffTable.staff_id)).prepare()
  // asked for each board that is drawn, so not of the whole hospital; an id stands in the list of wards between quotes
  const ofWard = orm
    .select()
    .from(staffTable)
    .where(sql`instr(${staffTable.ward_ids}, ${sql.placeholder('quotedWardId')}) > 0`)
    .orderBy(asc(staffTable.name), asc(staffTable.staff_id))
    .prepare()
  const sessionsOf = raw.prepare<[string]>('DELETE FROM session WHERE staff_id = ?')
  const anybody = raw.prepare<[], { found: number }>('SELECT EXISTS (SELECT 1 FROM staff) AS found')
  const oldDrafts = raw.prepare<[number]>('DELETE FROM draft WHERE at_ms < ?')

  const putSession = (session: Session): void => {
    sessions.put({
      token_hash: session.tokenHash,
      staff_id: session.staffId,
      ward_id: session.wardId,
      meter_id: session.meterId,
      started_mono_ms: session.startedMonoMs,
      last_seen_mono_ms: session.lastSeenMonoMs,
    })
  }
  const session = (tokenHash: string): Session | undefined => {
    const row = sessions.get(tokenHash)
    if (row === undefined) return undefined
    return {
      tokenHash,
      staffId: row.staff_id,
      wardId: row.ward_id,
      startedMonoMs: row.started_mono_ms,
      lastSeenMonoMs: row.last_seen_mono_ms,
      meterId: row.meter_id,
    }
  }

  return {
    staffById: (staffId) => {
      const row = staff.get(staffId)
      return row === undefined ? undefined : staffOf(row)
    },
    staffByBadge: (badge) => {
      const row = byBadge.get({ badge })
      return row === undefined ? undefined : staffOf(row)
    },
    staffList: (scope) => {
      const [wardId, ...more] = scope.wardIds
      const rows =
        scope.role === 'administrator' || wardId === undefined || more.length > 0
          ? everybody.all()
          : ofWard.all({ quotedWardId: JSON.stringify(wardId) })
      return rows
        .filter((row) => scope.role === 'administrator' || row.ward_ids.some((id) => maySee(scope, id)))
        .map(staffOf)
    },
    isEmpty: () => anybody.get()?.found === 0,
    setPinHash: (staffId, hash) => {
      pins.put({ staff_id: staffId, pin_hash: hash })
    },
    pinHash: (staffId) => pins.get(staffId)?.pin_hash,
    putPinCode: ({ staffId, codeHash, expiresAtMs }) => {
      pinCodes.put({ staff_id: staffId, code_hash: codeHash, expires_at_ms: expiresAtMs })
    },
    pinCode: (staffId) => {
      const row = pinCodes.get(staffId)
      return row === undefined ? undefined : { codeHash: row.code_hash, expiresAtMs: row.expires_at_ms }
    },
    dropPinCode: (staffId) => {
      pinCodes.remove(staffId)
    },
    dropSessionsOf: (staffId) => {
      sessionsOf.run(staffId)
    },
    putSession,
    session,
    touchSession: (tokenHash, change) => {
      const before = session(tokenHash)
      if (before !== undefined) putSession({ ...before, ...change })
    },
    dropSession: (tokenHash) => {
      sessions.remove(tokenHash)
    },
    secret: (purpose) => {
      const known = secrets.get(purpose)
      if (known !== undefined) return known.value
      const value = randomBytes(SECRET_BYTES)
      secrets.insert({ purpose, value })
      return value
    },
    lookUpKey: ({ nonce, staffId, bodyHash }) => {
      const row = keys.get(nonce)
      if (row === undefined) return { kind: 'fresh' }
      if (row.staff_id !== staffId) return { kind: 'not-yours' }
      return row.body_hash === bodyHash
        ? { kind: 'same', answer: { status: row.status, location: row.location } }
        : { kind: 'other-body' }
    },
    settleKey: ({ nonce, staffId, form, bodyHash, answer, atMs }) => {
      if (!raw.inTransaction) throw new Error('a one-time key is settled in the transaction of its decision')
      keys.insert({
        nonce,
        staff_id: staffId,
        form,
        body_hash: bodyHash,
        status: answer.status,
        location: answer.location,
        at_ms: atMs,
      })
    },
    putDraft: ({ draftId, staffId, path, fields, atMs }) => {
      oldDrafts.run(atMs - DRAFT_KEPT_MS)
      drafts.put({ draft_id: draftId, staff_id: staffId, path, fields, at_ms: atMs })
    },
    draft: (draftId, staffId) => {
      const row = drafts.get(draftId)
      return row?.staff_id === staffId ? { path: row.path, fields: row.fields, atMs: row.at_ms } : undefined
    },
  }
}
