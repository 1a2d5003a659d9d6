/**
 * Forty ways to fill in a form wrongly, for any form: made from the fields of one valid post. Each must return the
 * form (422), write nothing, and never cause a fault of the service.
 */

export type Malformed = { readonly name: string; readonly body: string }

/** Half a surrogate pair has no UTF-8: it is sent as the bytes that a faulty program produces. */
const percent = (text: string): string => (text === '\ud83d' ? '%ED%A0%BD' : encodeURIComponent(text))
const encode = (pairs: readonly (readonly [string, string])[]): string =>
  pairs.map(([name, value]) => `${percent(name)}=${percent(value)}`).join('&')

/** Values that are wrong in any field that is not free text. */
const BAD_VALUES: readonly (readonly [string, string])[] = [
  ['a script', '<script>alert(1)</script>'],
  ['a quote that would end an attribute', '"><img src=x onerror=alert(1)>'],
  ['5000 letters', 'x'.repeat(5000)],
  ['a NUL', '1\u0000'],
  ['a bell', '\u0007'],
  ['text turned around', '\u202e12'],
  ['a byte order mark', '\ufeff12'],
  ['half an emoji', '\ud83d'],
  ['a non-character', '\uffff'],
  ['digits of another script', '١١٢'],
  ['full-width digits', '１１２'],
  ['a zero-width blank between digits', '1\u200b2'],
  ['an emoji', '🩸'],
  ['letters on letters', `e${'\u0301'.repeat(60)}`],
  ['a path', '../../etc/passwd'],
  ['SQL', "'; DROP TABLE reading; --"],
  ['a template', '${7*7}{{7*7}}'],
  ['JSON', '{"$gt":""}'],
  ['the name of a prototype', '__proto__'],
  ['a number too large for a number', '1e999'],
  ['not a number', 'NaN'],
  ['less than nothing', '-1'],
  ['a line break', 'a\r\nset-cookie: a=b'],
  ['a percent sign that is not encoding', '%E0%A4%A'],
]

/**
 * `good` holds every field of an accepted post except the key; `key` is a valid one-time key, or null for a form
 * without one. `strict` names a required field that is not free text (its values are checked); the others do not
 * change.
 */
export function malformedPosts(
  good: Readonly<Record<string, string>>,
  key: string | null,
  strict: string,
): readonly Malformed[] {
  const withKey = (fields: Readonly<Record<string, string>>): [string, string][] => [
    ...Object.entries(fields),
    ...(key === null ? [] : [['key', key] as [string, string]]),
  ]
  const instead = (value: string): string => encode(withKey({ ...good, [strict]: value }))
  const { [strict]: _left, ...without } = good
  const all = encode(withKey(good))
  const keyOnly = key === null ? '' : encode([['key', key]])
  return [
    ...BAD_VALUES.map(([name, value]) => ({ name, body: instead(value) })),
    { name: 'the field missing', body: encode(withKey(without)) },
    { name: 'the field empty', body: instead('') },
    { name: 'the field all blanks', body: instead('   ') },
    { name: 'the field sent twice', body: `${all}&${encode([[strict, good[strict] ?? '']])}` },
    {
      name: 'the field sent a hundred times',
      body: `${all}&${Array.from({ length: 100 }, () => encode([[strict, '1']])).join('&')}`,
    },
    { name: 'the field as a list', body: encode([...withKey(without), [`${strict}[]`, good[strict] ?? '']]) },
    { name: 'the field as an object', body: encode([...withKey(without), [`${strict}[a]`, good[strict] ?? '']]) },
    { name: 'an unknown field', body: `${all}&surprise=1` },
    { name: 'an unknown field called __proto__', body: `${all}&__proto__=1` },
    { name: 'an unknown field called constructor', body: `${all}&constructor=1` },
    { name: 'an unknown field without a name', body: `${all}&=1` },
    { name: 'a field whose name is a script', body: `${all}&${encode([['<script>', '1']])}` },
    { name: 'a name of 2000 letters', body: `${all}&${'n'.repeat(2000)}=1` },
    {
      name: 'four hundred unknown fields',
      body: `${all}&${Array.from({ length: 400 }, (_, at) => `f${String(at)}=1`).join('&')}`,
    },
    { name: 'only the key', body: keyOnly },
    { name: 'the key and noise', body: `${keyOnly}&&&===&%&a` },
  ]
}
