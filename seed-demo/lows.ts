/**
 * Lows of the demo's week, from assessment and treatment to rechecks, food, follow-up, calls and closing. Each step
 * uses the decision of its page.
 */
import { currentLow } from '../shared/low/current.ts'
import { isInsulinAsked, lowFactsOf } from '../server/low/load.ts'
import { criticalKind } from '../shared/critical/confirm.ts'
import type { LedgerEvent } from '../shared/ledger/events.ts'
import { answerAtBedside, armKey, giveFood, tellPrescriber, treatLow } from '../shared/low/chart.ts'
import { closeLow } from '../shared/low/close.ts'
import { lowState, type LowFacts } from '../shared/low/event.ts'
import { answerInsulinQuestion } from '../shared/low/insulin.ts'
import { lowLevel } from '../shared/low/level.ts'
import type { LowArm, LowCause } from '../shared/low/low.ts'
import { lowProgress } from '../shared/low/recheck.ts'
import type { Outcome } from '../shared/outcome.ts'
import type { Reading } from '../shared/reading/reading.ts'
import type { StayFacts } from '../server/store/contract.ts'
import { storeEvents } from '../server/store/store-events.ts'
import { factsOf, measure, type Place } from './acts.ts'
import type { PatientSimulation } from './simulation.ts'
import { HOUR_MS, MINUTE_MS } from '../shared/time/span.ts'

const PRESCRIBER = 'Dr. L. Vance'
const GIVEN: Readonly<Record<LowArm, string>> = {
  'by-mouth': 'Fruit juice',
  'by-tube': 'Fruit juice by the feeding tube',
  'iv-dextrose': '',
  glucagon: '',
  'by-direction': '',
}

/** Plans what follows a low value: treatment at once, then the calls, then rechecks until the event is closed. */
export function planLow(simulation: PatientSimulation, reading: Reading, nowMs: number): void {
  const { line, place, stayId, random } = simulation
  const { policy } = factsOf(place, stayId, nowMs).policy
  line.at(nowMs + random.integer(1, 4) * MINUTE_MS, (ms) => {
    treat(simulation, ms)
    line.at(ms + (policy.low.recheckMin + random.integer(0, 2)) * MINUTE_MS, (recheckMs) => {
      recheck(simulation, reading, recheckMs)
    })
  })
  line.at(nowMs + random.integer(6, 12) * MINUTE_MS, (ms) => {
    tell(simulation, ms)
  })
}

type OpenLow = { readonly facts: StayFacts; readonly lowFacts: LowFacts; readonly byId: string }

/** The stay's open low event at the instant; null when none is open. */
function openLow({ place, stayId, nursesAt }: PatientSimulation, nowMs: number): OpenLow | null {
  const facts = factsOf(place, stayId, nowMs)
  const low = currentLow(facts.lows)
  return low === undefined ? null : { facts, lowFacts: lowFactsOf(facts, low, nowMs), byId: nursesAt(nowMs)[0].staffId }
}

/**
 * Appends the events of an accepted decision. The plan allows only accepted ones, so a refusal is a bug in the demo.
 */
function act(place: Place, decided: Outcome<LedgerEvent[], string>): void {
  if (!decided.ok) throw new Error(`a low of the demo was refused: ${decided.reason}`)
  storeEvents(place.store, decided.value)
}

/** Assesses first, then treats as the answers and the policy require. */
function treat(simulation: PatientSimulation, nowMs: number): void {
  const { place, patient } = simulation
  const before = openLow(simulation, nowMs)
  if (before === null) return
  const { feeding, swallowsSafely, ivAccess } = patient.facts
  const answers = {
    swallowing: swallowsSafely && feeding === 'oral' ? 'safely' : 'not-safely',
    ivWorking: ivAccess,
    tubeUsable: feeding === 'tube' ? true : null,
  } as const
  act(place, answerAtBedside({ answers, byId: before.byId }, before.lowFacts))
  const seen = openLow(simulation, nowMs)
  const arm = seen === null ? null : lowState(seen.lowFacts).arm
  if (seen === null || arm === null) return
  const given =
    arm.kind === 'give'
      ? { shown: armKey(arm), arm: arm.arm, what: GIVEN[arm.arm], directedBy: '', readBack: false }
      : ({
          shown: null,
          arm: 'by-direction',
          what: 'Dextrose into the vein as directed',
          directedBy: PRESCRIBER,
          readBack: true,
        } as const)
  act(place, treatLow({ ...given, byId: seen.byId, atMs: null }, seen.lowFacts))
}

/** One call reports the low and its critical values. A second call follows only a new critical value. */
function tell(simulation: PatientSimulation, nowMs: number): void {
  const open = openLow(simulation, nowMs)
  if (open === null) return
  const { facts, lowFacts, byId } = open
  const waiting = facts.openItems.filter(({ kind }) => kind === 'critical').map(({ subjectId }) => subjectId)
  if (lowFacts.low.charted.prescriberCalls.length === 0 || waiting.length > 0) {
    const isCritical = facts.readings.some(
      (one) => waiting.includes(one.readingId) && criticalKind(one.glucose, lowFacts.policy) !== null,
    )
    const ordered = isCritical
      ? 'Continue the protocol; call again if the next value is below 70.'
      : 'No change for now.'
    act(
      simulation.place,
      tellPrescriber({ told: PRESCRIBER, readBack: true, ordered, atMs: null, byId }, lowFacts, waiting),
    )
  }
  if (isInsulinAsked(open)) {
    act(
      simulation.place,
      answerInsulinQuestion(
        { told: PRESCRIBER, readBack: true, decision: 'as-ordered', ordered: '', byId },
        { low: lowFacts.low, isOpen: true, nowMs },
      ),
    )
  }
}

function recheck(simulation: PatientSimulation, before: Reading, nowMs: number): void {
  const { place, stayId, course, line } = simulation
  const open = openLow(simulation, nowMs)
  if (open === null) return
  const { low, policy } = open.lowFacts
  const { phase, cycle } = lowProgress(low, open.facts.readings, policy)
  const glucose = phase === 'recovered' ? course.between(104, 148) : course.after(before.glucose)
  const measured = measure(
    place,
    { stayId, checkKey: `low.${low.lowId}.${String(cycle)}`, glucose, byId: open.byId, extraReason: null },
    nowMs,
  )
  if (measured === null) return
  if (lowLevel(measured.reading.glucose, policy) !== null) {
    planLow(simulation, measured.reading, nowMs)
    return
  }
  const after = lowProgress(low, factsOf(place, stayId, nowMs).readings, policy)
  if (after.phase === 'followed-up') {
    line.at(nowMs + 9 * MINUTE_MS, (ms) => {
      close(simulation, ms)
    })
    return
  }
  line.at(nowMs + 4 * MINUTE_MS, (ms) => {
    feed(simulation, ms)
  })
  line.at(nowMs + policy.low.followUpMin * MINUTE_MS, (ms) => {
    recheck(simulation, measured.reading, ms)
  })
}

/** Longer-acting carbohydrate when the next meal is too far off. */
function feed(simulation: PatientSimulation, nowMs: number): void {
  const open = openLow(simulation, nowMs)
  const state = open === null ? null : lowState(open.lowFacts)
  if (open === null || state?.lasting?.kind !== 'grams') return
  act(
    simulation.place,
    giveFood(
      { grams: state.lasting.grams, what: 'Biscuits and milk', atMs: null, byId: open.byId },
      open.lowFacts,
      state,
    ),
  )
}

function close(simulation: PatientSimulation, nowMs: number): void {
  const open = openLow(simulation, nowMs)
  if (open === null) return
  act(simulation.place, closeLow({ ...causeOnRecord(open), byId: open.byId }, open.lowFacts))
}

/** Insulin and meals within these hours before a low may have caused it. */
const ACTING_MS = 5 * HOUR_MS

/** The cause that a nurse of the demo chooses. It comes only from the record of the hours before. */
function causeOnRecord({ facts, lowFacts: { low } }: Pick<OpenLow, 'facts' | 'lowFacts'>): {
  readonly cause: LowCause
  readonly note: string
} {
  const isBefore = (ms: number | null): boolean =>
    ms !== null && ms < low.openedAtMs && ms >= low.openedAtMs - ACTING_MS
  const meal = facts.trays
    .filter(({ servedAtMs }) => isBefore(servedAtMs))
    .sort((a, b) => (b.servedAtMs ?? 0) - (a.servedAtMs ?? 0))[0]
  const doses = facts.earlierDoses.filter(({ givenAtMs }) => isBefore(givenAtMs))
  if (meal?.shareEatenPercent !== undefined && meal.shareEatenPercent !== null && meal.shareEatenPercent <= 50)
    return { cause: 'missed-or-delayed-meal', note: 'Half or less of the meal before was eaten.' }
  if (doses.length > 1) return { cause: 'stacking', note: 'Two doses within five hours.' }
  if (doses.length === 1)
    return {
      cause: 'dose-too-high',
      note: meal === undefined ? 'Prescriber looks at the dose.' : 'Meal eaten; prescriber looks at the dose.',
    }
  if (facts.stay.facts.renalImpairment)
    return { cause: 'renal', note: 'No meal or insulin of the last hours explains it.' }
  return { cause: 'other', note: 'No meal or insulin of the last hours explains it.' }
}
