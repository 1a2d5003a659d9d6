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
