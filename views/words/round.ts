/** The words of the Round: what stands beside a patient's bed, and what is asked for there. */
import type { SlotState } from '../../shared/check/scheduled.ts'
import type { DoseState } from '../../shared/dose/dose.ts'
import type { RoundItem } from '../../shared/check/round-model.ts'
import type { LowStep } from '../../shared/low/event.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

/** A low event on the round: not treated, its recheck due, or its recheck's clock running. */
export const LOW_MARK: Readonly<Record<'untreated' | 'recheck-due' | 'recheck-running', Mark>> = {
  untreated: { shape: '◆', word: 'Low, no treatment charted', tone: 'urgent' },
  'recheck-due': { shape: '▲', word: 'Recheck now', tone: 'urgent' },
  'recheck-running': { shape: '◔', word: 'Recheck to come', tone: 'due' },
}

export const NO_TRAY_MARK: Mark = { shape: '■', word: 'Insulin given, no tray charted', tone: 'urgent' }

/** A check that is read and whose dose nobody has worked out. It says nothing of the value: second checks are blind. */
export const DOSE_TO_WORK_OUT_MARK: Mark = { shape: '◑', word: 'Read, dose to work out', tone: 'due' }
export const DOSE_TO_WORK_OUT = {
  fresh: 'Dose not worked out yet',
  'too-old': 'Reading too old for a dose, none worked out: measure again',
} as const

/** What stands in place of a reading that may not be seen yet; `dose`: whether one waits for its second check. */
export function hiddenText(dose: 'waits' | 'none'): string {
  return dose === 'waits' ? 'awaiting second check' : 'hidden: a dose may follow, none worked out yet'
}

/** The same on a bed's tile, whose state says that the dose is to be worked out. */
export const VALUE_HIDDEN = 'value hidden'

/** "due 06:00, late since 06:30": the same two facts wherever a check is late. */
export function lateText(due: string, since: string): string {
  return `due ${due}, late since ${since}`
}

export const SLOT_MARK: Readonly<Record<SlotState, Mark>> = {
  due: { shape: '◐', word: 'Due', tone: 'due' },
  late: { shape: '▲', word: 'Late', tone: 'urgent' },
  settled: { shape: '✓', word: 'Done', tone: 'done' },
}

/** What a dose that is not settled asks for; null where nothing waits. Never a number: the second check is blind. */
export const DOSE_WAITS: Readonly<Record<DoseState, string | null>> = {
  'awaiting-second-check': 'Second check waiting',
  differed: 'Second check differed: start again from the meter and the order',
  agreed: 'Dose agreed: draw up, then the product is read off',
  'to-draw-up': 'Dose without a second check: draw up, then the product is read off',
  verified: 'Dose verified: give it now',
  lapsed: 'Dose lapsed: chart whether it was given',
  zero: null,
  given: null,
  withheld: null,
  refused: null,
  'taken-back': null,
  void: null,
}

/** What a low event asks for beside its recheck, which is the line of the round itself. */
export const LOW_WAITS: Readonly<Record<Exclude<LowStep['kind'], 'recheck' | 'follow-up'>, string>> = {
  'call-emergency': 'Low: emergency call now',
  'look-again': 'Low: the first value does not count any more, decide what becomes of it',
  treat: 'Low: treat now',
  escalate: 'Low not recovered: call the prescriber now',
  'lasting-food': 'Recovered low: longer-acting carbohydrate',
  'tell-prescriber': 'Low: tell the prescriber',
  close: 'Low followed up: close the event',
}
/** Nothing but the recheck is owed. */
export const LOW_GOES_ON = 'Low: what to do next'

/** "HI: chart the laboratory’s value" */
export function laboratoryWaits(which: 'LO' | 'HI'): string {
  return `${which}: chart the laboratory’s value`
}

/** A dose that was signed, then void, and never accounted for. Never a number: it is worked out anew by two nurses. */
export const UNACCOUNTED_WAITS =
  'A signed dose was overtaken: chart whether it was given. Until then no other is worked out'

/** What an open item asks for; null where a line of the round or the dose itself already says it. */
export const ITEM_WAITS = {
  low: null,
  critical: 'Critical result: the prescriber is not told yet',
  'second-check': null,
  'insulin-question': 'Ask the prescriber about meal and long-acting insulin',
  flag: 'A corrected or voided reading needs a decision',
  'insulin-no-tray': null,
  handover: 'Left with something open: hand it over to a named person',
} as const satisfies Readonly<Record<RoundItem['kind'], string | null>>
