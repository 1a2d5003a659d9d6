/** Sentences of the plumbing: signing in, forms sent twice, pages that are not there. */
import type { DetailsOf, Sentences } from '../../shared/outcome.ts'

/**
 * Why a badge and PIN were not taken: one sentence for an unknown badge and a wrong PIN, and for a locked badge too
 * until its own PIN was right.
 */
export const IDENTIFY_SENTENCES = {
  'identify-locked': () => 'This badge is locked. Ask the charge nurse, who can see why.',
  'identify-wrong': () => 'Badge and PIN do not match. Check both and type the PIN again.',
  'identify-too-many': ({ minutes }: DetailsOf<'identify-too-many'>) =>
    `Too many attempts. Wait ${minutes} ${minutes === 1 ? 'minute' : 'minutes'}, then try again, or let a colleague sign in.`,
} as const

/** Why a badge and PIN were not taken. */
export type IdentifyRefusal = keyof typeof IDENTIFY_SENTENCES

/** What can be wrong with a form before its own rules are asked. */
export const FORM_SENTENCES = {
  faulty: 'Not saved. Put right what is marked, then send again.',
  'unknown-field': 'Not saved. The form held something that does not belong to it. Open the page again.',
  'sent-twice': 'This was sent twice in one form. Give it once.',
  'not-text': 'This is not text.',
  'odd-characters': 'This holds characters that cannot be charted. Type it again.',
  missing: 'Fill this in.',
  'not-valid': 'This is not valid.',
  'too-long': 'This is too long.',
  'not-a-choice': 'Choose one of these.',
  'key-not-yours':
    'Not saved. This form was opened by somebody else or is out of date. What you typed is still here: check it and send it again.',
  'key-used':
    'Not saved again. This form was already sent with other contents. Check what is charted before you send it again.',
  'file-made': 'This file was made already, and making it is recorded. Send the form again to make it once more.',
  'charted-meanwhile': 'Not saved. Somebody charted this in the meantime. What is charted now is shown here.',
} as const

/** Why the store took nothing: full, read-only, its file damaged, its disk failing, or held by another process. */
export type StoreFailure = 'full' | 'read-only' | 'damaged' | 'failing' | 'busy'

const ON_PAPER =
  'Write it on paper and tell the charge nurse. What you typed is still here: send it again when the service can save, and it is charted once.'

/** Above a form that came back because nothing could be saved. */
export const STORE_SENTENCES: Readonly<Record<StoreFailure, string>> = {
  full: `Not saved. The service’s disk is full. ${ON_PAPER}`,
  'read-only': `Not saved. The service’s disk can be read but not written. ${ON_PAPER}`,
  failing: `Not saved. The service’s disk does not work as it should. ${ON_PAPER}`,
  damaged:
    'Not saved. The service’s database is damaged. Write it on paper, tell the charge nurse, and chart on paper until you are told that the service is well.',
  busy: 'Not saved. The database is busy. Send it again in a moment: it will be charted once.',
}

/** Added where a form has fields that are never sent back. */
export const SECRET_AGAIN = 'A PIN has to be typed again.'

/** At the door, when a login cannot be stored. */
export const NOT_SIGNED_IN_SENTENCES: Readonly<Record<StoreFailure, string>> = {
  full: 'Not signed in. The service’s disk is full, so nobody can sign in. Whoever is signed in can go on reading. Chart on paper and tell the charge nurse.',
  'read-only':
    'Not signed in. The service’s disk can be read but not written, so nobody can sign in. Whoever is signed in can go on reading. Chart on paper and tell the charge nurse.',
  failing: 'Not signed in. The service’s disk does not work as it should. Chart on paper and tell the charge nurse.',
  damaged: 'Not signed in. The service’s database is damaged. Chart on paper and tell the charge nurse.',
  busy: 'Not signed in. The database is busy. Try again in a moment.',
}

/** Above a form that was kept while somebody signed in again. */
export const KEPT_SENTENCE =
  'Not saved yet. You were signed out before it was sent. What you typed is here again: check it and send it. A PIN has to be typed again.'

/** Pages that say why there is no page. */
export const PAGE_SENTENCES = {
  'not-found': { title: 'Not found', text: 'There is no such page, or it is not on a ward of yours.' },
  forbidden: { title: 'Not for your role', text: 'Your role may not open this page.' },
  'other-site': { title: 'Not accepted', text: 'This was not sent from a page of this service. Nothing was saved.' },
  'too-large': { title: 'Too long', text: 'What was sent is too long. Nothing was saved.' },
  'not-a-form': { title: 'Not accepted', text: 'Only forms are taken here. Nothing was saved.' },
  'bad-request': { title: 'Not accepted', text: 'What was sent could not be read. Nothing was saved.' },
  fault: {
    title: 'Something went wrong',
    text: 'The service had a fault. Nothing was saved. Try again; if it stays so, chart on paper and tell whoever looks after the service.',
  },
  busy: {
    title: 'Busy',
    text: 'The database is busy. Nothing was saved. Send it again in a moment: it will be charted once.',
  },
  full: {
    title: 'Not saved',
    text: 'The service’s disk is full. Nothing was saved. Go back to what you typed, write it on paper and tell the charge nurse.',
  },
  'read-only': {
    title: 'Not saved',
    text: 'The service’s disk can be read but not written. Nothing was saved. Go back to what you typed, write it on paper and tell the charge nurse.',
  },
  failing: {
    title: 'The disk does not work',
    text: 'The service’s disk does not work as it should. Nothing was saved. Chart on paper and tell the charge nurse.',
  },
  damaged: {
    title: 'The database is damaged',
    text: 'The service’s database is damaged. Nothing was saved. Chart on paper until you are told that the service is well, and tell the charge nurse.',
  },
} as const

export type PageSentence = keyof typeof PAGE_SENTENCES

export type WardChoiceRefusal = 'ward-not-yours' | 'ticked-bed-not-on-ward' | 'meter-not-on-ward'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'identify-too-many': { minutes: number }
    'ticked-bed-not-on-ward': { ward: string }
    'meter-not-on-ward': { ward: string }
  }
}
export const WARD_CHOICE_SENTENCES: Sentences<WardChoiceRefusal> = {
  'ward-not-yours': () => 'This ward is not one of yours. Choose one of these.',
  'ticked-bed-not-on-ward': ({ ward }) => `A ticked bed is not on ${ward}. Tick beds of the ward you chose only.`,
  'meter-not-on-ward': ({ ward }) => `This meter is not one of ${ward}'s. Choose one of the list.`,
}

export const SET_UP_SENTENCES = {
  'wrong-code': 'This is not the code that the console shows.',
} as const
