/** Applies what is about a ward's policy: its versions, and changes that wait for a second administrator. */
import { wardIdOf, type Derived, type EventOf, type Handlers } from './derived.ts'

type Types = 'policy-set' | 'policy-set-from' | 'policy-change-written' | 'policy-change-refused'

export function policyHandlers(derived: Derived): Handlers<Types> {
  const addVersion = (
    event: EventOf<'policy-set' | 'policy-set-from'>,
    fromMs: number,
    why: { readonly changeId: string | null; readonly note: string },
  ): void => {
    const wardId = wardIdOf(event)
    derived.policyVersion.insert({
      ward_id: wardId,
      version: event.body.version,
      from_ms: fromMs,
      policy: event.body.policy,
      set_by: event.actorId,
      charted_at_ms: event.chartedAtMs,
      change_id: why.changeId,
      note: why.note,
    })
  }

  const close = (
    changeId: string,
    outcome: 'approved' | 'refused',
    byId: string,
    atMs: number,
    reason: string | null,
  ): void => {
    const change = derived.policyChange.need(changeId)
    if (change.outcome !== null) throw new Error(`policy change ${changeId} was decided before`)
    derived.policyChange.put({ ...change, outcome, outcome_by: byId, outcome_at_ms: atMs, outcome_reason: reason })
  }

  return {
    'policy-set': (event) => {
      addVersion(event, event.happenedAtMs, { changeId: null, note: '' })
    },
    'policy-set-from': (event) => {
      const { changeId, fromMs, note = '' } = event.body
      addVersion(event, fromMs, { changeId, note: changeId === null ? note : derived.policyChange.need(changeId).note })
      if (changeId !== null) close(changeId, 'approved', event.actorId, event.happenedAtMs, null)
    },
    'policy-change-written': (event) => {
      const { changeId, basedOn, policy, fromMs, note } = event.body
      derived.policyChange.insert({
        change_id: changeId,
        ward_id: wardIdOf(event),
        based_on: basedOn,
        policy,
        from_ms: fromMs,
        note,
        written_by: event.actorId,
        written_at_ms: event.happenedAtMs,
        outcome: null,
        outcome_by: null,
        outcome_at_ms: null,
        outcome_reason: null,
      })
    },
    'policy-change-refused': ({ body, actorId, happenedAtMs }) => {
      close(body.changeId, 'refused', actorId, happenedAtMs, body.reason)
    },
  }
}
