/**
 * One setting of a ward policy as a form holds it: how it is named there, read from what was typed, and written.
 */
import { glucoseDigits, METER_RANGE, parseGlucose, type GlucoseUnit } from '../glucose/value.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import {
  SHIFT_NAME_MOST,
  SHIFTS_MOST,
  type FieldKind,
  type Option,
  type PolicyField,
  type Setting,
  type Shift,
} from './entry.ts'
import type { Range } from './ranges.ts'

export type FieldRefusal =
  | 'setting-missing'
  | 'setting-not-a-time'
  | 'setting-not-a-number'
  | 'setting-out-of-range'
  | 'setting-not-a-limit'
  | 'setting-not-a-choice'
  | 'setting-too-long'
  | 'setting-shift-line'

/** Both ends as they are typed. */
type SettingRange = { least: number | string; most: number | string; unit: string }

declare module '../outcome.ts' {
  interface RefusalDetails {
    'setting-not-a-number': SettingRange & { step: number }
    'setting-out-of-range': SettingRange
    'setting-not-a-limit': SettingRange
    'setting-too-long': { most: number }
    'setting-shift-line': { line: string }
  }
}

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

function readShifts(text: string): Outcome<readonly Setting[], FieldRefusal> {
  const lines = text
    .split(/\r?\n/)
    .map((line) => line.trim())
    .filter((line) => line !== '')
  if (lines.length === 0) return refuse('setting-missing')
  if (lines.length > SHIFTS_MOST) return refuse('setting-shift-line', { line: `line ${String(SHIFTS_MOST + 1)}` })
  const shifts: Setting[] = []
  for (const line of lines) {
    const [, starts = '', name = ''] = /^((?:[01]\d|2[0-3]):[0-5]\d)\s+(\S.*)$/.exec(line) ?? []
    if (name === '' || name.length > SHIFT_NAME_MOST) return refuse('setting-shift-line', { line: line.slice(0, 40) })
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
      return { [input]: (setting as readonly Shift[]).map(({ name, starts }) => `${starts} ${name}`).join('\n') }
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
      return (setting as readonly Shift[]).map(({ name, starts }) => `${name} from ${starts}`).join(', ')
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
