/**
 * What a person must do for a patient beside checks, doses and lows. A task is derived on each read from what is
 * charted, and ends when what ends it is charted. The Round, the board, the handover and the patient's page show every
 * task. A new kind is its word in TaskKind (task.ts), its line in TASK and its function in SOURCES.
 */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { bedtimeTasks } from './bedtime.ts'
import { elsewhereTasks } from './elsewhere.ts'
import { foodTasks } from './food.ts'
import { ketoneTasks } from './ketones.ts'
import { basalTasks, otherInsulinTasks } from './other-insulin.ts'
import { insulinWordTasks } from './insulin-words.ts'
import { entriesOf } from './entries.ts'
import { noDoseCallTasks } from './no-dose-call.ts'
import { takenBackTasks } from './taken-back.ts'
import type { Task, TaskKind } from './task.ts'
import type { CareFacts } from './facts.ts'

/**
 * `settledBy` told: the prescriber is told, with read-back. note: a person accounts for it in words. own-form: only what
 * the task asks for ends it. `harm`: its rank among the board's needs (shared/board/needs.ts).
 */
export const TASK: Readonly<
  Record<TaskKind, { readonly settledBy: 'told' | 'note' | 'own-form'; readonly harm: number }>
> = {
  'no-dose-call': { settledBy: 'told', harm: 6 },
  'infusion-ended': { settledBy: 'told', harm: 1 },
  'pump-off': { settledBy: 'told', harm: 2 },
  'basal-not-given': { settledBy: 'told', harm: 5 },
  'basal-not-ordered': { settledBy: 'told', harm: 5 },
  'ketones-emergency': { settledBy: 'told', harm: 0 },
  'ketones-call': { settledBy: 'told', harm: 3 },
  'carbohydrate-now': { settledBy: 'note', harm: 3 },
  'ate-too-little-call': { settledBy: 'told', harm: 5 },
  'feed-stopped-call': { settledBy: 'told', harm: 5 },
  'ketones-due': { settledBy: 'own-form', harm: 7 },
  'ketones-again': { settledBy: 'own-form', harm: 7 },
  'share-to-chart': { settledBy: 'own-form', harm: 12 },
  'insulin-held': { settledBy: 'own-form', harm: 10 },
  'insulin-question-left': { settledBy: 'own-form', harm: 10 },
  'elsewhere-unknown': { settledBy: 'told', harm: 6 },
  'dose-taken-back': { settledBy: 'told', harm: 2 },
  'bedtime-snack': { settledBy: 'note', harm: 11 },
}

/** The tasks of one patient by one rule, those that lie ahead included: what is settled is left out by `tasksOf`. */
export type TaskSource = (facts: CareFacts, nowMs: number) => readonly Task[]

const SOURCES: readonly TaskSource[] = [
  noDoseCallTasks,
  bedtimeTasks,
  elsewhereTasks,
  insulinWordTasks,
  foodTasks,
  ketoneTasks,
  otherInsulinTasks,
  basalTasks,
  takenBackTasks,
]

/**
 * The patient's open tasks at the instant, longest waiting first, and the instants at which time alone changes them.
 * `sources`: the rules; all of them, except in tests.
 */
export function tasksOf(
  facts: CareFacts,
  nowMs: number,
  sources: readonly TaskSource[] = SOURCES,
): { readonly tasks: readonly Task[]; readonly changes: readonly number[] } {
  if (facts.stay.dischargedAtMs !== null) return { tasks: [], changes: [] }
  const settled = new Set(entriesOf(facts.entries, 'task-settled').map(({ fact }) => fact.taskKey))
  const all = sources.flatMap((source) => source(facts, nowMs)).filter(({ key }) => !settled.has(key))
  return {
    tasks: all
      .filter(({ sinceMs }) => sinceMs <= nowMs)
      .sort((a, b) => a.sinceMs - b.sinceMs || (a.key < b.key ? -1 : 1)),
    changes: all.flatMap(({ sinceMs, dueMs, chargeFromMs }) => [sinceMs, dueMs ?? sinceMs, chargeFromMs ?? sinceMs]),
  }
}

export type TaskRefusal =
  'task-gone' | 'task-told-missing' | 'task-not-read-back' | 'task-ordered-missing' | 'task-note-missing'

/** Charts that a task is settled, by the way of its kind. `entryId` is a new id. */
export function settleTask(
  entry: {
    readonly entryId: string
    readonly taskKey: string
    readonly told: string
    readonly readBack: boolean
    readonly ordered: string
    readonly note: string
    readonly byId: string
  },
  facts: CareFacts,
  nowMs: number,
  sources: readonly TaskSource[] = SOURCES,
): Outcome<LedgerEvent[], TaskRefusal> {
  const task = tasksOf(facts, nowMs, sources).tasks.find(({ key }) => key === entry.taskKey)
  if (task === undefined || TASK[task.kind].settledBy === 'own-form') return refuse('task-gone')
  const { entryId, taskKey } = entry
  const [told, ordered, note] = [entry.told.trim(), entry.ordered.trim(), entry.note.trim()]
  const head = eventHead(facts.stay, entry.byId, nowMs)
  if (TASK[task.kind].settledBy === 'note') {
    if (note === '') return refuse('task-note-missing')
    return accept([
      { ...head, type: 'entry-charted', body: { entryId, kind: 'task-settled', fact: { taskKey, how: 'note', note } } },
    ])
  }
  if (told === '') return refuse('task-told-missing')
  if (!entry.readBack) return refuse('task-not-read-back')
  if (ordered === '') return refuse('task-ordered-missing')
  return accept([
    {
      ...head,
      type: 'entry-charted',
      body: { entryId, kind: 'task-settled', fact: { taskKey, how: 'told', told, ordered } },
    },
  ])
}
