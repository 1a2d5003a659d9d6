/** GET and POST /doses/:id/second-check and /doses/:id/start-again, and the list of those waiting. */
import { z } from 'zod'
import type { Glucose } from '../../shared/glucose/value.ts'
import { mayCheckInsulin } from '../../shared/dose/may-give.ts'
import { doseState, mismatches } from '../../shared/dose/state.ts'
import { answerSecondCheck, startAgain } from '../../shared/dose/second-check.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { nursesWhoKnow } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { startAgainPage } from '../../views/dose/dose.ts'
import { secondCheckPage, waitingPage, type WaitingView } from '../../views/dose/second-check.ts'
import { formatAgo, formatName } from '../../views/format.ts'
import { SECOND_CHECK_SENTENCES, START_AGAIN_SENTENCES } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { page, type PageResponse } from '../http/page.ts'
import type { IdentifyRefusal } from '../../views/words/http.ts'
import { identify } from '../http/identify.ts'
import type { DoseRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { Staff } from '../store/contract.ts'
import { typedGlucose } from './facts.ts'
import { headOf } from '../bedside/event-head.ts'
import { unitsField } from '../bedside/fields.ts'
import { badgeField, pinField } from './fields.ts'
import { insulinGivenView } from './insulin-given.ts'
import { doseContext, type DoseContext } from './load.ts'
import { factsBesideReading, purposeOf } from './purpose.ts'
import { orderName } from './propose-form.ts'
import { stayFactsNow, withPolicyVoids } from '../bedside/facts-now.ts'

const glucoseField = z.string().trim().max(12, 'At most 12 characters.').optional()

const SecondCheckForm = z.strictObject({
  badge: badgeField,
  pin: pinField,
  glucose: glucoseField,
  units: unitsField,
})
type SecondCheckFields = z.output<typeof SecondCheckForm>

type Refusal = keyof typeof SECOND_CHECK_SENTENCES

export const secondCheckSpec: FormSpec<SecondCheckFields, Refusal, DoseRequest, Staff> = {
  name: 'second-check',
  schema: SecondCheckForm,
  initial: () => ({}),
  draw: drawSecondCheck,
  before: proveSigner,
  decide: decideSecondCheck,
  sentences: SECOND_CHECK_SENTENCES,
  fieldOf: {
    'identify-wrong': 'pin',
    'identify-locked': 'pin',
    'identify-too-many': 'pin',
    'badge-missing': 'badge',
    'second-value-missing': 'glucose',
    'glucose-typed-wrong': 'glucose',
  },
  statusOf: {
    'signer-is-first-nurse': 403,
    'signer-took-reading': 403,
    'signer-role-may-not': 403,
    'signer-role-not-by-policy': 403,
    'signer-not-on-ward': 403,
    'charge-nurse-needed': 403,
    'charge-nurse-for-sum': 403,
    'dose-void': 409,
    'dose-lapsed': 409,
    'second-check-not-needed': 409,
    'dose-differed': 409,
    'dose-already-checked': 409,
    'dose-settled': 409,
  },
  secretFields: ['pin'],
}

/** On the first nurse's device the second nurse gives badge and PIN; on her own login, or where none is needed, she who is signed in proves it is still she. */
export async function proveSigner(
  fields: { readonly badge?: string | undefined; readonly pin: string },
  ctx: DoseRequest,
): Promise<Outcome<Staff, 'badge-missing' | IdentifyRefusal>> {
  const context = doseContext(ctx)
  const needsBadge =
    context === undefined || (context.dose.secondCheckRequired && context.dose.proposedById === ctx.actor.staffId)
  if (!needsBadge) return identify(ctx, ctx.actor.badge, fields.pin)
  const badge = fields.badge ?? ''
  return badge === '' ? refuse('badge-missing') : identify(ctx, badge, fields.pin)
}

function decideSecondCheck(fields: SecondCheckFields, ctx: DoseRequest, signer: Staff): Outcome<FormDecision, Refusal> {
  const context = doseContext(ctx)
  if (context === undefined) return refuse('dose-void')
  const { dose, reading, facts, knows } = context
  const { policy } = facts.policy
  const typed = dose.readingId === null ? null : typedGlucose(fields.glucose, policy.unit, reading)
  if (typed !== null && 'ok' in typed) return typed
  const answered = answerSecondCheck({
    dose,
    reading,
    knows,
    policy,
    signer,
    glucose: typed,
    units: fields.units,
    nowMs: ctx.nowMs,
  })
  if (!answered.ok) return answered
  return accept({
    events: [
      { ...headOf(ctx, dose), type: 'second-check-answered', body: { doseId: dose.doseId, answer: answered.value } },
    ],
    // the same way on for either answer: the address tells nobody which it was
    location: `/doses/${dose.doseId}`,
  })
}

function drawSecondCheck(ctx: DoseRequest, state: FormState): PageView | undefined {
  const context = doseContext(ctx)
  if (context === undefined) return undefined
  const { dose, facts, order, zone } = context
  recordPatientRead(ctx, dose.stayId)
  const onFirstDevice = dose.proposedById === ctx.actor.staffId
  const direction =
    dose.kind === 'by-direction'
      ? facts.directions.find((one) => one.directionId === dose.inputs.directionId)
      : undefined
  const { policy } = facts.policy
  return {
    title: 'Second check',
    chrome: 'bare',
    body: secondCheckPage({
      doseId: dose.doseId,
      patient: facts.stay,
      insulin: dose.insulin,
      purpose: purposeOf(dose, ctx.nowMs, zone),
      order: order?.order ?? null,
      orderName: order === null ? 'Prescriber’s direction' : orderName(order),
      given: insulinGivenView(facts, ctx.nowMs),
      facts: factsBesideReading(context),
      direction: direction ?? null,
      asksGlucose: dose.readingId !== null,
      glucoseLabel: glucoseLabel(context.reading),
      unit: (context.reading?.reported ?? context.reading?.glucose)?.unit ?? policy.unit,
      zone,
      asksBadge: onFirstDevice,
      signerName: onFirstDevice ? null : ctx.actor.name,
      chargeCalled: chargeCalled(context),
      closed: closedBecause(context),
      values: state.values,
      errors: state.errors,
      problem: state.problem,
    }),
  }
}

/** Where the value is read anew: a laboratory's is in no meter. */
function glucoseLabel(reading: Reading | null): string {
  return reading?.source === 'venous' ? 'Value on the laboratory’s report' : 'Value in the meter’s memory'
}

/** True when the answers differed as often as policy allows: the charge nurse does the next check. */
export function chargeCalled({ dose, facts }: DoseContext): boolean {
  return mismatches(dose) >= facts.policy.policy.dose.mismatchesBeforeCharge
}

function closedBecause({ state }: DoseContext): string | null {
  switch (state) {
    case 'awaiting-second-check':
      return null
    case 'void':
      return SECOND_CHECK_SENTENCES['dose-void']({})
    case 'lapsed':
      return SECOND_CHECK_SENTENCES['dose-lapsed']({})
    case 'differed':
      return SECOND_CHECK_SENTENCES['dose-differed']({})
    case 'to-draw-up':
      return SECOND_CHECK_SENTENCES['second-check-not-needed']({})
    case 'agreed':
    case 'verified':
      return 'The first part of this second check is done.'
    case 'zero':
    case 'given':
    case 'withheld':
    case 'refused':
    case 'taken-back':
      return SECOND_CHECK_SENTENCES['dose-settled']({})
  }
}

type StartAgainRefusals = keyof typeof START_AGAIN_SENTENCES

const StartAgainForm = z.strictObject({ glucose: glucoseField })
type StartAgainFields = z.output<typeof StartAgainForm>

export const startAgainSpec: FormSpec<StartAgainFields, StartAgainRefusals, DoseRequest> = {
  name: 'start-again',
  schema: StartAgainForm,
  initial: () => ({}),
  draw: drawStartAgain,
  decide: decideStartAgain,
  sentences: START_AGAIN_SENTENCES,
  fieldOf: { 'glucose-typed-wrong': 'glucose', 'meter-value-differs': 'glucose' },
  statusOf: { 'not-first-nurse': 403, 'dose-not-differed': 409 },
}

function decideStartAgain(fields: StartAgainFields, ctx: DoseRequest): Outcome<FormDecision, StartAgainRefusals> {
  const context = doseContext(ctx)
  if (context === undefined) return refuse('dose-not-differed')
  const { dose, reading, facts } = context
  const { policy } = facts.policy
  let glucose: Glucose | null = null
  if (dose.readingId !== null) {
    const typed = typedGlucose(fields.glucose, policy.unit, reading)
    if ('ok' in typed) return typed
    glucose = typed
  }
  const started = startAgain({ dose, reading, policy, staffId: ctx.actor.staffId, glucose, nowMs: ctx.nowMs })
  if (!started.ok) return started
  return accept({
    events: [{ ...headOf(ctx, dose), type: 'dose-started-again', body: { doseId: dose.doseId } }],
    location: `/doses/${dose.doseId}`,
  })
}

function drawStartAgain(ctx: DoseRequest, state: FormState): PageView | undefined {
  const context = doseContext(ctx)
  if (context === undefined) return undefined
  const { dose, facts, reading } = context
  recordPatientRead(ctx, dose.stayId)
  const isFirst = dose.proposedById === ctx.actor.staffId
  return {
    title: 'Start again',
    chrome: 'bare',
    body: startAgainPage({
      doseId: dose.doseId,
      patient: facts.stay,
      unit: (reading?.reported ?? reading?.glucose)?.unit ?? facts.policy.policy.unit,
      asksGlucose: dose.readingId !== null,
      glucoseLabel: glucoseLabel(reading),
      open: isFirst && context.state === 'differed',
      correctPath: isFirst && dose.readingId !== null ? `readings/${dose.readingId}/correct` : null,
      values: state.values,
      errors: state.errors,
      problem: state.problem ?? (isFirst ? null : START_AGAIN_SENTENCES['not-first-nurse']({})),
    }),
  }
}

/** GET /second-checks: waiting on the person's wards, oldest first, without a number of a reading or a dose. */
export function listWaiting(ctx: RequestContext): PageResponse {
  const waiting = ctx.store.dosesAwaiting(ctx.scope).flatMap((stored): readonly WaitingView[] => {
    const facts = stayFactsNow(ctx, stored.stayId)
    if (facts === undefined) return []
    const [dose = stored] = withPolicyVoids(ctx, [stored], facts.policy)
    const { policy } = facts.policy
    const state = doseState(dose, policy, ctx.nowMs)
    if (state !== 'awaiting-second-check' && state !== 'differed' && state !== 'agreed') return []
    recordPatientRead(ctx, dose.stayId)
    const reading = facts.readings.find((one) => one.readingId === dose.readingId)
    const knows = reading === undefined ? new Set<string>() : nursesWhoKnow(reading, facts.readings)
    const mayNot =
      dose.proposedById === ctx.actor.staffId ||
      knows.has(ctx.actor.staffId) ||
      !mayCheckInsulin(ctx.actor.role, policy)
    const steps = {
      'awaiting-second-check': 'Awaiting second check',
      differed: 'Answers differed: the first nurse starts again',
      agreed: 'Agreed: product to be read',
    } as const
    return [
      {
        doseId: dose.doseId,
        bed: facts.stay.bed,
        name: formatName(facts.stay),
        purpose: purposeOf(dose, ctx.nowMs, policy.zone),
        insulin: dose.insulin,
        since: formatAgo((ctx.nowMs - dose.proposedAtMs) / 60_000),
        step: steps[state],
        href:
          state === 'awaiting-second-check' && !mayNot
            ? 'second-check'
            : state === 'agreed' && dose.answers.at(-1)?.byId === ctx.actor.staffId
              ? 'product'
              : 'dose',
      },
    ]
  })
  return page(ctx, 200, { title: 'Second checks waiting', body: waitingPage(waiting) })
}
