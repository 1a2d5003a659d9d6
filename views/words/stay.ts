/** The words of a stay: facts at the bedside and check plans. */
import type { CheckPlan, Meal } from '../../shared/check/check.ts'
import type { FactName } from '../../shared/stay/facts.ts'
import {
  isNilByMouth,
  type BedsideFacts,
  type DiabetesType,
  type FeedingRoute,
  type LaboratoryOnly,
} from '../../shared/stay/stay.ts'
import { formatDateTime, formatNumber, formatWhen } from '../format.ts'
import { ISOLATION, RESTRICTION } from './check.ts'

export const DIABETES: Readonly<Record<DiabetesType, string>> = {
  'type-1': 'Type 1',
  'type-2': 'Type 2',
  pancreatic: 'From disease of the pancreas',
  'steroid-induced': 'Steroid-induced',
  gestational: 'Gestational',
  other: 'Other',
  'none-known': 'None known',
}

/** Why a meter misleads in this patient. */
export const LABORATORY_ONLY: Readonly<Record<LaboratoryOnly, string>> = {
  shock: 'shock, poor circulation',
  haematocrit: 'a very high or very low haematocrit',
  'other-sugar': 'a sugar that strips read as glucose (icodextrin, maltose)',
}

export const FEEDING: Readonly<Record<FeedingRoute, string>> = {
  oral: 'By mouth',
  tube: 'By tube',
  parenteral: 'By vein',
}

export const MEAL_NAME: Readonly<Record<Meal, string>> = { breakfast: 'Breakfast', lunch: 'Lunch', supper: 'Supper' }

export const PLAN: Readonly<Record<CheckPlan['kind'], string>> = {
  'ac-and-hs': 'Before meals and at bedtime',
  'before-meals': 'Before meals',
  'every-4-h': 'Every 4 h',
  'every-6-h': 'Every 6 h',
  'listed-times': 'At listed times',
  once: 'Once',
  overnight: 'Overnight, every night',
}

/** A plan with its own times: "At 02:00, 14:00". */
export function planText(plan: CheckPlan, zone: string): string {
  if (plan.kind === 'listed-times') return `At ${plan.times.join(', ')}`
  return plan.kind === 'once' ? `Once, ${formatDateTime(plan.atMs, zone)}` : PLAN[plan.kind]
}

export const FACT: Readonly<Record<FactName, string>> = {
  diabetes: 'Diabetes',
  swallowsSafely: 'Swallows safely (charted; ask again before treating a low)',
  nilByMouth: 'Nil by mouth',
  feeding: 'Fed',
  ivAccess: 'IV access',
  restrictedHands: 'Hands not to be pricked',
  isolation: 'Isolation',
  renalImpairment: 'Renal impairment',
  onSteroid: 'Steroid',
  otherGlucoseLowering: 'Other glucose-lowering drugs',
  weightKg: 'Weight',
  pastKetoacidosis: 'Has had ketoacidosis',
  insulinAtHome: 'On insulin at home',
  laboratoryOnly: 'Laboratory values only',
}

/** One fact in words, as it is charted; a span of nil by mouth with its times. */
export function factText(
  name: FactName,
  facts: BedsideFacts,
  { nowMs, zone }: { readonly nowMs: number; readonly zone: string },
): string {
  switch (name) {
    case 'diabetes':
      return DIABETES[facts.diabetes]
    case 'feeding':
      return FEEDING[facts.feeding]
    case 'isolation':
      return ISOLATION[facts.isolation]
    case 'restrictedHands':
      return list(facts.restrictedHands.map(({ hand, reason }) => `${hand} (${RESTRICTION[reason]})`))
    case 'otherGlucoseLowering':
      return list(facts.otherGlucoseLowering)
    case 'weightKg':
      return facts.weightKg === null ? '–' : `${formatNumber(facts.weightKg)} kg`
    case 'nilByMouth':
      return nilText(facts, nowMs, zone)
    case 'swallowsSafely':
    case 'ivAccess':
    case 'renalImpairment':
    case 'onSteroid':
      return facts[name] ? 'yes' : 'no'
    case 'pastKetoacidosis':
    case 'insulinAtHome':
      return facts[name] === true ? 'yes' : 'no'
    case 'laboratoryOnly':
      return facts.laboratoryOnly === undefined ? 'no' : LABORATORY_ONLY[facts.laboratoryOnly]
  }
}

function list(values: readonly string[]): string {
  return values.length === 0 ? 'none' : values.join(', ')
}

function nilText(facts: BedsideFacts, nowMs: number, zone: string): string {
  const nil = facts.nilByMouth
  if (nil === null) return 'no'
  const until = nil.untilMs === null ? '' : ` until ${formatWhen(nil.untilMs, nowMs, zone)}`
  if (isNilByMouth(facts, nowMs)) return until === '' ? 'yes' : until.trim()
  return nil.fromMs > nowMs ? `from ${formatWhen(nil.fromMs, nowMs, zone)}${until}` : 'no'
}

/** A charted span as the history shows it, whatever is over by now. */
export function nilSpanText({ nilByMouth: nil }: BedsideFacts, nowMs: number, zone: string): string {
  if (nil === null) return 'no'
  return `from ${formatWhen(nil.fromMs, nowMs, zone)} ${nil.untilMs === null ? 'on' : `until ${formatWhen(nil.untilMs, nowMs, zone)}`}`
}
