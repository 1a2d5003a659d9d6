/** The words of a stay: facts at the bedside and check plans. */
import type { CheckPlan } from '../../shared/check/check.ts'
import type { DiabetesType, FeedingRoute } from '../../shared/stay/stay.ts'

export const DIABETES: Readonly<Record<DiabetesType, string>> = {
  'type-1': 'Type 1',
  'type-2': 'Type 2',
  'steroid-induced': 'Steroid-induced',
  gestational: 'Gestational',
  other: 'Other',
  'none-known': 'None known',
}

export const FEEDING: Readonly<Record<FeedingRoute, string>> = { oral: 'By mouth', tube: 'By tube', parenteral: 'By vein' }

export const PLAN: Readonly<Record<Exclude<CheckPlan['kind'], 'listed-times' | 'once'>, string>> = {
  'ac-and-hs': 'Before meals and at bedtime',
  'before-meals': 'Before meals',
  'every-4-h': 'Every 4 h',
  'every-6-h': 'Every 6 h',
}
