/**
 * The policy in a load file: any setting that differs from the default, at its place in the policy and as it stands
 * there. Made from the settings themselves (shared/policy/settings.ts). Glucose counts mg/dL or tenths of mmol/L.
 */
import { z } from 'zod'
import { METER_RANGE, type GlucoseUnit } from '../../shared/glucose/value.ts'
import {
  isEntry,
  SHIFT_NAME_MOST,
  SHIFTS_MOST,
  type Entries,
  type Entry,
  type Option,
  type Setting,
} from '../../shared/policy/entry.ts'
import { sameSetting } from '../../shared/policy/field.ts'
import type { Range } from '../../shared/policy/ranges.ts'
import { SETTINGS } from '../../shared/policy/settings.ts'
import type { PolicyChanges } from '../../shared/policy/ward-policy.ts'
import { text, time, yesOrNo } from './values.ts'

/** The schema for a ward of this unit. decide.ts checks the settings against each other. */
export function policySchema(unit: GlucoseUnit): z.ZodType<PolicyChanges, PolicyChanges> {
  // SETTINGS makes both this schema and the type
  return groupSchema(SETTINGS, unit) as z.ZodType<PolicyChanges, PolicyChanges>
}

type Named = readonly [name: string, child: Entry | Entries]

function groupSchema(group: Entries, unit: GlucoseUnit): z.ZodType {
  const children = Object.entries(group)
  const [choice] = children.flatMap(([, child]) =>
    isEntry(child) && child.only !== undefined ? [child.only.name] : [],
  )
  if (choice !== undefined) return variantsSchema(children, choice.split('.').at(-1) ?? '', unit)
  return z.strictObject(
    Object.fromEntries(
      children
        .filter(([, child]) => !isEntry(child) || child.kind.kind !== 'fixed')
        .map(([name, child]) => [name, schemaOf(child, unit).optional()]),
    ),
  )
}

/** A group that is written whole: one of its settings decides which of the others exist. */
function variantsSchema(children: readonly Named[], choice: string, unit: GlucoseUnit): z.ZodType {
  const choosing = children.find(([name]) => name === choice)?.[1]
  if (choosing === undefined || !isEntry(choosing) || choosing.kind.kind !== 'one-of')
    throw new Error(`${choice} is not a setting with options beside those that exist only for one of them`)
  const { options } = choosing.kind
  const variants = options.map(({ stored }) =>
    z.strictObject({
      ...Object.fromEntries(
        children
          .filter(([, child]) => !isEntry(child) || child.only === undefined || child.only.is === stored)
          .map(([name, child]) => [name, schemaOf(child, unit)]),
      ),
      [choice]: z.literal(stored as string),
    }),
  )
  return z.discriminatedUnion(choice, variants as [(typeof variants)[number]], listed(options))
}

function schemaOf(child: Entry | Entries, unit: GlucoseUnit): z.ZodType {
  return isEntry(child) ? valueSchema(child, unit) : groupSchema(child, unit)
}

function valueSchema({ kind }: Entry, unit: GlucoseUnit): z.ZodType {
  const counted = unit === 'mg/dL' ? unit : 'tenths of mmol/L'
  switch (kind.kind) {
    case 'fixed':
      return z.never()
    case 'time':
      return time
    case 'number': {
      const number = numberSchema(kind.range, kind.unit, kind.step)
      return kind.none === null ? number : number.nullable()
    }
    case 'limit':
      return numberSchema(METER_RANGE[unit], counted, 1)
    case 'difference':
      return numberSchema(kind.range, counted, 1)
    case 'yes-no':
      return yesOrNo
    case 'text':
      return text(kind.most)
    case 'one-of':
      return choiceSchema(kind.options)
    case 'any-of':
      return z
        .array(choiceSchema(kind.options), `Write a list. ${listed(kind.options)}`)
        .refine(
          (chosen) => chosen.every((one, at) => !chosen.slice(0, at).some((other) => sameSetting(one, other))),
          'Name each one once.',
        )
    case 'shifts':
      return z
        .array(z.strictObject({ name: text(SHIFT_NAME_MOST), starts: time }), 'Write a list of shifts.')
        .min(1, 'Write at least one shift.')
        .max(SHIFTS_MOST, `At most ${SHIFTS_MOST} shifts.`)
  }
}

function numberSchema({ least, most }: Range, unit: string, step: number): z.ZodNumber {
  const number = step === 1 ? z.int(`Write a whole number of ${unit}.`) : z.number(`Write a number of ${unit}.`)
  return number
    .min(least, `At least ${least} ${unit}.`)
    .max(most, `At most ${most} ${unit}.`)
    .multipleOf(step, `Write it in steps of ${step} ${unit}.`)
}

function choiceSchema(options: readonly Option[]): z.ZodType<Setting> {
  return z.custom<Setting>(
    (value) => options.some(({ stored }) => sameSetting(stored, value as Setting)),
    listed(options),
  )
}

/** 'Write "a", "b" or null.' */
function listed(options: readonly Option[]): string {
  const written = options.map(({ stored }) => JSON.stringify(stored))
  return `Write ${written.slice(0, -1).join(', ')} or ${written.at(-1) ?? ''}.`
}
