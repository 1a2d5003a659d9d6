/** Opening a ward and changing its beds. */
import { accept, refuse, type Outcome } from '../outcome.ts'

/** As many as one nurse's round could ever hold; also what the load file takes. */
export const BEDS_MOST = 60

export type BedsRefusal = 'beds-missing' | 'beds-too-many' | 'bed-too-long' | 'bed-twice'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'beds-too-many': { most: number }
    'bed-too-long': { bed: string }
    'bed-twice': { bed: string }
    'bed-occupied': { bed: string }
  }
}

/** Beds in walking order, one a line; blank lines say nothing. Refuses none, more than 60, a name over 12 characters, a bed named twice. */
export function parseBeds(text: string): Outcome<readonly string[], BedsRefusal> {
  const beds = text
    .split(/\r?\n/)
    .map((line) => line.trim())
    .filter((line) => line !== '')
  if (beds.length === 0) return refuse('beds-missing')
  if (beds.length > BEDS_MOST) return refuse('beds-too-many', { most: BEDS_MOST })
  const long = beds.find((bed) => bed.length > 12)
  if (long !== undefined) return refuse('bed-too-long', { bed: long.slice(0, 20) })
  const twice = beds.find((bed, index) =>
    beds.slice(0, index).some((before) => before.toLowerCase() === bed.toLowerCase()),
  )
  return twice === undefined ? accept(beds) : refuse('bed-twice', { bed: twice })
}

export type OpenWardRefusal = BedsRefusal | 'ward-name-taken'

/** A ward's beds, when its name is nobody else's: names that differ only in case or blanks are the same. */
export function openWard(given: {
  readonly name: string
  readonly beds: string
  readonly names: readonly string[]
}): Outcome<readonly string[], OpenWardRefusal> {
  if (given.names.some((name) => plain(name) === plain(given.name))) return refuse('ward-name-taken')
  return parseBeds(given.beds)
}

function plain(name: string): string {
  return name.trim().replace(/\s+/g, ' ').toLowerCase()
}

export type SetBedsRefusal = BedsRefusal | 'beds-moved-on' | 'beds-unchanged' | 'bed-occupied'

/**
 * The beds anew. `shown` are those that the form was drawn from. Refuses when they were changed meanwhile, when nothing
 * changes, and to take away a bed in which a patient lies, naming the bed and nothing of the patient.
 */
export function setBeds(given: {
  readonly typed: string
  readonly shown: readonly string[]
  readonly now: readonly string[]
  readonly occupied: readonly string[]
}): Outcome<readonly string[], SetBedsRefusal> {
  const beds = parseBeds(given.typed)
  if (!beds.ok) return beds
  if (!alike(given.shown, given.now)) return refuse('beds-moved-on')
  if (alike(beds.value, given.now)) return refuse('beds-unchanged')
  const lost = given.occupied.find((bed) => !beds.value.includes(bed))
  return lost === undefined ? beds : refuse('bed-occupied', { bed: lost })
}

function alike(a: readonly string[], b: readonly string[]): boolean {
  return a.length === b.length && a.every((bed, index) => bed === b[index])
}
