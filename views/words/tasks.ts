/** The words of tasks and watch checks. Never a number of a reading or a dose: the board is also a second checker's. */
import type { TaskKind } from '../../shared/care/task.ts'
import type { TaskRefusal } from '../../shared/care/tasks.ts'
import type { WatchReason } from '../../shared/care/watch-time.ts'
import type { Sentences } from '../../shared/outcome.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

/** `mark`: on the board. `act`: what the one tap does. `says`: beside the patient. `about`: on the page that settles it; null where it has a page of its own. */
export const TASK_WORDS: Readonly<
  Record<TaskKind, { readonly mark: Mark; readonly act: string; readonly says: string; readonly about: string | null }>
> = {
  'no-dose-call': {
    mark: { shape: '■', word: 'Order says no dose, call: prescriber not told', tone: 'urgent' },
    act: 'Tell',
    says: 'The order says no dose, call the prescriber',
    about:
      'The order gives no dose for a value and says to call the prescriber. One call tells every value since the last.',
  },
  'infusion-ended': {
    mark: { shape: '◆', word: 'Insulin infusion ended, no basal insulin acts', tone: 'urgent' },
    act: 'Tell',
    says: 'Insulin infusion ended and no basal insulin acts: tell the prescriber now',
    about:
      'Intravenous insulin is gone in minutes. Glucose and ketones are measured at 1 h and 2 h. Basal insulin is given as the prescriber orders.',
  },
  'pump-off': {
    mark: { shape: '◆', word: 'Insulin pump off, no basal insulin acts', tone: 'urgent' },
    act: 'Tell',
    says: 'Own insulin pump off for an hour: tell the prescriber',
    about: 'Without the pump no basal insulin acts. Other insulin is ordered; measure ketones.',
  },
  'basal-not-given': {
    mark: { shape: '■', word: 'Basal insulin not given, patient depends on it', tone: 'urgent' },
    act: 'Tell',
    says: 'Basal insulin missed, withheld or refused: tell the prescriber',
    about:
      'This patient depends on insulin. Basal insulin was not given an hour after its time, or was withheld or refused. Glucose and ketones are measured every 4 h until it is.',
  },
  'basal-not-ordered': {
    mark: { shape: '■', word: 'No basal insulin ordered, patient depends on it', tone: 'urgent' },
    act: 'Tell',
    says: 'Depends on insulin and none for the basal need is ordered: tell the prescriber',
    about: 'This patient depends on insulin, and no verified order of basal insulin, infusion or pump is there.',
  },
  'ketones-emergency': {
    mark: { shape: '◆', word: 'Ketones: emergency call', tone: 'urgent' },
    act: 'Call',
    says: 'Ketones: emergency call, blood gas',
    about:
      'Ketones of 3.0 mmol/L or more, or large in urine: the emergency call now, and a blood gas. Due insulin is not delayed.',
  },
  'ketones-call': {
    mark: { shape: '▲', word: 'Ketones: prescriber not told', tone: 'urgent' },
    act: 'Tell',
    says: 'Ketones: tell the prescriber now',
    about:
      'Ketones are raised, or no strip was there to measure them. Extra insulin is given by a direction only; due insulin is not delayed.',
  },
  'carbohydrate-now': {
    mark: { shape: '▲', word: 'Insulin given, too little eaten: carbohydrate', tone: 'urgent' },
    act: 'Give',
    says: 'Insulin given and too little eaten: carbohydrate now',
    about: 'Give carbohydrate now, as the ward’s policy says, and chart what was given. Checks follow by themselves.',
  },
  'ate-too-little-call': {
    mark: { shape: '■', word: 'Insulin given, too little eaten: prescriber not told', tone: 'urgent' },
    act: 'Tell',
    says: 'Insulin given and too little eaten: tell the prescriber',
    about: 'Mealtime insulin was given and under a quarter of the meal was eaten, or no tray came.',
  },
  'feed-stopped-call': {
    mark: { shape: '■', word: 'Feed stopped with insulin acting: prescriber not told', tone: 'urgent' },
    act: 'Tell',
    says: 'Feed stopped with insulin acting: tell the prescriber',
    about:
      'The feed is stopped for more than half an hour while insulin acts. Hourly checks follow until it runs. Basal insulin goes on.',
  },
  'ketones-due': {
    mark: { shape: '▲', word: 'Ketones to measure', tone: 'urgent' },
    act: 'Ketones',
    says: 'Measure ketones',
    about: null,
  },
  'ketones-again': {
    mark: { shape: '▲', word: 'Ketones to measure again', tone: 'urgent' },
    act: 'Ketones',
    says: 'Measure ketones again',
    about: null,
  },
  'share-to-chart': {
    mark: { shape: '◐', word: 'Mealtime insulin given: what was eaten?', tone: 'due' },
    act: 'Chart',
    says: 'Mealtime insulin given: chart what was eaten',
    about: null,
  },
  'insulin-held': {
    mark: { shape: '■', word: 'Insulin held by the prescriber', tone: 'due' },
    act: 'Ask again',
    says: 'Held by the prescriber',
    about: null,
  },
  'insulin-question-left': {
    mark: { shape: '▲', word: 'After a low: prescriber not asked about insulin', tone: 'urgent' },
    act: 'Ask',
    says: 'After a low: the prescriber was not asked about',
    about: null,
  },
  'elsewhere-unknown': {
    mark: { shape: '■', word: 'Insulin given elsewhere? Nobody knows, prescriber not told', tone: 'urgent' },
    act: 'Tell',
    says: 'Nobody can find out whether insulin was given elsewhere',
    about:
      'The dose waits until the prescriber has decided. Say what is not known, and what is due: basal insulin must not be left out in a patient who depends on it.',
  },
  'dose-taken-back': {
    mark: { shape: '■', word: 'Insulin charted in error: prescriber not told', tone: 'urgent' },
    act: 'Tell',
    says: 'Insulin was charted in error: tell the prescriber',
    about:
      'A dose charted as given was taken back. Take the glucose now. Tell the prescriber what was injected, in whom, and when, and ask what becomes of the doses that are due.',
  },
  'bedtime-snack': {
    mark: { shape: '◐', word: 'Bedtime value near low with basal insulin due: snack', tone: 'due' },
    act: 'Snack',
    says: 'Bedtime value near low, basal insulin due: give a snack',
    about:
      'A value near low before the night, with basal insulin ordered: a snack now and a check in the night. Basal insulin is not stopped by it. Chart what was eaten, or why not.',
  },
}

/** The name of a watch check, in place of the occasion's. */
export const WATCH_NAME: Readonly<Record<WatchReason, string>> = {
  'call-repeat': 'Repeat that the order prints',
  'ate-too-little': 'Check after too little food',
  'feed-stopped': 'Hourly check, feed stopped',
  infusion: 'Hourly check, insulin infusion',
  'infusion-ended': 'Glucose and ketones after the infusion',
  pump: 'Check, own insulin pump',
  potassium: 'Hourly check after insulin for potassium',
  'reading-corrected': 'Check: the value was corrected after insulin',
  'dose-taken-back': 'Check after insulin charted in error',
  'bedtime-below': 'Night check after a bedtime value near low',
}

export const TASK_SENTENCES: Sentences<TaskRefusal> = {
  'task-gone': () =>
    'This does not wait any more: somebody charted it, or something else ended it. Open the patient’s page.',
  'task-told-missing': () => 'Enter who was told.',
  'task-not-read-back': () => 'Read it back to the prescriber, then tick it.',
  'task-ordered-missing': () => 'Enter what the prescriber said; “nothing new” when there is no order.',
  'task-note-missing': () => 'Say what was done about it.',
}
