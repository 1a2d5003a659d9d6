/** What happened to a patient, in words: one line for each fact of the audit's list. */
import { OUTSIDE_SOURCE, TAKEN_BACK_WHY } from './dose.ts'
import type { PatientState } from '../../shared/audit/antecedents.ts'
import type { Antecedent, AntecedentFact, TrayAfter } from '../../shared/audit/antecedent.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import { lowLevel } from '../../shared/low/level.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { formatInsulin, formatMinutes, formatTime, formatUnits } from '../format.ts'
import { LOW_CAUSE, LOW_LEVEL } from './low.ts'
import { EXTRA_REASON, METER_DOUBT, READING_SOURCE } from './reading.ts'
import { FACT, factText, FEEDING, MEAL_NAME, nilSpanText, planText } from './stay.ts'

export type Happened = {
  readonly what: string
  readonly value: string
  readonly detail: readonly string[]
  readonly path: string | null
}

export type HappenedContext = {
  readonly policy: WardPolicy
  readonly nowMs: number
  readonly nameOf: (staffId: string) => string
  readonly wardName: (wardId: string) => string
  /** Null: may not be seen yet. */
  readonly valueOf: (reading: Reading) => string | null
  readonly doseText: (dose: Dose) => string | null
  /** "level 1, lowest 58 mg/dL"; empty when no value of it counts as low any more. */
  readonly lowText: (low: LowEvent) => string
  /** What a value was in the course of a low: "recovered"; null: no part of one. */
  readonly partOf: (reading: Reading) => string | null
  /** Is the line of this dose in the same list? Then its tray need not tell of it. */
  readonly isListed: (doseId: string) => boolean
}

const MASKED = 'awaiting second check'

export function happenedText({ fact }: Antecedent, context: HappenedContext): Happened {
  const {
    policy: { zone },
  } = context
  switch (fact.kind) {
    case 'reading':
      return readingText(fact.reading, context)
    case 'dose':
      return doseText(fact.dose, fact.tray, context)
    case 'dose-not-given': {
      const { outcome } = fact.dose
      const kind =
        outcome?.kind === 'refused'
          ? 'Insulin refused by the patient'
          : outcome?.kind === 'taken-back'
            ? 'Insulin charted in error, taken back'
            : 'Insulin withheld'
      return {
        what: kind,
        value: context.doseText(fact.dose) ?? MASKED,
        detail:
          outcome?.kind === 'withheld' || outcome?.kind === 'refused'
            ? [outcome.reason]
            : outcome?.kind === 'taken-back'
              ? [TAKEN_BACK_WHY[outcome.why], outcome.note]
              : [],
        path: `doses/${fact.dose.doseId}`,
      }
    }
    case 'outside-dose': {
      const { insulin, units, source, givenBy, checkedBy } = fact.dose
      return plain('Insulin from outside', formatInsulin(units, insulin), [
        OUTSIDE_SOURCE[source],
        `given by ${givenBy}`,
        checkedBy === null ? 'no checker named' : `checked by ${checkedBy}`,
      ])
    }
    case 'tray':
      return trayText(fact, context)
    case 'order-written': {
      const { version, order } = fact.version
      return orderLine(fact.version, version === 1 ? 'Order written' : 'New version of the order', [
        order.prescriber,
        order.received === 'written' ? 'written' : 'by telephone, read back',
      ])
    }
    case 'order-verified':
      return orderLine(fact.version, 'Order verified', [])
    case 'order-ended': {
      const { stop, how, version } = fact
      const detail =
        stop === null
          ? []
          : [...(stop.orderedBy === null ? [] : [`ordered by ${stop.orderedBy}`]), stop.reason].filter(
              (part) => part !== '',
            )
      return orderLine(
        version,
        { replaced: 'Order replaced by a newer version', stopped: 'Order stopped', expired: 'Order expired' }[how],
        detail,
      )
    }
    case 'facts-changed':
      return factsText(fact, context)
    case 'nil-by-mouth':
      return plain('Nil by mouth', fact.began ? 'began' : 'ended', [])
    case 'feed':
      return plain(fact.began ? 'Feed stopped' : 'Feed runs again', fact.began ? fact.interruption.reason : '', [])
    case 'plan':
      return plain(
        fact.began ? 'Check plan began' : 'Check plan ended',
        planText(fact.version.plan, zone),
        fact.version.overlay ? ['while nil by mouth'] : [],
      )
    case 'critical-told':
      return {
        ...plain('Critical result told', fact.call.told, [
          'read back',
          ...(fact.call.ordered === '' ? [] : [`ordered: ${fact.call.ordered}`]),
        ]),
        path: `readings/${fact.call.readingId}`,
      }
    case 'symptoms':
      return plain('Symptoms, no low value', fact.symptoms.symptoms, [`given: ${fact.symptoms.what}`])
    case 'low': {
      const { closing } = fact.low.charted
      const cause = closing === null ? 'still open' : `closed as: ${LOW_CAUSE[closing.cause].toLowerCase()}`
      return {
        ...plain(fact.opened ? 'Another low' : 'Another low closed', fact.opened ? context.lowText(fact.low) : '', [
          cause,
        ]),
        path: `audit/lows/${fact.low.lowId}`,
      }
    }
    case 'bed':
      return plain(
        fact.admitted ? 'Admitted' : 'Moved',
        `${context.wardName(fact.span.wardId)}, bed ${fact.span.bed}`,
        [],
      )
    case 'discharged':
      return plain('Discharged', '', [])
  }
}

function plain(what: string, value: string, detail: readonly string[]): Happened {
  return { what, value, detail, path: null }
}

function orderLine({ orderId, version, order }: OrderVersion, what: string, detail: readonly string[]): Happened {
  return {
    what,
    value: `${order.insulin}, version ${String(version)}`,
    detail,
    path: `orders/${orderId}/${String(version)}`,
  }
}

function readingText(reading: Reading, { valueOf, nameOf, policy, partOf }: HappenedContext): Happened {
  const value = valueOf(reading)
  const part = value === null ? null : partOf(reading)
  const level = value === null || reading.glucose.unit !== policy.unit ? null : lowLevel(reading.glucose, policy)
  const gone =
    reading.voided !== null
      ? value === null
        ? 'entered in error'
        : `entered in error: ${reading.voided.reason}`
      : reading.supersededBy !== null
        ? 'corrected since'
        : null
  const detail = [
    ...(part === null ? [] : [part]),
    ...(level === null ? [] : [LOW_LEVEL[level]]),
    ...(reading.source === 'capillary' ? [] : [READING_SOURCE[reading.source].toLowerCase()]),
    ...(reading.extraReason === null || value === null ? [] : [EXTRA_REASON[reading.extraReason].toLowerCase()]),
    ...reading.doubts.map((doubt) => METER_DOUBT[doubt]),
    ...(reading.chartedById === undefined ? [] : [`typed in by ${nameOf(reading.chartedById)}`]),
    ...(gone === null ? [] : [gone]),
  ]
  return { what: 'Reading', value: value ?? MASKED, detail, path: `readings/${reading.readingId}` }
}

function doseText(dose: Dose, tray: TrayAfter | null, { doseText: textOf, nameOf, policy }: HappenedContext): Happened {
  const value = textOf(dose)
  const { zone } = policy
  const agreed = dose.answers.find((answer) => answer.agreed)
  const from = value === null ? [] : fromText(dose, zone)
  const giver = dose.outcome === null ? dose.proposedById : dose.outcome.byId
  const [worker, checker] = [nameOf(dose.proposedById), agreed === undefined ? null : nameOf(agreed.byId)]
  const detail = [
    ...from,
    giver === dose.proposedById
      ? `worked out and given by ${worker}`
      : `worked out by ${worker}, given by ${nameOf(giver)}`,
    dose.secondCheckRequired
      ? checker === null || agreed === undefined
        ? 'no agreed second check'
        : `second check by ${checker} at ${formatTime(agreed.atMs, zone)}`
      : 'no second check by policy',
    // who checked reads the product as a rule; only another one is worth a word
    ...(dose.product === null || dose.product.byId === agreed?.byId
      ? []
      : [`product read by ${nameOf(dose.product.byId)}`]),
    ...(tray === null ? [] : [afterText(tray, policy)]),
  ]
  return { what: 'Insulin given', value: value ?? MASKED, detail, path: `doses/${dose.doseId}` }
}

/** What the dose was worked out from. */
function fromText(dose: Dose, zone: string): readonly string[] {
  const {
    working: { glucose },
    inputs: { readingTakenAtMs },
  } = dose
  if (dose.kind === 'scheduled') return ['scheduled, no reading']
  const reading =
    glucose === null
      ? []
      : [
          `from ${formatGlucose(glucose)}${readingTakenAtMs === null ? '' : ` of ${formatTime(readingTakenAtMs, zone)}`}`,
        ]
  return dose.kind === 'by-direction' ? ['by the prescriber’s direction', ...reading] : reading
}

function afterText({ meal, afterMs, isLate }: TrayAfter, policy: WardPolicy): string {
  const name = MEAL_NAME[meal].toLowerCase()
  const limit = isLate ? `NO TRAY within ${String(policy.dose.noTrayAfterMin)} min: ` : ''
  if (afterMs === null) return `${limit}no ${name} tray charted`
  const minutes = formatMinutes(Math.abs(afterMs) / MINUTE_MS)
  return `${limit}${name} tray ${minutes} ${afterMs < 0 ? 'before' : 'after'} the insulin`
}

function trayText(
  { tray, isTimed, doses }: Extract<AntecedentFact, { kind: 'tray' }>,
  { doseText: textOf, isListed }: HappenedContext,
): Happened {
  const share = tray.shareEatenPercent
  const detail = [
    ...(isTimed ? [] : ['time of serving not charted; shown at its planned time']),
    ...doses
      .filter(({ dose }) => !isListed(dose.doseId))
      .map(
        ({ dose, beforeMs }) =>
          `${textOf(dose) ?? 'insulin'} ${beforeMs === null ? 'given for it' : `${formatMinutes(Math.abs(beforeMs) / MINUTE_MS)} ${beforeMs < 0 ? 'after' : 'before'} it`}`,
      ),
  ]
  return {
    what: `${MEAL_NAME[tray.meal]} tray`,
    value: share === null ? 'share eaten not charted' : `${String(share)} % eaten`,
    detail,
    path: null,
  }
}

function factsText(
  { names, before, after }: Extract<AntecedentFact, { kind: 'facts-changed' }>,
  { nowMs, policy: { zone } }: HappenedContext,
): Happened {
  const text = (name: (typeof names)[number], facts: typeof before): string =>
    name === 'nilByMouth' ? nilSpanText(facts, nowMs, zone) : factText(name, facts, { nowMs, zone })
  return {
    what: 'Facts changed',
    value: names
      .map((name) => `${FACT[name].replace(/ \(.*\)$/, '')}: ${text(name, before)} → ${text(name, after)}`)
      .join('; '),
    detail: [],
    path: null,
  }
}

/** What bears on a low in how the patient was just then, each as a phrase; empty when nothing does. */
export function patientStateText({ facts, nilByMouth, feedStopped }: PatientState): readonly string[] {
  if (facts === null) return []
  return [
    ...(facts.diabetes === 'type-1' ? ['type 1 diabetes'] : []),
    ...(nilByMouth ? ['nil by mouth'] : []),
    ...(facts.feeding === 'oral' ? [] : [`fed ${FEEDING[facts.feeding].toLowerCase()}`]),
    ...(feedStopped === null ? [] : [`feed stopped: ${feedStopped.reason}`]),
    ...(facts.renalImpairment ? ['renal impairment'] : []),
    ...(facts.onSteroid ? ['on a steroid'] : []),
    ...facts.otherGlucoseLowering.map((drug) => `also on ${drug}`),
  ]
}

/** "4 units of insulin lispro" for a dose that may be seen. */
export function insulinText({ units, insulin }: Pick<Dose, 'units' | 'insulin'>): string {
  return units === 0 ? formatUnits(0) : formatInsulin(units, insulin)
}
