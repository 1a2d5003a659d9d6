/** Applies what is about a stay's check plans. */
import { eq, sql } from 'drizzle-orm'
import { isAddition } from '../../shared/check/plan.ts'
import { stayIdOf, type Derived, type Handlers } from './derived.ts'
import { plan_version } from './tables.ts'

type Types = 'plan-set' | 'plan-laid-over' | 'plan-end-set'

export function planHandlers(derived: Derived): Handlers<Types> {
  const plans = derived.connection.orm
    .select()
    .from(plan_version)
    .where(eq(plan_version.stay_id, sql.placeholder('stayId')))
    .prepare()
  return {
    'plan-set': (event) => {
      const [stayId, { body, happenedAtMs: fromMs }] = [stayIdOf(event), event]
      // a new plan ends the ones before it from its start on; what was planned until then stays. An addition ends no
      // plan and no plan ends it, and a plan laid over the others goes on lying there
      for (const before of plans.all({ stayId })) {
        if (isAddition(body.plan) || isAddition(before.plan) || before.overlay) continue
        if (before.until_ms === null || before.until_ms > fromMs)
          derived.planVersion.put({ ...before, until_ms: Math.max(before.from_ms, fromMs) })
      }
      derived.planVersion.insert({
        stay_id: stayId,
        version: body.version,
        plan: body.plan,
        from_ms: fromMs,
        until_ms: body.untilMs,
        overlay: false,
      })
    },
    'plan-laid-over': (event) => {
      const { version, plan, fromMs, untilMs } = event.body
      derived.planVersion.insert({
        stay_id: stayIdOf(event),
        version,
        plan,
        from_ms: fromMs,
        until_ms: untilMs,
        overlay: true,
      })
    },
    // an end before the start takes back what never began
    'plan-end-set': (event) => {
      const plan = derived.planVersion.need(stayIdOf(event), event.body.version)
      derived.planVersion.put({
        ...plan,
        until_ms: event.body.untilMs === null ? null : Math.max(plan.from_ms, event.body.untilMs),
      })
    },
  }
}
