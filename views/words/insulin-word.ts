/** The sentences about the prescriber's word on insulin. */
import type { WordRefusal } from '../../shared/care/insulin-words.ts'
import type { Sentences } from '../../shared/outcome.ts'

type FormRefusal =
  'word-until-not-read' | 'word-units-not-typed' | 'word-told-missing' | 'word-not-read-back' | 'word-nothing-waits'

export const WORD_SENTENCES: Sentences<WordRefusal | FormRefusal> = {
  'word-missing': ({ insulin }) => `Choose what the prescriber said about ${insulin ?? 'each insulin'}.`,
  'word-until-not-read': ({ insulin }) => `Type until when ${insulin} is held, as in 07:30, or leave it empty.`,
  'word-until-past': ({ insulin }) => `The hold of ${insulin} would have ended already.`,
  'word-units-not-typed': ({ insulin }) =>
    `Type the units of ${insulin} as the prescriber said them, as in 10 or 10.5.`,
  'word-units-not-deliverable': ({ insulin }) => `No pen or syringe can be set to these units of ${insulin}.`,
  'word-no-slot': ({ insulin }) => `No scheduled dose of ${insulin} is ahead. Chart a direction for it.`,
  'word-told-missing': () => 'Type who was asked.',
  'word-not-read-back': () => 'Read the answer back, then tick it.',
  'word-nothing-waits': () => 'No insulin is held any more, and nothing waits to be asked.',
}
