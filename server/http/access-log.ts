/**
 * The log of who looked at whom: written in batches off the response path. What was not yet written when the machine
 * loses power is lost: at most one second of it.
 */
import type { FastifyRequest } from 'fastify'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { PATIENT_PAGES, WARD_PAGES } from '../../views/words/access.ts'
import type { AccessEntry, Session, Staff, Store } from '../store/contract.ts'
import type { AppContext } from './app-context.ts'
import { patternOf } from './log.ts'
import { isBackground, isMessage, type PageResponse } from './page.ts'
import type { Services, RequestContext } from './request-context.ts'

/** Longest wait of an entry in memory, in milliseconds. */
export const ACCESS_BATCH_MS = 1000

export class AccessLog {
  readonly #store: Store
  #waiting: AccessEntry[] = []
  #timer: NodeJS.Timeout | null = null
  /** Told when a batch could not be written; the entries then stay and are tried again. */
  readonly #failed: (error: unknown) => void
  /** What was noted in the running minute of ward time: a page that refreshes itself is one look a minute. */
  #minute = 0
  readonly #noted = new Set<string>()

  constructor(store: Store, failed: (error: unknown) => void) {
    this.#store = store
    this.#failed = failed
  }

  add(entry: AccessEntry): void {
    this.#waiting.push(entry)
    this.#timer ??= setTimeout(() => {
      this.#timer = null
      try {
        this.flush()
      } catch (error) {
        this.#failed(error)
      }
    }, ACCESS_BATCH_MS)
  }

  /** Adds the entry unless the same person was shown the same by the same page in the same minute. */
  addOncePerMinute(entry: AccessEntry): void {
    const minute = Math.floor(entry.atMs / MINUTE_MS)
    if (minute !== this.#minute) this.#noted.clear()
    this.#minute = minute
    const same = `${entry.staffId} ${entry.stayId ?? ''} ${entry.wardId ?? ''} ${entry.page}`
    if (this.#noted.has(same)) return
    this.#noted.add(same)
    this.add(entry)
  }

  /** Writes what is waiting. Throws when the store does, and then keeps the entries for the next time. */
  flush(): void {
    if (this.#waiting.length === 0) return
    this.#store.logAccess(this.#waiting)
    this.#waiting = []
  }

  /** Writes the rest and stops the timer. */
  close(): void {
    if (this.#timer !== null) clearTimeout(this.#timer)
    this.#timer = null
    this.flush()
  }
}

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
