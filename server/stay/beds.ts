/** GET /setup/beds and /setup/discharged: who lies where on the ward, and who left it. */
import { DAY_MS } from '../../shared/time/span.ts'
import { formatDate, formatDateTime, formatName } from '../../views/format.ts'
import { bedsPage, dischargedPage } from '../../views/stay/beds.ts'
import { page, redirect, type Answer } from '../http/page.ts'
import type { Visit } from '../http/visit.ts'
import type { PolicyVersion, Ward } from '../store/contract.ts'
import { knowAtBedside } from './banner.ts'

/** A patient who left longer ago than this is admitted anew (common practice: what was charted then no longer helps). */
export const DISCHARGED_SHOWN_DAYS = 30

function onWard(visit: Visit, handler: (ward: Ward, policy: PolicyVersion) => Answer): Answer {
  const { store, scope, wardId, nowMs } = visit
  const ward = wardId === null ? undefined : store.wards(scope).find((one) => one.wardId === wardId)
  const policy = ward === undefined ? undefined : store.wardPolicy(scope, ward.wardId, nowMs)
  return ward === undefined || policy === undefined ? redirect(visit, '/ward') : handler(ward, policy)
}

/** Every bed of the ward in walking order; a patient whose bed the ward no longer has comes last. */
export function beds(visit: Visit): Answer {
  return onWard(visit, (ward, { policy }) => {
    const present = visit.store.staysOfWard(visit.scope, ward.wardId)
    const names = [...ward.beds, ...present.map(({ bed }) => bed).filter((bed) => !ward.beds.includes(bed))]
    return page(visit, 200, {
      title: 'Beds',
      body: bedsPage({
        wardName: ward.name,
        beds: names.map((bed) => {
          const stay = present.find((one) => one.bed === bed)
          return {
            bed,
            path: encodeURIComponent(bed),
            gone: !ward.beds.includes(bed),
            patient:
              stay === undefined
                ? null
                : {
                    stayId: stay.stayId,
                    name: formatName(stay),
                    born: formatDate(stay.bornOn),
                    know: knowAtBedside(stay, visit.nowMs, policy),
                  },
          }
        }),
      }),
    })
  })
}

export function discharged(visit: Visit): Answer {
  return onWard(visit, (ward, { policy: { zone } }) =>
    page(visit, 200, {
      title: 'Discharged patients',
      body: dischargedPage({
        wardName: ward.name,
        days: DISCHARGED_SHOWN_DAYS,
        stays: visit.store
          .staysDischarged(visit.scope, ward.wardId, visit.nowMs - DISCHARGED_SHOWN_DAYS * DAY_MS)
          .map((stay) => ({
            stayId: stay.stayId,
            name: formatName(stay),
            born: formatDate(stay.bornOn),
            bed: stay.bed,
            left: formatDateTime(stay.dischargedAtMs ?? 0, zone),
          })),
      }),
    }),
  )
}
