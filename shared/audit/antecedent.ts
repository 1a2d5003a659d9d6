/** One event before a low, and when it happened. */
import type { PlanVersion } from '../check/check.ts'
import type { CriticalCall } from '../critical/call.ts'
import type { Dose, OutsideDose, TrayFact } from '../dose/dose.ts'
import type { SymptomsTreated, LowEvent } from '../low/low.ts'
import type { OrderVersion } from '../order/order.ts'
import type { OrderStop } from '../order/stop.ts'
import type { Reading } from '../reading/reading.ts'
import type { FactName } from '../stay/facts.ts'
import type { BedsideFacts, FeedInterruption, BedSpan } from '../stay/stay.ts'

/**
 * The tray of a dose's meal. `afterMs`: how long after the insulin it was served; below 0: before it. Null: no tray was
 * charted. `isLate`: the dose was given before the tray, and the tray was not served within the policy's minutes. The
 * default is 15; each ward sets its own.
 */
export type TrayAfter = { readonly meal: TrayFact['meal']; readonly afterMs: number | null; readonly isLate: boolean }

/**
 * Insulin of a meal, relative to its tray. `beforeMs`: how long before serving it was given. Null: no time of serving.
 */
export type MealDose = { readonly dose: Dose; readonly beforeMs: number | null }

export type AntecedentFact =
  | { readonly kind: 'reading'; readonly reading: Reading }
  | { readonly kind: 'dose'; readonly dose: Dose; readonly tray: TrayAfter | null }
  | { readonly kind: 'dose-not-given'; readonly dose: Dose }
  | { readonly kind: 'outside-dose'; readonly dose: OutsideDose }
  /**
   * `isTimed` false: no time of serving is charted, so the planned time is used. `doses`: insulin given for this meal.
   */
  | { readonly kind: 'tray'; readonly tray: TrayFact; readonly isTimed: boolean; readonly doses: readonly MealDose[] }
  | { readonly kind: 'order-written' | 'order-verified'; readonly version: OrderVersion }
  | {
      readonly kind: 'order-ended'
      readonly version: OrderVersion
      readonly how: 'replaced' | 'stopped' | 'expired'
      readonly stop: OrderStop | null
    }
  | {
      readonly kind: 'facts-changed'
      readonly names: readonly FactName[]
      readonly before: BedsideFacts
      readonly after: BedsideFacts
    }
  | { readonly kind: 'nil-by-mouth'; readonly began: boolean }
  | { readonly kind: 'feed'; readonly interruption: FeedInterruption; readonly began: boolean }
  | { readonly kind: 'plan'; readonly version: PlanVersion; readonly began: boolean }
  | { readonly kind: 'critical-told'; readonly call: CriticalCall }
  | { readonly kind: 'symptoms'; readonly symptoms: SymptomsTreated }
  | { readonly kind: 'low'; readonly low: LowEvent; readonly opened: boolean }
  | { readonly kind: 'bed'; readonly span: BedSpan; readonly admitted: boolean }
  | { readonly kind: 'discharged' }

/** `chartedAtMs` and `byId` are null when the record does not hold them separately. */
export type Antecedent = {
  readonly atMs: number
  readonly chartedAtMs: number | null
  readonly byId: string | null
  readonly fact: AntecedentFact
}
