/**
 * GET and POST /checks/:key: charts a reading for a check. The page is the wristband step, the form, or what happened to
 * the check already. Every value arrives as text.
 */
import { z } from 'zod'
import type { Check } from '../../shared/check/check.ts'
import { meterFitness } from '../../shared/check/kit.ts'
import { checkState } from '../../shared/check/state.ts'
import { confirmationOf } from '../../shared/critical/confirm.ts'
import { formatGlucose, parseGlucose, type GlucoseRefusal } from '../../shared/glucose/value.ts'
import { refuse, type Outcome } from '../../shared/outcome.ts'
import {
  isEffective,
  type ExtraReason,
  type Finger,
  type FingerSite,
  type LateEntryReason,
} from '../../shared/reading/reading.ts'
import { recordReading, type ReadingRefusal } from '../../shared/reading/record.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import type { Hand } from '../../shared/stay/stay.ts'
import { isRestricted, suggestFinger } from '../../shared/reading/site.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { checkName } from '../../views/words/check-name.ts'
import { formatDate, formatFinger, formatMinutes, formatTime, formatWhen } from '../../views/format.ts'
import { alreadyCharted } from '../../views/check/charted.ts'
import { confirmPatient } from '../../views/check/confirm.ts'
import { checkForm, type OptionView } from '../../views/check/form.ts'
import { EXCUSE_REASON, FINGER_REASON, MISSED_REASON, RESTRICTION } from '../../views/words/check.ts'
import { GLUCOSE_SENTENCES } from '../../views/words/glucose.ts'
import { EXTRA_REASON, LATE_REASON, READING_SENTENCES } from '../../views/words/reading.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { newFormKey } from '../http/forms.ts'
import type { CheckRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { isMasked } from '../bedside/masking.ts'
import { trainingNote } from '../bedside/training-note.ts'
import { bannerOf } from '../bedside/banner.ts'
import { GLUCOSE, GLUCOSE_FIELD, WRISTBAND } from '../bedside/fields.ts'
import { nearMissOf, refuseWristband } from '../bedside/near-misses.ts'
import type { StayFacts } from '../store/contract.ts'
import { checkContext, checkToDecide, type CheckContext } from './load.ts'
import { meterOptions } from '../bedside/meter-options.ts'

const CHECK_FORM_NAME = 'check'

const HANDS: readonly Hand[] = ['left', 'right']
const FINGERS: readonly Finger[] = ['index', 'middle', 'ring', 'little']

/** Every finger that can be chosen, as the form sends it: "left-middle". */
const FINGER_VALUES: readonly string[] = FINGERS.flatMap((finger) => HANDS.map((hand) => `${hand}-${finger}`))

const LATE_REASONS = Object.keys(LATE_REASON) as readonly LateEntryReason[]
/** after-closing is charted by the rule itself, never chosen. */
const EXTRA_REASONS = (Object.keys(EXTRA_REASON) as readonly ExtraReason[]).filter(
  (reason) => reason !== 'after-closing',
)

const TAKEN_AT = z.string().trim().max(30, { error: 'Type the time as hours and minutes, as in 07:05.' }).default('')

/** A choice that may be left out: empty means none. */
function optional<T extends string>(values: readonly T[]): z.ZodType<T | null> {
  const chosen = (text: string): T | undefined => values.find((value) => value === text)
  return z
    .string()
    .default('')
    .refine((text) => text === '' || chosen(text) !== undefined, { error: 'Choose one of these.' })
    .transform((text) => chosen(text) ?? null)
}

const CHECK_FORM = z.strictObject({
  wristband: WRISTBAND,
  glucose: GLUCOSE,
  finger: z.enum(FINGER_VALUES, { error: 'Choose the finger.' }),
  meterId: z
    .string({ error: 'Choose the meter that was used.' })
    .min(1, { error: 'Choose the meter that was used.' })
    .max(40, { error: 'Choose the meter that was used.' }),
  stripLot: z.string().trim().max(40, { error: 'A strip lot has at most 40 characters.' }).default(''),
  takenAt: TAKEN_AT,
  lateReason: optional(LATE_REASONS),
  extraReason: optional(EXTRA_REASONS),
})

type CheckFields = ReturnType<(typeof CHECK_FORM)['parse']>
type CheckRefusal = ReadingRefusal | TakenAtRefusal | GlucoseRefusal

export const checkSpec: FormSpec<CheckFields, CheckRefusal, CheckRequest> = {
  name: CHECK_FORM_NAME,
  schema: CHECK_FORM,
  initial: () => ({}),
  draw: (ctx, state) => drawCheck(ctx, ctx.params.key, state),
  decide: decideCheck,
  sentences: { ...GLUCOSE_SENTENCES, ...READING_SENTENCES },
  fieldOf: {
    ...GLUCOSE_FIELD,
    'reading-other-unit': 'glucose',
    'time-not-read': 'takenAt',
    'time-in-future': 'takenAt',
    'time-before-admission': 'takenAt',
    'check-not-open': 'takenAt',
    'late-reason-missing': 'lateReason',
    'meter-missing': 'meterId',
    'meter-unknown': 'meterId',
    'meter-other-unit': 'meterId',
    'strip-lot-unknown': 'stripLot',
    'finger-missing': 'finger',
    'finger-restricted': 'finger',
    'extra-reason-missing': 'extraReason',
  },
  statusOf: { 'wristband-wrong': 409, 'check-already-done': 409, 'stay-discharged': 409, 'check-unknown': 404 },
  emptyIsNow: { field: 'takenAt', zone: (ctx) => checkToDecide(ctx, ctx.params.key)?.zone },
  keep: (reason, { wristband }, ctx) =>
    nearMissOf(ctx, { reason, wristband, at: 'check' }, () => checkContext(ctx, ctx.params.key)?.facts),
}

function decideCheck(fields: CheckFields, ctx: CheckRequest): Outcome<FormDecision, CheckRefusal> {
  const { key } = ctx.params
  const context = checkToDecide(ctx, key)
  if (context === undefined) return refuse('check-unknown')
  const { facts, zone } = context
  if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
  const glucose = parseGlucose(fields.glucose, facts.policy.policy.unit)
  if (!glucose.ok) return glucose
  const takenAt = parseTakenAt(fields.takenAt, zone, ctx.nowMs)
  if (!takenAt.ok) return takenAt
  const readingId = ctx.services.newId()
  const decision = recordReading(
    {
      readingId,
      newLowId: ctx.services.newId(),
      checkKey: key,
      wristband: fields.wristband,
      glucose: glucose.value,
      takenAtMs: takenAt.value,
      meterId: fields.meterId,
      stripLot: fields.stripLot === '' ? null : fields.stripLot,
      site: fingerOf(fields.finger),
      lateReason: fields.lateReason,
      extraReason: fields.extraReason,
      source: 'capillary',
      byId: ctx.actor.staffId,
    },
    { ...facts, meters: ctx.store.metersWhen(ctx.scope, facts.ward.wardId, takenAt.value) },
    ctx.nowMs,
  )
  if (!decision.ok) return decision
  return {
    ok: true,
    value: {
      events: decision.value,
      location: `/readings/${readingId}`,
      effects: [{ kind: 'session-meter', meterId: fields.meterId }],
    },
  }
}

/** "Before breakfast", "Recheck after a low", "Extra check". */
export function whatCheck(check: Check): string {
  if (check.kind === 'recheck') return 'Recheck after a low'
  return check.kind === 'extra' ? 'Extra check' : checkName(check)
}

/** "Due 07:30, late after 08:00" in ward time. */
export function whenCheck({ check, zone }: CheckContext, nowMs: number): string {
  if (check.kind === 'extra') return `Now, ${formatTime(nowMs, zone)}`
  const due = `Due ${formatWhen(check.dueMs, nowMs, zone)}`
  if (check.kind === 'recheck') return due
  const state = checkState(check, undefined, nowMs)
  if (state === 'upcoming') return `${due}, opens ${formatTime(check.opensMs, zone)}`
  return state === 'missed'
    ? `${due}, closed ${formatWhen(check.closesMs, nowMs, zone)}`
    : `${due}, late after ${formatTime(check.lateAfterMs, zone)}`
}

/**
 * The form of a check whose patient was confirmed by this wristband, for the answer to a scan. Undefined: no such
 * check, or not on a ward of this person's. A wristband that is not the patient's leads to the wristband step.
 */
export function drawCheckForm(ctx: RequestContext, checkKey: string, wristband: string): PageView | undefined {
  const context = checkContext(ctx, checkKey)
  if (context === undefined) return undefined
  if (wristband !== context.facts.stay.wristband)
    return confirmStep(ctx, context, { typed: '', wrong: null, error: null })
  return drawCheck(ctx, checkKey, {
    values: { key: newFormKey(ctx, CHECK_FORM_NAME), wristband },
    errors: {},
    problem: null,
  })
}

/** Draws the check as it stands for what was typed so far; see CheckFormView. Undefined as for drawCheckForm. */
function drawCheck(ctx: RequestContext, checkKey: string, state: FormState): PageView | undefined {
  const context = checkContext(ctx, checkKey)
  if (context === undefined) return undefined
  recordPatientRead(ctx, context.facts.stay.stayId)
  if (context.outcome?.kind === 'done') return charted(ctx, context, state)
  const { values, errors, problem } = state
  if (values['glucose'] === undefined && values['wristband'] === undefined)
    return confirmStep(ctx, context, { typed: '', wrong: problem, error: errors['wristband'] ?? null })
  return { title: whatCheck(context.check), body: checkForm({ ...formView(ctx, context, values), errors, problem }) }
}

export type ConfirmState = { readonly typed: string; readonly wrong: string | null; readonly error: string | null }

/** The wristband step. What was read is not shown again after a wrong one: the next scan must stand alone. */
export function confirmStep(ctx: RequestContext, context: CheckContext, state: ConfirmState): PageView {
  const { check, facts } = context
  const patient = bannerOf(facts, ctx.nowMs, false)
  return {
    title: whatCheck(check),
    body: confirmPatient({
      checkKey: check.key,
      what: whatCheck(check),
      patient,
      ...state,
      mayExcuse: (check.kind === 'planned' || check.kind === 'watch') && context.outcome === undefined,
    }),
  }
}

function formView(
  ctx: RequestContext,
  context: CheckContext,
  values: Readonly<Record<string, string>>,
): Omit<Parameters<typeof checkForm>[0], 'errors' | 'problem'> {
  const { check, facts } = context
  const { policy } = facts.policy
  const isConfirmed = values['wristband'] === facts.stay.wristband
  const suggestion = suggestFinger(
    ctx.store.sitesUsed(ctx.scope, facts.stay.stayId).fingers,
    facts.stay.facts.restrictedHands,
    policy.fingers,
  )
  const defaults = {
    finger: suggestion.site === null ? '' : fingerValue(suggestion.site),
    meterId: defaultMeter(ctx, facts),
    stripLot: defaultLot(ctx, facts),
    extraReason: check.kind === 'extra' && awaitsRepeat(ctx, facts) ? 'repeat-of-critical' : '',
  }
  return {
    checkKey: check.key,
    what: whatCheck(check),
    when: whenCheck(context, ctx.nowMs),
    patient: bannerOf(facts, ctx.nowMs, isConfirmed),
    unit: policy.unit,
    values: { ...defaults, ...values },
    isConfirmed,
    fingers: fingerOptions(facts, defaults.finger),
    fingerReason:
      suggestion.site === null
        ? FINGER_REASON['no-finger-left']
        : `Finger: ${formatFinger(suggestion.site)}, ${FINGER_REASON[suggestion.reason]}. One tap for another.`,
    meters: meterOptions(facts, ctx.nowMs),
    stripLots: facts.stripLots.map(({ lot, expiresOn }) => ({
      value: lot,
      label: `${lot}, ${expiresOn < wardDate(ctx.nowMs, policy.zone) ? 'EXPIRED' : 'expires'} ${formatDate(expiresOn)}`,
    })),
    lateReasons: LATE_REASONS.map((reason) => ({ value: reason, label: LATE_REASON[reason] })),
    lateAfter: formatMinutes(policy.lateEntryReasonAfterMin),
    extraReasons:
      check.kind === 'extra' ? EXTRA_REASONS.map((reason) => ({ value: reason, label: EXTRA_REASON[reason] })) : null,
    mayExcuse: (check.kind === 'planned' || check.kind === 'watch') && context.outcome === undefined,
    training: trainingNote(ctx, policy.zone),
  }
}

function fingerValue(site: FingerSite): string {
  return `${site.hand}-${site.finger}`
}

/** "left-middle" as a finger; null for anything else. */
function fingerOf(value: string): FingerSite | null {
  const [hand, finger] = value.split('-')
  return FINGER_VALUES.includes(value) ? ({ hand, finger } as FingerSite) : null
}

/** The policy's fingers, and the others after them; a restricted hand only when the other one is restricted too, with why. */
function fingerOptions(facts: StayFacts, suggested: string): readonly OptionView[] {
  const { restrictedHands } = facts.stay.facts
  const ofPolicy = facts.policy.policy.fingers.map(fingerValue)
  const sites = [...ofPolicy, ...FINGER_VALUES.filter((value) => !ofPolicy.includes(value))].flatMap(
    (value) => fingerOf(value) ?? [],
  )
  const free = sites.filter((site) => !isRestricted(site, restrictedHands))
  return (free.length === 0 ? sites : free).map((site) => {
    const value = fingerValue(site)
    const restriction = restrictedHands.find(({ hand }) => hand === site.hand)
    const note =
      restriction !== undefined ? ` (${RESTRICTION[restriction.reason]})` : value === suggested ? ' (suggested)' : ''
    return { value, label: `${site.hand} ${site.finger}${note}` }
  })
}

/** The login's last meter when it is one of the ward's; else the only one that is fit for the round; else none. */
function defaultMeter(ctx: RequestContext, facts: StayFacts): string {
  if (facts.meters.some(({ meterId }) => meterId === ctx.meterId)) return ctx.meterId ?? ''
  const { unit, zone } = facts.policy.policy
  const usable = facts.meters.filter((meter) => meterFitness(meter, { unit, zone, nowMs: ctx.nowMs }) === 'usable')
  return usable.length === 1 ? (usable[0]?.meterId ?? '') : ''
}

/** The ward's lot that expires first of those in date. */
function defaultLot(ctx: RequestContext, facts: StayFacts): string {
  const today = wardDate(ctx.nowMs, facts.policy.policy.zone)
  const inDate = facts.stripLots
    .filter(({ expiresOn }) => expiresOn >= today)
    .sort((a, b) => (a.expiresOn < b.expiresOn ? -1 : 1))
  return inDate[0]?.lot ?? ''
}

function awaitsRepeat(ctx: RequestContext, facts: StayFacts): boolean {
  const newest = facts.readings.filter(isEffective).sort((a, b) => b.takenAtMs - a.takenAtMs)[0]
  // a possible second checker is not told that the last value was critical
  return (
    newest !== undefined &&
    !isMasked(ctx, newest, facts) &&
    confirmationOf(newest, {
      readings: facts.readings,
      lows: facts.lows,
      policy: facts.policy.policy,
      nowMs: ctx.nowMs,
    }) === 'awaiting-repeat'
  )
}

function charted(ctx: RequestContext, context: CheckContext, state: FormState): PageView {
  const { check, facts, outcome } = context
  const typed = state.values['glucose']
  return {
    title: whatCheck(check),
    body: alreadyCharted({
      what: whatCheck(check),
      patient: bannerOf(facts, ctx.nowMs, true),
      stayId: facts.stay.stayId,
      problem: state.problem,
      happened: outcome === undefined ? '–' : happenedText(ctx, context, outcome),
      readingId: outcome?.kind === 'done' ? outcome.readingId : null,
      notCharted: typed === undefined || typed === '' ? null : typed,
    }),
  }
}

/** What accounted for the check, in a sentence; the value only for who may see it. */
export function happenedText(
  ctx: RequestContext,
  { facts, zone }: CheckContext,
  outcome: NonNullable<CheckContext['outcome']>,
): string {
  const when = formatWhen(outcome.atMs, ctx.nowMs, zone)
  if (outcome.kind === 'excused')
    return `Excused at ${when} by ${nameOf(ctx, outcome.byId)}: ${{ ...EXCUSE_REASON, ...MISSED_REASON }[outcome.reason]}${outcome.note === '' ? '' : ` (${outcome.note})`}.`
  const reading = facts.readings.find(({ readingId }) => readingId === outcome.readingId)
  if (reading === undefined) return `Charted at ${when}.`
  const value = isMasked(ctx, reading, facts) ? 'awaiting second check' : formatGlucose(reading.glucose)
  return `Taken at ${when} by ${nameOf(ctx, reading.byId)}: ${value}.`
}
