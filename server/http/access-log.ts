/** What goes to the log of who looked at whom: the patients and wards that an answer showed, and what was refused. */
import type { FastifyRequest } from 'fastify'
import { PATIENT_PAGES, WARD_PAGES } from '../../views/words/access.ts'
import type { AccessEntry, Session, Staff } from '../store/contract.ts'
import type { AppContext } from './app-context.ts'
import { patternOf } from './log.ts'
import { isBackground, isMessage, type PageResponse } from './page.ts'
import type { RequestContext } from './request-context.ts'
import type { Services } from './services.ts'

const NO_WARDS: ReadonlyMap<string, string> = new Map()

/** The patients whose pages the running requests have drawn. */
const drawn = new WeakMap<FastifyRequest, Set<string>>()

/** Notes that this patient's page is drawn for the signed-in person; it is a read once the answer goes out with it. */
export function recordPatientRead({ request }: RequestContext, stayId: string): void {
  const stayIds = drawn.get(request)
  if (stayIds === undefined) drawn.set(request, new Set([stayId]))
  else stayIds.add(stayId)
}

/** Who looked, by what page, with what rights at the time. */
function lookOf(ctx: RequestContext): Omit<AccessEntry, 'stayId'> {
  const { nowMs, actor, wardId, request } = ctx
  return {
    atMs: nowMs,
    staffId: actor.staffId,
    wardId,
    page: patternOf(request),
    requestId: request.id,
    role: actor.role,
    ownWardIds: actor.wardIds,
  }
}

/**
 * Takes to the log what an answer showed: the patients drawn for it, a ward by its page, or that a patient was asked for
 * and not shown. An answer that leads elsewhere shows nothing.
 */
export function settleReads(ctx: RequestContext, answer: PageResponse): void {
  const {
    request,
    appContext: { accessLog },
    wardId,
  } = ctx
  const stayIds = drawn.get(request) ?? new Set()
  drawn.delete(request)
  if (isMessage(answer)) {
    const id = idAskedFor(request)
    if (id !== null)
      accessLog.add({
        ...lookOf(ctx),
        stayId: null,
        kind: 'refused',
        askedFor: { id, byRole: answer.status === 403 },
      })
    return
  }
  if (answer.status === 303 || answer.status === 204) return
  const again = isBackground(request)
  // now, and not when the batch is written: a patient may be moved in between
  const wards = stayIds.size === 0 ? NO_WARDS : ctx.store.wardsOfStays([...stayIds])
  for (const stayId of stayIds) {
    const ofWardId = wards.get(stayId)
    const entry = { ...lookOf(ctx), stayId, ...(ofWardId === undefined ? {} : { ofWardId }) }
    if (again) accessLog.addOncePerMinute(entry)
    else accessLog.add(entry)
  }
  // where every patient of the ward was noted by name, the ward needs no line of its own
  if (
    stayIds.size === 0 &&
    request.method === 'GET' &&
    wardId !== null &&
    Object.hasOwn(WARD_PAGES, patternOf(request))
  )
    accessLog.addOncePerMinute({ ...lookOf(ctx), stayId: null })
}

/** The id in the address of a page about one patient; a check's key begins with its stay's. */
function idAskedFor(request: FastifyRequest): string | null {
  if (!Object.hasOwn(PATIENT_PAGES, patternOf(request))) return null
  const [first] = Object.values(request.params as Readonly<Record<string, string>>)
  return first === undefined ? null : (/[a-z0-9]{16}/.exec(first)?.[0] ?? null)
}

/** Notes that a stream shows this person the ward from now on. */
export function recordWatching(
  { services, appContext }: { readonly services: Services; readonly appContext: AppContext },
  request: FastifyRequest,
  { staffId }: Pick<Session, 'staffId'>,
  wardId: string,
): void {
  const staff: Staff | undefined = services.store.staffById(staffId)
  if (staff === undefined) return
  appContext.accessLog.addOncePerMinute({
    atMs: services.now(),
    staffId,
    stayId: null,
    wardId,
    page: patternOf(request),
    requestId: request.id,
    role: staff.role,
    ownWardIds: staff.wardIds,
  })
}
