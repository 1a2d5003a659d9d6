/**
 * Which patients of a ward the last writes were about. A page that knows the ward's facts of a moment ago then reads
 * those patients again and no others. What is not known for certain is "the whole ward": a write of another process, a
 * gap in the versions, an event about more than one patient.
 */
import type { EventType } from '../../shared/ledger/events.ts'

/** One step of a ward's data version: the patient it was about, or null for more than one patient. */
export type WardChange = { readonly wardId: string; readonly version: number; readonly stayId: string | null }

/** Steps kept for each ward: a ward that was not looked at for this many writes is read whole. */
const MOST_KEPT = 64

export class WardChanges {
  readonly #ofWard = new Map<string, WardChange[]>()

  /** Takes note of steps that are committed, in their order. */
  committed(changes: readonly WardChange[]): void {
    for (const change of changes) {
      const steps = this.#ofWard.get(change.wardId) ?? []
      steps.push(change)
      if (steps.length > MOST_KEPT) steps.shift()
      this.#ofWard.set(change.wardId, steps)
    }
  }

  /** The patients whose facts changed after version `from` and up to `to`; null: read the whole ward. */
  staysBetween(wardId: string, from: number, to: number): ReadonlySet<string> | null {
    if (to < from) return null
    const steps = (this.#ofWard.get(wardId) ?? []).filter(({ version }) => version > from && version <= to)
    const isWhole = steps.length === to - from && steps.every(({ version }, index) => version === from + 1 + index)
    const stays = new Set<string>()
    for (const { stayId } of isWhole ? steps : []) {
      if (stayId === null) return null
      stays.add(stayId)
    }
    return isWhole ? stays : null
  }
}

/** Whether an event changes what is known of its own patient alone. A new event does not compile until it says so. */
export const CHANGES_ONLY_ITS_STAY: Readonly<Record<EventType, boolean>> = {
  'ward-opened': false,
  'policy-set': false,
  'policy-set-from': false,
  'policy-change-written': false,
  'policy-change-refused': false,
  'ward-beds-set': false,
  'staff-changed': false,
  'staff-badge-changed': false,
  'staff-locked': false,
  'staff-unlocked': false,
  'staff-left': false,
  'training-set': false,
  'pin-code-made': false,
  'pin-set': false,
  'staff-added': false,
  'meter-added': false,
  'meter-controlled': false,
  'meter-moved': false,
  'meter-retired': false,
  'strip-lot-added': false,
  'strip-lot-ranges-set': false,
  'control-measured': false,
  'comparison-recorded': false,
  // who lies on the ward changes
  'stay-admitted': false,
  'stay-moved': false,
  'stay-discharged': false,
  'stay-readmitted': false,
  'stay-identified': true,
  'facts-set': true,
  'feed-interrupted': true,
  'feed-resumed': true,
  'plan-laid-over': true,
  'plan-end-set': true,
  'plan-set': true,
  'order-written': true,
  'order-verified': true,
  'order-verification-answered': true,
  'standard-order-written': false,
  'standard-order-approved': false,
  'standard-order-withdrawn': false,
  'order-stopped': true,
  'beds-taken': false,
  'wristband-mismatched': true,
  'entry-refused': true,
  'dose-stopped': true,
  'audit-note-added': false,
  'export-made': false,
  'need-handed': false,
  'reading-recorded': true,
  'reading-voided': true,
  'check-excused': true,
  'tray-delayed': false,
  'tray-charted': true,
  'share-eaten-charted': true,
  'dose-proposed': true,
  'second-check-answered': true,
  'dose-started-again': true,
  'dose-verified': true,
  'dose-given': true,
  'dose-not-given': true,
  'dose-voided': true,
  'voids-are-events': false,
  'direction-recorded': true,
  'outside-dose-recorded': true,
  'low-event-opened': true,
  'low-relapsed': true,
  'low-answered': true,
  'low-treated': true,
  'low-level-3-found': true,
  'low-emergency-called': true,
  'low-told': true,
  'low-food-given': true,
  'insulin-question-answered': true,
  'low-event-closed': true,
  'low-event-reopened': true,
  'symptoms-treated': true,
  'critical-told': true,
  'entry-charted': true,
  'flag-resolved': true,
}
