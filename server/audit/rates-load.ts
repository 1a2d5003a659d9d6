/** Loads the data of the rates ward by ward and calculates them. No patient is named. */
import { setImmediate } from 'node:timers/promises'
import { figuresByKey, hourOf, isRecheck, occasionGroupOf, type OccasionGroup } from '../../shared/audit/by-hour.ts'
import type { PatientDay } from '../../shared/audit/patient-day.ts'
import { lowFigure, type LowFigure } from '../../shared/audit/rates-lows.ts'
import { insulinMinutes } from '../../shared/audit/rates-minutes.ts'
import { sumsOf, type RateSums } from '../../shared/audit/rates.ts'
import { addTimeliness, timelinessOf, type Timeliness } from '../../shared/audit/timeliness.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { addDays } from '../../shared/time/zone.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { DatesAsked, NearMiss } from '../store/contract.ts'
import { MOST_WARD_DAYS, policyAt, policyStretches, spanOn, type Period, type PeriodWard } from './rates-question.ts'

/** Longest period for data that is read record by record, in days (our own limit). */
export const DETAIL_DAYS = 92

export type RateSumsAsked = {
  readonly found: ReturnType<RequestContext['store']['daysWithReadings']>
  readonly all: RateSums
  readonly byMonth: ReadonlyMap<string, RateSums>
  readonly byWard: ReadonlyMap<string, RateSums>
}

/**
 * Uses the patient-day figures only. It is fast for any period, and runs one query at a time for three years of a
 * hospital.
 */
export async function loadSums(
  { store, scope }: Pick<RequestContext, 'store' | 'scope'>,
  { wards, fromDate, toDate }: Period,
): Promise<RateSumsAsked> {
  const asked: DatesAsked = { wardIds: wards.map(({ wardId }) => wardId), fromDate, toDate }
  const found = store.daysWithReadings(scope, asked)
  const all = store.rateSums(scope, asked)
  await yieldToRequests()
  const byMonth = store.rateSumsBy(scope, asked, 'month')
  await yieldToRequests()
  return { found, all, byMonth, byWard: store.rateSumsBy(scope, asked, 'ward') }
}

export type RateDetail = {
  readonly byOccasion: ReadonlyMap<OccasionGroup, RateSums>
  readonly byHour: ReadonlyMap<string, RateSums>
  /** All readings except rechecks of lows: a low that is rechecked often would count often. */
  readonly withoutRechecks: RateSums
  readonly timeliness: Timeliness
  readonly insulin: {
    readonly given: number
    readonly readingToInsulin: readonly number[]
    readonly insulinToTray: readonly number[]
  }
  readonly lows: readonly LowFigure[]
  readonly nearMisses: readonly NearMiss[]
}

/** True when the period is short enough to read record by record. */
export function hasDetail({ days, wards }: Period): boolean {
  return days <= DETAIL_DAYS && days * wards.length <= MOST_WARD_DAYS
}

/** Days of a ward that are processed at a time. Between them the service answers waiting requests. */
const DAYS_AT_A_TIME = 31

/**
 * Loads readings, checks, doses and low events of the period step by step, so that requests from the bedside do not
 * wait.
 */
export async function loadDetail(ctx: RequestContext, period: Period): Promise<RateDetail> {
  const byOccasion = new Map<OccasionGroup, PatientDay[]>()
  const byHour = new Map<string, PatientDay[]>()
  const apart = new Map<'recheck' | 'other', PatientDay[]>()
  const timeliness: Timeliness[] = []
  const minutes: RateDetail['insulin'][] = []
  const lows: LowFigure[] = []
  const nearMisses: NearMiss[] = []
  for (const ward of period.wards) {
    for (const part of partsOf(period)) {
      const readings = ctx.store.auditReadings(ctx.scope, { wardIds: [ward.wardId], ...spanOn(ward, part) })
      gather(
        byOccasion,
        figuresByKey(readings, (reading) => occasionGroupOf(reading, policyAt(ward, reading.takenAtMs))),
      )
      gather(
        apart,
        figuresByKey(readings, (reading) => (isRecheck(reading) ? 'recheck' : 'other')),
      )
      gather(
        byHour,
        figuresByKey(readings, (reading) => hourOf(reading, ward.zone)),
      )
      await yieldToRequests()
    }
    timeliness.push(timelinessOn(ctx, ward, period))
    await yieldToRequests()
    minutes.push(minutesOn(ctx, ward, period))
    lows.push(...lowsOn(ctx, ward, period).map(({ figure }) => figure))
    nearMisses.push(...ctx.store.nearMisses(ctx.scope, { wardIds: [ward.wardId], ...spanOn(ward, period) }))
    await yieldToRequests()
  }
  return {
    byOccasion: summed(byOccasion),
    byHour: summed(byHour),
    withoutRechecks: sumsOf(apart.get('other') ?? []),
    timeliness: timeliness.reduce(addTimeliness),
    lows,
    nearMisses,
    insulin: {
      given: minutes.reduce((sum, { given }) => sum + given, 0),
      readingToInsulin: minutes.flatMap(({ readingToInsulin }) => readingToInsulin),
      insulinToTray: minutes.flatMap(({ insulinToTray }) => insulinToTray),
    },
  }
}

/** Lets every waiting request be answered first. */
export const yieldToRequests = (): Promise<void> => setImmediate()

/** The period split into the parts that are read at a time, in order. */
export function partsOf(period: Period): readonly Period[] {
  const parts: Period[] = []
  for (let fromDate = period.fromDate; fromDate <= period.toDate; fromDate = addDays(fromDate, DAYS_AT_A_TIME)) {
    const last = addDays(fromDate, DAYS_AT_A_TIME - 1)
    parts.push({ ...period, fromDate, toDate: last < period.toDate ? last : period.toDate })
  }
  return parts
}

function gather<K>(all: Map<K, PatientDay[]>, found: ReadonlyMap<K, readonly PatientDay[]>): void {
  for (const [key, figures] of found) all.set(key, [...(all.get(key) ?? []), ...figures])
}

function summed<K>(figures: ReadonlyMap<K, readonly PatientDay[]>): ReadonlyMap<K, RateSums> {
  return new Map([...figures].map(([key, days]) => [key, sumsOf(days)]))
}

function timelinessOn(ctx: RequestContext, ward: PeriodWard, period: Period): Timeliness {
  const { fromDate, toDate } = period
  const stays = ctx.store.staysOnWard(ctx.scope, ward.wardId, spanOn(ward, period))
  return timelinessOf(stays, {
    policies: policyStretches(ward, period),
    trayDelays: ctx.store.trayDelays(ctx.scope, ward.wardId, { fromDate, toDate }),
    nowMs: ctx.nowMs,
  })
}

function minutesOn(ctx: RequestContext, ward: PeriodWard, period: Period): RateDetail['insulin'] {
  const { fromDate, toDate } = period
  const doses = ctx.store.dosesGiven(ctx.scope, { wardIds: [ward.wardId], ...spanOn(ward, period) })
  return insulinMinutes(
    doses,
    ctx.store.traysOfWards(ctx.scope, { wardIds: [ward.wardId], fromDate, toDate }),
    ward.zone,
  )
}

/** How long after an event its readings are considered. A value taken days later does not end the low. */
const AFTER_MS = 3 * DAY_MS

export type LowFound = { readonly figure: LowFigure; readonly readings: readonly Reading[] } & ReturnType<
  RequestContext['store']['lowsOpened']
>[number]

/** The low events that opened on the ward in the period, with their stays' readings from a day before. */
export function lowsOn(ctx: RequestContext, ward: PeriodWard, period: Period): readonly LowFound[] {
  const { store, scope } = ctx
  return store.lowsOpened(scope, { wardIds: [ward.wardId], ...spanOn(ward, period) }).map(({ low, stay }) => {
    const readings = store.readingsOfStay(scope, low.stayId, {
      fromMs: low.openedAtMs - DAY_MS,
      toMs: Math.max(low.openedAtMs, low.closedAtMs ?? 0) + AFTER_MS,
    })
    return {
      low,
      stay,
      readings,
      figure: lowFigure({
        low,
        readings,
        ofStay: store.lowsOfStay(scope, low.stayId),
        policy: policyAt(ward, low.openedAtMs),
      }),
    }
  })
}
