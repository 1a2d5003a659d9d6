/** Open items: what waits for a person. Each one's key is made of its kind and subject, so it is open once at most. */
import { and, eq, sql } from 'drizzle-orm'
import type { OpenItemKind } from './contract.ts'
import type { Derived } from './derived.ts'
import { open_item } from './tables.ts'

export type NewItem = {
  readonly kind: OpenItemKind
  readonly stayId: string
  readonly subjectId: string
  readonly sinceMs: number
  readonly detail: string
}

export type OpenItems = {
  /** Opens it, or changes its detail, on the ward where the stay is. */
  readonly open: (item: NewItem) => void
  /** Closes one; nothing happens when it is not open. */
  readonly closeOne: (kind: OpenItemKind, subjectId: string) => void
  /** Closes all of one kind of a stay. */
  readonly close: (stayId: string, kind: OpenItemKind) => void
  readonly moveStay: (stayId: string, wardId: string) => void
}

/** The key of an open item, as its page's address has it. */
export function itemIdOf(kind: OpenItemKind, subjectId: string): string {
  return `${kind}.${subjectId}`
}

export function openItemsOf(derived: Derived): OpenItems {
  const ofStay = and(eq(open_item.stay_id, sql.placeholder('stayId')), eq(open_item.kind, sql.placeholder('kind')))
  const close = derived.connection.orm.delete(open_item).where(ofStay).prepare()
  const move = derived.connection.raw.prepare<[string, string]>('UPDATE open_item SET ward_id = ? WHERE stay_id = ?')
  return {
    open: ({ kind, stayId, subjectId, sinceMs, detail }) => {
      derived.openItem.put({
        item_id: itemIdOf(kind, subjectId),
        kind,
        ward_id: derived.stay.need(stayId).ward_id,
        stay_id: stayId,
        since_ms: sinceMs,
        subject_id: subjectId,
        detail,
      })
    },
    closeOne: (kind, subjectId) => {
      derived.openItem.remove(itemIdOf(kind, subjectId))
    },
    close: (stayId, kind) => {
      close.run({ stayId, kind })
    },
    moveStay: (stayId, wardId) => {
      move.run(wardId, stayId)
    },
  }
}
