/** The words of the shift audit: steps and verdicts, near misses, refusals. */
import type { AuditedStep } from '../../shared/audit/low-steps.ts'
import type { NoteRefusal } from '../../shared/audit/note.ts'
import type { GuardName } from '../../shared/dose/dose.ts'
import { GUARD_NAME } from './guards.ts'

type Details = Readonly<Record<string, string | number>>
type Words<R extends string> = Readonly<Record<R, (details: Details) => string>>

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
    case 'kept': return 'kept'
    case 'waiting': return 'not due yet'
    case 'late': return by === null ? 'late' : `late by ${by}`
    case 'missed': return by === null ? 'missed' : `missed, owed for ${by} past its time`
  }
}

export const LEVEL_WORD: Readonly<Record<1 | 2 | 3, VerdictMark & { readonly word: string }>> = {
  1: { word: 'level 1', shape: '◇', tone: 'due' },
  2: { word: 'level 2', shape: '◆', tone: 'urgent' },
  3: { word: 'level 3', shape: '■', tone: 'urgent' },
}

/** Where a wrong wristband was scanned. */
export const WRISTBAND_AT: Readonly<Record<string, string>> = { check: 'before a reading', product: 'while the product was read off', give: 'before giving insulin' }

/** Where a value of the other unit was typed. */
export const TYPED_AT: Readonly<Record<string, string>> = { check: 'at a check', 'paper-reading': 'for a reading from paper', correction: 'while correcting a reading' }

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
  return list.split(' ').filter((name) => name !== '').map((name) => known[name as GuardName] ?? name).join(', ')
}

export type PeriodRefusal = 'period-time-not-read' | 'period-turned-round' | 'period-too-long' | 'period-in-future'

export const PERIOD_SENTENCES: Words<PeriodRefusal> = {
  'period-time-not-read': () => 'Choose the date and time of both ends.',
  'period-turned-round': () => 'The end must lie after the beginning.',
  'period-too-long': (d) => `Ask about at most ${String(d['days'])} days at once.`,
  'period-in-future': () => 'This period has not begun yet.',
}

export const NOTE_SENTENCES: Words<NoteRefusal | 'low-gone'> = {
  'note-empty': () => 'Write a finding or a follow-up.',
  'low-gone': () => 'This low is not on a ward of yours any more.',
}
