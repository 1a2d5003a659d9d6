/** Applies what is about a ward itself: its beds, who looks after them, and late trays. */
import { wardIdOf, type Derived, type Handlers } from './derived.ts'

type Types = 'ward-opened' | 'ward-beds-set' | 'beds-taken' | 'tray-delayed'

export function wardHandlers(derived: Derived): Handlers<Types> {
  return {
    'ward-opened': (event) => {
      derived.ward.insert({ ward_id: wardIdOf(event), name: event.body.name, beds: event.body.beds, data_version: 0 })
    },
    'ward-beds-set': (event) => {
      derived.ward.put({ ...derived.ward.need(wardIdOf(event)), beds: event.body.beds })
    },
    'beds-taken': (event) => {
      const { staffId, beds } = event.body
      if (beds.length === 0) derived.bedsTaken.remove(wardIdOf(event), staffId)
      else derived.bedsTaken.put({ ward_id: wardIdOf(event), staff_id: staffId, beds, at_ms: event.happenedAtMs })
    },
    'tray-delayed': (event) => {
      derived.trayDelay.put({ ward_id: wardIdOf(event), ...event.body })
    },
  }
}
