/**
 * One setting of a ward policy: how it is named, read from what was typed, written, and where its figure comes from.
 * The pages, their validation and the list of differences are all derived from these descriptors (parts.ts).
 */
import { glucoseDigits, METER_RANGE, parseGlucose, type GlucoseUnit } from '../glucose/value.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { Range } from './ranges.ts'
import type { WardPolicy } from './ward-policy.ts'

/** A value as it stands in the policy: plain JSON. */
export type Setting = string | number | boolean | null | readonly Setting[] | { readonly [name: string]: Setting }

/** One choice. `value` is what a form sends, `stored` what the policy holds. */
export type Option = { readonly value: string; readonly label: string; readonly stored: Setting }

export type FieldKind =
  /** Set when the ward is opened, and never again. */
  | { readonly kind: 'fixed' }
  /** HH:MM, ward-local. */
  | { readonly kind: 'time' }
  /** A number in a range (both ends in), in steps of `step`; `none` says in words what an empty field means, where it may be empty. */
  | {
      readonly kind: 'number'
      readonly unit: string
      readonly range: Range
      readonly step: 1 | 0.5 | 0.1
      readonly none: string | null
    }
  /** A limit in the ward's unit, which a meter can show. */
  | { readonly kind: 'limit' }
  /** A difference of two values, in the ward's unit. */
  | { readonly kind: 'difference'; readonly range: Range }
  | { readonly kind: 'yes-no' }
  | { readonly kind: 'text'; readonly most: number }
  | { readonly kind: 'one-of'; readonly options: readonly Option[] }
  /** Any of the options, in the options' order. */
  | { readonly kind: 'any-of'; readonly options: readonly Option[] }
  /** One shift a line: "07:00 Day". */
  | { readonly kind: 'shifts' }

export type PolicyField = {
  /** The setting's path in the policy, "limits.low". */
  readonly name: string
  readonly label: string
  readonly kind: FieldKind
  /** Where the default comes from, in words with the mark of reference-values. */
  readonly source: string
  /** A change of it takes two administrators. */
  readonly touchesDose: boolean
  /** It exists only while another setting has this value. */
  readonly only?: { readonly name: string; readonly is: string }
}

export type FieldRefusal =
  | 'setting-missing'
  | 'setting-not-a-time'
  | 'setting-not-a-number'
  | 'setting-out-of-range'
  | 'setting-not-a-limit'
  | 'setting-not-a-choice'
  | 'setting-too-long'
  | 'setting-shift-line'

/** What a form holds, by field name; an option of any-of is a field of its own (`tickName`). */
export type Typed = Readonly<Record<string, string | undefined>>

/** The name of the setting's form field, which is an id as well and so has no dots. */
export function inputName(name: string): string {
  return name.replaceAll('.', '-')
}

/** The name of one option's tick box. */
export function tickName(field: PolicyField, option: Option): string {
  return `${inputName(field.name)}-${option.value}`
}

/** The setting at the field's path; undefined where the policy has none (another kind of dextrose rule). */
export function settingOf(policy: WardPolicy, name: string): Setting | undefined {
  let at: Setting | undefined = policy
  for (const step of name.split('.')) {
    if (at === null || typeof at !== 'object' || Array.isArray(at)) return undefined
    at = (at as { readonly [name: string]: Setting })[step]
  }
  return at
}

/** The policy with one setting replaced, or left out where it is undefined. */
export function withSetting(policy: WardPolicy, name: string, setting: Setting | undefined): WardPolicy {
  return put(policy, name.split('.'), setting) as WardPolicy
}

function put(at: Setting, [step = '', ...rest]: readonly string[], setting: Setting | undefined): Setting {
  const { [step]: before, ...others } = at as { readonly [name: string]: Setting }
  const after = rest.length === 0 ? setting : put(before ?? {}, rest, setting)
  return after === undefined ? others : { ...others, [step]: after }
}

/** Reads the setting from what was typed, in the ward's unit. Refusals carry the range, `least` and `most`, with its unit. */
export function readSetting(field: PolicyField, typed: Typed, unit: GlucoseUnit): Outcome<Setting, FieldRefusal> {
  const { kind } = field
  const text = (typed[inputName(field.name)] ?? '').trim()
  switch (kind.kind) {
    case 'fixed':
      return accept(text)
    case 'time':
      return /^([01]\d|2[0-3]):[0-5]\d$/.test(text) ? accept(text) : refuse('setting-not-a-time')
    case 'number':
      return readNumber(text, kind)
    case 'limit':
      return readLimit(text, unit)
    case 'difference':
      return readDifference(text, kind.range, unit)
    case 'yes-no':
      return text === 'yes' || text === 'no' ? accept(text === 'yes') : refuse('setting-not-a-choice')
    case 'text':
      if (text === '') return refuse('setting-missing')
      return text.length <= kind.most ? accept(text) : refuse('setting-too-long', { most: kind.most })
    case 'one-of': {
      const chosen = kind.options.find(({ value }) => value === text)
      return chosen === undefined ? refuse('setting-not-a-choice') : accept(chosen.stored)
    }
    case 'any-of':
      return accept(
        kind.options.filter((option) => typed[tickName(field, option)] === 'yes').map(({ stored }) => stored),
      )
    case 'shifts':
      return readShifts(text)
  }
}

const NUMBER = { 1: /^\d{1,4}$/, 0.5: /^\d{1,4}(?:\.5)?$/, 0.1: /^\d{1,4}(?:\.[1-9])?$/ } as const

function readNumber(
  text: string,
  { range, step, unit, none }: Extract<FieldKind, { kind: 'number' }>,
): Outcome<number | null, FieldRefusal> {
  if (text === '') return none === null ? refuse('setting-missing') : accept(null)
  const details = { ...range, unit, step }
  // no trailing zero and no sign: "1.0" has been read as 10
  if (!NUMBER[step].test(text)) return refuse('setting-not-a-number', details)
  const number = Number(text)
  return number < range.least || number > range.most ? refuse('setting-out-of-range', details) : accept(number)
}

/** A limit beyond what a meter shows would never be crossed. The wrong-unit guard of every glucose entry holds here too. */
function readLimit(text: string, unit: GlucoseUnit): Outcome<number, FieldRefusal> {
  if (text === '') return refuse('setting-missing')
  const parsed = parseGlucose(text, unit)
  if (!parsed.ok || typeof parsed.value.value !== 'number') {
    const { least, most } = METER_RANGE[unit]
    return refuse('setting-not-a-limit', {
      least: glucoseDigits({ unit, value: least }),
      most: glucoseDigits({ unit, value: most }),
      unit,
    })
  }
  return accept(parsed.value.value)
}

function readDifference(text: string, range: Range, unit: GlucoseUnit): Outcome<number, FieldRefusal> {
  if (text === '') return refuse('setting-missing')
  const details = {
    least: glucoseDigits({ unit, value: range.least }),
    most: glucoseDigits({ unit, value: range.most }),
    unit,
    step: unit === 'mg/dL' ? 1 : 0.1,
  }
  if (!(unit === 'mg/dL' ? /^\d{1,3}$/ : /^\d{1,2}\.\d$/).test(text)) return refuse('setting-not-a-number', details)
  const count = Number(text.replace('.', ''))
  return count < range.least || count > range.most ? refuse('setting-out-of-range', details) : accept(count)
}

const SHIFTS_MOST = 6

function readShifts(text: string): Outcome<readonly Setting[], FieldRefusal> {
  const lines = text
    .split(/\r?\n/)
    .map((line) => line.trim())
    .filter((line) => line !== '')
  if (lines.length === 0) return refuse('setting-missing')
  if (lines.length > SHIFTS_MOST) return refuse('setting-shift-line', { line: `line ${String(SHIFTS_MOST + 1)}` })
  const shifts: Setting[] = []
  for (const line of lines) {
    const [, starts = '', name = ''] = /^((?:[01]\d|2[0-3]):[0-5]\d)\s+(\S.{0,29})$/.exec(line) ?? []
    if (name === '') return refuse('setting-shift-line', { line: line.slice(0, 40) })
    shifts.push({ name, starts })
  }
  return accept(shifts)
}

/** The setting as a form holds it; what is read back from it is the same setting. */
export function typedSetting(
  field: PolicyField,
  setting: Setting | undefined,
  unit: GlucoseUnit,
): Readonly<Record<string, string>> {
  const { kind } = field
  const input = inputName(field.name)
  if (setting === undefined || (setting === null && kind.kind !== 'one-of')) return { [input]: '' }
  switch (kind.kind) {
    case 'limit':
    case 'difference':
      return { [input]: glucoseDigits({ unit, value: setting as number }) }
    case 'yes-no':
      return { [input]: setting === true ? 'yes' : 'no' }
    case 'one-of':
      return { [input]: optionOf(kind.options, setting)?.value ?? '' }
    case 'any-of':
      return Object.fromEntries(chosenOf(kind.options, setting).map((option) => [tickName(field, option), 'yes']))
    case 'shifts':
      return { [input]: (setting as WardPolicy['shifts']).map(({ name, starts }) => `${starts} ${name}`).join('\n') }
    case 'fixed':
    case 'time':
    case 'number':
    case 'text':
      return { [input]: scalar(setting) }
  }
}

/** The setting in words with its unit, as the policy page, a difference and a version show it. */
export function saySetting(field: PolicyField, setting: Setting | undefined, unit: GlucoseUnit): string {
  const { kind } = field
  if (setting === undefined) return '–'
  switch (kind.kind) {
    case 'number':
      return setting === null
        ? (kind.none ?? '–')
        : `${scalar(setting)} ${kind.unit === 'units' && setting === 1 ? 'unit' : kind.unit}`
    case 'limit':
    case 'difference':
      return `${glucoseDigits({ unit, value: setting as number })} ${unit}`
    case 'yes-no':
      return setting === true ? 'yes' : 'no'
    case 'one-of':
      return optionOf(kind.options, setting)?.label ?? '–'
    case 'any-of': {
      const chosen = chosenOf(kind.options, setting)
      return chosen.length === 0 ? 'none' : chosen.map(({ label }) => label).join(', ')
    }
    case 'shifts':
      return (setting as WardPolicy['shifts']).map(({ name, starts }) => `${name} from ${starts}`).join(', ')
    case 'fixed':
    case 'time':
    case 'text':
      return scalar(setting)
  }
}

/** A text or a number as it is typed; nothing for what is neither, so that it is never read back. */
function scalar(setting: Setting): string {
  return typeof setting === 'string' || typeof setting === 'number' ? String(setting) : ''
}

function optionOf(options: readonly Option[], setting: Setting): Option | undefined {
  return options.find(({ stored }) => sameSetting(stored, setting))
}

/** The chosen options in the policy's own order, which can mean something (fingers). */
function chosenOf(options: readonly Option[], setting: Setting): readonly Option[] {
  return (setting as readonly Setting[]).flatMap((one) => optionOf(options, one) ?? [])
}

/** Equal as JSON, whatever the order of names: the ledger keeps its own. */
export function sameSetting(a: Setting | undefined, b: Setting | undefined): boolean {
  if (a === b) return true
  if (a === null || b === null || typeof a !== 'object' || typeof b !== 'object') return false
  if (Array.isArray(a) !== Array.isArray(b)) return false
  const [mine, theirs] = [Object.entries(a), Object.entries(b)]
  return (
    mine.length === theirs.length &&
    mine.every(([name, value]) => sameSetting(value, (b as { readonly [name: string]: Setting })[name]))
  )
}
