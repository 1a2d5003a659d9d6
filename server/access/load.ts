/** From a question to the report's rows and counts in words: people by name and badge, patients by wristband number only. */
import { wardTime } from '../../shared/time/zone.ts'
import { formatDate, formatDay } from '../../views/format.ts'
import type { AccessRowView, AccessTotalView } from '../../views/access/report.ts'
import { LOOK_MARK, pageWords } from '../../views/words/access.ts'
import { ROLE_NAME } from '../../views/words/people.ts'
import type { RequestContext } from '../http/request-context.ts'
import { zoneOf } from '../setup/people-load.ts'
import type { AccessRow, AccessTotal, Staff } from '../store/contract.ts'
import type { AccessQuestion } from './question.ts'

/** Looks up people, wards and clocks once for a whole report. */
export type Names = {
  readonly person: (staffId: string) => Staff | undefined
  readonly ward: (wardId: string | null) => string | null
  readonly zone: (wardId: string | null) => string
}

export function namesFor(ctx: RequestContext, question: AccessQuestion): Names {
  const wards = new Map(ctx.store.setUpWards(ctx.scope).map(({ wardId, name }) => [wardId, name]))
  const staff = new Map<string, Staff | undefined>()
  const zones = new Map<string, string>()
  return {
    person: (staffId) => {
      if (!staff.has(staffId)) staff.set(staffId, ctx.store.staffById(staffId))
      return staff.get(staffId)
    },
    ward: (wardId) => (wardId === null ? null : (wards.get(wardId) ?? null)),
    zone: (wardId) => {
      if (wardId === null || !wards.has(wardId)) return question.zone
      const zone = zones.get(wardId) ?? zoneOf(ctx, [wardId])
      zones.set(wardId, zone)
      return zone
    },
  }
}

/** "Alder", "Nora Lind, badge N1001", "the patient with wristband W7301 (Alder)" */
export function subjectText(ctx: RequestContext, { asked: { by, id } }: AccessQuestion, names: Names): string {
  switch (by) {
    case 'ward':
      return `ward ${names.ward(id) ?? '–'}`
    case 'person': {
      const person = names.person(id)
      return person === undefined ? '–' : `${person.name}, badge ${person.badge}`
    }
    case 'patient': {
      const stay = ctx.store.accessStays(ctx.scope, id)[0]
      return stay === undefined
        ? '–'
        : `the patient with wristband ${stay.wristband} (${names.ward(stay.wardId) ?? '–'})`
    }
  }
}

/** "10 Mar 2026" or "1 Mar 2026 to 10 Mar 2026" */
export function periodText({ fromDate, toDate }: AccessQuestion): string {
  return fromDate === toDate ? formatDate(fromDate) : `${formatDate(fromDate)} to ${formatDate(toDate)}`
}

/** Time of day on the ward's clock to the second: "07:20:05". Every zone's offset is whole minutes. */
export function timeToSecond(ms: number, zone: string): string {
  return `${wardTime(ms, zone)}:${String(Math.floor(ms / 1000) % 60).padStart(2, '0')}`
}

/** What was done, in words: "Reading", "Access report about Nora Lind". */
export function whatText(row: AccessRow, names: Names): string {
  const words = pageWords(row.page)
  if (row.kind !== 'report') return words
  if (row.subjectId !== null) return `${words} about ${names.person(row.subjectId)?.name ?? 'somebody'}`
  return row.stayId === null ? `${words} about the ward` : `${words} about the patient`
}

export function rowView(row: AccessRow, names: Names, question: AccessQuestion): AccessRowView {
  const person = names.person(row.staffId)
  const zone = names.zone(row.wardId)
  return {
    when: `${formatDay(row.atMs, zone)}, ${timeToSecond(row.atMs, zone)}`,
    zone: zone === question.zone ? null : zone,
    person: person?.name ?? '–',
    about: [
      row.role === null ? 'role not noted' : ROLE_NAME[row.role],
      person === undefined ? null : `badge ${person.badge}`,
      person?.leftAtMs == null ? null : 'no longer works here',
    ]
      .filter((one) => one !== null)
      .join(', '),
    what: whatText(row, names),
    patient: row.wristband === null ? null : `wristband ${row.wristband}`,
    ward: names.ward(row.wardId),
    mark:
      row.kind === 'refused'
        ? LOOK_MARK.refused
        : row.kind !== 'report' && row.ownWard === false
          ? LOOK_MARK.elsewhere
          : null,
    number: row.requestId,
  }
}

export function totalView(total: AccessTotal, names: Names, { zone }: AccessQuestion): AccessTotalView {
  const person = names.person(total.staffId)
  const [first, last] = [total.firstAtMs, total.lastAtMs].map((ms) => ({
    day: formatDay(ms, zone),
    time: timeToSecond(ms, zone),
  }))
  const counts: readonly (readonly [count: number, one: string, more: string])[] = [
    [total.patients, 'patient’s page', 'patients’ pages'],
    [total.wards, 'ward list', 'ward lists'],
    [total.refused, 'asked for and not shown', 'asked for and not shown'],
    [total.reports, 'report', 'reports'],
  ]
  return {
    person: person?.name ?? '–',
    about:
      person === undefined ? '' : `badge ${person.badge}${person.leftAtMs === null ? '' : ', no longer works here'}`,
    looks: counts.flatMap(([count, one, more]) =>
      count === 0 ? [] : [`${String(count)} ${count === 1 ? one : more}`],
    ),
    foreign: total.foreign,
    span:
      first === undefined || last === undefined
        ? ''
        : first.day === last.day
          ? `${first.day}, ${first.time === last.time ? first.time : `${first.time} to ${last.time}`}`
          : `${first.day}, ${first.time} to ${last.day}, ${last.time}`,
  }
}
