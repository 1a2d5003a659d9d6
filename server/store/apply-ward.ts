/** Applies what is about a ward: itself, its policy, people, meters, strips, and who looks after which beds. */
import { wardIdOf, type Derived, type Handlers } from './derived.ts'

type Types = 'ward-opened' | 'policy-set' | 'staff-added' | 'beds-taken' | 'meter-added' | 'meter-controlled' | 'strip-lot-added' | 'tray-delayed'

export function wardHandlers(derived: Derived): Handlers<Types> {
  return {
    'ward-opened': (event) => {
      derived.ward.insert({ ward_id: wardIdOf(event), name: event.body.name, beds: event.body.beds, data_version: 0 })
    },
    'policy-set': (event) => {
      derived.policyVersion.insert({ ward_id: wardIdOf(event), version: event.body.version, from_ms: event.happenedAtMs, policy: event.body.policy })
    },
    'staff-added': ({ body }) => {
      derived.staff.insert({ staff_id: body.staffId, badge: body.badge, name: body.name, role: body.role, ward_ids: body.wardIds })
    },
    'beds-taken': (event) => {
      const { staffId, beds } = event.body
      if (beds.length === 0) derived.bedsTaken.remove(wardIdOf(event), staffId)
      else derived.bedsTaken.put({ ward_id: wardIdOf(event), staff_id: staffId, beds })
    },
    'meter-added': (event) => {
      const { meterId, serial, unit } = event.body
      derived.meter.insert({ meter_id: meterId, serial, ward_id: wardIdOf(event), unit, control_passed: null, control_at_ms: null })
    },
    'meter-controlled': ({ body, happenedAtMs }) => {
      const meter = derived.meter.need(body.meterId)
      // a control charted late does not replace a newer one
      if (meter.control_at_ms !== null && meter.control_at_ms > happenedAtMs) return
      derived.meter.put({ ...meter, control_passed: body.passed, control_at_ms: happenedAtMs })
    },
    'strip-lot-added': (event) => {
      derived.stripLot.insert({ ward_id: wardIdOf(event), lot: event.body.lot, expires_on: event.body.expiresOn })
    },
    'tray-delayed': (event) => {
      derived.trayDelay.put({ ward_id: wardIdOf(event), ...event.body })
    },
  }
}
