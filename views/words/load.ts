/** What the load command says about a file that it does not take. */

type Details = Readonly<Record<string, string | number>>

export type LoadRefusal =
  | 'ward-already-there'
  | 'no-such-ward'
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

const value = (details: Details, name: string): string => String(details[name] ?? '–')

export const LOAD_SENTENCES: Readonly<Record<LoadRefusal, (details: Details) => string>> = {
  'ward-already-there': (d) => `There is a ward "${value(d, 'name')}" already. Nothing is loaded twice.`,
  'no-such-ward': (d) => `There is no ward "${value(d, 'name')}", neither in this file nor already loaded.`,
  'bed-named-twice': (d) => `Bed "${value(d, 'bed')}" is named twice.`,
  'limits-out-of-order': () =>
    'These limits contradict each other: critical low and level 2 are at or below low, low is at or below recovered, and recovered is below critical high.',
  'badge-already-there': (d) => `Badge "${value(d, 'badge')}" belongs to somebody already.`,
  'no-such-badge': (d) => `Nobody has the badge "${value(d, 'badge')}".`,
  'not-a-nurse': (d) =>
    `The person with badge "${value(d, 'badge')}" is no nurse, and only nurses transcribe and verify insulin orders.`,
  'not-on-this-ward': (d) =>
    `The person with badge "${value(d, 'badge')}" does not work on ward "${value(d, 'ward')}".`,
  'meter-already-there': (d) => `A meter with the serial number "${value(d, 'serial')}" is there already.`,
  'strip-lot-already-there': (d) => `Strip lot "${value(d, 'lot')}" is there already.`,
  'no-such-bed': (d) => `Ward "${value(d, 'ward')}" has no bed "${value(d, 'bed')}".`,
  'bed-taken': (d) => `There is a patient in bed "${value(d, 'bed')}" already.`,
  'wristband-already-there': (d) => `A patient on a ward wears the wristband "${value(d, 'wristband')}" already.`,
  'born-after-admission': () => 'The date of birth is after the admission.',
  'in-the-future': (d) => `${value(d, 'at')} is in the future.`,
  'before-admission': () => 'This is before the admission.',
  'verified-by-the-transcriber': (d) =>
    `The order was transcribed by badge "${value(d, 'badge')}". A second person verifies it.`,
  'verified-before-written': () => 'The order was verified before it was written.',
}
