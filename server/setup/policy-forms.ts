/** The forms about policy: the settings of one part, from when they apply, and why. */
import { z } from 'zod'
import type { PolicyField, Setting } from '../../shared/policy/entry.ts'
import { inputName, readSetting, tickName } from '../../shared/policy/field.ts'
import type { Part } from '../../shared/policy/parts.ts'
import { faultsOfPart, withPart } from '../../shared/policy/set.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { FIELD_SENTENCES, SET_SENTENCES } from '../../views/words/policy.ts'
import { sentenceOf } from '../../shared/outcome.ts'

export type PartFields = {
  readonly settings: ReadonlyMap<string, Setting>
  readonly shown: number
  readonly from: string
  readonly note: string
}

/** Longest text of one setting: six shifts, a line each. */
const SETTING_MOST = 300

/**
 * The strict schema of one part's form, based on the newest policy. Each setting is parsed by its own descriptor in the
 * ward's unit. Then all are checked against each other. All errors are reported at once, each beside its field.
 */
export function partSchema(part: Part, newest: WardPolicy): z.ZodType<PartFields> {
  const fields = part.fields.filter(({ kind }) => kind.kind !== 'fixed')
  return z
    .strictObject({
      ...Object.fromEntries(fields.flatMap(fieldsOf)),
      shown: z.string().regex(/^\d{1,6}$/),
      from: z.string().trim().max(25, SET_SENTENCES['from-not-a-time']({})).default(''),
      note: z.string().trim().max(200, 'At most 200 characters.').default(''),
    })
    .transform((sent, context) => {
      const typed = sent as Readonly<Record<string, string | undefined>>
      // here and not above, so that it is reported with the errors of the settings
      if (typed['note'] === '') context.addIssue({ code: 'custom', path: ['note'], message: 'Say why.' })
      const settings = new Map<string, Setting>()
      for (const field of fields) {
        if (field.only !== undefined && settings.get(field.only.name) !== field.only.is) continue
        const read = readSetting(field, typed, newest.unit)
        if (read.ok) settings.set(field.name, read.value)
        else
          context.addIssue({
            code: 'custom',
            path: [inputName(field.name)],
            message: sentenceOf(FIELD_SENTENCES, read),
          })
      }
      if (context.issues.length === 0) {
        for (const fault of faultsOfPart(part, withPart(newest, part, settings)))
          context.addIssue({
            code: 'custom',
            path: [inputName(fault.name)],
            message: sentenceOf(SET_SENTENCES, fault),
          })
      }
      return { settings, shown: Number(typed['shown']), from: typed['from'] ?? '', note: typed['note'] ?? '' }
    })
}

function fieldsOf(field: PolicyField): readonly (readonly [string, z.ZodType])[] {
  const { kind } = field
  if (kind.kind === 'any-of')
    return kind.options.map(
      (option) =>
        [tickName(field, option), z.literal('yes', FIELD_SENTENCES['setting-not-a-choice']({})).optional()] as const,
    )
  return [
    [
      inputName(field.name),
      z
        .string()
        .max(SETTING_MOST, `At most ${String(SETTING_MOST)} characters.`)
        .default(''),
    ],
  ]
}

export const CHANGE_FORM = z.strictObject({
  answer: z.enum(['approve', 'refuse'], 'Choose one.'),
  reason: z.string().trim().max(200, 'At most 200 characters.').default(''),
})
export type ChangeFields = z.output<typeof CHANGE_FORM>
