/**
 * Renders the Round's lines as HTML, once for a snapshot. The next snapshot of the same minute reuses the lines of
 * patients without changes. A line with a masked reading is rendered for each kind of viewer on first request. Each
 * request decides which one to use.
 */
import type { PatientNow, RoundLine } from '../../shared/check/round-model.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { checkName } from '../../views/words/check-name.ts'
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
 * One patient's line for each kind of viewer. `shown` has the reading and everything that waits. `masked` is for a
 * possible second checker. `maskedTaker` is for one who took a critical result of the patient and knows that its call
 * waits.
 */
export type ForEach<T> = {
  readonly bed: string
  readonly stayId: string
  /** What decides the masking: the newest reading and all its doses. */
  readonly reading: Reading | null
  readonly doses: readonly Dose[]
  readonly criticalTakers: ReadonlySet<string>
  readonly shown: T
  readonly masked: T
  readonly maskedTaker: T
}
/** A patient without a line: one with something waiting, or one of the others. */
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
  /** Items of patients who have left. They have no bed, so everybody sees them. */
  readonly leftBehind: readonly Html[]
  /** What the next rendering of the same minute may reuse. */
  readonly drawn: Reusable
}

/** Lines and rows, keyed by the model's object from which they were rendered. */
type Reusable = {
  readonly minute: number
  readonly lines: ReadonlyMap<RoundLine, DrawnLine>
  readonly rest: ReadonlyMap<PatientNow, ForEach<RenderedRest>>
  readonly missed: ReadonlyMap<object, RenderedSide>
}
type DrawnLine = { readonly isFirst: boolean; readonly row: ForEach<Html> }

type MaskState = { readonly masked: boolean; readonly criticals: boolean }
const NOBODY: ReadonlySet<string> = new Set()

/** The rendering of each snapshot. The board uses the same snapshot and renders its own parts. */
const kept = new WeakMap<RoundSnapshot, RenderedRound>()
/** The last rendering of a ward, keyed by its policy in force: each ward has its own object. */
const latest = new WeakMap<WardPolicy, RenderedRound>()

/** The snapshot's lines, rendered when the Round is first requested. */
export function renderedRound(snapshot: RoundSnapshot): RenderedRound {
  const known = kept.get(snapshot)
  if (known !== undefined) return known
  const { policy } = snapshot.facts.policy
  const rendered = renderRound(snapshot, latest.get(policy))
  kept.set(snapshot, rendered)
  latest.set(policy, rendered)
  return rendered
}

/**
 * Renders every line of the model. `earlier`: an earlier rendering of the ward. Its lines are reused if model and
 * minute are the same.
 */
export function renderRound(
  { facts, model, madeAtMs: nowMs, criticalTakers }: RoundSnapshot,
  earlier?: RenderedRound,
): RenderedRound {
  const minute = Math.floor(nowMs / MINUTE_MS)
  const before = earlier?.drawn.minute === minute ? earlier.drawn : undefined
  const at: At = { policy: facts.policy.policy, nowMs }
  const { zone } = at.policy
  const dosesOf = new Map<string, Dose[]>()
  for (const dose of facts.lastReadingDoses) dosesOf.set(dose.stayId, [...(dosesOf.get(dose.stayId) ?? []), dose])
  const patientOf = (stayId: string): PatientNow => {
    const patient = model.patients.get(stayId)
    if (patient === undefined) throw new Error('a line of the round without its patient')
    return patient
  }
  const forEach = <T>(patient: PatientNow, draw: (seen: MaskState) => T): ForEach<T> => {
    const {
      stay: { bed, stayId },
      lastReading: reading,
    } = patient
    const takers = criticalTakers.get(stayId) ?? NOBODY
    const shown = once(() => draw({ masked: false, criticals: true }))
    const masked = reading === null ? shown : once(() => draw({ masked: true, criticals: false }))
    const maskedTaker = takers.size === 0 ? masked : once(() => draw({ masked: true, criticals: true }))
    return {
      bed,
      stayId,
      reading,
      doses: dosesOf.get(stayId) ?? [],
      criticalTakers: takers,
      get shown() {
        return shown()
      },
      get masked() {
        return masked()
      },
      get maskedTaker() {
        return maskedTaker()
      },
    }
  }
  /**
   * An earlier line can be reused if the same people took the results that wait for a call. The model does not hold
   * them.
   */
  const servesAgain = <T>(known: ForEach<T> | undefined): known is ForEach<T> =>
    known !== undefined && isSameSet(known.criticalTakers, criticalTakers.get(known.stayId) ?? NOBODY)
  const alertsShown = new Set<string>()
  const lines = model.lines.map((line): DrawnLine => {
    const patient = patientOf(line.stayId)
    // a bed's alerts appear once, on its first line
    const isFirst = !alertsShown.has(line.stayId)
    alertsShown.add(line.stayId)
    const known = before?.lines.get(line)
    if (known?.isFirst === isFirst && servesAgain(known.row)) return known
    const view = {
      patient: patientHeadOf(patient.stay),
      ...lineView(line, at),
      know: knowOf(patient, at, line.standing.kind === 'low'),
    }
    const row = forEach(patient, (seen) =>
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
    return { isFirst, row }
  })
  const side = (patient: PatientNow, view: Omit<Parameters<typeof sideRow>[0], 'patient'>): RenderedSide => ({
    bed: patient.stay.bed,
    row: sideRow({ patient: patientHeadOf(patient.stay), ...view }),
  })
  const without = [...model.patients.values()]
    .filter(({ stay }) => !alertsShown.has(stay.stayId))
    .sort((a, b) => a.bedIndex - b.bedIndex)
  const missed = model.missed.map((one): RenderedSide => {
    const { stayId, check } = one
    return (
      before?.missed.get(one) ??
      side(patientOf(stayId), {
        what: `${checkName(check)}, due ${formatWhen(check.dueMs, nowMs, zone)}`,
        mark: CHECK_STATE_MARK.missed,
        extra: null,
        ways: [
          { path: `checks/${check.key}/excuse`, label: 'Give the reason' },
          { path: `checks/${check.key}`, label: 'Chart it late' },
        ],
      })
    )
  })
  const rest = without.map((patient) => {
    const known = before?.rest.get(patient)
    if (servesAgain(known)) return known
    return forEach(patient, (seen): RenderedRest => {
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
    })
  })
  return {
    heading: `${OCCASION_NAME[model.round.occasion]}, ${formatDay(model.round.startsMs, zone)}`,
    asOf: formatTime(nowMs, zone),
    lines: lines.map(({ row }) => row),
    missed,
    scheduled: model.scheduled.map((slot) => {
      const { what, mark, way } = slotView(slot, facts, at)
      const patient = patientOf(slot.stayId)
      return side(patient, { what, mark, extra: knowList(knowOf(patient, at)), ways: [way] })
    }),
    rest,
    leftBehind: model.leftBehind.flatMap((item) => {
      const text = ITEM_WAITS[item.kind]
      return text === null
        ? []
        : [
            html`<li class="row"><p>A patient who has left the ward: <a href="/${itemPath(item)}">${text}</a></p></li>
`,
          ]
    }),
    drawn: {
      minute,
      lines: paired(model.lines, lines),
      rest: paired(without, rest),
      missed: paired(model.missed, missed),
    },
  }
}

/** Calculates the value on first use, and only once. */
function once<T>(make: () => T): () => T {
  let made: { readonly value: T } | undefined
  return () => (made ??= { value: make() }).value
}

function isSameSet(one: ReadonlySet<string>, other: ReadonlySet<string>): boolean {
  return one.size === other.size && [...one].every((item) => other.has(item))
}

function paired<K, V>(keys: readonly K[], values: readonly V[]): ReadonlyMap<K, V> {
  return new Map(values.map((value, index) => [keys[index] as K, value]))
}
