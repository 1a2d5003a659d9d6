/** The words of the ward board: what needs a person and why, each bed's state, why somebody's choice was not taken. */
import type { AssignRefusal } from '../../shared/board/assign.ts'
import type { BedState } from '../../shared/board/board.ts'
import type { AssignNeedRefusal } from '../../shared/board/hand.ts'
import { FOR_CHARGE_NURSE, type Need, type NeedKind } from '../../shared/board/needs.ts'
import type { Sentences } from '../../shared/outcome.ts'
import { TASK_WORDS } from './tasks.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

/** `mark` says what is wrong, `act` what the one tap does. Never a number: the board is also a second checker's. */
export const NEED: Readonly<Record<Exclude<NeedKind, 'task'>, { readonly mark: Mark; readonly act: string }>> = {
  'low-call-emergency': { mark: { shape: '◆', word: 'Low: emergency call not made', tone: 'urgent' }, act: 'Call' },
  'low-treat': { mark: { shape: '◆', word: 'Low, no treatment charted', tone: 'urgent' }, act: 'Treat' },
  'low-look-again': {
    mark: { shape: '◆', word: 'Low: its value does not count any more', tone: 'urgent' },
    act: 'Decide',
  },
  'low-escalate': {
    mark: { shape: '◆', word: 'Low not recovered: prescriber not called', tone: 'urgent' },
    act: 'Call',
  },
  'low-recheck': { mark: { shape: '▲', word: 'Low past its recheck', tone: 'urgent' }, act: 'Recheck' },
  'low-follow-up': { mark: { shape: '▲', word: 'Low past its follow-up recheck', tone: 'urgent' }, act: 'Recheck' },
  'low-lasting-food': {
    mark: { shape: '▲', word: 'Recovered low, no longer-acting carbohydrate', tone: 'urgent' },
    act: 'Give',
  },
  'low-tell-prescriber': { mark: { shape: '▲', word: 'Low, prescriber not told', tone: 'urgent' }, act: 'Tell' },
  'low-close': { mark: { shape: '◔', word: 'Low followed up, not closed', tone: 'due' }, act: 'Close' },
  'insulin-no-tray': { mark: { shape: '■', word: 'Insulin given, no tray charted', tone: 'urgent' }, act: 'Tray' },
  'dose-unaccounted': {
    mark: { shape: '■', word: 'Signed dose overtaken: given or not?', tone: 'urgent' },
    act: 'Chart',
  },
  'critical-untold': {
    mark: { shape: '■', word: 'Critical result, prescriber not told', tone: 'urgent' },
    act: 'Tell',
  },
  'second-check-differed': { mark: { shape: '≠', word: 'Second check differed', tone: 'urgent' }, act: 'Open' },
  'dose-not-given': { mark: { shape: '▲', word: 'Dose verified, tray out, not given', tone: 'urgent' }, act: 'Give' },
  'insulin-question': {
    mark: { shape: '▲', word: 'After a low: meal and long-acting insulin not asked', tone: 'urgent' },
    act: 'Ask',
  },
  'laboratory-value': { mark: { shape: '◐', word: 'Laboratory value waits to be charted', tone: 'due' }, act: 'Chart' },
  'dose-to-work-out': { mark: { shape: '◑', word: 'Reading taken, dose not worked out', tone: 'due' }, act: 'Open' },
  'check-late': { mark: { shape: '▲', word: 'Check late', tone: 'urgent' }, act: 'Check' },
  'second-check-waiting': { mark: { shape: '◐', word: 'Second check waiting', tone: 'due' }, act: 'Open' },
  'scheduled-late': { mark: { shape: '▲', word: 'Scheduled insulin late', tone: 'urgent' }, act: 'Work out' },
  'dose-lapsed': { mark: { shape: '◐', word: 'Dose lapsed: given or not?', tone: 'due' }, act: 'Chart' },
  'check-missed': { mark: { shape: '■', word: 'Check missed, no reason given', tone: 'due' }, act: 'Reason' },
  flag: { mark: { shape: '◐', word: 'Corrected or voided reading needs a decision', tone: 'due' }, act: 'Decide' },
  'left-behind': { mark: { shape: '◐', word: 'Left open by a patient who has gone', tone: 'due' }, act: 'Open' },
  'order-unverified': { mark: { shape: '◐', word: 'Insulin order not verified', tone: 'due' }, act: 'Verify' },
  'meter-not-controlled': { mark: { shape: '◐', word: 'Meter without today’s controls', tone: 'due' }, act: 'Control' },
  'beds-without-nurse': { mark: { shape: '■', word: 'No nurse in this shift', tone: 'urgent' }, act: 'Give out beds' },
}

/** What is wrong, with the count where several are one need. */
export function needMark({ kind, detail, task }: Pick<Need, 'kind' | 'detail' | 'task'>): Mark {
  if (kind === 'task') return taskMark(task, detail)
  const { mark } = NEED[kind]
  if (kind === 'dose-to-work-out' && detail === 'too-old')
    return { ...mark, word: 'Reading too old for a dose, none worked out', tone: 'urgent' }
  return kind === 'check-missed' && detail !== null && detail !== '1'
    ? { ...mark, word: `${detail} checks missed, no reason given` }
    : mark
}

function taskMark(task: Need['task'], detail: string | null): Mark {
  if (task === undefined) throw new Error('a need of kind task without its task')
  const { mark } = TASK_WORDS[task.kind]
  return detail === FOR_CHARGE_NURSE ? { ...mark, word: `${mark.word}; for the charge nurse`, tone: 'urgent' } : mark
}

export const BED_MARK: Readonly<Record<BedState, Mark>> = {
  empty: { shape: '·', word: 'Empty', tone: 'calm' },
  'low-untreated': { shape: '◆', word: 'Low: treat', tone: 'urgent' },
  'low-recheck-due': { shape: '▲', word: 'Recheck now', tone: 'urgent' },
  'low-recheck-running': { shape: '◔', word: 'Recheck', tone: 'due' },
  'insulin-no-tray': { shape: '■', word: 'No tray', tone: 'urgent' },
  'dose-to-work-out': { shape: '◑', word: 'Read, dose to work out', tone: 'due' },
  upcoming: { shape: '○', word: 'Upcoming', tone: 'calm' },
  open: { shape: '◐', word: 'Open', tone: 'due' },
  late: { shape: '▲', word: 'Late', tone: 'urgent' },
  missed: { shape: '■', word: 'Missed', tone: 'urgent' },
  done: { shape: '✓', word: 'Done', tone: 'done' },
  excused: { shape: '–', word: 'Excused', tone: 'done' },
  'no-check': { shape: '·', word: 'No check', tone: 'calm' },
}

export const PACE_ASSUMPTION =
  'Assumed: the checks still to do take as long, one after another in walking order, as this nurse’s finished ones did on average; a pause of more than 20 min is left out.'

export const ASSIGN_SENTENCES: Sentences<AssignRefusal> = {
  'bed-not-on-ward': ({ bed }) => `Bed ${bed} is not on this ward any more. Open the page again.`,
  'nurse-not-of-ward': ({ bed }) =>
    `Whoever is chosen for bed ${bed} is no nurse of this ward. Choose one of the list.`,
  'assigned-meanwhile': () =>
    'Not saved. Somebody took or gave out beds since you opened this page. Open it again: it shows who has them now.',
  'nothing-changed': () => 'Nothing is different from what is charted already.',
}

export const ASSIGN_NEED_SENTENCES: Sentences<AssignNeedRefusal> = {
  'need-gone': () => 'This does not wait any more: somebody saw to it, or it became something else. Look at the board.',
  'hand-to-nobody': () => 'Choose who sees to it.',
  'hand-not-of-ward': () => 'This is no nurse of the ward. Choose one of the list.',
  'hand-same': ({ name }) => `${name} has it already.`,
}
