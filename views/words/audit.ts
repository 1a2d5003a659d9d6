/** The words of the shift audit: steps and verdicts, near misses, refusals. */
import type { OccasionGroup } from '../../shared/audit/by-hour.ts'
import type { AuditedStep } from '../../shared/audit/low-steps.ts'
import type { NoteRefusal } from '../../shared/audit/note.ts'
import type { GuardName } from '../../shared/dose/dose.ts'
import type { LineFact } from '../../shared/low/line.ts'
import { GUARD_NAME } from './guards.ts'
import { amountText, ARM, INSULIN_DECISION, LEVEL_THREE, READING_PART } from './low.ts'
import type { Sentences } from '../../shared/outcome.ts'

const STEP: Readonly<Record<AuditedStep['kind'], string>> = {
  treat: 'Treat',
  recheck: 'Recheck after treatment',
  'emergency-call': 'Emergency call',
  escalate: 'Escalate to the prescriber',
  'tell-prescriber': 'Tell the prescriber',
  'lasting-food': 'Longer-acting carbohydrate',
  'follow-up': 'Follow-up recheck',
  close: 'Close the event',
}

/** "Treat", "Treat, 2nd time", with its number where there are several. */
export function auditedStepName({ kind, number }: Pick<AuditedStep, 'kind' | 'number'>): string {
  return number === 1 ? STEP[kind] : `${STEP[kind]} (${String(number)})`
}

/** What each step's clock runs from. A treatment after the first is owed since the value that asked for it. */
const CLOCK_FROM: Readonly<Record<AuditedStep['kind'], string>> = {
  treat: 'after the first value',
  recheck: 'after treatment',
  'emergency-call': 'after the finding',
  escalate: 'after escalation was asked for',
  'tell-prescriber': 'after the first value',
  'lasting-food': 'after recovery',
  'follow-up': 'after recovery',
  close: 'after the last step before it',
}

/** "16 min after treatment (limit 15 min)": how long the step took by the clock that its verdict was reached by. */
export function stepClock({ kind, number }: Pick<AuditedStep, 'kind' | 'number'>, took: string, limit: string): string {
  const from = kind === 'treat' && number > 1 ? 'after the value that asked for it' : CLOCK_FROM[kind]
  return `${took} ${from} (limit ${limit})`
}

/** "All 6 steps kept.", "1 of 6 steps late, 1 missed.", with what is still to come. */
export function stepsSummary(steps: readonly Pick<AuditedStep, 'verdict'>[]): string {
  const count = (verdict: AuditedStep['verdict']): number => steps.filter((step) => step.verdict === verdict).length
  const [late, missed, waiting] = [count('late'), count('missed'), count('waiting')]
  const judged = steps.length - waiting
  const toCome = waiting === 0 ? '' : ` ${String(waiting)} not due yet.`
  if (judged === 0) return toCome.trim()
  if (late + missed === 0) return `${judged === 1 ? 'The one step' : `All ${String(judged)} steps`} kept.${toCome}`
  const faults = [
    ...(late === 0 ? [] : [`${String(late)} of ${String(judged)} steps late`]),
    ...(missed === 0
      ? []
      : [late === 0 ? `${String(missed)} of ${String(judged)} steps missed` : `${String(missed)} missed`]),
  ]
  return `${faults.join(', ')}.${toCome}`
}

/** "1st", "2nd", "3rd", "11th" */
export function ordinal(n: number): string {
  const tens = n % 100
  const end = tens >= 11 && tens <= 13 ? 'th' : (['th', 'st', 'nd', 'rd'][n % 10] ?? 'th')
  return `${String(n)}${end}`
}

/** What a value was taken for, in a sentence. */
export const OCCASION_SAID: Readonly<Record<OccasionGroup, string>> = {
  'before-breakfast': 'check before breakfast',
  'before-lunch': 'check before lunch',
  'before-supper': 'check before supper',
  bedtime: 'bedtime check',
  overnight: 'overnight check',
  recheck: 'recheck',
  extra: 'extra check',
}

/**
 * What is told of a low in short: one line for each value, treatment, call and finding, and the closing. What was looked
 * at is told only where it kept the patient from swallowing. `value`: null, may not be seen yet; `taken`: what it was
 * taken for; `by`: "M. Olsen". Null: it stands in the whole list only.
 */
export function storyText(fact: LineFact, value: string | null, taken: string, by: string): string | null {
  switch (fact.kind) {
    case 'reading': {
      if (value === null) return `${taken}, value awaiting second check`
      return fact.part === 'first' ? `${value}, ${taken}` : `${value}, ${taken}: ${READING_PART[fact.part]}`
    }
    case 'answers':
      return fact.answers.swallowing === 'safely' ? null : `Cannot swallow safely, seen by ${by}`
    case 'finding':
      return `Level 3 found: ${LEVEL_THREE[fact.finding].toLowerCase()}`
    case 'emergency-call':
      return `Emergency call, ${by}`
    case 'treatment':
      return `Treated: ${[fact.amount === null ? '' : amountText(fact.amount), fact.what === '' ? ARM[fact.arm].toLowerCase() : fact.what.toLowerCase()].filter((part) => part !== '').join(' ')}, ${by}`
    case 'food':
      return `${fact.what}, ${String(fact.grams)} g, ${by}`
    case 'told':
      return `${fact.told} told${fact.ordered === '' ? '' : `: ${fact.ordered}`}`
    case 'insulin-answer':
      return `Insulin: ${INSULIN_DECISION[fact.decision].toLowerCase()} (${fact.told})`
    case 'closed':
      return `Closed, ${by}`
  }
}

export type VerdictMark = { readonly shape: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }
export const VERDICT_MARK: Readonly<Record<AuditedStep['verdict'], VerdictMark>> = {
  kept: { shape: '✓', tone: 'done' },
  late: { shape: '◷', tone: 'due' },
  missed: { shape: '✕', tone: 'urgent' },
  waiting: { shape: '○', tone: 'calm' },
}

/** `by`: "12 min". A step that could no longer be done, and was over before its time, was missed by nothing. */
export function verdictText(verdict: AuditedStep['verdict'], by: string | null): string {
  switch (verdict) {
    case 'kept':
      return 'kept'
    case 'waiting':
      return 'not due yet'
    case 'late':
      return by === null ? 'late' : `late by ${by}`
    case 'missed':
      return by === null ? 'missed' : `missed, owed for ${by} past its time`
  }
}

export const LEVEL_WORD: Readonly<Record<1 | 2 | 3, VerdictMark & { readonly word: string }>> = {
  1: { word: 'level 1', shape: '◇', tone: 'due' },
  2: { word: 'level 2', shape: '◆', tone: 'urgent' },
  3: { word: 'level 3', shape: '■', tone: 'urgent' },
}

/** "no low", "1 low", "3 lows" */
export function lowsText(count: number): string {
  return count === 0 ? 'no low' : count === 1 ? '1 low' : `${String(count)} lows`
}

export function missesText(count: number): string {
  return count === 1 ? '1 near miss' : `${String(count)} near misses`
}

/** Where a wrong wristband was scanned. */
export const WRISTBAND_AT: Readonly<Record<string, string>> = {
  check: 'before a reading',
  product: 'while the product was read off',
  give: 'before giving insulin',
}

/** Where a value of the other unit was typed. */
export const TYPED_AT: Readonly<Record<string, string>> = {
  check: 'at a check',
  'paper-reading': 'for a reading from paper',
  correction: 'while correcting a reading',
}

export const NEAR_MISS_WORD = {
  wristband: 'Wrong wristband stopped',
  'second-check-differed': 'Second check differed',
  'wrong-unit': 'Wrong unit refused',
  'guard-stopped': 'A guard stopped a dose',
  'verification-differed': 'Order verification differed',
} as const

/** The names of guards out of a blank-separated list; a name that is not known any more stands as it is. */
export function guardNames(list: string): string {
  const known = GUARD_NAME as Readonly<Record<string, string>>
  return list
    .split(' ')
    .filter((name) => name !== '')
    .map((name) => known[name as GuardName] ?? name)
    .join(', ')
}

export type PeriodRefusal = 'period-time-not-read' | 'period-turned-round' | 'period-too-long' | 'period-in-future'

/** The field that a refused period stands beside. */
type PeriodField = { field: 'from' | 'to' }

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'period-time-not-read': PeriodField
    'period-in-future': PeriodField
  }
}

export const PERIOD_SENTENCES: Sentences<PeriodRefusal> = {
  'period-time-not-read': () => 'Choose the date and time of both ends.',
  'period-turned-round': () => 'The end must lie after the beginning.',
  'period-too-long': (d) => `Ask about at most ${d.days} days at once.`,
  'period-in-future': () => 'This period has not begun yet.',
}

export const NOTE_SENTENCES: Sentences<NoteRefusal | 'low-gone'> = {
  'note-empty': () => 'Write a finding or a follow-up.',
  'low-gone': () => 'This low is not on a ward of yours any more.',
}
