/** What each page that shows patients is called in the access report, by its route's pattern; and the report's own sentences. */
import { formatDate } from '../format.ts'
import type { Sentences } from '../../shared/outcome.ts'

/** Pages about one patient, or about several who are each noted by name. */
export const PATIENT_PAGES: Readonly<Record<string, string>> = {
  '/scan': 'Patient found by wristband',
  '/second-checks': 'List of second checks waiting',
  '/handover': 'Handover sheet',
  '/print/handover': 'Handover sheet on paper',
  '/print/round': 'Round sheet on paper',
  '/checks/:key': 'Check',
  '/checks/:key/excuse': 'Check not done, with its reason',
  '/checks/:key/patient': 'Wristband step of a check',
  '/stays/:stayId/extra': 'Extra check',
  '/stays/:stayId': 'Patient’s page',
  '/stays/:stayId/paper-reading': 'Reading from paper',
  '/setup/beds/:bed/admit': 'Admission',
  '/setup/discharged/:stayId/readmit': 'Readmission',
  '/stays/:stayId/facts': 'Bedside facts',
  '/stays/:stayId/identity': 'Name and wristband',
  '/stays/:stayId/move': 'Move to another bed or ward',
  '/stays/:stayId/discharge': 'Discharge',
  '/stays/:stayId/feed': 'Tube feed or parenteral nutrition',
  '/stays/:stayId/tasks/:taskKey': 'Task about the patient',
  '/stays/:stayId/handed-over': 'Handing over what was left open',
  '/stays/:stayId/came-back': 'Return to the ward',
  '/stays/:stayId/insulin-word': 'Prescriber’s word about insulin',
  '/stays/:stayId/ketones': 'Ketones',
  '/stays/:stayId/other-insulin': 'Infusion, pump or insulin for potassium',
  '/stays/:stayId/plan': 'Check plan',
  '/stays/:stayId/plan/:version/end': 'End of a check plan',
  '/stays/:stayId/history': 'History of the stay',
  '/readings/:id': 'Reading',
  '/readings/:id/correct': 'Correction of a reading',
  '/readings/:id/void': 'Reading entered in error',
  '/readings/:id/critical-call': 'Call about a critical result',
  '/flags/:itemId': 'Matter left open by a correction',
  '/readings/:id/dose': 'Questions before a dose',
  '/readings/:id/direction': 'Prescriber’s direction',
  '/stays/:stayId/scheduled/:slot': 'Scheduled dose',
  '/doses/:id': 'Dose',
  '/doses/:id/second-check': 'Second check of a dose',
  '/doses/:id/start-again': 'Dose started again',
  '/doses/:id/product': 'Product of a dose',
  '/doses/:id/give': 'Giving a dose',
  '/doses/:id/not-given': 'Dose not given',
  '/doses/:id/take-back': 'Dose charted in error',
  '/stays/:stayId/orders/new': 'Entry of an order',
  '/orders/:orderId/revise': 'New version of an order',
  '/stays/:stayId/orders': 'Patient’s orders',
  '/orders/:orderId/:version': 'Order',
  '/print/orders/:orderId/:version': 'Order on paper',
  '/orders/:orderId/:version/verify': 'Verification of an order',
  '/orders/:orderId/stop': 'Stop of an order',
  '/stays/:stayId/orders/standard': 'Order from a standard order',
  '/stays/:stayId/tray': 'Meal tray',
  '/stays/:stayId/outside-dose': 'Insulin given elsewhere',
  '/lows/:lowId': 'Low event',
  '/lows/:lowId/now': 'Low event, refreshed',
  '/lows/:lowId/answers': 'Bedside questions of a low',
  '/lows/:lowId/treatments': 'Treatment of a low',
  '/lows/:lowId/findings': 'Finding in a low',
  '/lows/:lowId/emergency-calls': 'Emergency call in a low',
  '/lows/:lowId/prescriber-calls': 'Prescriber call in a low',
  '/lows/:lowId/food': 'Food after a low',
  '/lows/:lowId/insulin-question': 'Insulin after a low',
  '/lows/:lowId/close': 'Closing of a low',
  '/stays/:stayId/lab-value': 'Laboratory value',
  '/stays/:stayId/symptoms': 'Symptoms treated',
  '/audit/shift': 'Audit of a period',
  '/print/audit/shift': 'Audit of a period on paper',
  '/audit/lows/:lowId': 'Audit of a low',
  '/audit/lows/:lowId/notes': 'Note to an audited low',
  '/audit/measures': 'Harm measures',
  '/audit/export': 'Export file that names patients',
  '/recall': 'Results from a meter or lot',
}

/** Pages on which every patient of a ward stands: noted once for a person, ward and minute. */
export const WARD_PAGES: Readonly<Record<string, string>> = {
  '/round': 'Round',
  '/round/list': 'Round, refreshed',
  '/print/kit': 'Kit list on paper',
  '/board': 'Board',
  '/board/stream': 'Board, kept open',
  '/board/assign': 'Beds given out',
  '/board/hand': 'Need handed over',
  '/setup/beds': 'Beds',
  '/setup/discharged': 'Discharged patients',
  '/round/trays-late': 'Trays late',
  '/round/trays-late/moves': 'Trays late, refreshed',
}

const REPORTS: Readonly<Record<string, string>> = {
  '/setup/access/report': 'Access report',
  '/setup/access/file': 'Access report as a file',
}

/** The page in words; a pattern that the service no longer has is not shown as it is. */
export function pageWords(pattern: string): string {
  return PATIENT_PAGES[pattern] ?? WARD_PAGES[pattern] ?? REPORTS[pattern] ?? 'A page that is no longer there'
}

export type AccessRefusal =
  | 'access-no-such-patient'
  | 'access-no-such-person'
  | 'access-no-such-ward'
  | 'access-several-stays'
  | 'access-date-not-read'
  | 'access-turned-round'
  | 'access-too-long'
  | 'access-in-future'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'access-several-stays': { stays: string }
    'access-too-long': { days: number }
    /** `last`: YYYY-MM-DD. */
    'access-in-future': { last: string }
  }
}

export const ACCESS_SENTENCES: Sentences<AccessRefusal> = {
  'access-no-such-patient': () =>
    'No patient has this wristband number, and no stay this id. Check it and type it again.',
  'access-no-such-person': () =>
    'Nobody has this badge. Check it and type it again. Someone who left still has theirs.',
  'access-no-such-ward': () => 'Choose one of these wards.',
  'access-several-stays': ({ stays }) =>
    `This wristband number was worn in several stays. Type the id of the stay that is meant: ${stays}.`,
  'access-date-not-read': () => 'This is not a date. Pick it again.',
  'access-turned-round': () => 'The last day is before the first. Turn them round.',
  'access-too-long': ({ days }) => `At most ${days} days can be asked about at once. Choose fewer.`,
  'access-in-future': ({ last }) =>
    `The first day lies ahead. The last one that can be asked about is ${formatDate(last)}.`,
}

/** What somebody did, as a word and a shape. */
export const LOOK_MARK = {
  elsewhere: { shape: '◆', word: 'Not of this ward', tone: 'urgent' },
  refused: { shape: '■', word: 'Asked for, not shown', tone: 'due' },
} as const
