/** Typed glucose values in a form with several: each refusal is shown beside its own field. */
import { isNumeric, type Glucose, type GlucoseRefusal, type NumericGlucose } from '../../shared/glucose/value.ts'
import { accept, refuse, type Outcome, type Refused, type Sentences } from '../../shared/outcome.ts'
import { VALUE_SENTENCES } from '../../views/words/meter.ts'

type Reason = GlucoseRefusal | 'value-not-a-number'
const REASONS = Object.keys(VALUE_SENTENCES) as readonly Reason[]

export type ValueRefusal<F extends string> = `${F}:${Reason}`

/** The parsed value of the field, or its refusal under the field's name. */
export function valueFor<F extends string>(
  field: F,
  read: Outcome<Glucose, GlucoseRefusal>,
): Outcome<Glucose, ValueRefusal<F>> {
  return read.ok ? read : ofField(field, read)
}

/** The refusal under the field's name, with the details of the reason after the colon. */
function ofField<F extends string>(field: F, refused: Refused<Reason>): Refused<ValueRefusal<F>> {
  return { ...refused, reason: `${field}:${refused.reason}` } as Refused<ValueRefusal<F>>
}

/** The same where LO and HI are not allowed: range ends, and pairs of values. */
export function numberFor<F extends string>(
  field: F,
  read: Outcome<Glucose, GlucoseRefusal>,
): Outcome<NumericGlucose, ValueRefusal<F>> {
  const value = valueFor(field, read)
  if (!value.ok) return value
  return isNumeric(value.value) ? accept(value.value) : ofField<F>(field, refuse('value-not-a-number'))
}

/** The sentence for each refusal of the fields. */
export function valueSentences<F extends string>(fields: readonly F[]): Sentences<ValueRefusal<F>> {
  const sentences: Readonly<Record<string, unknown>> = Object.fromEntries(
    each(fields).map(([key, , reason]) => [key, VALUE_SENTENCES[reason]]),
  )
  return sentences as Sentences<ValueRefusal<F>>
}

/** The field beside which each refusal is shown. */
export function valueFields<F extends string>(fields: readonly F[]): Readonly<Record<ValueRefusal<F>, F>> {
  return Object.fromEntries(each(fields).map(([key, field]) => [key, field])) as Readonly<Record<ValueRefusal<F>, F>>
}

function each<F extends string>(fields: readonly F[]): readonly (readonly [ValueRefusal<F>, F, Reason])[] {
  return fields.flatMap((field) => REASONS.map((reason) => [`${field}:${reason}`, field, reason] as const))
}
