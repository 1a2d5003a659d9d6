/** The facts that one bed's part of the handover sheet is drawn from. */
import type { PatientNow } from '../../shared/check/round-model.ts'
import type { Dose, OutsideDose } from '../../shared/dose/dose.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { RoundSnapshot } from '../bedside/ward-now.ts'

/** What one bed's part is drawn from. `index` numbers the beds of the sheet. */
export type BedFacts = {
  readonly snapshot: RoundSnapshot
  readonly patient: PatientNow
  readonly index: number
  readonly fromMs: number
  /** The end of the shift that takes over: up to it the sheet lists what is due. */
  readonly untilMs: number
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly outsideDoses: readonly OutsideDose[]
  /** Open, or closed since `fromMs`. */
  readonly lows: readonly LowEvent[]
}
