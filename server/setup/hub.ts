/** Links to everything that is set up, as far as the route table allows this role, and what waits for this person. */
import { isShutOut } from '../../shared/staff/person.ts'
import { TRAINING_ENDS_SOON_DAYS, trainingState } from '../../shared/staff/training.ts'
import { hubPage, type FirstStepView, type GroupView, type LinkView, type WaitingView } from '../../views/setup/hub.ts'
import { EVERYBODY } from '../http/roles.ts'
import { page } from '../http/page.ts'
import { route, type Server } from '../http/route.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { Staff, Ward } from '../store/contract.ts'
import { todayOf } from './people-load.ts'

export function registerHub(server: Server): void {
  route(server, { method: 'GET', url: '/setup', roles: EVERYBODY }, (ctx) => {
    const wards = ctx.store.setUpWards(ctx.scope)
    const people = mayOpen(ctx, '/setup/people') ? ctx.store.staffList(ctx.scope) : []
    const view = {
      firstSteps: firstSteps(ctx, wards, people),
      waiting: waitingFor(ctx, wards, people),
      groups: groupsFor(ctx, wards),
    }
    return page(ctx, 200, { title: 'Setup', body: hubPage(view) })
  })
}

/** True when the route table opens this page to the person's role. */
function mayOpen(ctx: RequestContext, pattern: string): boolean {
  return ctx.appContext.routes.some(
    ({ method, url, roles }) =>
      method === 'GET' && url === pattern && roles !== 'anyone' && roles.includes(ctx.actor.role),
  )
}

function groupsFor(ctx: RequestContext, wards: readonly Ward[]): readonly GroupView[] {
  /** A link to a page without ids in its path. Empty if the person may not open it. */
  const to = (path: string, label: string, about: string): readonly LinkView[] =>
    mayOpen(ctx, `/${path}`) ? [{ path, label, about }] : []
  const wardPolicies =
    mayOpen(ctx, '/setup/wards') || !mayOpen(ctx, '/setup/wards/:wardId/policy')
      ? to('setup/wards', 'Wards and policy', 'limits, times, protocol and beds of each ward')
      : wards.map(({ wardId, name }) => ({
          path: `setup/wards/${wardId}/policy`,
          label: `Policy of ${name}`,
          about: 'limits, times and protocol, to read',
        }))
  const groups: readonly GroupView[] = [
    {
      title: 'Patients and beds',
      links: [
        ...to('setup/beds', 'Beds', 'who lies where, admit, move, discharge'),
        ...to('setup/discharged', 'Discharged patients', 'readmit'),
        ...to('round/trays-late', 'Trays late', 'move a meal’s checks for the whole ward'),
      ],
    },
    { title: 'Orders', links: to('setup/standard-orders', 'Standard orders', 'the ward’s own, to copy for a patient') },
    { title: 'Ward policy', links: wardPolicies },
    {
      title: 'People',
      links: [
        ...to('setup/people', 'People', 'roles, wards, badges, meter training'),
        ...to('setup/access', 'Access report', 'who looked at which patient'),
        ...to('my-pin', 'Your PIN', 'change it'),
      ],
    },
    {
      title: 'Meters and strips',
      links: [
        ...to('setup/meters', 'Meters', 'controls, comparisons, moving and retiring'),
        ...to('setup/strips', 'Strip lots', 'expiry dates and control ranges'),
      ],
    },
    { title: 'Service', links: to('setup/service', 'Service', 'database, head of the record, backups') },
    { title: 'Recall', links: to('recall', 'Recall', 'which results came from a lot or a meter') },
  ]
  return groups.filter(({ links }) => links.length > 0)
}

/** What waits for this person: changes by another administrator, and trainings that end soon. */
function waitingFor(ctx: RequestContext, wards: readonly Ward[], people: readonly Staff[]): readonly WaitingView[] {
  const { store, scope, actor } = ctx
  const waiting: WaitingView[] = []
  if (actor.role === 'administrator') {
    for (const { wardId, name } of wards) {
      const changes = store
        .policyChanges(scope, wardId)
        .filter(({ outcome, writtenById }) => outcome === null && writtenById !== actor.staffId)
      if (mayOpen(ctx, '/setup/policy-changes/:changeId')) {
        for (const { changeId, writtenById } of changes)
          waiting.push({
            path: `setup/policy-changes/${changeId}`,
            text: `A change of policy on ${name}, written by ${store.staffById(writtenById)?.name ?? '–'}`,
          })
      }
      const standard = store
        .standardOrders(scope, wardId)
        .filter(
          ({ approved, endedAtMs, writtenById }) =>
            approved === null && endedAtMs === null && writtenById !== actor.staffId,
        )
      if (mayOpen(ctx, '/setup/standard-orders/:id')) {
        for (const { standardOrderId, name: called } of standard)
          waiting.push({
            path: `setup/standard-orders/${standardOrderId}`,
            text: `A standard order of ${name}: ${called}`,
          })
      }
    }
  }
  const renew = people.filter(
    (person) =>
      !isShutOut(person) &&
      ['ends-soon', 'ended'].includes(trainingState(person.trainingUntil, todayOf(ctx, person.wardIds))),
  ).length
  if (renew > 0)
    waiting.push({
      path: 'setup/people',
      text: `Meter training of ${String(renew)} ${renew === 1 ? 'person' : 'people'} has ended, or ends within ${String(TRAINING_ENDS_SOON_DAYS)} days`,
    })
  return waiting
}

/** In a new database: what to do next, in order. Empty when all of it is done, and for everybody else. */
function firstSteps(ctx: RequestContext, wards: readonly Ward[], people: readonly Staff[]): readonly FirstStepView[] {
  if (ctx.actor.role !== 'administrator') return []
  const hasNurses = people.some(({ role, leftAtMs }) => role !== 'administrator' && leftAtMs === null)
  const hasMeters = wards.some(({ wardId }) => ctx.store.metersOfWard(ctx.scope, wardId).length > 0)
  const steps = [
    { done: wards.length > 0, path: 'setup/wards/new', text: 'Open a ward with its beds' },
    { done: hasNurses, path: 'setup/people/new', text: 'Add people, and make each a code for a PIN' },
    { done: hasMeters, path: 'setup/meters/new', text: 'Add the meters' },
  ].filter(({ path }) => mayOpen(ctx, `/${path}`))
  return steps.every(({ done }) => done) ? [] : steps
}
