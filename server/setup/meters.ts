/** The wards' meters: the list, one meter with its log, and the routes of all meter forms. */
import { controlOccasions, type ControlOccasion } from '../../shared/meter/control.ts'
import type { ControlMeasurement } from '../../shared/meter/meter.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import {
  meterPage,
  metersPage,
  type ControlRowView,
  type MeterPageView,
  type WardMetersView,
} from '../../views/setup/meters.ts'
import { formatDay, formatWhen } from '../../views/format.ts'
import { CONTROL_MARK, LEVEL_MARK } from '../../views/words/meter.ts'
import { formRoute } from '../http/forms.ts'
import { messageResponse, page } from '../http/page.ts'
import { EVERYBODY, METER_KEEPERS, NURSES, RECALLERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { METER_ADDRESS } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import type { StripLot } from '../store/contract.ts'
import { comparisonSpec } from './comparison.ts'
import { controlSpec } from './meters-control.ts'
import { moveMeterSpec, newMeterSpec, retireMeterSpec } from './meters-forms.ts'
import {
  lastControlText,
  meterContext,
  meterMark,
  rangeText,
  setUpWards,
  type MeterContext,
  type SetUpWard,
} from './meters-load.ts'
import { registerRecall } from './recall.ts'
import { registerStrips } from './strips.ts'

/** How many days of controls a meter's page shows. */
const LOG_DAYS = 30

export function registerMeters(server: Server): void {
  route(server, { method: 'GET', url: '/setup/meters', roles: EVERYBODY }, (ctx) => {
    const view = {
      wards: setUpWards(ctx).map((ward) => wardView(ctx, ward)),
      mayKeep: METER_KEEPERS.includes(ctx.actor.role),
      mayRecall: RECALLERS.includes(ctx.actor.role),
    }
    return page(ctx, 200, { title: 'Meters', body: metersPage(view) })
  })
  formRoute(server, { url: '/setup/meters/new', roles: METER_KEEPERS, spec: newMeterSpec })
  route(server, { method: 'GET', url: '/setup/meters/:meterId', roles: EVERYBODY, params: METER_ADDRESS }, (ctx) => {
    const context = meterContext(ctx)
    return context === undefined
      ? messageResponse(ctx, 404, 'not-found')
      : page(ctx, 200, { title: 'Meter', body: meterPage(meterView(ctx, context)) })
  })
  formRoute(server, { url: '/setup/meters/:meterId/controls', roles: NURSES, params: METER_ADDRESS, spec: controlSpec })
  formRoute(server, {
    url: '/setup/meters/:meterId/move',
    roles: METER_KEEPERS,
    params: METER_ADDRESS,
    spec: moveMeterSpec,
  })
  formRoute(server, {
    url: '/setup/meters/:meterId/retire',
    roles: METER_KEEPERS,
    params: METER_ADDRESS,
    spec: retireMeterSpec,
  })
  formRoute(server, {
    url: '/setup/meters/:meterId/comparisons',
    roles: METER_KEEPERS,
    params: METER_ADDRESS,
    spec: comparisonSpec,
  })
  registerStrips(server)
  registerRecall(server)
}

function wardView(ctx: RequestContext, ward: SetUpWard): WardMetersView {
  const meters = ctx.store.metersOfWard(ctx.scope, ward.wardId)
  return {
    wardId: ward.wardId,
    name: ward.name,
    meters: meters
      .filter(({ retired }) => retired === null)
      .map((meter) => ({
        meterId: meter.meterId,
        serial: meter.serial,
        unit: meter.unit,
        mark: meterMark({ meter, ward }, ctx.nowMs),
        lastControl: lastControlText({ meter, ward }, ctx.nowMs),
      })),
    retired: meters.flatMap(({ meterId, serial, retired }) =>
      retired === null ? [] : [{ meterId, serial, why: `${formatDay(retired.atMs, ward.zone)}: ${retired.reason}` }],
    ),
  }
}

function meterView(ctx: RequestContext, context: MeterContext): MeterPageView {
  const { meter, ward } = context
  const sinceMs = ctx.nowMs - LOG_DAYS * DAY_MS
  const occasions = controlOccasions(ctx.store.controlsOf(ctx.scope, meter.meterId, sinceMs))
  const lots = ctx.store.stripLotsOfWard(ctx.scope, ward.wardId)
  const { role } = ctx.actor
  const inUse = meter.retired === null
  return {
    meterId: meter.meterId,
    serial: meter.serial,
    mark: meterMark(context, ctx.nowMs),
    facts: [
      { name: 'Ward', value: ward.name },
      { name: 'Unit', value: meter.unit },
      { name: 'Last control', value: lastControlText(context, ctx.nowMs) },
      ...(meter.retired === null
        ? []
        : [{ name: 'Retired', value: `${formatDay(meter.retired.atMs, ward.zone)}: ${meter.retired.reason}` }]),
    ],
    log: occasions.map((occasion) => controlRow(ctx, occasion, ward, lots)),
    logSince: formatDay(sinceMs, ward.zone),
    failed: failedView(ctx, context, occasions),
    actions: {
      control: inUse && NURSES.includes(role),
      keep: inUse && METER_KEEPERS.includes(role),
      compare: METER_KEEPERS.includes(role),
    },
  }
}

function controlRow(
  ctx: RequestContext,
  occasion: ControlOccasion,
  ward: SetUpWard,
  lots: readonly StripLot[],
): ControlRowView {
  const ranges = lots.find(({ lot }) => lot === occasion.lot)?.ranges
  const level = (
    measured: ControlMeasurement | null,
    which: 'level1' | 'level2',
  ): ControlRowView['levels'][number] => ({
    value: measured === null ? '–' : formatGlucose(measured.value),
    range: ranges === undefined || ranges === null ? '' : `range ${rangeText(ranges[which])}`,
    mark: measured === null ? null : LEVEL_MARK[measured.inRange ? 'in' : 'out'],
  })
  return {
    when: formatWhen(occasion.atMs, ctx.nowMs, ward.zone),
    by: nameOf(ctx, occasion.byId),
    lot: occasion.lot,
    levels: [level(occasion.level1, 'level1'), level(occasion.level2, 'level2')],
    verdict: CONTROL_MARK[occasion.passed ? 'passed' : 'failed'],
  }
}

/** A failed control makes the meter's results since its last passed control doubtful. */
function failedView(
  ctx: RequestContext,
  { meter, ward }: MeterContext,
  occasions: readonly ControlOccasion[],
): MeterPageView['failed'] {
  if (meter.lastControl === null || meter.lastControl.passed) return null
  const passed = occasions.find((one) => one.passed)
  const fromMs = passed?.atMs ?? meter.lastControl.atMs - DAY_MS
  return {
    says: `The last control failed. No insulin follows from this meter until both levels pass. What it showed since ${passed === undefined ? 'the day before' : formatWhen(fromMs, ctx.nowMs, ward.zone)} is in question: let the charge nurse look at those results.`,
    recallPath: RECALLERS.includes(ctx.actor.role)
      ? `recall?meter=${meter.meterId}&lot=&from=${localDateTime(fromMs, ward.zone)}&to=${localDateTime(ctx.nowMs, ward.zone)}`
      : null,
  }
}
