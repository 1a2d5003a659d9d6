/** A low in short: its first value, its story in lines, and the facts to compare its cause with. */
import { occasionGroupOf } from '../../shared/audit/by-hour.ts'
import { antecedentsIn, lastTrayAndInsulin } from '../../shared/audit/antecedents.ts'
import type { Antecedent } from '../../shared/audit/antecedent.ts'
import { lowLine } from '../../shared/low/line.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import type { AuditedLowView } from '../../views/audit/low-parts.ts'
import { formatMinutes, formatShortName, formatTime, formatWhen } from '../../views/format.ts'
import { OCCASION_SAID, stepsSummary, storyText } from '../../views/words/audit.ts'
import { happenedText, type HappenedContext } from '../../views/words/happened.ts'
import { LEVEL_THREE, LOW_CAUSE } from '../../views/words/low.ts'
import { EXTRA_REASON, READING_SOURCE } from '../../views/words/reading.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import type { LoadedLow } from './low-load.ts'
import { contextOf, listSpan } from './low-rows.ts'

/** "extra check", "check before breakfast", "laboratory sample" */
function takenFor(reading: Reading, { policy }: Pick<LoadedLow, 'policy'>): string {
  return reading.source === 'capillary'
    ? OCCASION_SAID[occasionGroupOf(reading, policy)]
    : READING_SOURCE[reading.source].toLowerCase()
}

/** "57 mg/dL at 03:10, extra check; symptoms: not charted" */
export function firstValueText({ audit, line, facts, visibility, policy }: LoadedLow): string {
  const first = line.find(({ fact }) => fact.kind === 'reading' && fact.part === 'first')?.fact
  const reading =
    first?.kind === 'reading' ? facts.readings.find(({ readingId }) => readingId === first.readingId) : undefined
  const found = audit.low.charted.findings.map(({ finding }) => LEVEL_THREE[finding].toLowerCase())
  const symptoms = [...(reading?.extraReason === 'symptoms' ? ['yes, not described'] : []), ...new Set(found)]
  const said = `symptoms: ${symptoms.length === 0 ? 'not charted' : symptoms.join(', ')}`
  if (reading === undefined) return `no value at ${formatTime(audit.startMs, policy.zone)} counts any more; ${said}`
  return `${visibility.valueOf(reading) ?? 'value awaiting second check'} at ${formatTime(reading.takenAtMs, policy.zone)}, ${takenFor(reading, { policy })}; ${said}`
}

/** Antecedents that the story includes: insulin and meals during the low. */
const TOLD_IN_STORY: ReadonlySet<Antecedent['fact']['kind']> = new Set([
  'dose',
  'outside-dose',
  'dose-not-given',
  'tray',
])

/** The story from the first value to the closing, and how many steps were kept. */
export function storyOf(ctx: RequestContext, loadedLow: LoadedLow): Pick<AuditedLowView, 'story' | 'summary'> {
  const { policy, audit, facts, visibility } = loadedLow
  const span = { ...listSpan(loadedLow, ctx.nowMs), fromMs: audit.startMs }
  const by = (staffId: string): string => formatShortName(nameOf(ctx, staffId))
  const told = lowLine(loadedLow.low, loadedLow.readings, policy).flatMap(({ atMs, byId, fact }) => {
    const reading =
      fact.kind === 'reading' ? facts.readings.find(({ readingId }) => readingId === fact.readingId) : undefined
    const taken =
      reading === undefined
        ? ''
        : reading.extraReason === null
          ? takenFor(reading, loadedLow)
          : `${takenFor(reading, loadedLow)} (${EXTRA_REASON[reading.extraReason].toLowerCase()})`
    const says = storyText(fact, reading === undefined ? null : visibility.valueOf(reading), taken, by(byId))
    return says === null ? [] : [{ atMs, says }]
  })
  const also = antecedentsIn(facts, span, policy).filter(({ fact }) => TOLD_IN_STORY.has(fact.kind))
  const context = contextOf(ctx, loadedLow, also)
  const fed = also.map((one) => ({ atMs: one.atMs, says: saidShort(one, context) }))
  const lines = [...told, ...fed].sort((a, b) => a.atMs - b.atMs)
  return {
    story: lines.map(({ atMs, says }) => ({ when: formatWhen(atMs, audit.startMs, policy.zone), says })),
    summary: stepsSummary(audit.steps),
  }
}

/** "Supper tray, 75 % eaten"; "Insulin given, 4 units of insulin lispro" */
function saidShort(one: Antecedent, context: HappenedContext): string {
  const { what, value } = happenedText(one, context)
  return value === '' ? what : `${what}, ${value}`
}

/** The chosen cause, beside the last meal and the last insulin on record. */
export function causeOf(
  ctx: RequestContext,
  loadedLow: LoadedLow,
): Pick<AuditedLowView, 'cause' | 'lastMeal' | 'lastInsulin'> {
  const {
    low,
    audit: { startMs },
    policy: { zone },
  } = loadedLow
  const { closing } = low.charted
  const { meal, insulin } = lastTrayAndInsulin(loadedLow.before)
  const context = contextOf(ctx, loadedLow, loadedLow.before)
  const ago = ({ atMs }: Antecedent): string =>
    `${formatWhen(atMs, startMs, zone)}, ${formatMinutes((startMs - atMs) / MINUTE_MS)} before`
  return {
    cause:
      closing === null
        ? 'none yet: the low is open'
        : `${LOW_CAUSE[closing.cause].toLowerCase()}${closing.note === '' ? '' : ` (${closing.note})`}`,
    lastMeal: meal === null ? 'none charted in the 24 h before' : `${saidShort(meal, context)}: ${ago(meal)}`,
    lastInsulin:
      insulin.length === 0
        ? 'none charted in the 24 h before'
        : insulin.map((one) => `${happenedText(one, context).value}: ${ago(one)}`).join('; '),
  }
}
