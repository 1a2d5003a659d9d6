/** GET and POST /stays/:stayId/tasks/:taskKey: the prescriber is told of a task, or a person accounts for it in words. */
import { z } from 'zod'
import { settleTask, TASK, tasksOf, type TaskRefusal } from '../../shared/care/tasks.ts'
import type { Task } from '../../shared/care/task.ts'
import { formatWhen } from '../../views/format.ts'
import { taskForm } from '../../views/stay/task.ts'
import { STAY_GONE } from '../../views/words/stay-refusals.ts'
import { TASK_SENTENCES, TASK_WORDS } from '../../views/words/tasks.ts'
import { STAY_ADDRESS, text } from '../http/parameters.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import { careFactsOf } from '../bedside/tasks.ts'
import type { StayFacts } from '../store/contract.ts'
import { decideStay, drawStay } from './load.ts'

/** A task's key is its kind and what it is about. */
export const TASK_ADDRESS = STAY_ADDRESS.extend({ taskKey: text })
type TaskRequest = RequestContext<z.output<typeof TASK_ADDRESS>>

const LINE = z.string().trim().max(200, 'At most 200 characters.').default('')
const TASK_FORM = z.strictObject({
  told: LINE,
  readBack: z.literal('yes').optional(),
  ordered: LINE,
  note: z.string().trim().max(500, 'At most 500 characters.').default(''),
})

export const taskSpec: FormSpec<z.output<typeof TASK_FORM>, TaskRefusal | 'stay-gone', TaskRequest> = {
  name: 'task',
  schema: TASK_FORM,
  initial: () => ({}),
  draw: (ctx, state) => {
    const facts = ctx.store.stayFacts(ctx.scope, ctx.params.stayId, ctx.nowMs)
    const task = facts === undefined ? undefined : taskOfAddress(ctx, facts)
    if (task === undefined) return undefined
    return drawStay(ctx, TASK_WORDS[task.kind].says, state, (view, { policy: { policy } }) =>
      taskForm({
        ...view,
        taskKey: task.key,
        title: TASK_WORDS[task.kind].says,
        about: TASK_WORDS[task.kind].about ?? '',
        detail: task.detail,
        since: formatWhen(task.sinceMs, ctx.nowMs, policy.zone),
        due: task.dueMs === null ? null : formatWhen(task.dueMs, ctx.nowMs, policy.zone),
        asks: TASK[task.kind].settledBy === 'told' ? 'told' : 'note',
      }),
    )
  },
  decide: (fields, ctx) =>
    decideStay<TaskRefusal>(ctx, (facts) =>
      settleTask(
        {
          ...fields,
          entryId: ctx.services.newId(),
          taskKey: ctx.params.taskKey,
          readBack: fields.readBack === 'yes',
          byId: ctx.actor.staffId,
        },
        careFactsOf(facts, ctx.nowMs),
        ctx.nowMs,
      ),
    ),
  sentences: { ...TASK_SENTENCES, ...STAY_GONE },
  fieldOf: {
    'task-told-missing': 'told',
    'task-not-read-back': 'readBack',
    'task-ordered-missing': 'ordered',
    'task-note-missing': 'note',
  },
  statusOf: { 'task-gone': 409, 'stay-gone': 404 },
}

function taskOfAddress(ctx: TaskRequest, facts: StayFacts): Task | undefined {
  return tasksOf(careFactsOf(facts, ctx.nowMs), ctx.nowMs).tasks.find(
    ({ key, kind }) => key === ctx.params.taskKey && TASK[kind].settledBy !== 'own-form',
  )
}
