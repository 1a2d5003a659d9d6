/** What the load command says about a file that it does not take. */
import type { Sentences } from '../../shared/outcome.ts'

export type LoadRefusal =
  | 'ward-already-there'
  | 'ward-not-there'
  | 'bed-named-twice'
  | 'limits-out-of-order'
  | 'badge-already-there'
  | 'no-such-badge'
  | 'not-a-nurse'
  | 'not-on-this-ward'
  | 'meter-already-there'
  | 'strip-lot-already-there'
  | 'no-such-bed'
  | 'bed-taken'
  | 'wristband-already-there'
  | 'born-after-admission'
  | 'in-the-future'
  | 'before-admission'
  | 'verified-by-the-transcriber'
  | 'verified-before-written'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'ward-already-there': { name: string }
    'ward-not-there': { name: string }
    'bed-named-twice': { bed: string }
    'badge-already-there': { badge: string }
    'no-such-badge': { badge: string }
    'not-a-nurse': { badge: string }
    'not-on-this-ward': { badge: string; ward: string }
    'meter-already-there': { serial: string }
    'strip-lot-already-there': { lot: string }
    'no-such-bed': { bed: string; ward: string }
    'wristband-already-there': { wristband: string }
    /** As it is written. */
    'in-the-future': { at: string }
    'verified-by-the-transcriber': { badge: string }
  }
}

export const LOAD_SENTENCES: Sentences<LoadRefusal> = {
  'ward-already-there': (d) => `There is a ward "${d.name}" already. Nothing is loaded twice.`,
  'ward-not-there': (d) => `There is no ward "${d.name}", neither in this file nor already loaded.`,
  'bed-named-twice': (d) => `Bed "${d.bed}" is named twice.`,
  'limits-out-of-order': () =>
    'These limits contradict each other: critical low and level 2 are at or below low, low is at or below recovered, and recovered is below critical high.',
  'badge-already-there': (d) => `Badge "${d.badge}" belongs to somebody already.`,
  'no-such-badge': (d) => `Nobody has the badge "${d.badge}".`,
  'not-a-nurse': (d) =>
    `The person with badge "${d.badge}" is no nurse, and only nurses transcribe and verify insulin orders.`,
  'not-on-this-ward': (d) => `The person with badge "${d.badge}" does not work on ward "${d.ward}".`,
  'meter-already-there': (d) => `A meter with the serial number "${d.serial}" is there already.`,
  'strip-lot-already-there': (d) => `Strip lot "${d.lot}" is there already.`,
  'no-such-bed': (d) => `Ward "${d.ward}" has no bed "${d.bed}".`,
  'bed-taken': (d) => `There is a patient in bed "${d.bed}" already.`,
  'wristband-already-there': (d) => `A patient on a ward wears the wristband "${d.wristband}" already.`,
  'born-after-admission': () => 'The date of birth is after the admission.',
  'in-the-future': (d) => `${d.at} is in the future.`,
  'before-admission': () => 'This is before the admission.',
  'verified-by-the-transcriber': (d) => `The order was transcribed by badge "${d.badge}". A second person verifies it.`,
  'verified-before-written': () => 'The order was verified before it was written.',
}
