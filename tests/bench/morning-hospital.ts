/**
 * The load files of an invented hospital with a number of wards, and the names of its people, meters and wristbands.
 */
import type { LoadFileInput } from '../../server/load/schema.ts'
import { BEDS, hasOrder, NURSES, WARDS_A_HOSPITAL } from './morning-plan.ts'
import { bedNumbers, fullWard, ORDER, PIN, ZONE } from './ward.ts'

export const LOT = 'LOT-22A'
/** The ward that warms up the service before measuring. */
export const WARM_UP = 0

/** "017": the wards of the morning begin with 1. */
function numberOf(ward: number): string {
  return String(ward).padStart(3, '0')
}

export const wardName = (ward: number): string => `Ward ${numberOf(ward)}`
export const nurseBadge = (ward: number, nurse: number): string => `N-${numberOf(ward)}-${String(nurse + 1)}`
export const chargeBadge = (ward: number): string => `C-${numberOf(ward)}`
/** The person who looks at all wards of one hospital. */
export const supervisorBadge = (hospital: number): string => `S-${String(hospital + 1)}`
export const meterSerial = (ward: number): string => `MTR-${numberOf(ward)}`
export const wristband = (ward: number, bed: number): string => `W${numberOf(ward)}-${String(bed + 1).padStart(2, '0')}`

/** One file for each hospital of up to 25 wards, and the warm-up ward in a separate file. */
export function hospitalFiles(wards: number): readonly LoadFileInput[] {
  const numbers = Array.from({ length: wards }, (_, index) => index + 1)
  const files = [fileOf([WARM_UP], null)]
  for (let from = 0; from < wards; from += WARDS_A_HOSPITAL)
    files.push(fileOf(numbers.slice(from, from + WARDS_A_HOSPITAL), from / WARDS_A_HOSPITAL))
  return files
}

function fileOf(wards: readonly number[], hospital: number | null): LoadFileInput {
  const pattern = fullWard(BEDS)
  return {
    format: pattern.format,
    wards: wards.map((ward) => ({ name: wardName(ward), unit: 'mg/dL', zone: ZONE, beds: [...bedNumbers(BEDS)] })),
    staff: [
      ...wards.flatMap((ward) => [
        ...Array.from({ length: NURSES }, (_, nurse) => ({
          badge: nurseBadge(ward, nurse),
          name: `Nurse ${numberOf(ward)} ${String(nurse + 1)}`,
          role: 'floor-nurse' as const,
          wards: [wardName(ward)],
          pin: PIN,
        })),
        {
          badge: chargeBadge(ward),
          name: `Charge ${numberOf(ward)}`,
          role: 'charge-nurse' as const,
          wards: [wardName(ward)],
          pin: PIN,
        },
      ]),
      ...(hospital === null
        ? []
        : [
            {
              badge: supervisorBadge(hospital),
              name: `All wards ${String(hospital + 1)}`,
              role: 'charge-nurse' as const,
              wards: wards.map(wardName),
              pin: PIN,
            },
          ]),
    ],
    meters: wards.map((ward) => ({
      ward: wardName(ward),
      serial: meterSerial(ward),
      controlsPassedAt: '2026-03-10T06:00',
    })),
    stripLots: wards.map((ward) => ({ ward: wardName(ward), lot: LOT, expiresOn: '2026-12-31' })),
    stays: wards.flatMap((ward) =>
      (pattern.stays ?? []).map((stay, bed) => ({
        ...stay,
        ward: wardName(ward),
        wristband: wristband(ward, bed),
        plan: { kind: 'ac-and-hs' as const },
        orders: hasOrder(bed)
          ? [
              {
                ...ORDER,
                transcribedBy: nurseBadge(ward, 0),
                verified: { by: chargeBadge(ward), at: '2026-03-08T10:00' },
              },
            ]
          : [],
      })),
    ),
  }
}
