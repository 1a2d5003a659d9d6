/**
 * Charting forms: the one way from what was typed to facts in the ledger. GET draws the form with a one-time key; POST
 * parses, decides and stores in one transaction, in which the key is used up together with its answer, and leads on
 * with 303. Whatever is refused comes back filled in, and uses no key.
 */
import type { FastifyRequest } from 'fastify'
import { FORM_SENTENCES, KEPT_SENTENCE, SECRET_AGAIN, STORE_SENTENCES } from '../../views/words/http.ts'
import type { Outcome, Refused } from '../../shared/outcome.ts'
import { localToTheSecond } from '../../shared/time/zone.ts'
import type { KeyAnswer } from '../store/contract.ts'
import { echo, parseFields, readFields, type Sent } from './fields.ts'
import { bodyHash, keptNonce } from './keys.ts'
import { fileAnswer, keptForm, messageAnswer, page, pathOf, redirect, sayAnswer, type Answer } from './page.ts'
import { draftIdOf, route, type KeepTyped, type Server } from './route.ts'
import { isUniqueConflict, storeFailureOf } from './faults.ts'
import type { Decided, FieldErrors, FileMade, FormSpec, RouteSpec, Visit } from './visit.ts'

type FormPlace<F, R extends string, P> = {
  readonly url: string
  readonly roles: Exclude<RouteSpec['roles'], 'anyone'>
  readonly spec: FormSpec<F, R, P>
}

/** A fresh one-time key for the person and the named form, for a form that stands in another page. */
export function newFormKey(visit: Visit, formName: string): string {
  return visit.house.formKeys.make(visit.actor.staffId, formName)
}

/** Registers the form: GET and POST of one address. */
export function formRoute<F, R extends string, P = null>(
  server: Server,
  { url, roles, spec }: FormPlace<F, R, P>,
): void {
  route(server, { method: 'GET', url, roles }, (visit) => drawFresh(visit, spec))
  route(
    server,
    { method: 'POST', url, roles },
    (visit) => post(visit, spec),
    keepDraft(server, spec.secretFields ?? []),
  )
}

function keepDraft(server: Server, secretFields: readonly string[]): KeepTyped {
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

function drawFresh<F, R extends string, P>(visit: Visit, spec: FormSpec<F, R, P>): Answer {
  const kept = keptFields(visit, spec)
  const values = { ...(kept ?? spec.initial(visit)), key: newFormKey(visit, spec.name) }
  const view = spec.draw(visit, { values, errors: {}, problem: kept === undefined ? null : KEPT_SENTENCE })
  return view === undefined ? messageAnswer(visit, 404, 'not-found') : page(visit, 200, view)
}

/** What was typed when the login ran out, for this person and form. Only read: a page opens on a full disk too. */
function keptFields<F, R extends string, P>(
  visit: Visit,
  spec: FormSpec<F, R, P>,
): Readonly<Record<string, string>> | undefined {
  const draftId = draftIdOf(visit.request)
  const draft = draftId === null ? undefined : visit.store.draft(draftId, visit.actor.staffId)
  return draft?.path === pathOf(visit.request) ? timed(visit, spec, draft.fields, draft.atMs) : undefined
}

/** The fields with the time at which they were sent, to the second, where they left it to mean "now". */
function timed<F, R extends string, P>(
  visit: Visit,
  { emptyIsNow }: FormSpec<F, R, P>,
  fields: Readonly<Record<string, string>>,
  sentAtMs: number,
): Readonly<Record<string, string>> {
  if (emptyIsNow === undefined || (fields[emptyIsNow.field] ?? '').trim() !== '') return fields
  const zone = emptyIsNow.zone(visit)
  return zone === undefined ? fields : { ...fields, [emptyIsNow.field]: localToTheSecond(sentAtMs, zone) }
}

type Back = {
  readonly status: number
  readonly key: string
  readonly errors: FieldErrors
  readonly problem: string | null
}

/** The form again with everything typed; the sentence alone where the form is no longer there to draw. */
function drawBack<F, R extends string, P>(visit: Visit, spec: FormSpec<F, R, P>, sent: Sent, back: Back): Answer {
  const values = { ...echo(sent.fields, spec.secretFields ?? []), key: back.key }
  const view = spec.draw(visit, { values, errors: back.errors, problem: back.problem })
  if (view !== undefined) return page(visit, back.status, view)
  return back.status === 422 || back.problem === null
    ? messageAnswer(visit, 404, 'not-found')
    : sayAnswer(visit, back.status, 'Not saved', back.problem)
}

/** Status of a form that was answered with a file. */
const FILE_SENT = 200

/** What the transaction came to, as plain data. */
type Settled<R extends string> =
  | { readonly kind: 'answered'; readonly answer: KeyAnswer }
  | { readonly kind: 'file'; readonly file: FileMade }
  | { readonly kind: 'key'; readonly sentence: string }
  | { readonly kind: 'refused'; readonly refusal: Refused<R> }

async function post<F, R extends string, P>(visit: Visit, spec: FormSpec<F, R, P>): Promise<Answer> {
  const sent = readFields(visit.request.body)
  try {
    return await postSent(visit, spec, sent)
  } catch (error) {
    const failure = storeFailureOf(error)
    if (failure === null) throw error
    visit.request.log.error({ form: spec.name, err: error }, 'not saved')
    visit.house.metrics?.storeFailed(failure)
    // the key was not used up: sent again once there is room, it is charted once
    const problem =
      spec.secretFields === undefined ? STORE_SENTENCES[failure] : `${STORE_SENTENCES[failure]} ${SECRET_AGAIN}`
    const held = { ...sent, fields: timed(visit, spec, sent.fields, visit.nowMs) }
    return keptForm(drawBack(visit, spec, held, { status: 503, key: sent.fields['key'] ?? '', errors: {}, problem }))
  }
}

async function postSent<F, R extends string, P>(visit: Visit, spec: FormSpec<F, R, P>, sent: Sent): Promise<Answer> {
  const freshKey = (): string => newFormKey(visit, spec.name)
  const key = sent.fields['key'] ?? ''
  const nonce = visit.house.formKeys.nonceOf(key, visit.actor.staffId, spec.name)
  if (nonce === undefined)
    return drawBack(visit, spec, sent, {
      status: 409,
      key: freshKey(),
      errors: {},
      problem: FORM_SENTENCES['key-not-yours'],
    })

  const parsed = parseFields(typeof spec.schema === 'function' ? spec.schema(visit) : spec.schema, sent)
  if (!parsed.ok)
    return drawBack(visit, spec, sent, { status: 422, key, errors: parsed.errors, problem: parsed.problem })

  const hash = bodyHash(pathOf(visit.request), sent.fields, spec.secretFields ?? [])
  const used = { nonce, hash, key, freshKey }
  const fields = parsed.value
  if (spec.before !== undefined) {
    // sent twice: answered as before, without asking for the second person's PIN again
    const early = visit.store.transact(() => keyState<R>(visit, used) ?? { kind: 'fresh' as const })
    if (early.kind !== 'fresh') return settledAnswer(visit, spec, sent, fields, used, early)
  }
  const prepared: Outcome<P, R> =
    spec.before === undefined ? (NOTHING_PREPARED as Outcome<P, R>) : await spec.before(fields, visit)
  if (!prepared.ok) return settledAnswer(visit, spec, sent, fields, used, { kind: 'refused', refusal: prepared })

  let settled: Settled<R>
  try {
    settled = visit.store.transact(() => decideAndStore(visit, spec, used, fields, prepared.value))
  } catch (error) {
    if (!isUniqueConflict(error)) throw error
    visit.request.log.info({ form: spec.name, code: error.code }, 'charted by somebody else in the meantime')
    return drawBack(visit, spec, sent, { status: 409, key, errors: {}, problem: FORM_SENTENCES['charted-meanwhile'] })
  }
  return settledAnswer(visit, spec, sent, fields, used, settled)
}

/** `P` is null for a form that prepares nothing. */
const NOTHING_PREPARED: Outcome<null, never> = { ok: true, value: null }

type UsedKey = { readonly nonce: string; readonly hash: string; readonly key: string; readonly freshKey: () => string }

function keyState<R extends string>(visit: Visit, used: UsedKey): Settled<R> | null {
  const use = visit.store.lookUpKey({ nonce: used.nonce, staffId: visit.actor.staffId, bodyHash: used.hash })
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
function decideAndStore<F, R extends string, P>(
  visit: Visit,
  spec: FormSpec<F, R, P>,
  used: UsedKey,
  fields: F,
  prepared: P,
): Settled<R> {
  const state = keyState<R>(visit, used)
  if (state !== null) return state
  const decision: Outcome<Decided, R> = spec.decide(fields, visit, prepared)
  if (!decision.ok) return { kind: 'refused', refusal: decision }
  const { events, location, also, file } = decision.value
  visit.store.append(events)
  also?.()
  const answer: KeyAnswer = { status: file === undefined ? 303 : FILE_SENT, location }
  visit.store.settleKey({
    nonce: used.nonce,
    staffId: visit.actor.staffId,
    form: spec.name,
    bodyHash: used.hash,
    answer,
    atMs: visit.nowMs,
  })
  return file === undefined ? { kind: 'answered', answer } : { kind: 'file', file }
}

function settledAnswer<F, R extends string, P>(
  visit: Visit,
  spec: FormSpec<F, R, P>,
  sent: Sent,
  fields: F,
  used: UsedKey,
  settled: Settled<R>,
): Answer {
  if (settled.kind === 'answered') return redirect(visit, settled.answer.location)
  if (settled.kind === 'file') return fileAnswer(visit, settled.file)
  if (settled.kind === 'key')
    return drawBack(visit, spec, sent, { status: 409, key: used.freshKey(), errors: {}, problem: settled.sentence })
  const { reason, details } = settled.refusal
  visit.house.metrics?.refused(reason)
  keepRefusal(visit, spec, fields, used, reason)
  const sentence = spec.sentences[reason](details)
  // where a form has many like fields, the refusal itself names the one it is about
  const field = typeof details['field'] === 'string' ? details['field'] : spec.fieldOf[reason]
  const shown =
    field === undefined
      ? { errors: {}, problem: sentence }
      : { errors: { [field]: sentence }, problem: FORM_SENTENCES.faulty }
  return drawBack(visit, spec, sent, { status: spec.statusOf[reason] ?? 422, key: used.key, ...shown })
}

/** A refusal that is itself a fact is charted once for each key and content, however often it is sent. */
function keepRefusal<F, R extends string, P>(
  visit: Visit,
  spec: FormSpec<F, R, P>,
  fields: F,
  used: UsedKey,
  reason: R,
): void {
  const events = spec.keep?.(reason, fields, visit) ?? []
  if (events.length === 0) return
  const { staffId } = visit.actor
  const nonce = keptNonce(used.nonce, used.hash)
  tryToKeep(visit, () => {
    if (visit.store.lookUpKey({ nonce, staffId, bodyHash: used.hash }).kind !== 'fresh') return null
    visit.store.append(events)
    visit.store.settleKey({
      nonce,
      staffId,
      form: spec.name,
      bodyHash: used.hash,
      answer: { status: 422, location: pathOf(visit.request) },
      atMs: visit.nowMs,
    })
    return null
  })
}

/** Stores that something was refused, in a transaction of its own. What is refused must be said even when it cannot be stored: "wrong wristband" above all. */
export function tryToKeep(visit: Visit, work: () => null): void {
  try {
    visit.store.transact(work)
  } catch (error) {
    if (storeFailureOf(error) === null) throw error
    visit.request.log.error({ err: error }, 'a refusal could not be kept')
  }
}
