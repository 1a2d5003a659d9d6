/** The words of ketones: why a result was refused, and what each asks for. */
import type { KetonesRefusal } from '../../shared/care/ketones.ts'
import type { Sentences } from '../../shared/outcome.ts'

export const KETONES_SENTENCES: Sentences<KetonesRefusal> = {
  'ketones-not-chosen': () => 'Choose how they were measured.',
  'ketones-not-a-value': () => 'Type the value with its decimal point, as in 0.4, at most 20.0.',
  'ketones-no-band': () => 'Choose the band of the strip.',
  'ketones-in-future': () => 'That time has not come yet.',
  'ketones-stay-discharged': () => 'This patient is discharged.',
}

export const KETONES_ACT: readonly { readonly blood: string; readonly urine: string; readonly act: string }[] = [
  { blood: 'below 0.6', urine: 'negative', act: 'nothing' },
  { blood: '0.6 to 1.4', urine: 'trace or small', act: 'measure again in 2 h' },
  { blood: '1.5 to 2.9', urine: 'moderate', act: 'tell the prescriber now, measure again in 2 h' },
  { blood: '3.0 and more', urine: 'large', act: 'emergency call, blood gas' },
]
