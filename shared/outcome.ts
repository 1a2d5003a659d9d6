/**
 * A decision as a value: accepted with what follows, or refused with a stable reason.
 * Bad input is never an exception; an exception means broken code.
 */
export type Accepted<T> = { readonly ok: true; readonly value: T }

/**
 * What the sentence of a refusal is filled in with, by reason. The file that defines a reason adds it here:
 *
 *     declare module '../outcome.ts' {
 *       interface RefusalDetails {
 *         'tray-too-far': { found: number; limit: number }
 *       }
 *     }
 *
 * Then neither a refusal without these details compiles, nor a sentence that reads others. A reason that is not listed
 * has no details.
 */
export interface RefusalDetails {
  /** `sentences`: one a line. */
  'configuration-faulty': { sentences: string }
}

/** A refusal about one of many like fields names the field; otherwise the form's `fieldOf` does, by reason. */
type OfField = { readonly field?: string }

/** The details of a reason. "level1From:glucose-missing" has those of the reason after the colon. */
export type DetailsOf<R extends string> = R extends keyof RefusalDetails
  ? Readonly<RefusalDetails[R]> & OfField
  : R extends `${string}:${infer Reason}`
    ? DetailsOf<Reason>
    : OfField

/** A refusal: `reason` is stable and has its sentence in views/words; `details` fill that sentence in. */
export type Refused<R extends string> = R extends string
  ? { readonly ok: false; readonly reason: R; readonly details: DetailsOf<R> }
  : never

export type Outcome<T, R extends string> = Accepted<T> | Refused<R>

/** A sentence for each reason. */
export type Sentences<R extends string> = { readonly [K in R]: (details: DetailsOf<K>) => string }

/** Wraps an accepted decision. */
export function accept<T>(value: T): Accepted<T> {
  return { ok: true, value }
}

/** What all of these reasons need, so that it fits whichever of them it is. */
type NeededBy<R extends string> = (R extends string ? (details: DetailsOf<R>) => void : never) extends (
  details: infer D,
) => void
  ? D
  : never

/** Wraps a refusal with its reason and the values that its sentence names. */
export function refuse<R extends string>(
  reason: R,
  ...[details]: object extends NeededBy<R> ? [details?: NeededBy<R>] : [details: NeededBy<R>]
): Refused<R> {
  // `details` has what each reason in R needs
  return { ok: false, reason, details: details ?? {} } as Refused<R>
}

/** The same refusal with more details, of those that each of its reasons may have: its field above all. */
export function withDetails<R extends string>(refused: Refused<R>, more: Partial<NeededBy<R>>): Refused<R> {
  return { ...refused, details: { ...refused.details, ...more } }
}

/** The sentence of a refusal, filled in. */
export function sentenceOf<R extends string>(sentences: Sentences<R>, refused: Refused<R>): string {
  const { reason, details } = partsOf(refused)
  // reason and details of one refusal belong together
  return (sentences[reason] as (details: OfField) => string)(details)
}

/** The parts of a refusal, where its reasons are a type parameter. */
export function partsOf<R extends string>(refused: Refused<R>): { readonly reason: R; readonly details: OfField } {
  return refused
}
