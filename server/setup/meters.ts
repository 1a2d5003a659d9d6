/** The wards' meters: the list, one meter with its log, and the routes of all that is charted about them. */
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
import { messageAnswer, page } from '../http/page.ts'
import { EVERYBODY, METER_KEEPERS, NURSES, RECALLERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { Visit } from '../http/visit.ts'
import { nameOf } from '../reading/load.ts'
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

/** How far back a meter's page shows its controls. */
const LOG_DAYS = 30

export function registerMeters(server: Server): void {
  route(server, { method: 'GET', url: '/setup/meters', roles: EVERYBODY }, (visit) => {
    const view = {
      wards: setUpWards(visit).map((ward) => wardView(visit, ward)),
      mayKeep: METER_KEEPERS.includes(visit.actor.role),
      mayRecall: RECALLERS.includes(visit.actor.role),
    }
    return page(visit, 200, { title: 'Meters', body: metersPage(view) })
  })
  formRoute(server, { url: '/setup/meters/new', roles: METER_KEEPERS, spec: newMeterSpec })
  route(server, { method: 'GET', url: '/setup/meters/:meterId', roles: EVERYBODY }, (visit) => {
    const context = meterContext(visit)
    return context === undefined
      ? messageAnswer(visit, 404, 'not-found')
      : page(visit, 200, { title: 'Meter', body: meterPage(meterView(visit, context)) })
  })
  formRoute(server, { url: '/setup/meters/:meterId/controls', roles: NURSES, spec: controlSpec })
  formRoute(server, { url: '/setup/meters/:meterId/move', roles: METER_KEEPERS, spec: moveMeterSpec })
  formRoute(server, { url: '/setup/meters/:meterId/retire', roles: METER_KEEPERS, spec: retireMeterSpec })
  formRoute(server, { url: '/setup/meters/:meterId/comparisons', roles: METER_KEEPERS, spec: comparisonSpec })
  registerStrips(server)
  registerRecall(server)
}

function wardView(visit: Visit, ward: SetUpWard): WardMetersView {
  const meters = visit.store.metersOfWard(visit.scope, ward.wardId)
  return {
    wardId: ward.wardId,
    name: ward.name,
    meters: meters
      .filter(({ retired }) => retired === null)
      .map((meter) => ({
        meterId: meter.meterId,
        serial: meter.serial,
        unit: meter.unit,
        mark: meterMark({ meter, ward }, visit.nowMs),
        lastControl: lastControlText({ meter, ward }, visit.nowMs),
      })),
    retired: meters.flatMap(({ meterId, serial, retired }) =>
      retired === null ? [] : [{ meterId, serial, why: `${formatDay(retired.atMs, ward.zone)}: ${retired.reason}` }],
    ),
  }
}

function meterView(visit: Visit, context: MeterContext): MeterPageView {
  const { meter, ward } = context
  const sinceMs = visit.nowMs - LOG_DAYS * DAY_MS
  const occasions = controlOccasions(visit.store.controlsOf(visit.scope, meter.meterId, sinceMs))
  const lots = visit.store.stripLotsOfWard(visit.scope, ward.wardId)
  const { role } = visit.actor
  const inUse = meter.retired === null
  return {
    meterId: meter.meterId,
    serial: meter.serial,
    mark: meterMark(context, visit.nowMs),
    facts: [
      { name: 'Ward', value: ward.name },
      { name: 'Unit', value: meter.unit },
      { name: 'Last control', value: lastControlText(context, visit.nowMs) },
      ...(meter.retired === null
        ? []
        : [{ name: 'Retired', value: `${formatDay(meter.retired.atMs, ward.zone)}: ${meter.retired.reason}` }]),
    ],
    log: occasions.map((occasion) => controlRow(visit, occasion, ward, lots)),
    logSince: formatDay(sinceMs, ward.zone),
    failed: failedView(visit, context, occasions),
    actions: {
      control: inUse && NURSES.includes(role),
      keep: inUse && METER_KEEPERS.includes(role),
      compare: METER_KEEPERS.includes(role),
    },
  }
}

function controlRow(
  visit: Visit,
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
    when: formatWhen(occasion.atMs, visit.nowMs, ward.zone),
    by: nameOf(visit, occasion.byId),
    lot: occasion.lot,
    levels: [level(occasion.level1, 'level1'), level(occasion.level2, 'level2')],
    verdict: CONTROL_MARK[occasion.passed ? 'passed' : 'failed'],
  }
}

/** A failed control puts in question what the meter showed since it last passed. */
function failedView(
  visit: Visit,
  { meter, ward }: MeterContext,
  occasions: readonly ControlOccasion[],
): MeterPageView['failed'] {
  if (meter.lastControl === null || meter.lastControl.passed) return null
  const passed = occasions.find((one) => one.passed)
  const fromMs = passed?.atMs ?? meter.lastControl.atMs - DAY_MS
  return {
    says: `The last control failed. No insulin follows from this meter until both levels pass. What it showed since ${passed === undefined ? 'the day before' : formatWhen(fromMs, visit.nowMs, ward.zone)} is in question: let the charge nurse look at those results.`,
    recallPath: RECALLERS.includes(visit.actor.role)
      ? `recall?meter=${meter.meterId}&lot=&from=${localDateTime(fromMs, ward.zone)}&to=${localDateTime(visit.nowMs, ward.zone)}`
      : null,
  }
}
