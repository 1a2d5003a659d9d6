/**
 * What a treatment page shows, as a short text that its refresh sends back: the ward's data version, the instant up to
 * which time alone leaves it as it is, and a digest of the page. Same version and earlier than that: nothing changed,
 * and nothing has to be loaded. Same digest: nothing that is shown changed.
 */
import { createHash } from 'node:crypto'
import type { LowPageView } from '../../views/low/page.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { LowContext } from './context.ts'

/** What may be seen of a value can change with time as well: looked at again this often at the latest. */
const LOOK_AGAIN_MS = 2 * MINUTE_MS
const DIGEST_CHARACTERS = 16

export function tokenOf(ctx: RequestContext, { facts, state }: LowContext, view: LowPageView): string {
  const { nowMs } = ctx
  const due = [
    ...state.steps.map(({ deadlineMs }) => deadlineMs),
    ...(view.insulin.ask === null ? [] : [view.insulin.ask.clock.dueMs]),
  ]
  // a recheck's time has come at its instant; a clock that is past is past from the next millisecond on
  const turns = [state.changesAtMs, ...due.flatMap((ms) => [ms, ms + 1])].filter(
    (ms): ms is number => ms !== null && ms > nowMs,
  )
  return `${String(facts.ward.dataVersion)}.${String(Math.min(nowMs + LOOK_AGAIN_MS, ...turns))}.${digestOf(view)}`
}

/** True when nothing was written on the ward since and no clock has turned. */
export function isUnchanged(seen: string, dataVersion: number | undefined, nowMs: number): boolean {
  const parts = /^(\d+)\.(\d+)\.[\w-]+$/.exec(seen)
  return parts !== null && Number(parts[1]) === dataVersion && nowMs < Number(parts[2])
}

/** True when the page would look the same. */
export function isSameView(seen: string, view: LowPageView): boolean {
  return seen.split('.')[2] === digestOf(view)
}

/** Of all that is shown but the one-time keys, the token itself and the time of the answer. */
function digestOf(view: LowPageView): string {
  const { seen: _seen, nowMs: _nowMs, asOf: _asOf, ...shown } = view
  const text = JSON.stringify(shown, (name, value: unknown) => (name === 'key' ? undefined : value))
  return createHash('sha256').update(text).digest('base64url').slice(0, DIGEST_CHARACTERS)
}
