/** Lows of the demo's week: treated, rechecked until recovered, followed up and closed, told where critical. */
import { lowLevel } from '../shared/low/level.ts'
import { lowProgress } from '../shared/low/recheck.ts'
import { criticalKind } from '../shared/critical/confirm.ts'
import type { Reading } from '../shared/reading/reading.ts'
import { chart, factsOf, measure } from './acts.ts'
import type { Living } from './stay.ts'
import { MINUTE_MS } from '../shared/time/span.ts'

const PRESCRIBER = 'Dr. L. Vance'
const CAUSES = [
  { cause: 'missed-or-delayed-meal', note: 'Ate less than half of the meal before.' },
  { cause: 'missed-or-delayed-meal', note: 'The tray came late after insulin.' },
  { cause: 'dose-too-high', note: 'Dose high for the appetite of the day; prescriber reviews the order.' },
  { cause: 'other', note: 'Nothing found; plan reviewed.' },
] as const

/** Plans what follows a low value: the treatment at once, then a recheck, and so on until the event is closed. */
export function planLow(living: Living, reading: Reading, nowMs: number): void {
  const { line, place, stayId, nursesAt, chance } = living
  const { policy } = factsOf(place, stayId, nowMs).policy
  if (criticalKind(reading.glucose, policy) !== null) {
    line.at(nowMs + chance.whole(6, 12) * MINUTE_MS, (ms) => {
      chart(place, factsOf(place, stayId, ms), { type: 'critical-told', body: { readingId: reading.readingId, told: PRESCRIBER, readBack: true, ordered: 'Continue the protocol; call again if the next value is below 70.' }, byId: nursesAt(ms)[0].staffId, nowMs: ms })
    })
  }
  line.at(nowMs + chance.whole(1, 4) * MINUTE_MS, (ms) => {
    treat(living, reading, ms)
    line.at(ms + (policy.low.recheckMin + chance.whole(0, 2)) * MINUTE_MS, (recheckMs) => { recheck(living, reading, recheckMs) })
  })
}

/** Asked first, then treated by the arm that the answers leave: carbohydrate by mouth or by tube, else dextrose by direction. */
function treat({ place, stayId, patient, nursesAt }: Living, reading: Reading, nowMs: number): void {
  const facts = factsOf(place, stayId, nowMs)
  const open = facts.lows.find((low) => low.closedAtMs === null)
  if (open === undefined) return
  const { lowId } = open
  const byId = nursesAt(nowMs)[0].staffId
  const { feeding, swallowsSafely, ivAccess } = patient.facts
  const tubeUsable = feeding === 'tube' ? true : null
  const safely = swallowsSafely && feeding === 'oral'
  chart(place, facts, { type: 'low-answered', body: { lowId, answers: { swallowing: safely ? 'safely' : 'not-safely', ivWorking: ivAccess, tubeUsable } }, byId, nowMs })
  const grams = lowLevel(reading.glucose, facts.policy.policy) === 2 ? 20 : 15
  const treatment = safely
    ? ({ arm: 'by-mouth', amount: { kind: 'grams', grams }, what: 'Fruit juice', directedBy: null } as const)
    : tubeUsable === true
      ? ({ arm: 'by-tube', amount: { kind: 'grams', grams: 15 }, what: 'Fruit juice by the feeding tube', directedBy: null } as const)
      : ({ arm: 'by-direction', amount: null, what: 'Dextrose into the vein as directed', directedBy: PRESCRIBER } as const)
  chart(place, facts, { type: 'low-treated', body: { lowId, ...treatment }, byId, nowMs })
}

function recheck(living: Living, before: Reading, nowMs: number): void {
  const { place, stayId, course, nursesAt, line } = living
  const facts = factsOf(place, stayId, nowMs)
  const { policy } = facts.policy
  const open = facts.lows.find((low) => low.closedAtMs === null)
  if (open === undefined) return
  const { phase, cycle } = lowProgress(open, facts.readings, policy)
  const glucose = phase === 'recovered' ? course.between(104, 148) : course.after(before.glucose)
  const measured = measure(place, { stayId, checkKey: `low.${open.lowId}.${String(cycle)}`, glucose, byId: nursesAt(nowMs)[0].staffId, extraReason: null }, nowMs)
  if (measured === null) return
  if (lowLevel(measured.reading.glucose, policy) !== null) {
    planLow(living, measured.reading, nowMs)
    return
  }
  const after = lowProgress(open, factsOf(place, stayId, nowMs).readings, policy)
  if (after.phase === 'followed-up') line.at(nowMs + 9 * MINUTE_MS, (ms) => { close(living, open.lowId, ms) })
  else line.at(nowMs + policy.low.followUpMin * MINUTE_MS, (ms) => { recheck(living, measured.reading, ms) })
}

function close({ place, stayId, chance, nursesAt }: Living, lowId: string, nowMs: number): void {
  const facts = factsOf(place, stayId, nowMs)
  if (!facts.lows.some((low) => low.lowId === lowId && low.closedAtMs === null)) return
  const found = CAUSES[chance.whole(0, CAUSES.length - 1)] ?? CAUSES[0]
  const byId = nursesAt(nowMs)[0].staffId
  chart(place, facts, { type: 'low-told', body: { lowId, told: PRESCRIBER, readBack: true, ordered: 'No change for now.' }, byId, nowMs })
  chart(place, facts, { type: 'low-event-closed', body: { lowId, ...found }, byId, nowMs })
}
