/**
 * What a handler is given, and the two ways an answer leaves: `page` for reading, `postForm` for charting.
 * Types only; the working parts are in app.ts, route.ts, page.ts and forms.ts beside this file.
 */
import type { FastifyReply, FastifyRequest } from 'fastify'
import type { z } from 'zod'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Outcome, Sentences } from '../../shared/outcome.ts'
import type { Html } from '../../views/html.ts'
import type { Scope, Staff, Store } from '../store/contract.ts'
import type { AppContext } from './app-context.ts'
import type { Services } from './services.ts'

/**
 * One signed-in person's request. `nowMs` is read once, so that a whole decision has one instant. `P` and `Q` are what
 * the route declares of its address; a function that reads neither takes every request.
 */
export type RequestContext<P extends object = object, Q extends object = object> = {
  /** The path parameters, parsed by the route's own schema. */
  readonly params: P
  /** The query, parsed likewise. */
  readonly query: Q
  readonly services: Services
  readonly appContext: AppContext
  readonly store: Store
  readonly nowMs: number
  readonly actor: Staff
  readonly scope: Scope
  /** The ward chosen at sign-in or since; null before a choice. */
  readonly wardId: string | null
  /** The meter this login used last. */
  readonly meterId: string | null
  readonly tokenHash: string
  readonly request: FastifyRequest
  readonly reply: FastifyReply
}

export type FieldErrors = Readonly<Record<string, string>>

/** A form as it goes (back) to the browser: what was typed, a sentence by field, and one above the form if any. */
export type FormState = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: FieldErrors
  readonly problem: string | null
}

/** What changes beside the ledger with a decision: secrets, logins and the log of reads, never a clinical fact. */
export type Effect =
  /** The login's ward, and its meter if one was chosen. */
  | { readonly kind: 'choose-ward'; readonly wardId: string; readonly meterId: string | null }
  /** The meter that the login used last. */
  | { readonly kind: 'session-meter'; readonly meterId: string | null }
  /** The person's own PIN; every other login of hers ends, and so does a code for a PIN. */
  | { readonly kind: 'set-own-pin'; readonly hash: string }
  /** A one-time code for a PIN, kept hashed and shown once on the page that follows. */
  | {
      readonly kind: 'make-pin-code'
      readonly staffId: string
      readonly code: string
      readonly hash: string
      readonly expiresAtMs: number
    }
  | { readonly kind: 'end-logins'; readonly staffId: string }
  | { readonly kind: 'drop-pin-code'; readonly staffId: string }
  /** Patients who were read without a page of theirs: they are named in a file. */
  | { readonly kind: 'patient-reads'; readonly stayIds: readonly string[] }

/** What an accepted form comes to: facts for the ledger and the page to go to. */
export type FormDecision = {
  readonly events: readonly LedgerEvent[]
  readonly location: string
  /** Stored in the same transaction after the events, in this order. */
  readonly effects?: readonly Effect[]
  /** Sent in place of leading on, once: the same form sent again is a conflict. `location` is then the form's own page. */
  readonly file?: FileMade
}

/** A file for the browser to save. Its name tells nothing about a patient. */
export type FileMade = {
  readonly name: string
  readonly type: 'text/csv; charset=utf-8' | 'application/json; charset=utf-8'
  readonly text: string
}

/** A page's content. 'bare' leaves out the navigation (the second check, seen by somebody not signed in here). */
export type PageView = { readonly title: string; readonly body: Html; readonly chrome?: 'full' | 'bare' | 'print' }

/**
 * One charting form. GET draws it with `initial`; POST parses, decides and stores in one transaction together with
 * its one-time key, then answers 303 to where it led. The same URL serves both, so that a reload is always safe.
 * `F` parsed fields, `R` refusals, `C` the request with what the spec reads of its address, `P` what `before` prepared.
 */
export type FormSpec<F, R extends string, C extends RequestContext = RequestContext, P = null> = {
  /** The form's name, bound into its one-time key. */
  readonly name: string
  /** Strict schema of the fields besides the one-time key, or what makes it for the address; messages are the sentences beside the fields. */
  readonly schema: z.ZodType<F> | ((ctx: C) => z.ZodType<F>)
  /** Values of a fresh form. */
  readonly initial: (ctx: C) => Readonly<Record<string, string>>
  /** Draws the page; `state.values.key` is the one-time key to put in the form. Undefined: not there, or not yours (404). */
  readonly draw: (ctx: C, state: FormState) => PageView | undefined
  /** Slow work that must not run inside the transaction: proving a second person's PIN. */
  readonly before?: (fields: F, ctx: C) => Promise<Outcome<P, R>>
  /** Loads and decides, inside the transaction. Must not write. A refusal leaves nothing behind. */
  readonly decide: (fields: F, ctx: C, prepared: P) => Outcome<FormDecision, R>
  readonly sentences: Sentences<R>
  /** The field a refusal stands beside; none: above the form. */
  readonly fieldOf: Partial<Readonly<Record<R, string>>>
  /** Refusals that are conflicts (409), forbidden (403) or not found (404); all others are 422. */
  readonly statusOf: Partial<Readonly<Record<R, 403 | 404 | 409>>>
  /** A refusal that is itself a fact (a wrong wristband) gives the events to keep; stored in a transaction of its own. */
  readonly keep?: (reason: R, fields: F, ctx: C) => readonly LedgerEvent[]
  /**
   * The field of a time that means "now" when it is empty, and the zone it is typed in. A form that could not be stored
   * when it was sent comes back with the time of that sending: a value sent again later is no younger for it.
   */
  readonly emptyIsNow?: { readonly field: string; readonly zone: (ctx: C) => string | undefined }
  /** Fields never sent back to the browser nor kept in a draft: PINs. */
  readonly secretFields?: readonly string[]
}
