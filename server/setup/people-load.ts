/** Loads the data of the pages about people. */
import { z } from 'zod'
import { isShutOut } from '../../shared/staff/person.ts'
import type { StaffFacts } from '../../shared/staff/change.ts'
import { isCodeInDate } from '../../shared/staff/pin.ts'
import { trainingState } from '../../shared/staff/training.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { versionInForce } from '../../shared/policy/in-force.ts'
import { formatDate, formatDateTime, formatWhen } from '../../views/format.ts'
import type { PersonView } from '../../views/setup/people.ts'
import { ROLE_NAME, TRAINING_MARK } from '../../views/words/people.ts'
import { id } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { Staff } from '../store/contract.ts'

export const PERSON_ADDRESS = z.object({ staffId: id })
export type PersonRequest = RequestContext<z.output<typeof PERSON_ADDRESS>>

/**
 * The person in the path: any for an administrator, otherwise somebody of the viewer's own wards. Undefined: not found,
 * or not visible to the viewer.
 */
export function personOf(ctx: PersonRequest): Staff | undefined {
  const { staffId } = ctx.params
  if (ctx.actor.role === 'administrator') return ctx.store.staffById(staffId)
  return ctx.store.staffList(ctx.scope).find((person) => person.staffId === staffId)
}

/**
 * The zone of the first of these wards that the viewer may set up, otherwise of any ward. "UTC" when there is no ward
 * yet.
 */
export function zoneOf(ctx: RequestContext, wardIds: readonly string[]): string {
  const wards = ctx.store.setUpWards(ctx.scope).map(({ wardId }) => wardId)
  const wardId = wardIds.find((one) => wards.includes(one)) ?? wards[0]
  const versions = wardId === undefined ? [] : ctx.store.policyVersions(ctx.scope, wardId)
  return versionInForce(versions, ctx.nowMs)?.policy.zone ?? 'UTC'
}

/** Today's date where the person works. */
export function todayOf(ctx: RequestContext, wardIds: readonly string[]): string {
  return wardDate(ctx.nowMs, zoneOf(ctx, wardIds))
}

/** The facts for a decision about people. Read them inside its transaction. For administrators. */
export function staffFacts(ctx: RequestContext, wardIds: readonly string[]): StaffFacts {
  const { store, scope, actor, nowMs } = ctx
  const canAddPeople = store
    .staffList(scope)
    .filter(
      (person) => person.role === 'administrator' && !isShutOut(person) && store.pinHash(person.staffId) !== undefined,
    )
  return {
    actorId: actor.staffId,
    nowMs,
    today: todayOf(ctx, wardIds),
    wardIds: store.setUpWards(scope).map(({ wardId }) => wardId),
    canAddPeople: canAddPeople.map(({ staffId }) => staffId),
  }
}

/** Makes views of people. The wards are looked up once for all of them. */
export function personViews(ctx: RequestContext): (person: Staff) => PersonView {
  const names = new Map(ctx.store.setUpWards(ctx.scope).map(({ wardId, name }) => [wardId, name]))
  const zones = new Map<string, string>()
  const zoneFor = (wardIds: readonly string[]): string => {
    const key = wardIds[0] ?? ''
    const zone = zones.get(key) ?? zoneOf(ctx, wardIds)
    zones.set(key, zone)
    return zone
  }
  return (person) => {
    const zone = zoneFor(person.wardIds)
    const training = trainingState(person.trainingUntil, wardDate(ctx.nowMs, zone))
    const code = ctx.store.pinCode(person.staffId)
    return {
      staffId: person.staffId,
      name: person.name,
      badge: person.badge,
      role: ROLE_NAME[person.role],
      // a ward that this viewer may not see is not named
      wards: person.wardIds.flatMap((wardId) => names.get(wardId) ?? []),
      training: {
        mark: TRAINING_MARK[training],
        until: person.trainingUntil === null ? null : formatDate(person.trainingUntil),
        renew: training === 'ends-soon' || training === 'ended',
      },
      hasPin: ctx.store.pinHash(person.staffId) !== undefined,
      codeUntil:
        code !== undefined && isCodeInDate(code, ctx.nowMs) ? formatWhen(code.expiresAtMs, ctx.nowMs, zone) : null,
      locked:
        person.locked === null ? null : { reason: person.locked.reason, at: formatDateTime(person.locked.atMs, zone) },
      leftAt: person.leftAtMs === null ? null : formatDateTime(person.leftAtMs, zone),
    }
  }
}
