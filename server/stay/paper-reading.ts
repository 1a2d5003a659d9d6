/** GET and POST /stays/:stayId/paper-reading: a reading that was charted on paper. Every value arrives as text. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { parseGlucose, type GlucoseRefusal } from '../../shared/glucose/value.ts'
import { checkAt } from '../../shared/reading/facts.ts'
import { recordReading, type ReadingRefusal } from '../../shared/reading/record.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { paperReading } from '../../views/stay/paper.ts'
import { GLUCOSE_SENTENCES } from '../../views/words/glucose.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayContext } from '../bedside/facts-now.ts'
import { GLUCOSE, GLUCOSE_FIELD, WRISTBAND } from '../bedside/fields.ts'
import { nearMissOf, refuseWristband } from '../bedside/near-misses.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { isNurse } from '../http/page.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView } from '../http/request-context.ts'

const TIME_MISSING = 'Type when it was taken, as in 07:05.'

const PAPER_FORM = z.strictObject({
  wristband: WRISTBAND,
  glucose: GLUCOSE,
  takenAt: z.string({ error: TIME_MISSING }).trim().min(1, { error: TIME_MISSING }).max(30, { error: TIME_MISSING }),
  takenBy: z.string().trim().max(40, { error: 'A badge has at most 40 characters.' }).default(''),
  meterId: z.string().max(40, { error: 'Choose one of these.' }).default(''),
})

type PaperFields = ReturnType<(typeof PAPER_FORM)['parse']>
type PaperRefusal = ReadingRefusal | TakenAtRefusal | GlucoseRefusal | 'taker-unknown' | 'stay-gone'

export const paperReadingSpec: FormSpec<PaperFields, PaperRefusal, StayRequest> = {
  name: 'paper-reading',
  schema: PAPER_FORM,
  initial: () => ({}),
  draw: drawPaper,
  decide: (fields, ctx) => {
    const facts = stayContext(ctx)
    if (facts === undefined) return refuse('stay-gone')
    if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
    const { policy } = facts.policy
    const glucose = parseGlucose(fields.glucose, policy.unit)
    if (!glucose.ok) return glucose
    const takenAt = parseTakenAt(fields.takenAt, policy.zone, ctx.nowMs)
    if (!takenAt.ok) return takenAt
    const taker = fields.takenBy === '' ? ctx.actor : ctx.store.staffByBadge(fields.takenBy)
    if (taker === undefined || !isNurse(taker) || !taker.wardIds.includes(facts.stay.wardId))
      return refuse('taker-unknown')
    const readingId = ctx.services.newId()
    const decision = recordReading(
      {
        readingId,
        newLowId: ctx.services.newId(),
        checkKey: checkAt(takenAt.value, facts)?.key ?? null,
        wristband: fields.wristband,
        glucose: glucose.value,
        takenAtMs: takenAt.value,
        meterId: fields.meterId === '' ? null : fields.meterId,
        stripLot: null,
        site: null,
        lateReason: 'charted-on-paper',
        extraReason: null,
        source: 'paper',
        byId: taker.staffId,
        chartedById: ctx.actor.staffId,
      },
      { ...facts, meters: ctx.store.metersWhen(ctx.scope, facts.ward.wardId, takenAt.value) },
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/readings/${readingId}` } } : decision
  },
  sentences: {
    ...GLUCOSE_SENTENCES,
    ...READING_SENTENCES,
    'taker-unknown': () => 'No nurse of this ward has this badge. Type the badge of who took it, or leave it empty.',
    'stay-gone': () => 'This patient is not on a ward of yours any more.',
  },
  fieldOf: {
    ...GLUCOSE_FIELD,
    'reading-other-unit': 'glucose',
    'time-not-read': 'takenAt',
    'time-in-future': 'takenAt',
    'time-before-admission': 'takenAt',
    'taker-unknown': 'takenBy',
    'meter-unknown': 'meterId',
    'meter-other-unit': 'meterId',
  },
  statusOf: { 'wristband-wrong': 409, 'stay-discharged': 409, 'check-already-done': 409, 'stay-gone': 404 },
  keep: (reason, { wristband }, ctx) =>
    nearMissOf(ctx, { reason, wristband, at: 'paper-reading' }, () => stayContext(ctx)),
}

function drawPaper(ctx: StayRequest, state: FormState): PageView | undefined {
  const facts = stayContext(ctx)
  if (facts === undefined) return undefined
  recordPatientRead(ctx, facts.stay.stayId)
  return {
    title: 'Reading from paper',
    body: paperReading({
      stayId: facts.stay.stayId,
      patient: bannerOf(facts, ctx.nowMs, false),
      unit: facts.policy.policy.unit,
      ...state,
      meters: facts.meters.map(({ meterId, serial }) => ({ value: meterId, label: serial })),
    }),
  }
}
