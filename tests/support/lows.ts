/** Low events for the tests of the rules: facts of one invented stay, and the fold of ledger events into a low event. */
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { lowState, type LowFacts, type LowState } from '../../shared/low/event.ts'
import {
  NOTHING_CHARTED,
  type BedsideAnswers,
  type Charted,
  type LowEvent,
  type LowTreatment,
} from '../../shared/low/low.ts'
import { defaultPolicy, type LowPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { at, glucose, lowEvent, POLICY, reading } from './readings.ts'
import { someFacts } from './makers.ts'

export const NURSE = 'nurse-a'

export function withLow(change: Partial<LowPolicy>, policy: WardPolicy = POLICY): WardPolicy {
  return { ...policy, low: { ...policy.low, ...change } }
}

/** Both standing orders are signed. */
export const SIGNED = withLow({ standingOrders: { dextrose: true, glucagon: true } })

/** A UK ward in mmol/L: below 4.0 is low, 4.0 recovers, escalated after 3 cycles or 45 min (NHS formularies restating JBDS; R). */
const MMOL = defaultPolicy('mmol/L', 'Europe/London')
export const UK = withLow(
  { escalateAfterMin: 45, standingOrders: { dextrose: true, glucagon: true } },
  { ...MMOL, limits: { ...MMOL.limits, low: 40, recovered: 40 } },
)

/** Tenths of mmol/L. */
export function mmol(value: number | 'LO' | 'HI', takenAtMs: number, parts: Partial<Reading> = {}): Reading {
  return reading(value, takenAtMs, {
    readingId: `m${String(value)}x${String(takenAtMs)}`,
    glucose: glucose(value, 'mmol/L'),
    ...parts,
  })
}

export function by(atMs: number, chartedAtMs = atMs): Charted {
  return { atMs, chartedAtMs, byId: NURSE }
}

export const SAFE: BedsideAnswers = { swallowing: 'safely', ivWorking: false, tubeUsable: null }

export function mouth(atMs: number, parts: Partial<LowTreatment> = {}): LowTreatment {
  return {
    ...by(atMs),
    lowId: 'low1',
    arm: 'by-mouth',
    amount: { kind: 'grams', grams: 15 },
    what: '',
    directedBy: null,
    ...parts,
  }
}

export function recheckOf(
  value: Reading['glucose']['value'],
  takenAtMs: number,
  cycle: number,
  unit: 'mg/dL' | 'mmol/L' = 'mg/dL',
): Reading {
  return reading(value, takenAtMs, {
    readingId: `c${String(cycle)}x${String(takenAtMs)}`,
    checkKey: `low.low1.${String(cycle)}`,
    glucose: glucose(value, unit),
  })
}

/** A low of 52 at 03:00 unless said otherwise. */
export const FIRST = reading(52, at('03:00'), { readingId: 'r0' })

export function factsOf(parts: Partial<LowFacts> = {}): LowFacts {
  const readings = parts.readings ?? [FIRST]
  return {
    low: lowEvent(readings[0] ?? FIRST),
    readings,
    bedside: someFacts(),
    policy: POLICY,
    mealsMs: [],
    servedMs: [],
    nowMs: at('03:00'),
    ...parts,
  }
}

export function stateOf(parts: Partial<LowFacts> = {}): LowState {
  return lowState(factsOf(parts))
}

/** The store's result of the events, written a second time for the tests. */
export function fold(low: LowEvent, events: readonly LedgerEvent[]): LowEvent {
  return events.reduce((before, event): LowEvent => {
    const head: Charted = { atMs: event.happenedAtMs, chartedAtMs: event.chartedAtMs, byId: event.actorId }
    const { charted } = before
    switch (event.type) {
      case 'low-answered':
        return { ...before, charted: { ...charted, answers: [...charted.answers, { ...head, ...event.body.answers }] } }
      case 'low-treated':
        return { ...before, treatments: [...before.treatments, { ...head, ...event.body }] }
      case 'low-level-3-found':
        return {
          ...before,
          charted: { ...charted, findings: [...charted.findings, { ...head, finding: event.body.finding }] },
        }
      case 'low-emergency-called':
        return { ...before, charted: { ...charted, emergencyCalls: [...charted.emergencyCalls, head] } }
      case 'low-told':
        return {
          ...before,
          charted: {
            ...charted,
            prescriberCalls: [
              ...charted.prescriberCalls,
              { ...head, told: event.body.told, ordered: event.body.ordered },
            ],
          },
        }
      case 'low-food-given':
        return {
          ...before,
          charted: { ...charted, food: [...charted.food, { ...head, grams: event.body.grams, what: event.body.what }] },
        }
      case 'low-event-closed':
        return {
          ...before,
          closedAtMs: event.happenedAtMs,
          charted: { ...charted, closing: { ...head, cause: event.body.cause, note: event.body.note } },
        }
      default:
        return before
    }
  }, low)
}

export { NOTHING_CHARTED }
