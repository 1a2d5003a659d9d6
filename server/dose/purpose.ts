/** What a dose is for, in words without any number of the reading or the dose. */
import type { Dose } from '../../shared/dose/dose.ts'
import { INSULIN_CLASS, type OrderVersion } from '../../shared/order/order.ts'
import { hasMealPart, hasNotEatingRule } from '../../shared/order/parts.ts'
import { formatMinutes, formatTime, formatUnits, formatWhen, OCCASION_NAME } from '../../views/format.ts'
import type { DoseContext } from './load.ts'

/** "Before lunch", "Scheduled for 21:00", "By direction". */
export function purposeOf(dose: Dose, nowMs: number, zone: string): string {
  if (dose.inputs.scheduledDueMs !== null) return `Scheduled for ${formatWhen(dose.inputs.scheduledDueMs, nowMs, zone)}`
  const occasion = dose.inputs.occasion === null ? 'No round' : OCCASION_NAME[dose.inputs.occasion]
  if (dose.kind === 'by-direction') return `${occasion}, by the prescriber’s direction`
  return dose.kind === 'after-meal' ? `${occasion}, meal part after eating` : occasion
}

/** What the second nurse needs besides the reading: eating, grams, share, bedtime, earlier insulin, and what is held. */
export function factsBesideReading({ dose, order, zone }: DoseContext): readonly string[] {
  const { inputs } = dose
  if (dose.kind === 'by-direction') return earlierInsulin(dose, zone)
  if (order === null) return []
  const facts: string[] = afterLow(dose, zone)
  if (dose.kind === 'scheduled') return facts
  if (inputs.occasion !== null && hasMealPart(order.order, inputs.occasion)) facts.push(mealFact(dose, order))
  if (dose.kind === 'from-reading' && hasNotEatingRule(order.order)) facts.push(...eatingFact(dose, order))
  const grams = inputs.meal?.carbohydrateGrams ?? null
  if (grams !== null) facts.push(`Carbohydrate in the meal: ${String(grams)} g`)
  const share = inputs.meal?.shareEatenPercent ?? null
  if (share !== null) facts.push(`Share eaten: ${String(share)} %`)
  if (dose.kind === 'after-meal') return facts
  facts.push(...earlierInsulin(dose, zone))
  for (const guard of dose.working.guards)
    if (guard.guard === 'stacking' && guard.outcome === 'holds-correction')
      facts.push(`A correction is held: the interval between corrections is ${formatMinutes(guard.details.limit)}`)
  return facts
}

/** Said the same whatever the correction comes to, so that nothing shows what the reading was. */
function afterLow({ inputs: { low, lowAnswer } }: Dose, zone: string): string[] {
  if (low === 'none' || lowAnswer === undefined) return []
  return [
    `After a low the prescriber said “give as ordered” (${lowAnswer.told}, ${formatTime(lowAnswer.atMs, zone)}). No correction is added before the follow-up; one that takes off counts`,
  ]
}

function earlierInsulin({ inputs }: Dose, zone: string): readonly string[] {
  if (inputs.earlierDoses.length === 0) return ['No earlier rapid or regular insulin in 24 hours']
  return inputs.earlierDoses.map(
    (earlier) =>
      `Earlier insulin: ${formatUnits(earlier.units)} of ${earlier.insulin} (${INSULIN_CLASS[earlier.insulin]}), given at ${formatTime(earlier.givenAtMs, zone)}`,
  )
}

/** What decides between the order's scales, where the meal part does not say it already. */
function eatingFact({ inputs }: Dose, { order }: OrderVersion): readonly string[] {
  const saidByMeal =
    inputs.occasion !== null &&
    hasMealPart(order, inputs.occasion) &&
    order.mealTiming === 'before' &&
    inputs.atOrderOccasion
  if (saidByMeal) return []
  if (inputs.nilByMouth) return ['Nil by mouth']
  return inputs.meal === null
    ? []
    : [{ yes: 'Will eat', no: 'Will not eat', unsure: 'Not sure to eat' }[inputs.meal.willEat]]
}

function mealFact(dose: Dose, order: OrderVersion): string {
  const { inputs } = dose
  if (dose.kind === 'after-meal') return 'The meal part is given by the share eaten'
  if (order.order.mealTiming === 'after-by-share') return 'Not eaten yet: the meal part comes after the meal'
  if (!inputs.atOrderOccasion) return 'An extra reading: the meal part does not count'
  if (inputs.nilByMouth) return 'Nil by mouth: the meal part is held'
  if (inputs.mealAlreadyGiven) return 'The meal part of this meal was given already: it is held'
  const answers = {
    yes: 'Will eat',
    no: 'Will not eat: the meal part is held',
    unsure: 'Not sure to eat: the meal part counts',
  }
  return answers[inputs.meal?.willEat ?? 'unsure']
}
