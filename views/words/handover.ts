/** The words of the handover sheet. */
import type { DiabetesType } from '../../shared/stay/stay.ts'
import type { MarkView } from '../round/row.ts'

export const BACKGROUND_DIABETES: Readonly<Record<DiabetesType, string>> = {
  'type-1': 'Type 1 diabetes',
  'type-2': 'Type 2 diabetes',
  pancreatic: 'Diabetes from disease of the pancreas',
  'steroid-induced': 'Steroid-induced diabetes',
  gestational: 'Gestational diabetes',
  other: 'Another type of diabetes',
  'none-known': 'No known diabetes',
}

/** Something a person must still see to. */
export const OPEN_MARK: MarkView = { shape: '▲', word: 'Open', tone: 'urgent' }
export const LOW_OPEN_MARK: MarkView = { shape: '◆', word: 'Not closed', tone: 'urgent' }
export const LATE_DOSE_MARK: MarkView = { shape: '▲', word: 'Late', tone: 'urgent' }
export const DOSE_MARK: Readonly<Record<'not-yet' | 'uncertain', MarkView>> = {
  'not-yet': { shape: '▽', word: 'Not given', tone: 'due' },
  uncertain: { shape: '✕', word: 'Given or not?', tone: 'urgent' },
}
export const ORDER_UNVERIFIED_MARK: MarkView = { shape: '■', word: 'Not verified', tone: 'urgent' }
export const ORDER_VERIFIED_MARK: MarkView = { shape: '✓', word: 'Verified', tone: 'done' }

export const UNVERIFIED_SAYS = 'Order not verified yet: no dose comes from it'
