/** GET /doses/:id */
import { doseMinutes } from '../../shared/dose/minutes.ts'
import { validUntilMs } from '../../shared/dose/state.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { dosePage } from '../../views/dose/dose.ts'
import { maskedPage } from '../../views/dose/propose.ts'
import { formatInjectionSite, formatMinutes, formatTime, formatWhen } from '../../views/format.ts'
import { SECOND_CHECK_SENTENCES, TAKEN_BACK_WHY, VOID_WORDS } from '../../views/words/dose.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { messageResponse, page, type PageResponse } from '../http/page.ts'
import type { DoseRequest } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { doseContext, type DoseContext } from './load.ts'
import { orderName } from './propose-form.ts'
import { purposeOf } from './purpose.ts'
import { chargeCalled } from './second-check-form.ts'

export function showDose(ctx: DoseRequest): PageResponse {
  const context = doseContext(ctx)
  if (context === undefined) return messageResponse(ctx, 404, 'not-found')
  const { dose, facts, zone, state, reading } = context
  const { policy } = facts.policy
  recordPatientRead(ctx, dose.stayId)
  if (context.masked) {
    const waits = state === 'awaiting-second-check'
    return page(ctx, 200, {
      title: 'Awaiting second check',
      body: maskedPage({
        patient: facts.stay,
        secondCheckPath: waits ? `doses/${dose.doseId}/second-check` : null,
        ...(state === 'differed' ? { note: SECOND_CHECK_SENTENCES['dose-differed']({}) } : {}),
      }),
    })
  }
  const unsettled =
    state === 'awaiting-second-check' || state === 'agreed' || state === 'to-draw-up' || state === 'verified'
  return page(ctx, 200, {
    title: 'Dose',
    body: dosePage({
      doseId: dose.doseId,
      patient: facts.stay,
      state,
      insulin: dose.insulin,
      units: dose.units,
      working: dose.working,
      unit: dose.working.glucose?.unit ?? policy.unit,
      zone,
      orderName: sourceName(context),
      basis:
        reading === null
          ? `${purposeOf(dose, ctx.nowMs, zone)}.`
          : `${purposeOf(dose, ctx.nowMs, zone)}, from ${formatGlucose(reading.glucose)} at ${formatWhen(reading.takenAtMs, ctx.nowMs, zone)}.`,
      history: history(ctx, context),
      validUntil: unsettled ? formatTime(validUntilMs(dose, policy), zone) : null,
      againPath: againPath(context),
      directionPath: dose.readingId === null ? null : `readings/${dose.readingId}/direction`,
      voidedBecause: dose.voided === null ? null : VOID_WORDS[dose.voided.reason],
      differed: dose.answers.filter((answer) => !answer.agreed).length,
      chargeCalled: chargeCalled(context),
      signed: dose.product !== null,
      isFirstNurse: dose.proposedById === ctx.actor.staffId,
    }),
  })
}

/** The order and its version, or whose direction it is and why. */
function sourceName({ dose, order, facts }: DoseContext): string {
  const direction = facts.directions.find((one) => one.directionId === dose.inputs.directionId)
  if (direction !== undefined) return `Direction by ${direction.prescriber}, read back: ${direction.why}`
  return order === null ? 'By the prescriber’s direction' : orderName(order)
}

/** Where the dose is worked out again: from its reading, or from the newest one of its stay. */
function againPath({ dose, facts }: DoseContext): string {
  if (dose.slotKey !== null && dose.kind === 'scheduled')
    return `stays/${dose.stayId}/scheduled/${dose.slotKey.slice(dose.stayId.length + 1)}`
  const newest = facts.readings.find((reading) => reading.supersededBy === null && reading.voided === null)
  return newest === undefined ? `stays/${dose.stayId}` : `readings/${newest.readingId}/dose`
}

/** Who did what and when; no answer of the second nurse is repeated, so that a difference shows no number. */
function history(ctx: RequestContext, { dose, zone, facts, reading }: DoseContext): readonly string[] {
  const name = (staffId: string): string => ctx.store.staffById(staffId)?.name ?? 'somebody'
  const when = (ms: number): string => formatWhen(ms, ctx.nowMs, zone)
  const lines = [`Worked out by ${name(dose.proposedById)}, ${when(dose.proposedAtMs)}.`]
  for (const [index, answer] of dose.answers.entries()) {
    lines.push(`Second check by ${name(answer.byId)}, ${when(answer.atMs)}: ${answer.agreed ? 'agreed' : 'differed'}.`)
    const restart = dose.restarts[index]
    if (restart !== undefined) lines.push(`Started again by ${name(restart.byId)}, ${when(restart.atMs)}.`)
  }
  if (dose.product !== null)
    lines.push(`Product and syringe read and signed by ${name(dose.product.byId)}, ${when(dose.product.atMs)}.`)
  const { outcome } = dose
  if (outcome?.kind === 'given')
    lines.push(`Given by ${name(outcome.byId)}, ${when(outcome.atMs)}, ${formatInjectionSite(outcome.site)}.`)
  if (outcome?.kind === 'given' && outcome.deviation !== undefined)
    lines.push(`Deviation: it was given although it was stopped. ${outcome.deviation.note}`)
  const { readingToInsulin, insulinToTray } = doseMinutes(dose, facts.trays, reading?.wardDate ?? null)
  if (readingToInsulin !== null) lines.push(`From the reading to the insulin: ${formatMinutes(readingToInsulin)}.`)
  if (insulinToTray !== null)
    lines.push(
      insulinToTray >= 0
        ? `From the insulin to the tray: ${formatMinutes(insulinToTray)}.`
        : `The tray came ${formatMinutes(-insulinToTray)} before the insulin.`,
    )
  if (outcome?.kind === 'withheld' || outcome?.kind === 'refused')
    lines.push(
      `${outcome.kind === 'withheld' ? 'Withheld' : 'Refused by the patient'}, charted by ${name(outcome.byId)}, ${when(outcome.atMs)}: ${outcome.reason}`,
    )
  if (outcome?.kind === 'taken-back') {
    const second = outcome.secondId === null ? '' : ` It is open for a dose again, with ${name(outcome.secondId)}.`
    lines.push(
      `Charted as given by ${name(outcome.given.byId)}, ${when(outcome.given.atMs)}; taken back by ${name(outcome.byId)}, ${when(outcome.atMs)}. ${TAKEN_BACK_WHY[outcome.why]}: ${outcome.note}.${second}`,
    )
  }
  if (dose.voided !== null) lines.push(`${VOID_WORDS[dose.voided.reason]} (${when(dose.voided.atMs)})`)
  return lines
}
