/**
 * What needs a person now on the whole ward. It is derived from the Round's model, so that board and Round always
 * agree. Each need has a stable key.
 */
import type { Task } from '../care/task.ts'
import { TASK } from '../care/tasks.ts'
import type { Check } from '../check/check.ts'
import type { PatientNow, RoundItem, RoundModel } from '../check/round-model.ts'
import { meterFitness } from '../check/kit.ts'
import { callByMs } from '../critical/call.ts'
import type { Dose } from '../dose/dose.ts'
import type { LowStep } from '../low/event.ts'
import { isRunning } from '../order/stop.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { MINUTE_MS } from '../time/span.ts'
import { localToUtc, wardDate } from '../time/zone.ts'
import type { BoardInputs } from './facts.ts'
import { bedNurses, isOfShift, shiftAt, type BedNurses, type Shift } from './shift.ts'

export type NeedKind =
  | `low-${LowStep['kind']}`
  | 'insulin-no-tray'
  | 'dose-unaccounted'
  | 'critical-untold'
  | 'second-check-differed'
  | 'dose-not-given'
  | 'insulin-question'
  | 'laboratory-value'
  | 'dose-to-work-out'
  | 'check-late'
  | 'second-check-waiting'
  | 'scheduled-late'
  | 'dose-lapsed'
  | 'check-missed'
  | 'flag'
  | 'left-behind'
  | 'order-unverified'
  | 'meter-not-controlled'
  | 'beds-without-nurse'
  | 'task'

/**
 * Who is responsible. handed: somebody assigned the need to this nurse. taker: this nurse took the reading in this
 * shift, so the dose is hers to calculate. bed: this nurse has the bed in this shift. nobody: unassigned, so it is
 * highlighted.
 */
export type Owner =
  | { readonly kind: 'handed' | 'taker' | 'bed'; readonly staffId: string; readonly name: string }
  | { readonly kind: 'nobody' }

export type Need = {
  readonly key: string
  readonly kind: NeedKind
  readonly stayId: string | null
  readonly beds: readonly string[]
  /** The subject: a low event, dose, reading, check, order, slot, item or meter. */
  readonly subjectId: string
  /** A serial number, count or kind for the need's sentence. Null: the sentence needs none. */
  readonly detail: string | null
  readonly sinceMs: number
  /** When it is due. Null: it was due from the start. */
  readonly dueMs: number | null
  readonly owner: Owner
  /** Of kind task: the task. */
  readonly task?: Task
}

/**
 * Sorted by harm: what can kill in minutes, insulin that may hurt, results that nobody acts on, late work, then
 * paperwork. The order is our own. Like the order of the round (shared/check/round-order.ts), it puts lows, rechecks
 * and missing trays before late checks.
 */
const HARM: Readonly<Record<Exclude<NeedKind, 'task'>, number>> = {
  'low-call-emergency': 0,
  'low-treat': 1,
  'low-look-again': 1,
  'low-escalate': 2,
  'low-recheck': 3,
  'insulin-no-tray': 4,
  'dose-unaccounted': 5,
  'critical-untold': 6,
  'low-follow-up': 7,
  'low-lasting-food': 7,
  'dose-not-given': 8,
  'second-check-differed': 9,
  'low-tell-prescriber': 10,
  'insulin-question': 10,
  'laboratory-value': 11,
  'check-late': 12,
  'dose-to-work-out': 13,
  'second-check-waiting': 13,
  'scheduled-late': 14,
  'beds-without-nurse': 15,
  'dose-lapsed': 16,
  flag: 17,
  'left-behind': 17,
  'check-missed': 18,
  'order-unverified': 19,
  'meter-not-controlled': 20,
  'low-close': 21,
}

function harmOf({ kind, task }: NeedWithoutOwner): number {
  return kind === 'task' ? (task === undefined ? 0 : TASK[task.kind].harm) : HARM[kind]
}

/** The detail of a need that nobody saw to in its time. */
export const FOR_CHARGE_NURSE = 'charge-nurse'

type NeedWithoutOwner = Omit<Need, 'owner'>

/** Everything that needs a person at the instant: the most harmful first, then the longest waiting. */
export function needsOf(inputs: BoardInputs): readonly Need[] {
  const { facts, model, nowMs } = inputs
  const shift = shiftAt(facts.policy, nowMs)
  const nurses = bedNurses(facts.bedsTaken, shift).now
  const ownerOf = ({ key, kind, stayId, beds: [bed] }: NeedWithoutOwner): Owner => {
    const handedTo = facts.handed.get(key)?.toStaffId
    const name = handedTo === undefined ? undefined : facts.nurses.get(handedTo)
    if (handedTo !== undefined && name !== undefined) return { kind: 'handed', staffId: handedTo, name }
    const taken =
      kind !== 'dose-to-work-out' || stayId === null ? null : (model.patients.get(stayId)?.doseToWorkOut ?? null)
    const taker = taken === null || !isOfShift(taken.takenAtMs, shift) ? undefined : facts.nurses.get(taken.byId)
    if (taken !== null && taker !== undefined) return { kind: 'taker', staffId: taken.byId, name: taker }
    const nurse = stayId === null || bed === undefined ? undefined : nurses.get(bed)
    return nurse === undefined ? { kind: 'nobody' } : { kind: 'bed', ...nurse }
  }
  const patients = [...model.patients.values()]
  const withoutOwner = [
    ...patients.flatMap((patient) => ofPatient(patient, inputs)),
    ...ofLines(inputs),
    ...ofOrders(inputs),
    ...ofMeters(inputs),
    ...ofBeds(inputs, shift, nurses),
    ...model.leftBehind.flatMap((item) => leftBehind(item, facts.policy)),
  ]
  return withoutOwner
    .map((need) => ({ ...need, owner: ownerOf(need) }))
    .sort((a, b) => harmOf(a) - harmOf(b) || a.sinceMs - b.sinceMs || (a.key < b.key ? -1 : 1))
}

type About = Pick<NeedWithoutOwner, 'stayId' | 'beds'>
const about = ({ stay }: PatientNow): About => ({ stayId: stay.stayId, beds: [stay.bed] })

function ofPatient(patient: PatientNow, inputs: BoardInputs): readonly NeedWithoutOwner[] {
  return [
    ...ofLows(patient, inputs),
    ...ofDoses(patient, inputs),
    ...ofItems(patient, inputs),
    ...ofTasks(patient, inputs),
  ]
}

/** Each step that the open lows require. A recheck appears only when it is due, as on the Round. */
function ofLows(patient: PatientNow, inputs: BoardInputs): readonly NeedWithoutOwner[] {
  const { openLow, olderLows } = patient
  return [
    ...(openLow === null ? [] : [openLow]),
    ...olderLows.map((low) => ({ ...low, untreatedSinceMs: null })),
  ].flatMap((low) => ofLow(low, patient, inputs))
}

function ofLow(
  { lowId, steps, untreatedSinceMs }: Pick<NonNullable<PatientNow['openLow']>, 'lowId' | 'steps' | 'untreatedSinceMs'>,
  patient: PatientNow,
  { facts, nowMs }: BoardInputs,
): readonly NeedWithoutOwner[] {
  const openedAtMs = facts.lows.find((low) => low.lowId === lowId)?.openedAtMs ?? nowMs
  return steps.flatMap((step): NeedWithoutOwner[] => {
    const isRecheck = step.kind === 'recheck' || step.kind === 'follow-up'
    if (isRecheck && nowMs < step.deadlineMs) return []
    const number = isRecheck ? `.${String(step.cycle)}` : step.kind === 'treat' ? `.${String(step.number)}` : ''
    const fromDeadline = isRecheck || step.kind === 'call-emergency' || step.kind === 'escalate'
    const sinceMs =
      step.kind === 'treat' ? (untreatedSinceMs ?? openedAtMs) : fromDeadline ? step.deadlineMs : openedAtMs
    return [
      {
        ...about(patient),
        key: `low.${lowId}.${step.kind}${number}`,
        kind: `low-${step.kind}`,
        subjectId: isRecheck ? `low.${lowId}.${String(step.cycle)}` : lowId,
        detail: null,
        sinceMs,
        dueMs: fromDeadline ? null : step.deadlineMs,
      },
    ]
  })
}

function ofDoses(patient: PatientNow, { facts, model: { round }, nowMs }: BoardInputs): readonly NeedWithoutOwner[] {
  const { stayId } = patient.stay
  const doseOf = (doseId: string): Dose | undefined =>
    [...facts.openDoses, ...facts.unaccountedDoses].find((dose) => dose.doseId === doseId)
  const served =
    facts.trays.find(
      (tray) =>
        tray.stayId === stayId &&
        tray.date === round.date &&
        tray.servedAtMs !== null &&
        tray.servedAtMs >= round.startsMs &&
        tray.servedAtMs <= nowMs,
    )?.servedAtMs ?? null
  const trayMs = served ?? (round.trayMs !== null && nowMs >= round.trayMs ? round.trayMs : null)
  const need = (kind: NeedKind, doseId: string, sinceMs: number, dueMs: number | null = null): NeedWithoutOwner => ({
    ...about(patient),
    key: `dose.${doseId}.${kind}`,
    kind,
    subjectId: doseId,
    detail: null,
    sinceMs,
    dueMs,
  })
  const unaccounted = patient.unaccounted.map((doseId) =>
    need('dose-unaccounted', doseId, doseOf(doseId)?.product?.atMs ?? nowMs),
  )
  const { doseToWorkOut: owed } = patient
  const toWorkOut =
    owed === null
      ? []
      : [
          {
            ...about(patient),
            key: `reading.${owed.readingId}.dose`,
            kind: 'dose-to-work-out' as const,
            subjectId: owed.readingId,
            detail: owed.tooOld ? 'too-old' : null,
            sinceMs: owed.takenAtMs,
            dueMs: owed.dueMs,
          },
        ]
  return [
    ...unaccounted,
    ...toWorkOut,
    ...patient.openDoses.flatMap(({ doseId, state }): NeedWithoutOwner[] => {
      const dose = doseOf(doseId)
      if (dose === undefined || patient.unaccounted.includes(doseId)) return []
      if (state === 'differed')
        return [need('second-check-differed', doseId, dose.answers.at(-1)?.atMs ?? dose.proposedAtMs)]
      if (state === 'awaiting-second-check')
        return [need('second-check-waiting', doseId, dose.restarts.at(-1)?.atMs ?? dose.proposedAtMs)]
      if (state === 'verified' && trayMs !== null)
        return [need('dose-not-given', doseId, Math.max(trayMs, dose.product?.atMs ?? trayMs))]
      return state === 'lapsed' ? [need('dose-lapsed', doseId, dose.proposedAtMs)] : []
    }),
  ]
}

function ofItems(patient: PatientNow, inputs: BoardInputs): readonly NeedWithoutOwner[] {
  const { policy } = inputs.facts
  const needs: NeedWithoutOwner[] = []
  // one call reports all critical results of the patient, so it appears once, for the earliest
  const critical = patient.items.find(({ kind }) => kind === 'critical')
  if (critical !== undefined)
    needs.push(ofItem('critical-untold', patient, critical, callByMs(critical.sinceMs, policy)))
  for (const item of patient.items) {
    if (item.kind === 'insulin-question')
      needs.push(ofItem('insulin-question', patient, item, item.sinceMs + policy.low.insulinQuestionMin * MINUTE_MS))
    if (item.kind === 'flag') needs.push({ ...ofItem('flag', patient, item, null), subjectId: item.itemId })
  }
  const { laboratory } = patient
  if (laboratory !== null)
    needs.push({
      ...about(patient),
      key: `laboratory.${laboratory.readingId}`,
      kind: 'laboratory-value',
      subjectId: laboratory.readingId,
      detail: laboratory.which,
      sinceMs: laboratory.byMs - policy.critical.laboratoryWithinMin * MINUTE_MS,
      dueMs: laboratory.byMs,
    })
  return needs
}

/** `detail` is "charge-nurse" from when the task is hers. */
function ofTasks(patient: PatientNow, { nowMs }: BoardInputs): readonly NeedWithoutOwner[] {
  return patient.tasks.map((task) => {
    const { key, sinceMs, dueMs, chargeFromMs } = task
    return {
      ...about(patient),
      key: `task.${key}`,
      kind: 'task',
      task,
      subjectId: key,
      detail: chargeFromMs !== null && nowMs >= chargeFromMs ? FOR_CHARGE_NURSE : null,
      sinceMs,
      dueMs,
    }
  })
}

function ofItem(
  kind: NeedKind,
  patient: PatientNow,
  { itemId, subjectId, sinceMs }: RoundItem,
  dueMs: number | null,
): NeedWithoutOwner {
  return { ...about(patient), key: `item.${itemId}`, kind, subjectId, detail: null, sinceMs, dueMs }
}

/** Late and missed checks, overdue scheduled insulin, and insulin given without a tray, as on the Round. */
function ofLines({ model }: BoardInputs): readonly NeedWithoutOwner[] {
  const bedsOf = (stayId: string): About => ({ stayId, beds: [model.patients.get(stayId)?.stay.bed ?? ''] })
  return [
    ...model.lines.flatMap(({ id, stayId, check, state, standing }): NeedWithoutOwner[] => {
      if (standing.kind === 'insulin-no-tray')
        return [
          {
            ...bedsOf(stayId),
            key: id,
            kind: 'insulin-no-tray',
            subjectId: stayId,
            detail: null,
            sinceMs: standing.sinceMs,
            dueMs: null,
          },
        ]
      if (standing.kind !== 'check' || check === null || state !== 'late') return []
      return [
        {
          ...bedsOf(stayId),
          key: `check.${check.key}`,
          kind: 'check-late',
          subjectId: check.key,
          detail: null,
          sinceMs: check.lateAfterMs,
          dueMs: check.dueMs,
        },
      ]
    }),
    // one need for each patient, about the oldest: a night without reasons must not hide more urgent needs
    ...[...missedOf(model.missed)].map(([stayId, { check, count }]): NeedWithoutOwner => ({
      ...bedsOf(stayId),
      key: `missed.${check.key}`,
      kind: 'check-missed',
      subjectId: check.key,
      detail: String(count),
      sinceMs: check.closesMs,
      dueMs: null,
    })),
    ...model.scheduled
      .filter(({ state }) => state === 'late')
      .map(({ stayId, slot, slotKey, dueMs }): NeedWithoutOwner => ({
        ...bedsOf(stayId),
        key: `slot.${slotKey}`,
        kind: 'scheduled-late',
        subjectId: slot,
        detail: null,
        sinceMs: dueMs,
        dueMs: null,
      })),
  ]
}

/** The oldest missed check of each stay, and the count. The model lists them oldest first. */
function missedOf(
  missed: RoundModel['missed'],
): ReadonlyMap<string, { readonly check: Check; readonly count: number }> {
  const byStay = new Map<string, { check: Check; count: number }>()
  for (const { stayId, check } of missed) {
    const known = byStay.get(stayId)
    if (known === undefined) byStay.set(stayId, { check, count: 1 })
    else known.count++
  }
  return byStay
}

function ofOrders({ facts, model, nowMs }: BoardInputs): readonly NeedWithoutOwner[] {
  return facts.orders.flatMap((version): NeedWithoutOwner[] => {
    const patient = model.patients.get(version.stayId)
    if (patient === undefined || version.verified !== null || !isRunning(version, nowMs)) return []
    const key = `order.${version.orderId}.${String(version.version)}`
    return [
      {
        ...about(patient),
        key,
        kind: 'order-unverified',
        subjectId: version.orderId,
        detail: null,
        sinceMs: version.writtenAtMs,
        dueMs: null,
      },
    ]
  })
}

/** A meter in the ward's unit without a passed control today; it may not be used. The need is new each day. */
function ofMeters({ facts: { meters, policy }, nowMs }: BoardInputs): readonly NeedWithoutOwner[] {
  const today = wardDate(nowMs, policy.zone)
  return meters.flatMap((meter): NeedWithoutOwner[] => {
    const fitness = meterFitness(meter, { unit: policy.unit, zone: policy.zone, nowMs })
    if (fitness !== 'control-not-done' && fitness !== 'control-failed') return []
    const failedAtMs = fitness === 'control-failed' ? meter.lastControl?.atMs : undefined
    return [
      {
        stayId: null,
        beds: [],
        key: `meter.${meter.meterId}.${today}`,
        kind: 'meter-not-controlled',
        subjectId: meter.meterId,
        detail: meter.serial,
        sinceMs: failedAtMs ?? localToUtc(today, '00:00', policy.zone),
        dueMs: null,
      },
    ]
  })
}

/** Beds with a patient and no nurse in this shift: one need for all of them, from the start of the shift. */
function ofBeds({ facts, model }: BoardInputs, shift: Shift, now: BedNurses['now']): readonly NeedWithoutOwner[] {
  const taken = new Set([...model.patients.values()].map(({ stay }) => stay.bed))
  const beds = facts.beds.filter((bed) => taken.has(bed) && !now.has(bed))
  return beds.length === 0
    ? []
    : [
        {
          stayId: null,
          beds,
          key: `beds.${String(shift.startsMs)}`,
          kind: 'beds-without-nurse',
          subjectId: shift.name,
          detail: shift.name,
          sinceMs: shift.startsMs,
          dueMs: null,
        },
      ]
}

/** Open items of a patient who has left the ward. Each item knows where it is charted. */
function leftBehind({ itemId, kind, subjectId, sinceMs }: RoundItem, policy: WardPolicy): readonly NeedWithoutOwner[] {
  if (kind !== 'critical' && kind !== 'flag' && kind !== 'insulin-question' && kind !== 'handover') return []
  return [
    {
      stayId: null,
      beds: [],
      key: `item.${itemId}`,
      kind: 'left-behind',
      subjectId: kind === 'flag' ? itemId : subjectId,
      detail: kind,
      sinceMs,
      dueMs: kind === 'handover' ? sinceMs + policy.handOverWithinMin * MINUTE_MS : null,
    },
  ]
}
