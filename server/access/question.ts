/** What an access report is asked: about a patient, a person or a ward, for days on the ward's clock. */
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { addDays, isCalendarDate, localToUtc, wardDate } from '../../shared/time/zone.ts'
import { formatDate } from '../../views/format.ts'
import type { AccessRefusal } from '../../views/words/access.ts'
import { PERIOD_QUERY, queryText } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { zoneOf } from '../setup/people-load.ts'
import type { AccessAsked } from '../store/contract.ts'

/** Longest period of one report (our own limit: a year's question, with what it counts, is still answered at once). */
export const MOST_DAYS = 366

export const QUESTION_FIELDS = z.strictObject({
  by: z.enum(['patient', 'person', 'ward']),
  patient: z.string().trim().max(60).default(''),
  badge: z.string().trim().max(40).default(''),
  ward: z.string().max(40).default(''),
  from: z.string().min(1).max(10),
  to: z.string().min(1).max(10),
})
export type QuestionFields = z.infer<typeof QUESTION_FIELDS>

/** Dates are local in `zone`, both in. */
export type AccessQuestion = {
  readonly asked: AccessAsked
  readonly fromDate: string
  readonly toDate: string
  readonly zone: string
}

/** From what was typed; a wristband or badge becomes an id here, so that none stands in an address. A refusal names its field. */
export function readQuestion(fields: QuestionFields, ctx: RequestContext): Outcome<AccessQuestion, AccessRefusal> {
  const subject = subjectOf(fields, ctx)
  return subject.ok ? within(ctx, { by: fields.by, ...subject.value }, fields.from, fields.to) : subject
}

type Subject = { readonly id: string; readonly wardIds: readonly string[] }

function subjectOf({ by, patient, badge, ward }: QuestionFields, ctx: RequestContext): Outcome<Subject, AccessRefusal> {
  const { store, scope } = ctx
  switch (by) {
    case 'patient': {
      const stays = patient === '' ? [] : store.accessStays(scope, patient)
      const [stay] = stays
      if (stay === undefined) return refuse('access-no-such-patient', { field: 'patient' })
      if (stays.length > 1)
        return refuse('access-several-stays', {
          field: 'patient',
          stays: stays
            .map(
              (one) => `${one.stayId} (admitted ${formatDate(wardDate(one.admittedAtMs, zoneOf(ctx, [one.wardId])))})`,
            )
            .join(', '),
        })
      return accept({ id: stay.stayId, wardIds: [stay.wardId] })
    }
    case 'person': {
      const staff = badge === '' ? undefined : store.staffByBadge(badge)
      return staff === undefined
        ? refuse('access-no-such-person', { field: 'badge' })
        : accept({ id: staff.staffId, wardIds: staff.wardIds })
    }
    case 'ward': {
      const found = store.setUpWards(scope).find(({ wardId }) => wardId === ward)
      return found === undefined
        ? refuse('access-no-such-ward', { field: 'ward' })
        : accept({ id: ward, wardIds: [ward] })
    }
  }
}

function within(
  ctx: RequestContext,
  { by, id, wardIds }: Subject & Pick<AccessAsked, 'by'>,
  from: string,
  to: string,
): Outcome<AccessQuestion, AccessRefusal> {
  const zone = zoneOf(ctx, wardIds)
  if (!isCalendarDate(from)) return refuse('access-date-not-read', { field: 'from' })
  if (!isCalendarDate(to)) return refuse('access-date-not-read', { field: 'to' })
  if (from > to) return refuse('access-turned-round', { field: 'to' })
  const today = wardDate(ctx.nowMs, zone)
  if (from > today) return refuse('access-in-future', { field: 'from', last: today })
  if (addDays(from, MOST_DAYS) <= to) return refuse('access-too-long', { field: 'to', days: MOST_DAYS })
  return accept({
    asked: { by, id, fromMs: localToUtc(from, '00:00', zone), toMs: localToUtc(addDays(to, 1), '00:00', zone) },
    fromDate: from,
    toDate: to,
    zone,
  })
}

/** The report's address: ids and dates only. */
export function reportQuery({ asked: { by, id }, fromDate, toDate }: AccessQuestion): string {
  return new URLSearchParams({ by, id, from: fromDate, to: toDate }).toString()
}

/** As `reportQuery` makes it; `before`: the row after which a page begins. */
export const REPORT_QUERY = PERIOD_QUERY.extend({ by: queryText, id: queryText, before: queryText })
export type ReportRequest = RequestContext<object, z.output<typeof REPORT_QUERY>>

/** From an address as `reportQuery` makes it; undefined for any other. */
export function questionOfQuery(ctx: ReportRequest): AccessQuestion | undefined {
  const { store, scope, query } = ctx
  const by = QUESTION_FIELDS.shape.by.safeParse(query.by)
  if (!by.success) return undefined
  const { id } = query
  const wardIds =
    by.data === 'patient'
      ? store
          .accessStays(scope, id)
          .filter(({ stayId }) => stayId === id)
          .map(({ wardId }) => wardId)
      : by.data === 'person'
        ? store.staffById(id)?.wardIds
        : store
            .setUpWards(scope)
            .filter(({ wardId }) => wardId === id)
            .map(({ wardId }) => wardId)
  if (wardIds === undefined || (wardIds.length === 0 && by.data !== 'person')) return undefined
  const question = within(ctx, { by: by.data, id, wardIds }, query.from, query.to)
  return question.ok ? question.value : undefined
}
