/** Applies what is about people: who they are, their role and wards, and whether they may sign in. */
import { eq, sql } from 'drizzle-orm'
import type { Derived, Handlers } from './derived.ts'
import { beds_taken } from './tables.ts'

type Types =
  | 'staff-added'
  | 'staff-changed'
  | 'staff-badge-changed'
  | 'staff-locked'
  | 'staff-unlocked'
  | 'staff-left'
  | 'training-set'
  | 'pin-code-made'
  | 'pin-set'

export function peopleHandlers(derived: Derived): Handlers<Types> {
  const taken = derived.connection.orm
    .select()
    .from(beds_taken)
    .where(eq(beds_taken.staff_id, sql.placeholder('staffId')))
    .prepare()
  /** A bed is not shown as looked after by somebody who is not on its ward, or may not sign in. */
  const giveUpBeds = (staffId: string, wardsKept: readonly string[]): void => {
    for (const { ward_id: wardId } of taken.all({ staffId }))
      if (!wardsKept.includes(wardId)) derived.bedsTaken.remove(wardId, staffId)
  }
  return {
    'staff-added': ({ body }) => {
      derived.staff.insert({
        staff_id: body.staffId,
        badge: body.badge,
        name: body.name,
        role: body.role,
        ward_ids: body.wardIds,
        locked_reason: null,
        locked_at_ms: null,
        left_at_ms: null,
        training_until: null,
      })
    },
    'staff-changed': ({ body }) => {
      derived.staff.put({
        ...derived.staff.need(body.staffId),
        name: body.name,
        role: body.role,
        ward_ids: body.wardIds,
      })
      giveUpBeds(body.staffId, body.wardIds)
    },
    'staff-badge-changed': ({ body }) => {
      derived.staff.put({ ...derived.staff.need(body.staffId), badge: body.badge })
    },
    'staff-locked': ({ body, happenedAtMs }) => {
      derived.staff.put({ ...derived.staff.need(body.staffId), locked_reason: body.reason, locked_at_ms: happenedAtMs })
      giveUpBeds(body.staffId, [])
    },
    'staff-unlocked': ({ body }) => {
      derived.staff.put({ ...derived.staff.need(body.staffId), locked_reason: null, locked_at_ms: null })
    },
    'staff-left': ({ body, happenedAtMs }) => {
      derived.staff.put({ ...derived.staff.need(body.staffId), left_at_ms: happenedAtMs })
      giveUpBeds(body.staffId, [])
    },
    // who could have signed in as whom since when: the ledger keeps it, and no table derives from it
    'pin-code-made': () => undefined,
    'pin-set': () => undefined,
    'training-set': ({ body }) => {
      derived.staff.put({ ...derived.staff.need(body.staffId), training_until: body.validUntil })
    },
  }
}
