/**
 * A decision as a value: accepted with what follows, or refused with a stable reason.
 * Bad input is never an exception; an exception means broken code.
 */
export type Accepted<T> = { readonly ok: true; readonly value: T }

/** A refusal: `reason` is stable and has its sentence in views/words.ts; `details` fill that sentence in. */
export type Refused<R extends string> = {
  readonly ok: false
  readonly reason: R
  readonly details: Readonly<Record<string, string | number>>
}

export type Outcome<T, R extends string> = Accepted<T> | Refused<R>

/** Wraps an accepted decision. */
export function accept<T>(value: T): Accepted<T> {
  return { ok: true, value }
}

/** Wraps a refusal with its reason and the values that its sentence names. */
export function refuse<R extends string>(
  reason: R,
  details: Readonly<Record<string, string | number>> = {},
): Refused<R> {
  return { ok: false, reason, details }
}
