/** GET and POST /setup/wards/:wardId/policy/:part: changes one part of a ward's policy. */
import { z } from 'zod'
import { accept, refuse, sentenceOf, type Outcome } from '../../shared/outcome.ts'
import type { PolicyField, Setting } from '../../shared/policy/entry.ts'
import { inputName, readSetting, tickName, typedSetting } from '../../shared/policy/field.ts'
import { isChangeable, partById, type Part } from '../../shared/policy/parts.ts'
import { changePart, faultsOfPart, withPart } from '../../shared/policy/set.ts'
import { settingOf, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { parseLocalDateTime } from '../../shared/time/zone.ts'
import { formatDateTime } from '../../views/format.ts'
import { partForm } from '../../views/setup/policy-form.ts'
import { FIELD_SENTENCES, SET_SENTENCES } from '../../views/words/policy.ts'
import { text, WARD_ADDRESS } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { headOf } from '../bedside/event-head.ts'
import { defaultOf, policyContext, said, type PolicyContext } from './policy-load.ts'

type PartFields = {
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
function partSchema(part: Part, newest: WardPolicy): z.ZodType<PartFields> {
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

/** `part`: of the policy (shared/policy/parts.ts). */
export const PART_ADDRESS = WARD_ADDRESS.extend({ part: text })
type PartRequest = RequestContext<z.output<typeof PART_ADDRESS>>

type PartContext = { readonly context: PolicyContext; readonly part: Part }

function partContext(ctx: PartRequest): PartContext | undefined {
  const context = policyContext(ctx)
  const part = partById(ctx.params.part)
  return context === undefined || part === undefined || !isChangeable(part) ? undefined : { context, part }
}

type PartRefusal = keyof typeof SET_SENTENCES

export const partSpec: FormSpec<PartFields, PartRefusal, PartRequest> = {
  name: 'policy-part',
  schema: (ctx) => {
    const found = partContext(ctx)
    // without a ward or part nothing is rendered or accepted
    return found === undefined ? z.never() : partSchema(found.part, found.context.newest.policy)
  },
  initial: (ctx) => {
    const found = partContext(ctx)
    if (found === undefined) return {}
    const {
      part,
      context: { newest },
    } = found
    const typed = part.fields.map((field) =>
      typedSetting(field, settingOf(newest.policy, field.name), newest.policy.unit),
    )
    return { ...(Object.assign({}, ...typed) as Readonly<Record<string, string>>), shown: String(newest.version) }
  },
  draw: drawPart,
  decide: decidePart,
  sentences: SET_SENTENCES,
  fieldOf: { 'from-not-a-time': 'from', 'from-in-past': 'from', 'from-too-far': 'from', 'from-before-newest': 'from' },
  statusOf: { 'ward-gone': 404, 'policy-moved-on': 409, 'same-change-waits': 409 },
}

function drawPart(ctx: PartRequest, state: FormState): PageView | undefined {
  const found = partContext(ctx)
  if (found === undefined) return undefined
  const {
    part,
    context: { ward, newest },
  } = found
  const { policy } = newest
  return {
    title: 'Change policy',
    body: partForm({
      wardId: ward.wardId,
      wardName: ward.name,
      partId: part.id,
      title: part.title,
      about: part.about,
      unit: policy.unit,
      settings: part.fields.map((field) => ({ field, now: said(field, policy), default: defaultOf(field, policy) })),
      version: newest.version,
      laterFrom: newest.fromMs > ctx.nowMs ? formatDateTime(newest.fromMs, policy.zone) : null,
      ...state,
    }),
  }
}

function decidePart(fields: PartFields, ctx: PartRequest): Outcome<FormDecision, PartRefusal> {
  const found = partContext(ctx)
  if (found === undefined) return refuse('ward-gone')
  const {
    part,
    context: { ward, newest, waiting },
  } = found
  const fromMs = fields.from === '' ? null : parseLocalDateTime(fields.from, newest.policy.zone, ctx.nowMs)
  if (fields.from !== '' && fromMs === null) return refuse('from-not-a-time')
  const decided = changePart({
    newest,
    shown: fields.shown,
    part,
    settings: fields.settings,
    fromMs,
    waiting,
    nowMs: ctx.nowMs,
  })
  if (!decided.ok) return decided
  const { kind, policy, fromMs: counts } = decided.value
  const head = headOf(ctx, { wardId: ward.wardId })
  if (kind === 'set') {
    const set: LedgerEvent = {
      ...head,
      type: 'policy-set-from',
      body: { version: newest.version + 1, policy, fromMs: counts, changeId: null, note: fields.note },
    }
    return accept({ events: [set], location: `/setup/wards/${ward.wardId}/policy` })
  }
  const changeId = ctx.services.newId()
  const written: LedgerEvent = {
    ...head,
    type: 'policy-change-written',
    body: { changeId, basedOn: newest.version, policy, fromMs: counts, note: fields.note },
  }
  return accept({ events: [written], location: `/setup/policy-changes/${changeId}` })
}
