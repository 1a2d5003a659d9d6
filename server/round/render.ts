/**
 * The Round's lines as HTML, made once for a snapshot. A line whose reading somebody may not see is made for each kind
 * of person; who gets which is decided for each request.
 */
import type { PatientNow } from '../../shared/check/round-model.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { formatDay, formatTime, formatWhen, OCCASION_NAME } from '../../views/format.ts'
import { html, type Html } from '../../views/html.ts'
import { sideRow } from '../../views/round/page.ts'
import { alertList, knowList, roundRow } from '../../views/round/row.ts'
import { CHECK_STATE_MARK } from '../../views/words/check.ts'
import { ITEM_WAITS } from '../../views/words/round.ts'
import { alertsOf, itemPath } from '../bedside/alerts.ts'
import { type At } from '../bedside/at.ts'
import { knowOf, patientHeadOf } from '../bedside/banner.ts'
import type { RoundSnapshot } from '../bedside/ward-now.ts'
import { lineView, readingView, slotView } from './views.ts'

/**
 * What one patient's line is to each person: `shown` with the reading and everything that waits, `masked` to a possible
 * second checker, `maskedTaker` to one who took a critical result of the patient herself and knows that its call waits.
 */
export type ForEach<T> = {
  readonly bed: string
  readonly stayId: string
  /** What decides the masking: the newest reading, and every dose that hangs on it. */
  readonly reading: Reading | null
  readonly doses: readonly Dose[]
  readonly criticalTakers: ReadonlySet<string>
  readonly shown: T
  readonly masked: T
  readonly maskedTaker: T
}
/** A patient without a line: among those for whom something waits, or among the others. */
export type RenderedRest = { readonly waits: boolean; readonly row: Html }
export type RenderedSide = { readonly bed: string; readonly row: Html }

export type RenderedRound = {
  readonly heading: string
  readonly asOf: string
  readonly lines: readonly ForEach<Html>[]
  readonly missed: readonly RenderedSide[]
  readonly scheduled: readonly RenderedSide[]
  /** Patients without a line, in walking order. */
  readonly rest: readonly ForEach<RenderedRest>[]
  /** Of patients who have left: on no bed, so shown to everybody. */
  readonly leftBehind: readonly Html[]
}

type Seen = { readonly masked: boolean; readonly criticals: boolean }
const NOBODY: ReadonlySet<string> = new Set()

/** What was drawn of each snapshot. The board uses the same snapshot and draws its own parts. */
const kept = new WeakMap<RoundSnapshot, RenderedRound>()

/** The snapshot's lines, drawn when the Round is first requested. */
export function renderedRound(snapshot: RoundSnapshot): RenderedRound {
  const known = kept.get(snapshot)
  if (known !== undefined) return known
  const rendered = renderRound(snapshot)
  kept.set(snapshot, rendered)
  return rendered
}

/** Draws every line of the model. */
function renderRound({ facts, model, madeAtMs: nowMs, criticalTakers }: RoundSnapshot): RenderedRound {
  const at: At = { policy: facts.policy.policy, nowMs }
  const { zone } = at.policy
  const dosesOf = new Map<string, Dose[]>()
  for (const dose of facts.lastReadingDoses) dosesOf.set(dose.stayId, [...(dosesOf.get(dose.stayId) ?? []), dose])
  const patientOf = (stayId: string): PatientNow => {
    const patient = model.patients.get(stayId)
    if (patient === undefined) throw new Error('a line of the round without its patient')
    return patient
  }
  const forEach = <T>(patient: PatientNow, draw: (seen: Seen) => T): ForEach<T> => {
    const {
      stay: { bed, stayId },
      lastReading: reading,
    } = patient
    const takers = criticalTakers.get(stayId) ?? NOBODY
    const shown = draw({ masked: false, criticals: true })
    const masked = reading === null ? shown : draw({ masked: true, criticals: false })
    return {
      bed,
      stayId,
      reading,
      doses: dosesOf.get(stayId) ?? [],
      criticalTakers: takers,
      shown,
      masked,
      maskedTaker: takers.size === 0 ? masked : draw({ masked: true, criticals: true }),
    }
  }
  const alertsShown = new Set<string>()
  const lines = model.lines.map((line): ForEach<Html> => {
    const patient = patientOf(line.stayId)
    // what waits at a bed is said once, on its first line
    const isFirst = !alertsShown.has(line.stayId)
    alertsShown.add(line.stayId)
    const view = {
      patient: patientHeadOf(patient.stay),
      ...lineView(line, at),
      know: knowOf(patient, at, line.standing.kind === 'low'),
    }
    return forEach(patient, (seen) =>
      roundRow({
        ...view,
        alerts: isFirst ? alertsOf(patient, at, seen) : [],
        reading: readingView(
          patient.lastReading,
          { masked: seen.masked, doseWaits: (dosesOf.get(line.stayId) ?? []).some(({ voided }) => voided === null) },
          at,
        ),
      }),
    )
  })
  const side = (patient: PatientNow, view: Omit<Parameters<typeof sideRow>[0], 'patient'>): RenderedSide => ({
    bed: patient.stay.bed,
    row: sideRow({ patient: patientHeadOf(patient.stay), ...view }),
  })
  const without = [...model.patients.values()]
    .filter(({ stay }) => !alertsShown.has(stay.stayId))
    .sort((a, b) => a.bedIndex - b.bedIndex)
  return {
    heading: `${OCCASION_NAME[model.round.occasion]}, ${formatDay(model.round.startsMs, zone)}`,
    asOf: formatTime(nowMs, zone),
    lines,
    missed: model.missed.map(({ stayId, check }) =>
      side(patientOf(stayId), {
        what: `${OCCASION_NAME[check.occasion]}, due ${formatWhen(check.dueMs, nowMs, zone)}`,
        mark: CHECK_STATE_MARK.missed,
        extra: null,
        ways: [
          { path: `checks/${check.key}/excuse`, label: 'Give the reason' },
          { path: `checks/${check.key}`, label: 'Chart it late' },
        ],
      }),
    ),
    scheduled: model.scheduled.map((slot) => {
      const { what, mark, way } = slotView(slot, facts, at)
      const patient = patientOf(slot.stayId)
      return side(patient, { what, mark, extra: knowList(knowOf(patient, at)), ways: [way] })
    }),
    rest: without.map((patient) =>
      forEach(patient, (seen) => {
        const alerts = alertsOf(patient, at, seen)
        const waits = alerts.length > 0
        const know = knowList(knowOf(patient, at))
        const view = {
          what: 'No check to do now',
          mark: null,
          extra: waits ? html`${know}${alertList(alerts)}` : know,
          ways: waits ? [] : [{ path: `stays/${patient.stay.stayId}/extra`, label: 'Extra check' }],
        }
        return { waits, row: side(patient, view).row }
      }),
    ),
    leftBehind: model.leftBehind.flatMap((item) => {
      const text = ITEM_WAITS[item.kind]
      return text === null
        ? []
        : [
            html`<li class="row"><p>A patient who has left the ward: <a href="/${itemPath(item)}">${text}</a></p></li>
`,
          ]
    }),
  }
}
