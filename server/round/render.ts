/**
 * The Round's lines as HTML, made once for a snapshot. A line whose reading somebody may not see is made twice, shown
 * and masked; who gets which is decided for each request.
 */
import type { PatientNow, RoundModel } from '../../shared/check/round-model.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { formatDay, formatTime, formatWhen, OCCASION_NAME } from '../../views/format.ts'
import { html, type Html } from '../../views/html.ts'
import { sideRow } from '../../views/round/page.ts'
import { alertList, knowList, roundRow } from '../../views/round/row.ts'
import { CHECK_STATE_MARK } from '../../views/words/check.ts'
import { ITEM_WAITS } from '../../views/words/round.ts'
import type { WardFacts } from '../store/contract.ts'
import { alertsOf, itemPath, knowOf, lineView, patientHeadOf, readingView, slotView, type At } from './views.ts'

export type RenderedLine = {
  readonly bed: string
  readonly stayId: string
  /** What decides the masking: the reading shown, and every dose that hangs on it. */
  readonly reading: Reading | null
  readonly doses: readonly Dose[]
  readonly shown: Html
  readonly masked: Html
}
export type RenderedSide = { readonly bed: string; readonly row: Html }

export type RenderedRound = {
  readonly heading: string
  readonly asOf: string
  readonly lines: readonly RenderedLine[]
  readonly missed: readonly RenderedSide[]
  readonly scheduled: readonly RenderedSide[]
  readonly alsoWaiting: readonly RenderedSide[]
  readonly others: readonly RenderedSide[]
  /** Of patients who have left: on no bed, so shown to everybody. */
  readonly leftBehind: readonly Html[]
}

/** Draws every line of the model. */
export function renderRound(facts: WardFacts, model: RoundModel, nowMs: number): RenderedRound {
  const at: At = { policy: facts.policy.policy, nowMs }
  const { zone } = at.policy
  const dosesOf = new Map<string, Dose[]>()
  for (const dose of facts.lastReadingDoses) dosesOf.set(dose.stayId, [...(dosesOf.get(dose.stayId) ?? []), dose])
  const patientOf = (stayId: string): PatientNow => {
    const patient = model.patients.get(stayId)
    if (patient === undefined) throw new Error('a line of the round without its patient')
    return patient
  }
  const alertsShown = new Set<string>()
  const lines = model.lines.map((line): RenderedLine => {
    const patient = patientOf(line.stayId)
    // what waits at a bed is said once, on its first line
    const alerts = alertsShown.has(line.stayId) ? [] : alertsOf(patient, at)
    alertsShown.add(line.stayId)
    const view = { patient: patientHeadOf(patient.stay), ...lineView(line, at), know: knowOf(patient, at, line.standing.kind === 'low'), alerts }
    const draw = (masked: boolean): Html => roundRow({ ...view, reading: readingView(patient.lastReading, masked, at) })
    const shown = draw(false)
    return { bed: patient.stay.bed, stayId: line.stayId, reading: patient.lastReading, doses: dosesOf.get(line.stayId) ?? [], shown, masked: patient.lastReading === null ? shown : draw(true) }
  })
  const side = (patient: PatientNow, view: Omit<Parameters<typeof sideRow>[0], 'patient'>): RenderedSide => ({ bed: patient.stay.bed, row: sideRow({ patient: patientHeadOf(patient.stay), ...view }) })
  const without = [...model.patients.values()].filter(({ stay }) => !alertsShown.has(stay.stayId)).sort((a, b) => a.bedIndex - b.bedIndex)
  return {
    heading: `${OCCASION_NAME[model.round.occasion]}, ${formatDay(model.round.startsMs, zone)}`,
    asOf: formatTime(nowMs, zone),
    lines,
    missed: model.missed.map(({ stayId, check }) => side(patientOf(stayId), {
      what: `${OCCASION_NAME[check.occasion]}, due ${formatWhen(check.dueMs, nowMs, zone)}`,
      mark: CHECK_STATE_MARK.missed,
      extra: null,
      ways: [{ path: `checks/${check.key}/excuse`, label: 'Give the reason' }, { path: `checks/${check.key}`, label: 'Chart it late' }],
    })),
    scheduled: model.scheduled.map((slot) => {
      const { what, mark, way } = slotView(slot, facts, at)
      const patient = patientOf(slot.stayId)
      return side(patient, { what, mark, extra: knowList(knowOf(patient, at)), ways: [way] })
    }),
    alsoWaiting: without.filter((patient) => alertsOf(patient, at).length > 0).map((patient) => side(patient, { what: 'No check to do now', mark: null, extra: html`${knowList(knowOf(patient, at))}${alertList(alertsOf(patient, at))}`, ways: [] })),
    others: without.filter((patient) => alertsOf(patient, at).length === 0).map((patient) => side(patient, { what: 'No check to do now', mark: null, extra: knowList(knowOf(patient, at)), ways: [{ path: `stays/${patient.stay.stayId}/extra`, label: 'Extra check' }] })),
    leftBehind: model.leftBehind.flatMap((item) => {
      const text = ITEM_WAITS[item.kind]
      return text === null ? [] : [html`<li class="row"><p>A patient who has left the ward: <a href="/${itemPath(item)}">${text}</a></p></li>
`]
    }),
  }
}
