/**
 * Fills in any form until the service accepts it: the first choice of each kind, and the next possible value beside a
 * fault.
 */
import { attr, byTag, errorOf, findAll, formsOf, type Element } from './html.ts'
import type { Client, Got } from './client.ts'

export type Fields = Readonly<Record<string, string>>

/** The possible values of a field, in the order in which they are tried. */
const GUESSES = [
  '4',
  'because',
  '07:15',
  '2026-03-10T07:15',
  '1950-01-25',
  '2099-01-31',
  'W9999',
  '120',
  '8.4',
  '07:25',
  '2026-03-10 07:15',
  '',
] as const
/** One round for each guess, and some for faults that only show once others are fixed. */
const ROUNDS = GUESSES.length + 4

/**
 * Opens the form of `path` and sends it until it is accepted or no guess is left. Returns the last response with the
 * sent fields, or undefined when the page has no such form. `known` comes before every guess.
 */
export async function fillIn(
  client: Client,
  path: string,
  known: Fields,
): Promise<{ readonly fields: Fields; readonly got: Got } | undefined> {
  const page = (await client.get(path)).root()
  const form = formsOf(page).find(({ action, method }) => method === 'post' && action.split('?')[0] === path)
  if (form === undefined) return undefined
  const inputs = findAll(form.element, ({ tagName }) => ['input', 'select', 'textarea'].includes(tagName))
  const fields: Record<string, string> = {}
  for (const input of inputs) {
    const name = attr(input, 'name')
    if (name === null || fields[name] !== undefined) continue
    const value =
      known[name] ??
      (form.fields[name] === undefined || form.fields[name] === '' ? firstChoice(input) : form.fields[name])
    if (value !== undefined) fields[name] = value
  }
  const tried = new Map<string, number>()
  let got = await client.postRaw(path, fields)
  for (let round = 0; round < ROUNDS && got.status === 422; round++) {
    const root = got.root()
    const faulty = [...new Set(inputs.flatMap((input) => attr(input, 'name') ?? []))].filter(
      (name) => known[name] === undefined && errorOf(root, name) !== null,
    )
    if (faulty.length === 0) break
    for (const name of faulty) {
      const at = tried.get(name) ?? 0
      tried.set(name, at + 1)
      fields[name] = GUESSES[at] ?? ''
    }
    got = await client.postRaw(path, fields)
  }
  return { fields, got }
}

function firstChoice(input: Element): string | undefined {
  if (input.tagName === 'select')
    return byTag(input, 'option')
      .map((option) => attr(option, 'value') ?? '')
      .find((value) => value !== '')
  const type = attr(input, 'type') ?? 'text'
  if (type === 'radio' || type === 'checkbox') return attr(input, 'value') ?? 'on'
  return ''
}
