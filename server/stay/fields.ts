/** Form fields about a stay that several forms share, and how their text is parsed. Every value arrives as text. */
import { z } from 'zod'
import type { CheckPlan } from '../../shared/check/check.ts'
import { LISTED_TIMES_MOST } from '../../shared/check/change-plan.ts'
import { accept, refuse, type Outcome, type Refused } from '../../shared/outcome.ts'
import { OTHER_DRUGS } from '../../shared/stay/facts.ts'
import type { BedsideFacts, Hand, RestrictedHand } from '../../shared/stay/stay.ts'
import { localDateTime, parseLocalDateTime } from '../../shared/time/zone.ts'
import { ISOLATION, RESTRICTION } from '../../views/words/check.ts'
import { DIABETES, FEEDING, LABORATORY_ONLY, PLAN } from '../../views/words/stay.ts'

const keysOf = <T extends string>(words: Readonly<Record<T, string>>): readonly T[] => Object.keys(words) as T[]
const CHOOSE = { error: 'Choose one of these.' }

export const TICK = z
  .literal('yes', { error: 'Tick it or leave it.' })
  .optional()
  .transform((value) => value === 'yes')
/** An optional date and time. */
export const INSTANT = z.string().trim().max(30, { error: 'Choose date and time.' }).default('')
/** A past time. Empty: now. */
export const PAST = z.string().trim().max(30, { error: 'Type the time as hours and minutes, as in 07:05.' }).default('')
export const reasonField = (missing: string): z.ZodType<string> =>
  z.string({ error: missing }).trim().min(1, { error: missing }).max(200, { error: 'At most 200 characters.' })

export type At = { readonly zone: string; readonly nowMs: number }
export type InstantRefusal<N extends string> = `${N}-not-read`

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    /** Letters in one name. */
    'drug-too-long': { letters: number }
    'plan-times-not-read': { word: string }
    'plan-times-too-many': { most: number }
  }
}

/** Parses a date and time of the ward's clock. Empty is null. */
export function readInstant<N extends string>(
  name: N,
  text: string,
  { zone, nowMs }: At,
): Outcome<number | null, InstantRefusal<N>> {
  if (text === '') return accept(null)
  const ms = parseLocalDateTime(text, zone, nowMs)
  return ms === null
    ? ({ ok: false, reason: `${name}-not-read`, details: {} } as Refused<InstantRefusal<N>>)
    : accept(ms)
}

// ---- bedside facts

const HANDS: readonly Hand[] = ['left', 'right']
export const HAND_FIELDS: readonly { readonly name: string; readonly restricted: RestrictedHand }[] = HANDS.flatMap(
  (hand) => keysOf(RESTRICTION).map((reason) => ({ name: `hand.${hand}.${reason}`, restricted: { hand, reason } })),
)

export const FACTS_FIELDS = {
  diabetes: z.enum(keysOf(DIABETES), { error: 'Choose the type of diabetes.' }),
  swallows: z.enum(['yes', 'no'], { error: 'Choose whether the patient swallows safely.' }),
  nil: z.enum(['no', 'yes'], { error: 'Choose whether the patient may eat.' }),
  nilFrom: INSTANT,
  nilUntil: INSTANT,
  feeding: z.enum(keysOf(FEEDING), CHOOSE),
  isolation: z.enum(keysOf(ISOLATION), CHOOSE),
  iv: TICK,
  renal: TICK,
  steroid: TICK,
  ketoacidosis: TICK,
  homeInsulin: TICK,
  laboratoryOnly: z.enum(['', ...keysOf(LABORATORY_ONLY)], CHOOSE).default(''),
  others: z.string().trim().max(600, { error: 'At most 600 characters.' }).default(''),
  weight: z.string().trim().max(10, { error: 'Type the weight in kg, as in 78.5.' }).default(''),
}

/** One checkbox for each hand and reason. */
export const HANDS_SCHEMA: Readonly<Record<string, typeof TICK>> = Object.fromEntries(
  HAND_FIELDS.map(({ name }) => [name, TICK]),
)

export type FactsFields = { readonly [Name in keyof typeof FACTS_FIELDS]: z.output<(typeof FACTS_FIELDS)[Name]> }
export type FactsReadRefusal = InstantRefusal<'nil-from' | 'nil-until'> | 'weight-not-read' | 'drug-too-long'

/** The facts from the form. `before` are those it was opened with: an unchanged time keeps its seconds. */
export function readFacts(
  fields: FactsFields,
  ticked: Readonly<Record<string, unknown>>,
  before: BedsideFacts | null,
  at: At,
): Outcome<BedsideFacts, FactsReadRefusal> {
  const nilFrom = readInstant('nil-from', fields.nilFrom, at)
  if (!nilFrom.ok) return nilFrom
  const nilUntil = readInstant('nil-until', fields.nilUntil, at)
  if (!nilUntil.ok) return nilUntil
  if (!/^(|\d{1,3}([.,]\d)?)$/.test(fields.weight)) return refuse('weight-not-read')
  const others = fields.others
    .split(/[,;\n]/)
    .map((one) => one.trim())
    .filter((one) => one !== '')
  if (others.some((one) => one.length > OTHER_DRUGS.letters))
    return refuse('drug-too-long', { letters: OTHER_DRUGS.letters })
  const nil = before?.nilByMouth ?? null
  const kept = (typed: number | null, known: number | null): number | null =>
    typed !== null && known !== null && localDateTime(typed, at.zone) === localDateTime(known, at.zone) ? known : typed
  return accept({
    diabetes: fields.diabetes,
    swallowsSafely: fields.swallows === 'yes',
    nilByMouth:
      fields.nil === 'no'
        ? null
        : {
            fromMs: kept(nilFrom.value, nil?.fromMs ?? null) ?? at.nowMs,
            untilMs: kept(nilUntil.value, nil?.untilMs ?? null),
          },
    feeding: fields.feeding,
    ivAccess: fields.iv,
    restrictedHands: HAND_FIELDS.filter(({ name }) => ticked[name] === true).map(({ restricted }) => restricted),
    isolation: fields.isolation,
    renalImpairment: fields.renal,
    onSteroid: fields.steroid,
    otherGlucoseLowering: others,
    weightKg: fields.weight === '' ? null : Number(fields.weight.replace(',', '.')),
    ...(fields.ketoacidosis ? { pastKetoacidosis: true } : {}),
    ...(fields.homeInsulin ? { insulinAtHome: true } : {}),
    ...(fields.laboratoryOnly === '' ? {} : { laboratoryOnly: fields.laboratoryOnly }),
  })
}

/** The form values of charted facts. A nil by mouth period that has ended is left out. */
export function factsValues(facts: BedsideFacts, { zone, nowMs }: At): Readonly<Record<string, string>> {
  const nil =
    facts.nilByMouth !== null && (facts.nilByMouth.untilMs === null || facts.nilByMouth.untilMs > nowMs)
      ? facts.nilByMouth
      : null
  const ticks = [
    ...(facts.ivAccess ? ['iv'] : []),
    ...(facts.renalImpairment ? ['renal'] : []),
    ...(facts.onSteroid ? ['steroid'] : []),
    ...(facts.pastKetoacidosis === true ? ['ketoacidosis'] : []),
    ...(facts.insulinAtHome === true ? ['homeInsulin'] : []),
  ]
  const hands = facts.restrictedHands.map(({ hand, reason }) => `hand.${hand}.${reason}`)
  return {
    diabetes: facts.diabetes,
    swallows: facts.swallowsSafely ? 'yes' : 'no',
    nil: nil === null ? 'no' : 'yes',
    nilFrom: nil === null ? '' : localDateTime(nil.fromMs, zone),
    nilUntil: nil === null || nil.untilMs === null ? '' : localDateTime(nil.untilMs, zone),
    feeding: facts.feeding,
    isolation: facts.isolation,
    others: facts.otherGlucoseLowering.join(', '),
    weight: facts.weightKg === null ? '' : String(facts.weightKg),
    laboratoryOnly: facts.laboratoryOnly ?? '',
    ...Object.fromEntries([...ticks, ...hands].map((name) => [name, 'yes'])),
  }
}

// ---- check plans

export const PLAN_FIELDS = {
  kind: z.enum(keysOf(PLAN), { error: 'Choose the check plan.' }),
  times: z.string().trim().max(200, { error: 'At most 200 characters.' }).default(''),
  onceAt: INSTANT,
}
export type PlanFields = { readonly kind: CheckPlan['kind']; readonly times: string; readonly onceAt: string }
export type PlanReadRefusal =
  'plan-times-not-read' | 'plan-times-too-many' | InstantRefusal<'plan-once'> | 'plan-once-missing'

/** The plan from the form. Listed times are sorted, without duplicates. */
export function readPlan(fields: PlanFields, at: At): Outcome<CheckPlan, PlanReadRefusal> {
  if (fields.kind === 'listed-times') return readTimes(fields.times)
  if (fields.kind !== 'once') return accept({ kind: fields.kind })
  const once = readInstant('plan-once', fields.onceAt, at)
  if (!once.ok) return once
  return once.value === null ? refuse('plan-once-missing') : accept({ kind: 'once', atMs: once.value })
}

function readTimes(text: string): Outcome<CheckPlan, 'plan-times-not-read' | 'plan-times-too-many'> {
  const times: string[] = []
  for (const word of text.split(/[\s,;]+/).filter((one) => one !== '')) {
    const [, hours = '', minutes = ''] = /^([01]?\d|2[0-3]):?([0-5]\d)$/.exec(word) ?? []
    if (minutes === '') return refuse('plan-times-not-read', { word: word.slice(0, 20) })
    times.push(`${hours.padStart(2, '0')}:${minutes}`)
  }
  const inOrder = [...new Set(times)].sort()
  return inOrder.length > LISTED_TIMES_MOST
    ? refuse('plan-times-too-many', { most: LISTED_TIMES_MOST })
    : accept({ kind: 'listed-times', times: inOrder })
}

/** The sentences for values that could not be parsed, and their fields. */
export const READ_SENTENCES = {
  'nil-from-not-read': () => 'Choose date and time.',
  'nil-until-not-read': () => 'Choose date and time, or leave it empty.',
  'weight-not-read': () => 'Type the weight in kg, as in 78.5.',
  'drug-too-long': (d: Readonly<Record<string, string | number>>) =>
    `A drug has at most ${String(d['letters'])} characters. Put commas between them.`,
} as const
export const PLAN_READ_SENTENCES = {
  'plan-times-not-read': (d: Readonly<Record<string, string | number>>) =>
    `“${String(d['word'])}” is no time. Type them as in 02:00, 14:00.`,
  'plan-times-too-many': (d: Readonly<Record<string, string | number>>) => `At most ${String(d['most'])} times a day.`,
  'plan-once-not-read': () => 'Choose date and time.',
  'plan-once-missing': () => 'Choose when the patient is to be checked.',
} as const
export const FACTS_FIELD_OF = {
  'nil-from-not-read': 'nilFrom',
  'nil-until-not-read': 'nilUntil',
  'weight-not-read': 'weight',
  'drug-too-long': 'others',
  'nil-until-not-after-from': 'nilUntil',
  'nil-over': 'nilUntil',
  'weight-not-plausible': 'weight',
  'other-drugs-too-many': 'others',
} as const
export const PLAN_FIELD_OF = {
  'plan-times-not-read': 'times',
  'plan-times-too-many': 'times',
  'plan-times-missing': 'times',
  'plan-once-not-read': 'onceAt',
  'plan-once-missing': 'onceAt',
  'plan-once-past': 'onceAt',
} as const
