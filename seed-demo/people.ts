/** The staff of the invented Tidewick Hospital. None of them exists. Their PINs are for the demo only. */
import type { LoadFileInput } from '../server/load/schema.ts'

export const EAST = 'Tidewick East 4'
export const WEST = 'Tidewick West 2'
/** Both wards use this time zone. */
export const ZONE = 'America/Chicago'

export type DemoPerson = NonNullable<LoadFileInput['staff']>[number] & { readonly pin: string }

export const PEOPLE: readonly DemoPerson[] = [
  { badge: 'N4101', name: 'Rosalind Achebe', role: 'floor-nurse', wards: [EAST], pin: '417263' },
  { badge: 'N4102', name: 'Tomasz Wilk', role: 'floor-nurse', wards: [EAST], pin: '835914' },
  { badge: 'N4103', name: 'Priya Ramanathan', role: 'floor-nurse', wards: [EAST], pin: '290657' },
  { badge: 'C4110', name: 'Marguerite Olsen', role: 'charge-nurse', wards: [EAST], pin: '561482' },
  { badge: 'N2101', name: 'Dewi Pritchard', role: 'floor-nurse', wards: [WEST], pin: '748305' },
  { badge: 'N2102', name: 'Hana Kobayashi', role: 'floor-nurse', wards: [WEST], pin: '326190' },
  { badge: 'C2110', name: 'Samuel Oyelaran', role: 'charge-nurse', wards: [WEST], pin: '684571' },
  { badge: 'F3001', name: 'Inês Carvalho', role: 'floor-nurse', wards: [EAST, WEST], pin: '159738' },
  { badge: 'E9001', name: 'Judith Farrow', role: 'educator', wards: [EAST, WEST], pin: '872046' },
  { badge: 'A9002', name: 'Anton Kessler', role: 'administrator', wards: [EAST, WEST], pin: '503829' },
]

/** Nurses by ward in the order of their turns. The first two are on duty in the morning. */
export const NURSES: Readonly<Record<string, readonly string[]>> = {
  [EAST]: ['N4101', 'N4102', 'N4103', 'F3001', 'C4110'],
  [WEST]: ['N2101', 'N2102', 'F3001', 'C2110'],
}

/** Meters by ward. The last one of East 4 has not had today's controls. */
export const METERS: readonly { readonly ward: string; readonly serial: string; readonly controlledToday: boolean }[] =
  [
    { ward: EAST, serial: 'GM-0417', controlledToday: true },
    { ward: EAST, serial: 'GM-0418', controlledToday: true },
    { ward: EAST, serial: 'GM-0423', controlledToday: false },
    { ward: WEST, serial: 'GM-0511', controlledToday: true },
    { ward: WEST, serial: 'GM-0512', controlledToday: true },
  ]
