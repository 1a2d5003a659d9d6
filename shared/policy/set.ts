/** Setting a ward's policy anew: by one administrator, or by two where a dose is touched. */
import { accept, refuse, type Outcome } from '../outcome.ts'
import { DAY_MS, MINUTE_MS } from '../time/span.ts'
import type { PolicyChange } from './change.ts'
import { checkPolicy, type CrossRefusal, type PolicyFault } from './check.ts'
import type { Setting } from './entry.ts'
import { sameSetting, type FieldRefusal } from './field.ts'
import { changedSettings, touchesDose, type Part } from './parts.ts'
import { withSetting, type WardPolicy } from './ward-policy.ts'

/** How far ahead a policy may be set; farther is a slip of the year. */
const AHEAD_MOST_MS = 366 * DAY_MS

/** The newest version, whether or not it counts yet: every change is written over it. */
export type NewestPolicy = { readonly version: number; readonly policy: WardPolicy; readonly fromMs: number }

export type SetRefusal =
  | FieldRefusal
  | CrossRefusal
  | 'policy-moved-on'
  | 'nothing-changed'
  | 'from-in-past'
  | 'from-too-far'
  | 'from-before-newest'
  | 'same-change-waits'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'policy-moved-on': { version: number }
    'from-before-newest': { version: number }
  }
}

/** One administrator suffices (set), or a second one has to approve (waits). */
export type PolicySet = { readonly kind: 'set' | 'waits'; readonly policy: WardPolicy; readonly fromMs: number }

/** The policy with the part's settings as read; a setting of another kind of rule than the chosen one is left out. */
export function withPart(policy: WardPolicy, part: Part, settings: ReadonlyMap<string, Setting>): WardPolicy {
  return part.fields.reduce((made, { name, kind, only }) => {
    if (kind.kind === 'fixed') return made
    const left = only !== undefined && settings.get(only.name) !== only.is
    return withSetting(made, name, left ? undefined : settings.get(name))
  }, policy)
}

/** The policy's faults that stand in the part: a setting of another part that was loaded out of its range is not this change's fault. */
export function faultsOfPart(part: Part, policy: WardPolicy): readonly PolicyFault[] {
  return checkPolicy(policy).filter(({ name }) => part.fields.some((field) => field.name === name))
}

/**
 * Decides a change of one part. `shown` is the version that the form was drawn from; `fromMs` is when it is to count,
 * null for now. Refusals: the version moved on meanwhile; nothing changed; the instant lies more than a minute back,
 * more than a year ahead, or before the newest version counts (a version in between would never count); a fault of the
 * part (`checkPolicy`); the same change waits already.
 */
export function changePart(given: {
  readonly newest: NewestPolicy
  readonly shown: number
  readonly part: Part
  readonly settings: ReadonlyMap<string, Setting>
  readonly fromMs: number | null
  readonly waiting: readonly PolicyChange[]
  readonly nowMs: number
}): Outcome<PolicySet, SetRefusal> {
  const { newest, part, nowMs } = given
  if (given.shown !== newest.version) return refuse('policy-moved-on', { version: newest.version })
  const policy = withPart(newest.policy, part, given.settings)
  const changes = changedSettings(newest.policy, policy)
  if (changes.length === 0) return refuse('nothing-changed')
  const [fault] = faultsOfPart(part, policy)
  if (fault !== undefined) return fault
  const asked = given.fromMs ?? nowMs
  // a form's instants are whole minutes: this minute is now
  if (asked < Math.floor(nowMs / MINUTE_MS) * MINUTE_MS) return refuse('from-in-past')
  if (asked > nowMs + AHEAD_MOST_MS) return refuse('from-too-far')
  const fromMs = Math.max(asked, nowMs)
  if (fromMs < newest.fromMs) return refuse('from-before-newest', { version: newest.version })
  if (
    given.waiting.some(
      (change) =>
        change.outcome === null &&
        change.basedOn === newest.version &&
        change.fromMs === fromMs &&
        sameSetting(change.policy, policy),
    )
  )
    return refuse('same-change-waits')
  return accept({ kind: touchesDose(changes) ? 'waits' : 'set', policy, fromMs })
}

export type ApproveRefusal = 'change-settled' | 'change-is-own' | 'policy-moved-on'

/**
 * The second administrator's approval. Refusals: the change was answered before; it is the approver's own; another
 * version was set since it was written. A change that was to count from an instant now past counts from the approval.
 */
export function approveChange(given: {
  readonly change: PolicyChange
  readonly newest: NewestPolicy
  readonly byId: string
  readonly nowMs: number
}): Outcome<
  { readonly version: number; readonly policy: WardPolicy; readonly fromMs: number; readonly changeId: string },
  ApproveRefusal
> {
  const { change, newest, byId, nowMs } = given
  if (change.outcome !== null) return refuse('change-settled')
  if (change.writtenById === byId) return refuse('change-is-own')
  if (change.basedOn !== newest.version) return refuse('policy-moved-on', { version: newest.version })
  return accept({
    version: newest.version + 1,
    policy: change.policy,
    fromMs: Math.max(change.fromMs, nowMs),
    changeId: change.changeId,
  })
}

export type RefuseChangeRefusal = 'change-settled' | 'reason-missing'

/** Refused by any administrator, or taken back by the one who wrote it, with the reason. */
export function refuseChange(
  change: PolicyChange,
  reason: string,
): Outcome<{ readonly changeId: string; readonly reason: string }, RefuseChangeRefusal> {
  if (change.outcome !== null) return refuse('change-settled')
  const text = reason.trim()
  return text === '' ? refuse('reason-missing') : accept({ changeId: change.changeId, reason: text })
}
