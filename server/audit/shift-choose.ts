/** GET /audit: the recent shifts with something to audit, their lows by worst level, and what was reviewed. */
import { auditLevel, type LowAudit } from '../../shared/audit/low-audit.ts'
import { lastShifts } from '../../shared/audit/shifts.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { contains, type Interval } from '../../shared/time/interval.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { shiftChoice, type ShiftChoiceView } from '../../views/audit/shift-choose.ts'
import { formatDay, formatShortName, formatTime } from '../../views/format.ts'
import { LEVEL_WORD, lowsText, missesText } from '../../views/words/audit.ts'
import type { PageView, RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { inUnit, type LowAndStay } from './low-load.ts'
import { DAYS_SHOWN, queryOf, shiftsShown, type AuditWard } from './shift-period.ts'

/** The newest shifts are always listed, whatever they had, so that the last shift is always there. */
const ALWAYS_LISTED = 2

export function choicePage(
  ctx: RequestContext,
  about: AuditWard,
  state: Pick<ShiftChoiceView, 'values' | 'errors' | 'problem'>,
): PageView {
  const {
    ward: { wardId, name },
    policy,
  } = about
  const shifts = lastShifts(policy, ctx.nowMs, shiftsShown(policy))
  const span = { fromMs: shifts.at(-1)?.fromMs ?? ctx.nowMs, toMs: ctx.nowMs + 1 }
  const lows = ctx.store
    .lowsOpened(ctx.scope, { wardIds: [wardId], ...span })
    .map((found) => ({ ...found, level: levelOf(ctx, found) }))
  const misses = ctx.store.nearMisses(ctx.scope, { wardIds: [wardId], ...span })
  const had = shifts.map((shift) => ({
    shift,
    lows: lows.filter(({ low }) => contains(shift, low.openedAtMs)),
    misses: misses.filter(({ atMs }) => contains(shift, atMs)).length,
  }))
  const listed = had.filter((one, index) => index < ALWAYS_LISTED || one.lows.length > 0 || one.misses > 0)
  const view: ShiftChoiceView = {
    wards: ctx.store.wards(ctx.scope).map((ward) => ({
      wardId: ward.wardId,
      name: ward.name,
      current: ward.wardId === wardId,
      lows: lowsText(lowsOfWard(ctx, ward.wardId, span)),
    })),
    wardId,
    wardName: name,
    days: DAYS_SHOWN,
    shifts: listed.map(({ shift, lows: own, misses: count }) => ({
      name: shift.name,
      span: `${formatDay(shift.fromMs, policy.zone)}, ${formatTime(shift.fromMs, policy.zone)} to ${formatTime(shift.toMs, policy.zone)}`,
      lows: lowsMark(
        own.map(({ level }) => level),
        shift.toMs > ctx.nowMs,
      ),
      misses: count === 0 ? null : missesText(count),
      reviewed: reviewedText(ctx, own),
      query: queryOf(wardId, shift, policy.zone),
    })),
    quiet: had.length - listed.length,
    others: otherPages(ctx),
    ...state,
  }
  return { title: `Audit, ${name}`, body: shiftChoice(view) }
}

/** By the ward's policy at the time. Null: no value of it counts as low any more. */
function levelOf({ store, scope, nowMs }: RequestContext, { low }: LowAndStay): LowAudit['level'] {
  const version = store.wardPolicy(scope, low.wardId, low.openedAtMs)
  if (version === undefined) throw new Error('a low on a ward without a policy')
  const { policy } = version
  const readings = inUnit(
    store.readingsOfStay(scope, low.stayId, { fromMs: low.openedAtMs - DAY_MS, toMs: (low.closedAtMs ?? nowMs) + 1 }),
    policy,
  )
  return auditLevel(low, lowCourse(low, readings, policy).lowest, policy)
}

function lowsOfWard(ctx: RequestContext, wardId: string, span: Interval): number {
  return ctx.store.lowsOpened(ctx.scope, { wardIds: [wardId], ...span }).length
}

/** The count, with the sign of the worst. Events that are no longer low are counted separately. */
function lowsMark(levels: readonly LowAudit['level'][], running: boolean): ShiftChoiceView['shifts'][number]['lows'] {
  const real = levels.filter((level) => level !== null)
  const inError = levels.length - real.length
  const worst = real.length === 0 ? null : LEVEL_WORD[([3, 2, 1] as const).find((level) => real.includes(level)) ?? 1]
  const level = worst === null ? '' : real.length === 1 ? `, ${worst.word}` : `, worst ${worst.word}`
  const text = `${lowsText(real.length)}${level}${inError === 0 ? '' : `, ${String(inError)} in error`}${running ? ' so far' : ''}`
  return worst === null ? { text, mark: null } : { text, mark: { ...worst, word: text } }
}

/** "reviewed by J. Farrow", "1 of 2 reviewed". Null: no low has a note. */
function reviewedText(ctx: RequestContext, lows: readonly LowAndStay[]): string | null {
  const by = lows.map(({ low }) => [...new Set(ctx.store.auditNotes(ctx.scope, low.lowId).map((note) => note.byId))])
  const done = by.filter((staff) => staff.length > 0).length
  if (done === 0) return null
  if (done < lows.length) return `${String(done)} of ${String(lows.length)} reviewed`
  return `reviewed by ${[...new Set(by.flat())].map((staffId) => formatShortName(nameOf(ctx, staffId))).join(', ')}`
}

export function lastShiftValues(ctx: RequestContext, { policy }: AuditWard): Readonly<Record<string, string>> {
  const shift = lastShifts(policy, ctx.nowMs, 2).at(-1)
  return shift === undefined
    ? {}
    : { from: localDateTime(shift.fromMs, policy.zone), to: localDateTime(shift.toMs, policy.zone) }
}

/** The other audit pages that the route table opens to this role. */
function otherPages(ctx: RequestContext): ShiftChoiceView['others'] {
  const pages = [
    { path: 'audit/rates', label: 'Rates', about: 'by reading, patient-day and stay, by ward, hour and month' },
    { path: 'audit/measures', label: 'Harm measures', about: 'severe lows and severe highs by the published logic' },
    { path: 'audit/export', label: 'Export', about: 'figures and rows as a file' },
  ]
  return pages.filter(({ path }) =>
    ctx.appContext.routes.some(
      ({ method, url, roles }) =>
        method === 'GET' && url === `/${path}` && roles !== 'anyone' && roles.includes(ctx.actor.role),
    ),
  )
}
