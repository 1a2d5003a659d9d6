/** People: who works here, what each may do, and how each gets a PIN. Only administrators change them. */
import type { Role } from '../../shared/ledger/events.ts'
import { TRAINING_ENDS_SOON_DAYS } from '../../shared/staff/training.ts'
import { peoplePage, personPage } from '../../views/setup/people.ts'
import { formRoute } from '../http/forms.ts'
import { messageResponse, page } from '../http/page.ts'
import { ADMINISTRATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { RequestContext } from '../http/request-context.ts'
import { pinCodeSpec } from './people-code.ts'
import { personOf, personViews, PERSON_ADDRESS } from './people-load.ts'
import { badgeSpec, leaveSpec, lockSpec, newPersonSpec, roleSpec, trainingSpec, unlockSpec } from './people-forms.ts'

/**
 * A charge nurse must know why a badge is locked, an educator whose training ends. Both read only, for their own wards.
 */
const PEOPLE_READERS: readonly Role[] = ['charge-nurse', 'educator', ...ADMINISTRATORS]

export function registerPeople(server: Server): void {
  route(server, { method: 'GET', url: '/setup/people', roles: PEOPLE_READERS }, (ctx) => {
    const people = ctx.store.staffList(ctx.scope).map(personViews(ctx))
    return page(ctx, 200, {
      title: 'People',
      body: peoplePage({ people, mayAdd: isAdministrator(ctx), soonDays: TRAINING_ENDS_SOON_DAYS }),
    })
  })
  formRoute(server, { url: '/setup/people/new', roles: ADMINISTRATORS, spec: newPersonSpec })
  route(
    server,
    { method: 'GET', url: '/setup/people/:staffId', roles: PEOPLE_READERS, params: PERSON_ADDRESS },
    (ctx) => {
      const person = personOf(ctx)
      if (person === undefined) return messageResponse(ctx, 404, 'not-found')
      const view = {
        person: personViews(ctx)(person),
        mayChange: isAdministrator(ctx),
        own: person.staffId === ctx.actor.staffId,
      }
      return page(ctx, 200, { title: 'Person', body: personPage(view) })
    },
  )
  formRoute(server, {
    url: '/setup/people/:staffId/role',
    roles: ADMINISTRATORS,
    params: PERSON_ADDRESS,
    spec: roleSpec,
  })
  formRoute(server, {
    url: '/setup/people/:staffId/badge',
    roles: ADMINISTRATORS,
    params: PERSON_ADDRESS,
    spec: badgeSpec,
  })
  formRoute(server, {
    url: '/setup/people/:staffId/lock',
    roles: ADMINISTRATORS,
    params: PERSON_ADDRESS,
    spec: lockSpec,
  })
  formRoute(server, {
    url: '/setup/people/:staffId/unlock',
    roles: ADMINISTRATORS,
    params: PERSON_ADDRESS,
    spec: unlockSpec,
  })
  formRoute(server, {
    url: '/setup/people/:staffId/leave',
    roles: ADMINISTRATORS,
    params: PERSON_ADDRESS,
    spec: leaveSpec,
  })
  formRoute(server, {
    url: '/setup/people/:staffId/training',
    roles: ADMINISTRATORS,
    params: PERSON_ADDRESS,
    spec: trainingSpec,
  })
  formRoute(server, {
    url: '/setup/people/:staffId/pin-code',
    roles: ADMINISTRATORS,
    params: PERSON_ADDRESS,
    spec: pinCodeSpec,
  })
}

function isAdministrator({ actor }: RequestContext): boolean {
  return ADMINISTRATORS.includes(actor.role)
}
