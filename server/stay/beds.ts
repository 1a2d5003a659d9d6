/** GET /setup/beds and /setup/discharged: the ward's patients by bed, and those who left. */
import { DAY_MS } from '../../shared/time/span.ts'
import { formatDate, formatDateTime, formatName } from '../../views/format.ts'
import { bedsPage, dischargedPage } from '../../views/stay/beds.ts'
import { page, redirect, type PageResponse } from '../http/page.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { PolicyVersion, Ward } from '../store/contract.ts'
import { knowAtBedside } from '../bedside/banner.ts'

/** A patient who left longer ago is admitted as new (common practice: the old facts no longer help). */
export const DISCHARGED_SHOWN_DAYS = 30

function onWard(ctx: RequestContext, handler: (ward: Ward, policy: PolicyVersion) => PageResponse): PageResponse {
  const { store, scope, wardId, nowMs } = ctx
  const ward = wardId === null ? undefined : store.wards(scope).find((one) => one.wardId === wardId)
  const policy = ward === undefined ? undefined : store.wardPolicy(scope, ward.wardId, nowMs)
  return ward === undefined || policy === undefined ? redirect(ctx, '/ward') : handler(ward, policy)
}

/** Every bed of the ward in walking order. Patients in a bed that the ward no longer has come last. */
export function beds(ctx: RequestContext): PageResponse {
  return onWard(ctx, (ward, { policy }) => {
    const present = ctx.store.staysOfWard(ctx.scope, ward.wardId)
    const names = [...ward.beds, ...present.map(({ bed }) => bed).filter((bed) => !ward.beds.includes(bed))]
    return page(ctx, 200, {
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
                    know: knowAtBedside(stay, ctx.nowMs, policy),
                  },
          }
        }),
      }),
    })
  })
}

export function discharged(ctx: RequestContext): PageResponse {
  return onWard(ctx, (ward, { policy: { zone } }) =>
    page(ctx, 200, {
      title: 'Discharged patients',
      body: dischargedPage({
        wardName: ward.name,
        days: DISCHARGED_SHOWN_DAYS,
        stays: ctx.store
          .staysDischarged(ctx.scope, ward.wardId, ctx.nowMs - DISCHARGED_SHOWN_DAYS * DAY_MS)
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
