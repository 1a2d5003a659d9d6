/**
 * Charting forms: the one way from what was typed to facts in the ledger. GET draws the form with a one-time key; POST
 * parses, decides and stores in one transaction, in which the key is used up together with its answer, and leads on
 * with 303. Whatever is refused comes back filled in, and uses no key.
 */
import type { FastifyRequest } from 'fastify'
import type { z } from 'zod'
import { FORM_SENTENCES, KEPT_SENTENCE, SECRET_AGAIN, STORE_SENTENCES } from '../../views/words/http.ts'
import { partsOf, sentenceOf, type Outcome, type Refused } from '../../shared/outcome.ts'
import { localToTheSecond } from '../../shared/time/zone.ts'
import type { KeyResponse } from '../store/contract.ts'
import { storeEvents } from '../store/store-events.ts'
import { echo, parseFields, readFields, type SubmittedFields } from './fields.ts'
import { bodyHash, keptNonce } from './keys.ts'
import type { Declared, NO_NAMES, SameNames } from './parameters.ts'
import {
  fileResponse,
  unsavedForm,
  messageResponse,
  page,
  pathOf,
  redirect,
  sentenceResponse,
  type PageResponse,
} from './page.ts'
import { addressRoute, draftIdOf, type SaveDraft, type Server } from './route.ts'
import { storeDecision } from './store-decision.ts'
import { isUniqueConflict, storeFailureOf } from './store-failures.ts'
import type { FormDecision, FieldErrors, FileMade, FormSpec, RequestContext } from './request-context.ts'
import type { RouteSpec } from './route-spec.ts'

type FormPlace<Url extends string, A extends z.ZodObject, Q extends z.ZodObject, F, R extends string, P> = {
  readonly url: Url
  readonly roles: Exclude<RouteSpec['roles'], 'anyone'>
  readonly params?: A
  readonly query?: Q
  readonly spec: FormSpec<F, R, RequestContext<Declared<A>, Declared<Q>>, P>
}

/** A fresh one-time key for the person and the named form, for a form that stands in another page. */
export function newFormKey(ctx: RequestContext, formName: string): string {
  return ctx.appContext.formKeys.make(ctx.actor.staffId, formName)
}

/** Registers the form: GET and POST of one address, whose path parameters and query are declared as for `route`. */
export function formRoute<
  Url extends string,
  F,
  R extends string,
  A extends z.ZodObject = typeof NO_NAMES,
  Q extends z.ZodObject = typeof NO_NAMES,
  P = null,
>(server: Server, place: FormPlace<Url, A, Q, F, R, P> & SameNames<Url, A>): void {
  const { url, roles, params, query, spec }: FormPlace<Url, A, Q, F, R, P> = place
  const address = { url, roles, params, query }
  addressRoute(server, { ...address, method: 'GET' }, (ctx) => drawFresh(ctx, spec))
  addressRoute(
    server,
    { ...address, method: 'POST' },
    (ctx) => post(ctx, spec),
    keepDraft(server, spec.secretFields ?? []),
  )
}

function keepDraft(server: Server, secretFields: readonly string[]): SaveDraft {
  return (staffId, request) => draftOf(server, staffId, pathOf(request), request, secretFields)
}

/** Keeps what was typed for the form at `path`, for the person whose login has ended: the draft's id, or null when nothing was typed. */
export function draftOf(
  { services: { store, newId, now } }: Server,
  staffId: string,
  path: string,
  request: FastifyRequest,
  secretFields: readonly string[],
): string | null {
  const fields = echo(readFields(request.body).fields, secretFields)
  if (Object.keys(fields).length === 0) return null
  const draftId = newId()
  store.putDraft({ draftId, staffId, path, fields, atMs: now() })
  return draftId
}

function drawFresh<F, R extends string, C extends RequestContext, P>(ctx: C, spec: FormSpec<F, R, C, P>): PageResponse {
  const kept = keptFields(ctx, spec)
  const values = { ...(kept ?? spec.initial(ctx)), key: newFormKey(ctx, spec.name) }
  const view = spec.draw(ctx, { values, errors: {}, problem: kept === undefined ? null : KEPT_SENTENCE })
  return view === undefined ? messageResponse(ctx, 404, 'not-found') : page(ctx, 200, view)
}

/** What was typed when the login ran out, for this person and form. Only read: a page opens on a full disk too. */
function keptFields<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  spec: FormSpec<F, R, C, P>,
): Readonly<Record<string, string>> | undefined {
  const draftId = draftIdOf(ctx.request)
  const draft = draftId === null ? undefined : ctx.store.draft(draftId, ctx.actor.staffId)
  return draft?.path === pathOf(ctx.request) ? timed(ctx, spec, draft.fields, draft.atMs) : undefined
}

/** The fields with the time at which they were sent, to the second, where they left it to mean "now". */
function timed<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  { emptyIsNow }: FormSpec<F, R, C, P>,
  fields: Readonly<Record<string, string>>,
  sentAtMs: number,
): Readonly<Record<string, string>> {
  if (emptyIsNow === undefined || (fields[emptyIsNow.field] ?? '').trim() !== '') return fields
  const zone = emptyIsNow.zone(ctx)
  return zone === undefined ? fields : { ...fields, [emptyIsNow.field]: localToTheSecond(sentAtMs, zone) }
}

type Back = {
  readonly status: number
  readonly key: string
  readonly errors: FieldErrors
  readonly problem: string | null
}

/** The form again with everything typed; the sentence alone where the form is no longer there to draw. */
function drawBack<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  spec: FormSpec<F, R, C, P>,
  sent: SubmittedFields,
  back: Back,
): PageResponse {
  const values = { ...echo(sent.fields, spec.secretFields ?? []), key: back.key }
  const view = spec.draw(ctx, { values, errors: back.errors, problem: back.problem })
  if (view !== undefined) return page(ctx, back.status, view)
  return back.status === 422 || back.problem === null
    ? messageResponse(ctx, 404, 'not-found')
    : sentenceResponse(ctx, back.status, 'Not saved', back.problem)
}

/** Status of a form that was answered with a file. */
const FILE_SENT = 200

/** What the transaction came to, as plain data. */
type Settled<R extends string> =
  | { readonly kind: 'answered'; readonly answer: KeyResponse }
  | { readonly kind: 'file'; readonly file: FileMade }
  | { readonly kind: 'key'; readonly sentence: string }
  | { readonly kind: 'refused'; readonly refusal: Refused<R> }

async function post<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  spec: FormSpec<F, R, C, P>,
): Promise<PageResponse> {
  const sent = readFields(ctx.request.body)
  try {
    return await postSent(ctx, spec, sent)
  } catch (error) {
    const failure = storeFailureOf(error)
    if (failure === null) throw error
    ctx.request.log.error({ form: spec.name, err: error }, 'not saved')
    ctx.appContext.metrics?.storeFailed(failure)
    // the key was not used up: sent again once there is room, it is charted once
    const problem =
      spec.secretFields === undefined ? STORE_SENTENCES[failure] : `${STORE_SENTENCES[failure]} ${SECRET_AGAIN}`
    const held = { ...sent, fields: timed(ctx, spec, sent.fields, ctx.nowMs) }
    return unsavedForm(drawBack(ctx, spec, held, { status: 503, key: sent.fields['key'] ?? '', errors: {}, problem }))
  }
}

async function postSent<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  spec: FormSpec<F, R, C, P>,
  sent: SubmittedFields,
): Promise<PageResponse> {
  const freshKey = (): string => newFormKey(ctx, spec.name)
  const key = sent.fields['key'] ?? ''
  const nonce = ctx.appContext.formKeys.nonceOf(key, ctx.actor.staffId, spec.name)
  if (nonce === undefined)
    return drawBack(ctx, spec, sent, {
      status: 409,
      key: freshKey(),
      errors: {},
      problem: FORM_SENTENCES['key-not-yours'],
    })

  const parsed = parseFields(typeof spec.schema === 'function' ? spec.schema(ctx) : spec.schema, sent)
  if (!parsed.ok) return drawBack(ctx, spec, sent, { status: 422, key, errors: parsed.errors, problem: parsed.problem })

  const hash = bodyHash(pathOf(ctx.request), sent.fields, spec.secretFields ?? [])
  const used = { nonce, hash, key, freshKey }
  const fields = parsed.value
  if (spec.before !== undefined) {
    // sent twice: answered as before, without asking for the second person's PIN again
    const early = ctx.store.transact(() => keyState<R>(ctx, used) ?? { kind: 'fresh' as const })
    if (early.kind !== 'fresh') return settledAnswer(ctx, spec, sent, fields, used, early)
  }
  const prepared: Outcome<P, R> =
    spec.before === undefined ? (NOTHING_PREPARED as Outcome<P, R>) : await spec.before(fields, ctx)
  if (!prepared.ok) return settledAnswer(ctx, spec, sent, fields, used, { kind: 'refused', refusal: prepared })

  let settled: Settled<R>
  try {
    settled = ctx.store.transact(() => decideAndStore(ctx, spec, used, fields, prepared.value))
  } catch (error) {
    if (!isUniqueConflict(error)) throw error
    ctx.request.log.info({ form: spec.name, code: error.code }, 'charted by somebody else in the meantime')
    return drawBack(ctx, spec, sent, { status: 409, key, errors: {}, problem: FORM_SENTENCES['charted-meanwhile'] })
  }
  return settledAnswer(ctx, spec, sent, fields, used, settled)
}

/** `P` is null for a form that prepares nothing. */
const NOTHING_PREPARED: Outcome<null, never> = { ok: true, value: null }

type UsedKey = { readonly nonce: string; readonly hash: string; readonly key: string; readonly freshKey: () => string }

function keyState<R extends string>(ctx: RequestContext, used: UsedKey): Settled<R> | null {
  const use = ctx.store.lookUpKey({ nonce: used.nonce, staffId: ctx.actor.staffId, bodyHash: used.hash })
  switch (use.kind) {
    case 'fresh':
      return null
    // a file went out with the first answer, and each file that goes out is charted
    case 'same':
      return use.answer.status === FILE_SENT
        ? { kind: 'key', sentence: FORM_SENTENCES['file-made'] }
        : { kind: 'answered', answer: use.answer }
    case 'other-body':
      return { kind: 'key', sentence: FORM_SENTENCES['key-used'] }
    case 'not-yours':
      return { kind: 'key', sentence: FORM_SENTENCES['key-not-yours'] }
  }
}

/** Runs inside the transaction: nothing is written before the decision, so a refusal leaves nothing behind. */
function decideAndStore<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  spec: FormSpec<F, R, C, P>,
  used: UsedKey,
  fields: F,
  prepared: P,
): Settled<R> {
  const state = keyState<R>(ctx, used)
  if (state !== null) return state
  const decision: Outcome<FormDecision, R> = spec.decide(fields, ctx, prepared)
  if (!decision.ok) return { kind: 'refused', refusal: decision }
  const { location, file } = decision.value
  storeDecision(ctx, decision.value)
  const answer: KeyResponse = { status: file === undefined ? 303 : FILE_SENT, location }
  ctx.store.settleKey({
    nonce: used.nonce,
    staffId: ctx.actor.staffId,
    form: spec.name,
    bodyHash: used.hash,
    answer,
    atMs: ctx.nowMs,
  })
  return file === undefined ? { kind: 'answered', answer } : { kind: 'file', file }
}

function settledAnswer<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  spec: FormSpec<F, R, C, P>,
  sent: SubmittedFields,
  fields: F,
  used: UsedKey,
  settled: Settled<R>,
): PageResponse {
  if (settled.kind === 'answered') return redirect(ctx, settled.answer.location)
  if (settled.kind === 'file') return fileResponse(ctx, settled.file)
  if (settled.kind === 'key')
    return drawBack(ctx, spec, sent, { status: 409, key: used.freshKey(), errors: {}, problem: settled.sentence })
  const { reason, details } = partsOf(settled.refusal)
  ctx.appContext.metrics?.refused(reason)
  keepRefusal(ctx, spec, fields, used, reason)
  const sentence = sentenceOf(spec.sentences, settled.refusal)
  // where a form has many like fields, the refusal itself names the one it is about
  const field = details.field ?? spec.fieldOf[reason]
  const shown =
    field === undefined
      ? { errors: {}, problem: sentence }
      : { errors: { [field]: sentence }, problem: FORM_SENTENCES.faulty }
  return drawBack(ctx, spec, sent, { status: spec.statusOf[reason] ?? 422, key: used.key, ...shown })
}

/** A refusal that is itself a fact is charted once for each key and content, however often it is sent. */
function keepRefusal<F, R extends string, C extends RequestContext, P>(
  ctx: C,
  spec: FormSpec<F, R, C, P>,
  fields: F,
  used: UsedKey,
  reason: R,
): void {
  const events = spec.keep?.(reason, fields, ctx) ?? []
  if (events.length === 0) return
  const { staffId } = ctx.actor
  const nonce = keptNonce(used.nonce, used.hash)
  tryToStore(ctx, () => {
    if (ctx.store.lookUpKey({ nonce, staffId, bodyHash: used.hash }).kind !== 'fresh') return null
    storeEvents(ctx.store, events)
    ctx.store.settleKey({
      nonce,
      staffId,
      form: spec.name,
      bodyHash: used.hash,
      answer: { status: 422, location: pathOf(ctx.request) },
      atMs: ctx.nowMs,
    })
    return null
  })
}

/** Stores that something was refused, in a transaction of its own. What is refused must be said even when it cannot be stored: "wrong wristband" above all. */
export function tryToStore(ctx: RequestContext, work: () => null): void {
  try {
    ctx.store.transact(work)
  } catch (error) {
    if (storeFailureOf(error) === null) throw error
    ctx.request.log.error({ err: error }, 'a refusal could not be kept')
  }
}
