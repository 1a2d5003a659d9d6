/** The near misses of a period in words: who, when, about whom. */
import type { Dose, SecondAnswer } from '../../shared/dose/dose.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { maskedDose } from '../../shared/reading/mask.ts'
import { mayGiveInsulin } from '../../shared/dose/may-give.ts'
import { contains, type Interval } from '../../shared/time/interval.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { formatDateTime, formatName, formatUnits } from '../../views/format.ts'
import type { NearMissView } from '../../views/audit/shift-page.ts'
import { guardNames, NEAR_MISS_WORD, TYPED_AT, WRISTBAND_AT } from '../../views/words/audit.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import type { NearMiss, StayOnWard } from '../store/contract.ts'
import type { AuditWard } from './shift-period.ts'

/** By time. Each named patient counts as read. */
export function nearMissViews(ctx: RequestContext, about: AuditWard, period: Interval): readonly NearMissView[] {
  const {
    ward: { wardId },
    policy: { zone },
  } = about
  const misses = ctx.store.nearMisses(ctx.scope, { wardIds: [wardId], ...period })
  if (misses.length === 0) return []
  const stays = new Map(ctx.store.staysOnWard(ctx.scope, wardId, period).map((one) => [one.stay.stayId, one]))
  for (const stayId of new Set(misses.flatMap((miss) => miss.stayId ?? [])))
    if (stays.has(stayId)) recordPatientRead(ctx, stayId)
  return misses.map((miss) => {
    // the device is the first nurse's, but the person who differed is the one who answered
    const difference = miss.kind === 'second-check-differed' ? differenceOf(ctx, miss) : undefined
    return {
      when: formatDateTime(miss.atMs, zone),
      what: NEAR_MISS_WORD[miss.kind],
      detail: difference === undefined ? detailOf(ctx, miss, about) : differedText(ctx, difference, about),
      patient: miss.stayId === null ? '–' : patientText(stays.get(miss.stayId), miss),
      by: nameOf(ctx, difference?.answer.byId ?? miss.byId),
      path: pathOf(miss),
    }
  })
}

/** The patient's bed at that time. */
function patientText(found: StayOnWard | undefined, { wardId, atMs }: NearMiss): string {
  if (found === undefined) return 'a patient who was on the ward'
  const span = found.spans.find(
    (one) =>
      one.wardId === wardId && contains({ fromMs: one.fromMs, toMs: one.toMs ?? Number.POSITIVE_INFINITY }, atMs),
  )
  return `Bed ${span?.bed ?? found.stay.bed}: ${formatName(found.stay)}`
}

function pathOf({ kind, subjectId, details }: NearMiss): string | null {
  if (subjectId === null) return null
  switch (kind) {
    case 'second-check-differed':
      return `doses/${subjectId}`
    case 'guard-stopped':
      return `readings/${subjectId}`
    case 'verification-differed':
      return `orders/${subjectId}/${details['version'] ?? '1'}`
    case 'wristband':
    case 'wrong-unit':
      return null
  }
}

function detailOf(ctx: RequestContext, miss: NearMiss, { policy }: AuditWard): string {
  const { kind, subjectId, details, atMs } = miss
  switch (kind) {
    case 'wristband':
      return `${WRISTBAND_AT[details['at'] ?? ''] ?? ''}${subjectId === null ? '; worn by nobody here' : '; it was another patient’s'}`
    case 'wrong-unit':
      return `${TYPED_AT[details['at'] ?? ''] ?? ''}; nothing was stored`
    case 'verification-differed':
      return `version ${details['version'] ?? ''} gives no dose`
    case 'guard-stopped': {
      // the name of the guard could tell a possible second checker the reading
      const fresh =
        mayGiveInsulin(ctx.actor.role) &&
        miss.byId !== ctx.actor.staffId &&
        ctx.nowMs <= atMs + policy.dose.readingAgeMaxMin * MINUTE_MS
      return fresh ? 'which guard is shown later' : guardNames(details['guards'] ?? '')
    }
    case 'second-check-differed':
      return BOTH_AGAIN
  }
}

const BOTH_AGAIN = 'both started again from the meter and the order'

type Difference = { readonly dose: Dose; readonly answer: SecondAnswer }

/** The answer that differed, with its dose. Undefined: the patient is on none of this person's wards any more. */
function differenceOf(ctx: RequestContext, { subjectId, atMs }: NearMiss): Difference | undefined {
  const dose = subjectId === null ? undefined : ctx.store.doseById(ctx.scope, subjectId)
  const answer = dose?.answers.find((one) => one.atMs === atMs && !one.agreed)
  return dose === undefined || answer === undefined ? undefined : { dose, answer }
}

/** The second nurse's answer and the first nurse's, once neither can be influenced any more. */
function differedText(ctx: RequestContext, { dose, answer }: Difference, { policy }: AuditWard): string {
  if (maskedDose(ctx.actor, dose, { nowMs: ctx.nowMs, policy })) return BOTH_AGAIN
  const { glucose } = dose.working
  const second = [...(answer.glucose === null ? [] : [formatGlucose(answer.glucose)]), formatUnits(answer.units)].join(
    ' and ',
  )
  const first = [
    ...(answer.glucose === null || glucose === null ? [] : [formatGlucose(glucose)]),
    formatUnits(dose.units),
  ].join(' and ')
  return `second nurse: ${second}; first nurse: ${first}; ${BOTH_AGAIN}`
}
