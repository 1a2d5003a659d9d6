/** The form of the scan box. */
import { z } from 'zod'
import { SCAN_SENTENCE } from '../../views/words/check.ts'

/** Longest wristband number accepted, in characters. */
export const WRISTBAND_MOST = 40

export const ScanForm = z.strictObject({
  wristband: z
    .string()
    .trim()
    .min(1, SCAN_SENTENCE['wristband-missing']({}))
    .max(WRISTBAND_MOST, `A wristband number has at most ${String(WRISTBAND_MOST)} characters.`),
})
