/** Applies what is about meters and strips: where they are, their controls and their comparisons with the laboratory. */
import { wardIdOf, type Derived, type Handlers } from './derived.ts'

type Types =
  | 'meter-added'
  | 'meter-controlled'
  | 'meter-moved'
  | 'meter-retired'
  | 'strip-lot-added'
  | 'strip-lot-ranges-set'
  | 'control-measured'
  | 'comparison-recorded'

export function meterHandlers(derived: Derived): Handlers<Types> {
  const lastNumber = derived.connection.raw.prepare<[string], { last: number | null }>(
    'SELECT max(number) AS last FROM control WHERE meter_id = ?',
  )
  const lastAt = derived.connection.raw.prepare<[string, number], { last: number | null }>(
    'SELECT max(number) AS last FROM meter_control WHERE meter_id = ? AND at_ms = ?',
  )
  return {
    'meter-added': (event) => {
      const { meterId, serial, unit } = event.body
      derived.meter.insert({
        meter_id: meterId,
        serial,
        ward_id: wardIdOf(event),
        unit,
        control_passed: null,
        control_at_ms: null,
        retired_reason: null,
        retired_at_ms: null,
      })
    },
    'meter-controlled': ({ body, happenedAtMs }) => {
      const meter = derived.meter.need(body.meterId)
      derived.meterControl.insert({
        meter_id: body.meterId,
        at_ms: happenedAtMs,
        number: (lastAt.get(body.meterId, happenedAtMs)?.last ?? 0) + 1,
        passed: body.passed,
      })
      // a control charted late does not replace a newer one
      if (meter.control_at_ms !== null && meter.control_at_ms > happenedAtMs) return
      derived.meter.put({ ...meter, control_passed: body.passed, control_at_ms: happenedAtMs })
    },
    'meter-moved': ({ body }) => {
      derived.meter.put({ ...derived.meter.need(body.meterId), ward_id: body.toWardId })
    },
    'meter-retired': ({ body, happenedAtMs }) => {
      const meter = derived.meter.need(body.meterId)
      if (meter.retired_at_ms !== null) throw new Error(`meter ${body.meterId} was retired before`)
      derived.meter.put({ ...meter, retired_reason: body.reason, retired_at_ms: happenedAtMs })
    },
    'strip-lot-added': (event) => {
      derived.stripLot.insert({
        ward_id: wardIdOf(event),
        lot: event.body.lot,
        expires_on: event.body.expiresOn,
        ranges: null,
      })
    },
    'strip-lot-ranges-set': (event) => {
      const { lot, level1, level2 } = event.body
      derived.stripLot.put({ ...derived.stripLot.need(wardIdOf(event), lot), ranges: { level1, level2 } })
    },
    // the row of one level only: the verdict over both is meter-controlled, which the readings are marked by
    'control-measured': ({ body, actorId, happenedAtMs }) => {
      const number = (lastNumber.get(body.meterId)?.last ?? 0) + 1
      derived.control.insert({
        meter_id: body.meterId,
        number,
        at_ms: happenedAtMs,
        fact: { ...body, atMs: happenedAtMs, byId: actorId },
      })
    },
    'comparison-recorded': ({ body: { comparison } }) => {
      derived.comparison.insert({
        comparison_id: comparison.comparisonId,
        meter_id: comparison.meterId,
        at_ms: comparison.meterAtMs,
        fact: comparison,
      })
    },
  }
}
