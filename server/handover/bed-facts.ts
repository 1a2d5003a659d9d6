/** The facts behind one bed's part of the handover sheet. */
import type { PatientNow } from '../../shared/check/round-model.ts'
import type { Dose, OutsideDose } from '../../shared/dose/dose.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { RoundSnapshot } from '../bedside/ward-now.ts'

/** The facts behind one bed's part. `index` numbers the beds of the sheet. */
export type BedFacts = {
  readonly snapshot: RoundSnapshot
  readonly patient: PatientNow
  readonly index: number
  readonly fromMs: number
  /** The end of the next shift. The sheet lists what is due until then. */
  readonly untilMs: number
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly outsideDoses: readonly OutsideDose[]
  /** Open, or closed since `fromMs`. */
  readonly lows: readonly LowEvent[]
}
