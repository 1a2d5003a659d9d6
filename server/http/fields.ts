/** What a browser sent, as text by field, with everything refused that is not plain text given once. */
import { parse } from 'node:querystring'
import type { z } from 'zod'
import { FORM_SENTENCES } from '../../views/words/http.ts'
import type { FieldErrors } from './request-context.ts'

export type SubmittedFields = { readonly fields: Readonly<Record<string, string>>; readonly errors: FieldErrors }

/** More fields than any form has. */
const MOST_FIELDS = 400
/** Longer values go back to the browser cut off: no field takes this many characters. */
const ECHO_MOST = 5000

/**
 * Control characters besides tab and line ends, halves of surrogate pairs, non-characters, the sign that stands for bytes
 * that were no text (parseForm), and marks that turn the direction of text around: what is read would not be what is stored.
 */
const ODD =
  /(?![\t\n\r])\p{Cc}|[\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ufffd]|\p{Noncharacter_Code_Point}|\p{Cs}/u
const EVERY_ODD = new RegExp(ODD, 'gu')

/**
 * The fields of a form's body as it was sent. Bytes that are no UTF-8 become U+FFFD and are then refused beside their
 * field; the framework's own parser would take their escapes for the text itself.
 */
export function parseForm(body: string): Record<string, unknown> {
  return parse(body, '&', '=', { maxKeys: 0 })
}

/** Reads a parsed body. A field sent twice, one that is no text, and odd characters are faults beside the field. */
export function readFields(body: unknown): SubmittedFields {
  if (typeof body !== 'object' || body === null || Array.isArray(body)) return { fields: {}, errors: {} }
  const entries = Object.entries(body)
  const fields: [string, string][] = []
  const errors: [string, string][] = []
  for (const [name, value] of entries.slice(0, MOST_FIELDS)) {
    const text: unknown = Array.isArray(value) ? value[0] : value
    fields.push([name, typeof text === 'string' ? text : ''])
    if (Array.isArray(value)) errors.push([name, FORM_SENTENCES['sent-twice']])
    else if (typeof value !== 'string') errors.push([name, FORM_SENTENCES['not-text']])
    else if (ODD.test(value)) errors.push([name, FORM_SENTENCES['odd-characters']])
  }
  // schemas pass this name over in silence, and no form of ours has it
  if (entries.length > MOST_FIELDS || Object.hasOwn(body, '__proto__'))
    errors.push(['', FORM_SENTENCES['unknown-field']])
  return { fields: Object.fromEntries(fields), errors: Object.fromEntries(errors) }
}

/** What may go back to the browser: without secrets and key, cut to a length, and without what HTML cannot hold. */
export function echo(
  fields: Readonly<Record<string, string>>,
  secretFields: readonly string[],
): Record<string, string> {
  const open = Object.entries(fields).filter(([name]) => name !== 'key' && !secretFields.includes(name))
  return Object.fromEntries(open.map(([name, value]) => [name, value.slice(0, ECHO_MOST).replace(EVERY_ODD, '')]))
}

export type Parsed<F> =
  | { readonly ok: true; readonly value: F }
  | { readonly ok: false; readonly errors: FieldErrors; readonly problem: string }

/** Parses the fields (without the key) by the form's strict schema: one sentence for each field at fault. */
export function parseFields<F>(schema: z.ZodType<F>, sent: SubmittedFields): Parsed<F> {
  const open = Object.fromEntries(Object.entries(sent.fields).filter(([name]) => name !== 'key'))
  const read = schema.safeParse(open, { error: plainSentence })
  if (read.success && Object.keys(sent.errors).length === 0) return { ok: true, value: read.data }
  const errors: Record<string, string> = {}
  let problem: string = FORM_SENTENCES.faulty
  for (const issue of read.success ? [] : read.error.issues) {
    const [field] = issue.path
    if (issue.code === 'unrecognized_keys') problem = FORM_SENTENCES['unknown-field']
    else if (field === undefined) problem = issue.message
    else errors[String(field)] ??= issue.message
  }
  for (const [name, sentence] of Object.entries(sent.errors)) {
    if (name === '') problem = sentence
    else errors[name] = sentence
  }
  return { ok: false, errors, problem }
}

/** Stands in where a schema has no sentence of its own. */
function plainSentence(issue: { readonly code?: string | undefined; readonly input?: unknown }): string {
  if (issue.input === undefined || issue.input === '') return FORM_SENTENCES.missing
  if (issue.code === 'too_big') return FORM_SENTENCES['too-long']
  if (issue.code === 'invalid_value' || issue.code === 'invalid_union') return FORM_SENTENCES['not-a-choice']
  return FORM_SENTENCES['not-valid']
}
