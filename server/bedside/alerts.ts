/** Alerts for a bed besides its check, in words, each with its link and its time limit. */
import type { PatientNow } from '../../shared/check/round-model.ts'
import { callByMs } from '../../shared/critical/call.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { formatWhen } from '../../views/format.ts'
import type { AlertView } from '../../views/round/row.ts'
import {
  ITEM_WAITS,
  laboratoryWaits,
  LOW_WAITS,
  LOW_GOES_ON,
  UNACCOUNTED_WAITS,
  DOSE_WAITS,
  DOSE_TO_WORK_OUT,
} from '../../views/words/round.ts'
import { TASK_WORDS } from '../../views/words/tasks.ts'
import type { At } from './at.ts'
import { taskPath } from './tasks.ts'

/** Who sees the alerts: with critical results that wait for their call, or (masked) only once that time has passed. */
type AlertsFor = { readonly criticals: boolean }

/**
 * Alerts for this bed besides the check, each with its link and its time. They contain no value, because second checks
 * are blind.
 */
export function alertsOf(patient: PatientNow, at: At, { criticals }: AlertsFor): readonly AlertView[] {
  const alerts = [...lowAlerts(patient.openLow, at), ...dosesWaiting(patient, at)]
  const critical = patient.items.find(({ kind }) => kind === 'critical')
  if (critical !== undefined) {
    // one call reports all critical results of the patient, so it appears once, for the earliest
    const dueMs = callByMs(critical.sinceMs, at.policy)
    if (criticals || at.nowMs > dueMs) alerts.push(clocked(ITEM_WAITS.critical, itemPath(critical), dueMs, at))
  }
  if (patient.laboratory !== null)
    alerts.push(
      clocked(
        laboratoryWaits(patient.laboratory.which),
        `stays/${patient.stay.stayId}/lab-value`,
        patient.laboratory.byMs,
        at,
      ),
    )
  return [
    ...alerts,
    ...patient.items.flatMap((item): AlertView[] => {
      const text = ITEM_WAITS[item.kind]
      if (text === null || item.kind === 'critical') return []
      const dueMs =
        item.kind === 'insulin-question' ? item.sinceMs + at.policy.low.insulinQuestionMin * MINUTE_MS : null
      return [dueMs === null ? { text, path: itemPath(item), dueMs } : clocked(text, itemPath(item), dueMs, at)]
    }),
    ...taskAlerts(patient.tasks, at),
  ]
}

/** The patient's tasks, each with its page. They contain no value either. */
export function taskAlerts(tasks: PatientNow['tasks'], at: At): readonly AlertView[] {
  return tasks.map((task) => {
    const { says } = TASK_WORDS[task.kind]
    const text = task.detail === null ? says : `${says}: ${task.detail}`
    return task.dueMs === null
      ? { text, path: taskPath(task), dueMs: null }
      : clocked(text, taskPath(task), task.dueMs, at)
  })
}

function clocked(text: string, path: string, dueMs: number, { policy, nowMs }: At): AlertView {
  return { text: `${text}, by ${formatWhen(dueMs, nowMs, policy.zone)}`, path, dueMs }
}

/** The low's own line shows the recheck's time. These alerts are its other open steps. */
function lowAlerts(low: PatientNow['openLow'], at: At): AlertView[] {
  if (low === null) return []
  const path = `lows/${low.lowId}`
  const owed = low.steps.flatMap((step): AlertView[] => {
    if (step.kind === 'recheck' || step.kind === 'follow-up') return []
    const calls = step.kind === 'tell-prescriber' || step.kind === 'escalate'
    return [clocked(LOW_WAITS[step.kind], calls ? `${path}/prescriber-calls` : path, step.deadlineMs, at)]
  })
  return owed.length > 0 ? owed : [{ text: LOW_GOES_ON, path, dueMs: null }]
}
function unaccountedAlerts({ unaccounted }: PatientNow): AlertView[] {
  return unaccounted.map((doseId) => ({ text: UNACCOUNTED_WAITS, path: `doses/${doseId}`, dueMs: null }))
}
function doseAlerts({ openDoses }: PatientNow): AlertView[] {
  return openDoses.flatMap(({ doseId, state }): AlertView[] => {
    const text = DOSE_WAITS[state]
    return text === null ? [] : [{ text, path: `doses/${doseId}`, dueMs: null }]
  })
}

/** What the patient's doses wait for. It contains no value, because second checks are blind. */
export function dosesWaiting(patient: PatientNow, at: At): readonly AlertView[] {
  return [...unaccountedAlerts(patient), ...doseAlerts(patient), ...workOutAlerts(patient, at)]
}
function workOutAlerts({ doseToWorkOut: owed }: PatientNow, at: At): AlertView[] {
  if (owed === null) return []
  const path = `readings/${owed.readingId}`
  return [
    owed.tooOld
      ? { text: DOSE_TO_WORK_OUT['too-old'], path, dueMs: null }
      : clocked(DOSE_TO_WORK_OUT.fresh, path, owed.dueMs, at),
  ]
}

export function itemPath(item: {
  readonly kind: string
  readonly itemId: string
  readonly subjectId: string
  readonly stayId: string
}): string {
  if (item.kind === 'critical') return `readings/${item.subjectId}/critical-call`
  if (item.kind === 'low') return `lows/${item.subjectId}`
  if (item.kind === 'insulin-question') return `lows/${item.subjectId}/insulin-question`
  if (item.kind === 'handover') return `stays/${item.stayId}/handed-over`
  return item.kind === 'flag' ? `flags/${item.itemId}` : `stays/${item.stayId}`
}
