/** Where each task is charted, and a stay's tasks on its own pages. */
import { isOpenedAgain } from '../../shared/care/taken-back.ts'
import type { CareFacts } from '../../shared/care/facts.ts'
import type { Task, TaskKind } from '../../shared/care/task.ts'
import { TASK } from '../../shared/care/tasks.ts'
import { missedBasalSlots, settledKeyOf } from '../../shared/check/scheduled.ts'
import { isEffective } from '../../shared/reading/reading.ts'
import type { StayFacts } from '../store/contract.ts'

/** Paths of the tasks with a form of their own. */
const OWN_FORM: Partial<Readonly<Record<TaskKind, (task: Pick<Task, 'stayId' | 'subjectId'>) => string>>> = {
  'ketones-due': ({ stayId }) => `stays/${stayId}/ketones`,
  'ketones-again': ({ stayId }) => `stays/${stayId}/ketones`,
  'share-to-chart': ({ stayId, subjectId }) => `stays/${stayId}/tray?meal=${subjectId}`,
  'insulin-held': ({ stayId }) => `stays/${stayId}/insulin-word`,
  'insulin-question-left': ({ stayId }) => `stays/${stayId}/insulin-word`,
}

/** The path of the page where the task is charted. */
export function taskPath(task: Pick<Task, 'kind' | 'key' | 'stayId' | 'subjectId'>): string {
  const own = OWN_FORM[task.kind]
  if (own !== undefined) return own(task)
  if (TASK[task.kind].settledBy === 'own-form') throw new Error(`the task ${task.kind} has no page`)
  return `stays/${task.stayId}/tasks/${task.key}`
}

/** What tasks and watch checks of the stay are derived from. */
export function careFactsOf(facts: StayFacts, nowMs: number): CareFacts {
  const { stay, entries, insulinGiven, trays, orders, lows, directions, feedStoppedSinceMs } = facts
  return {
    stay,
    entries,
    insulinGiven,
    trays,
    orders,
    lows,
    directions,
    feedStoppedSinceMs,
    notGiven: facts.doses.flatMap(({ doseId, insulin, outcome }) =>
      outcome?.kind === 'withheld' || outcome?.kind === 'refused' ? [{ doseId, insulin, atMs: outcome.atMs }] : [],
    ),
    missedBasal: missedBasalSlots(
      orders,
      {
        zone: facts.policy.policy.zone,
        lookBackHours: facts.policy.policy.missedLookBackHours,
        settled: settledSlotsOf(facts),
      },
      nowMs,
    ),
    policy: facts.policy.policy,
    readings: facts.readings.filter(isEffective),
  }
}

/** Keys of the scheduled doses of the stay that were given, withheld, refused or charted as zero. */
export function settledSlotsOf({ doses }: Pick<StayFacts, 'doses'>): ReadonlySet<string> {
  return new Set(
    doses.flatMap(({ slotKey, kind, outcome, working: { orderId } }) =>
      slotKey === null || outcome === null || isOpenedAgain(outcome) ? [] : [settledKeyOf({ slotKey, kind, orderId })],
    ),
  )
}
