/** One bed of the handover sheet in words, as this person may see it. */
import { LOW_SHOWN_MS } from '../../shared/board/board.ts'
import { maskedDose, maskedFor } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { courseOf, type Course } from '../../shared/stay/course.ts'
import type { BedsideFacts } from '../../shared/stay/stay.ts'
import { formatNumber } from '../../views/format.ts'
import type { HandoverBedView } from '../../views/handover/bed.ts'
import { lowInWords, mealInWords, readingInWords } from '../../views/words/course.ts'
import { BACKGROUND_DIABETES, LOW_OPEN_MARK } from '../../views/words/handover.ts'
import type { RequestContext } from '../http/request-context.ts'
import { knowOf, patientHeadOf } from '../bedside/banner.ts'
import { coursePlotView } from '../stay/course-plot.ts'
import { countsText } from '../stay/course.ts'
import { planLines } from '../stay/plan-lines.ts'
import { doseLines, dueLines, openLines, orderLines } from './lines.ts'
import type { BedFacts } from './bed-facts.ts'
import { sheetWhen } from './when.ts'

export function bedView(ctx: RequestContext, bed: BedFacts): HandoverBedView {
  const {
    snapshot: { facts },
    patient,
  } = bed
  const { policy } = facts.policy
  const { nowMs } = ctx
  const when = (ms: number): string => sheetWhen(ms, nowMs, policy.zone)
  const course = courseFor(ctx, bed)
  return {
    patient: patientHeadOf(patient.stay),
    // lows have their own section
    know: knowOf(patient, { policy, nowMs }, true),
    background: backgroundOf(patient.stay.facts),
    number: bed.index,
    plot: isEmpty(course)
      ? null
      : coursePlotView(course, {
          policy,
          size: 'small',
          label: `Last 24 h: ${countsText(course)}`,
          describedBy: `numbers-${String(bed.index)}`,
        }),
    numbers: course.readings.map((reading) => ({ when: when(reading.atMs), value: readingInWords(reading) })),
    doses: doseLines(ctx, bed, course),
    meals: course.meals.map((meal) => {
      const { what, value } = mealInWords(meal)
      return `${what} ${when(meal.atMs)}: ${value}`
    }),
    lows: course.lows.map((low) => ({
      text: `${when(low.fromMs)}: ${lowInWords(low, low.toMs === null ? null : when(low.toMs))}`,
      mark: low.closed ? null : LOW_OPEN_MARK,
      path: `lows/${low.lowId}`,
      recent: !low.closed || nowMs - low.fromMs < LOW_SHOWN_MS,
    })),
    plan: planLines(
      facts.plans.filter(({ stayId }) => stayId === patient.stay.stayId),
      nowMs,
      policy.zone,
    ),
    due: dueLines(ctx, bed),
    orders: orderLines(ctx, bed),
    open: openLines(ctx, bed, isHidden),
  }
}

function courseFor(ctx: RequestContext, bed: BedFacts): Course {
  const {
    snapshot: { facts },
    patient: { stay },
    readings,
    doses,
    outsideDoses,
    lows,
    fromMs,
  } = bed
  const { policy } = facts.policy
  return courseOf(
    {
      stay,
      policy,
      readings,
      doses,
      lows,
      trayDelays: facts.trayDelays,
      outcomes: facts.outcomes,
      plans: facts.plans.filter(({ stayId }) => stayId === stay.stayId),
      trays: facts.trays.filter(({ stayId }) => stayId === stay.stayId),
      insulinGiven: outsideDoses.map((dose) => ({ ...dose, doseId: dose.outsideDoseId })),
    },
    {
      fromMs,
      toMs: ctx.nowMs,
      hidesReading: (reading) => isHidden(ctx, bed, reading),
      hidesDose: (dose) => maskedDose(ctx.actor, dose, { nowMs: ctx.nowMs, policy }),
    },
  )
}

function isEmpty({ readings, doses, lows, meals }: Course): boolean {
  return readings.length + doses.length + lows.length + meals.length === 0
}

/** True when this person must see "awaiting second check" instead of the reading. */
function isHidden(
  ctx: RequestContext,
  { snapshot: { facts, staysWithOrder }, patient: { stay }, doses }: BedFacts,
  reading: Reading,
): boolean {
  return maskedFor(ctx.actor, reading, doses, {
    nowMs: ctx.nowMs,
    policy: facts.policy.policy,
    hasApplicableOrder: staysWithOrder.has(stay.stayId),
  })
}

/** Facts that affect glucose or the treatment of a low, besides what to know before going in. */
function backgroundOf(facts: BedsideFacts): readonly string[] {
  return [
    BACKGROUND_DIABETES[facts.diabetes],
    facts.ivAccess ? 'IV access' : 'no IV access',
    ...(facts.insulinAtHome === true ? ['on insulin at home'] : []),
    ...(facts.pastKetoacidosis === true ? ['has had ketoacidosis'] : []),
    ...(facts.onSteroid ? ['on a steroid'] : []),
    ...(facts.renalImpairment ? ['renal impairment'] : []),
    ...facts.otherGlucoseLowering,
    ...(facts.weightKg === null ? [] : [`${formatNumber(facts.weightKg)} kg`]),
  ]
}
