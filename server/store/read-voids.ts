/**
 * The open doses that an event may void, with what decides about them (shared/dose/voids.ts): of the event's stay, of
 * the ward whose policy changes, or resting on the meter that was controlled, whatever ward they are on. It is read
 * without anybody's scope, since what a decision voids may lie on wards that the person does not see. So it answers
 * ids and no fact of the patient, it is asked inside the decision's transaction, and nothing of it is ever shown.
 */
import type { Dose } from '../../shared/dose/dose.ts'
import { restsOn } from '../../shared/dose/state.ts'
import { openDoseOf, type OpenDose, type VoidFacts } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { limitIn } from '../../shared/glucose/convert.ts'
import { isBelow, isNumeric } from '../../shared/glucose/value.ts'
import { isEffective, type Reading } from '../../shared/reading/reading.ts'
import { DAY_MS, MINUTE_MS } from '../../shared/time/span.ts'
import type { Connection } from './connection.ts'
import type { Store } from './contract.ts'
import { policyAtOf } from './policy-at.ts'

type DoseRow = { readonly fact: string; readonly ward_id: string }
type MeterRow = { readonly taken_at_ms: number; readonly meter_id: string | null }

const NOTHING: VoidFacts = { open: [], limits: null, retired: null, given: null, lastControlAtMs: null }

export function voidReadsOf(connection: Connection): Pick<Store, 'openDosesForVoiding'> {
  const { raw } = connection
  const policyAt = policyAtOf(connection)
  const open = 'SELECT d.fact, s.ward_id FROM dose d JOIN stay s ON s.stay_id = d.stay_id WHERE d.open = 1'
  const ofStay = raw.prepare<[string], DoseRow>(`${open} AND d.stay_id = ? ORDER BY d.proposed_at_ms, d.dose_id`)
  const ofWard = raw.prepare<[string], DoseRow>(
    `${open} AND s.ward_id = ? AND s.discharged_at_ms IS NULL ORDER BY d.stay_id, d.proposed_at_ms, d.dose_id`,
  )
  const ofMeter = raw.prepare<[string, number, number], DoseRow>(
    `${open} AND d.stay_id IN (SELECT stay_id FROM reading WHERE meter_id = ? AND taken_at_ms BETWEEN ? AND ?)
     ORDER BY d.stay_id, d.proposed_at_ms, d.dose_id`,
  )
  const measured = raw.prepare<[string], MeterRow>('SELECT taken_at_ms, meter_id FROM reading WHERE reading_id = ?')
  const readingFact = raw.prepare<[string], { fact: string }>('SELECT fact FROM reading WHERE reading_id = ?')
  const stayOfDose = raw.prepare<[string], { stay_id: string; insulin: Dose['insulin'] }>(
    'SELECT stay_id, insulin FROM dose WHERE dose_id = ?',
  )
  const lastControl = raw.prepare<[string], { control_at_ms: number | null }>(
    'SELECT control_at_ms FROM meter WHERE meter_id = ?',
  )

  const takenSince = raw.prepare<[string, number], { fact: string }>(
    'SELECT fact FROM reading WHERE stay_id = ? AND taken_at_ms >= ?',
  )
  /** A fit value of the stay, at least the follow-up's time after a low of that instant, is satisfactory. */
  const isFollowedUp = (stayId: string | null, wardId: string | null, lowAtMs: number): boolean => {
    const policy = stayId === null || wardId === null ? undefined : policyAt(wardId, lowAtMs)?.policy
    return (
      stayId !== null &&
      policy !== undefined &&
      takenSince
        .all(stayId, lowAtMs + policy.low.followUpMin * MINUTE_MS)
        .map(({ fact }) => JSON.parse(fact) as Reading)
        .some(
          (reading) =>
            isEffective(reading) &&
            reading.doubts.length === 0 &&
            isNumeric(reading.glucose) &&
            !isBelow(reading.glucose, limitIn(policy.limits.recovered, policy.unit, reading.glucose.unit)),
        )
    )
  }

  const openDose = ({ fact, ward_id: wardId }: DoseRow): OpenDose => {
    const dose = JSON.parse(fact) as Dose
    const readingId = restsOn(dose)
    const reading = readingId === null ? undefined : measured.get(readingId)
    // a dose that rests on a reading which is not there could not be voided by what happens to it
    if (readingId !== null && reading === undefined) throw new Error(`no row ${readingId} in reading`)
    return openDoseOf(
      dose,
      wardId,
      reading === undefined ? null : { takenAtMs: reading.taken_at_ms, meterId: reading.meter_id },
    )
  }
  const openOf = (stayId: string | null): readonly OpenDose[] =>
    stayId === null ? [] : ofStay.all(stayId).map(openDose)
  const limitsAt = (wardId: string, atMs: number): WardPolicy['limits'] => {
    const limits = policyAt(wardId, atMs)?.policy.limits
    if (limits === undefined) throw new Error(`ward ${wardId} has no policy`)
    return limits
  }
  const retired = (readingId: string): { readonly stayId: string; readonly fact: VoidFacts['retired'] } => {
    const text = readingFact.get(readingId)?.fact
    if (text === undefined) throw new Error(`no row ${readingId} in reading`)
    const { stayId, wardId, takenAtMs, glucose } = JSON.parse(text) as Reading
    return { stayId, fact: { readingId, glucose, limits: limitsAt(wardId, takenAtMs) } }
  }

  return {
    openDosesForVoiding: (event: LedgerEvent): VoidFacts => {
      switch (event.type) {
        case 'reading-recorded': {
          const { stayId, wardId, takenAtMs, supersedes } = event.body.reading
          return {
            ...NOTHING,
            open: openOf(stayId),
            limits: limitsAt(wardId, takenAtMs),
            lowFollowedUp: isFollowedUp(stayId, wardId, takenAtMs),
            retired: supersedes === null ? null : retired(supersedes.readingId).fact,
          }
        }
        case 'reading-voided': {
          const { stayId, fact } = retired(event.body.readingId)
          return { ...NOTHING, open: openOf(stayId), retired: fact }
        }
        case 'dose-proposed':
          return { ...NOTHING, open: openOf(event.body.dose.stayId) }
        case 'dose-given': {
          const dose = stayOfDose.get(event.body.doseId)
          if (dose === undefined) throw new Error(`no row ${event.body.doseId} in dose`)
          return { ...NOTHING, open: openOf(dose.stay_id), given: dose.insulin }
        }
        case 'outside-dose-recorded':
          return { ...NOTHING, open: openOf(event.body.outsideDose.stayId) }
        case 'policy-set':
        case 'policy-set-from':
          return { ...NOTHING, open: event.wardId === null ? [] : ofWard.all(event.wardId).map(openDose) }
        case 'meter-controlled':
          return {
            ...NOTHING,
            open: ofMeter.all(event.body.meterId, event.happenedAtMs - DAY_MS, event.happenedAtMs).map(openDose),
            lastControlAtMs: lastControl.get(event.body.meterId)?.control_at_ms ?? null,
          }
        case 'entry-charted':
        case 'low-event-opened':
          return {
            ...NOTHING,
            open: openOf(event.stayId),
            lowFollowedUp: isFollowedUp(event.stayId, event.wardId, event.happenedAtMs),
          }
        case 'order-written':
        case 'order-verified':
        case 'order-stopped':
        case 'stay-moved':
        case 'stay-discharged':
          return { ...NOTHING, open: openOf(event.stayId) }
        default:
          return NOTHING
      }
    },
  }
}
