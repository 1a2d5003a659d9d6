/** The progress of a round, in words. */
import { MINUTE_MS } from '../../shared/time/span.ts'
import { formatMinutes, formatTime } from '../../views/format.ts'
import type { At } from './at.ts'

/** "12 of 18 done, tray in 24 min" */
export function progressText(
  progress: { readonly accounted: number; readonly excused: number; readonly total: number },
  trayMs: number | null,
  { policy, nowMs }: At,
): string {
  const done =
    progress.total === 0
      ? 'No planned checks in this round'
      : `${String(progress.accounted)} of ${String(progress.total)} done${progress.excused === 0 ? '' : ` (${String(progress.excused)} excused)`}`
  if (trayMs === null) return done
  return trayMs > nowMs
    ? `${done}, tray in ${formatMinutes(Math.ceil((trayMs - nowMs) / MINUTE_MS))}`
    : `${done}, tray since ${formatTime(trayMs, policy.zone)}`
}
