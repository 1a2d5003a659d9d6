/** From what is seen at the bedside to how glucose is brought in, and how much of it. */
import { inMgPerDl } from '../glucose/convert.ts'
import { isNumeric, type Glucose } from '../glucose/value.ts'
import type { LowPolicy, WardPolicy } from '../policy/ward-policy.ts'
import { lowLevel } from './level.ts'
import type { Amount, BedsideAnswers, LowArm } from './low.ts'

/**
 * What the protocol says to give. 'call': no standing order is signed for it, so the prescriber is called at once and
 * `wouldBe` only names what the protocol has there. `emergency`: the emergency call comes first, before any treatment.
 */
export type ArmAnswer =
  | {
      readonly kind: 'give'
      readonly arm: Exclude<LowArm, 'by-direction'>
      readonly amount: Amount
      readonly how: string | null
      readonly emergency: boolean
    }
  | { readonly kind: 'call'; readonly wouldBe: 'iv-dextrose' | 'glucagon'; readonly emergency: boolean }

export type ArmFacts = {
  readonly answers: BedsideAnswers
  /** Stored fact of the stay at this instant. */
  readonly nilByMouth: boolean
  /** A level 3 finding stands since the last recovery. */
  readonly levelThree: boolean
  /** The value to be treated: the newest that has not recovered. */
  readonly glucose: Glucose
  /** Treatments of this run that were followed by a value still not recovered. */
  readonly failedCycles: number
  readonly policy: WardPolicy
  /** Glucagon was given in this event: the standing order covers it once (JBDS 01, 2023; R). Absent: it was not. */
  readonly glucagonGiven?: boolean
}

/**
 * The arm and its amount, always exactly one. In order:
 * - unresponsive or seizing: nothing by mouth or tube; dextrose into a working IV, else glucagon; and the emergency call
 *   at once;
 * - after the policy's cycles without recovery: the rescue infusion into a working IV, else glucagon (200 mL of 10 %
 *   glucose over 15 min or glucagon 1 mg IM, World J Diabetes 2021;12:2036 table 1; R);
 * - level 3 and awake, with the emergency call: fast carbohydrate by mouth if swallowing is safe, else dextrose into a
 *   working IV under the standing order, else a feeding tube that may be used, else glucagon, else a call;
 * - a feeding tube that may be used: the ward's tube arm;
 * - swallows safely and not nil by mouth: fast carbohydrate, 15 g, or 20 g below level 2 (15-20 g, same table; R);
 * - else dextrose into a working IV, else glucagon 1 mg IM.
 * Dextrose and glucagon are amounts only under the ward's signed standing order; without it the answer is a call.
 */
export function armFor(facts: ArmFacts): ArmAnswer {
  const { answers, nilByMouth, levelThree, glucose, policy } = facts
  const { low } = policy
  const unresponsive = answers.swallowing === 'unresponsive'
  const emergency = unresponsive || levelThree
  if (unresponsive) return byVeinOrMuscle(facts, dextroseFor(glucose, low), emergency)
  if (facts.failedCycles >= low.maxCycles) return byVeinOrMuscle(facts, rescueOf(low), emergency)
  const byTube: ArmAnswer | null =
    answers.tubeUsable === true
      ? {
          kind: 'give',
          arm: 'by-tube',
          amount: { kind: 'grams', grams: low.tube.grams },
          how: low.tube.how,
          emergency,
        }
      : null
  const grams = lowLevel(glucose, policy) === 2 ? low.fastGramsLevel2 : low.fastGrams
  const byMouth: ArmAnswer | null =
    answers.swallowing === 'safely' && !nilByMouth
      ? { kind: 'give', arm: 'by-mouth', amount: { kind: 'grams', grams }, how: null, emergency }
      : null
  if (levelThree) {
    const byVein = answers.ivWorking && low.standingOrders.dextrose
    if (byMouth !== null) return byMouth
    if (!byVein && byTube !== null) return byTube
    if (!byVein && low.standingOrders.glucagon && facts.glucagonGiven !== true)
      return byVeinOrMuscle(facts, dextroseFor(glucose, low), emergency, false)
    return byVeinOrMuscle(facts, dextroseFor(glucose, low), emergency)
  }
  if (byTube !== null) return byTube
  if (byMouth !== null) return byMouth
  return byVeinOrMuscle(facts, dextroseFor(glucose, low), emergency)
}

function byVeinOrMuscle(
  { answers, glucagonGiven, policy: { low } }: ArmFacts,
  dextrose: Amount,
  emergency: boolean,
  ivWorking = answers.ivWorking,
): ArmAnswer {
  if (ivWorking) {
    return low.standingOrders.dextrose
      ? { kind: 'give', arm: 'iv-dextrose', amount: dextrose, how: null, emergency }
      : { kind: 'call', wouldBe: 'iv-dextrose', emergency }
  }
  return low.standingOrders.glucagon && glucagonGiven !== true
    ? { kind: 'give', arm: 'glucagon', amount: { kind: 'glucagon', milligrams: low.glucagonMg }, how: null, emergency }
    : { kind: 'call', wouldBe: 'glucagon', emergency }
}

/**
 * Dextrose for a value. fixed: the policy's grams (25 g is 50 mL of 50 %; 12.5 g is 25 mL of 50 %, 50 mL of 25 %, 125 mL
 * of 10 %; R). formula: grams = (100 - mg/dL) x 0.2, so mL of 50 % = (100 - mg/dL) x 0.4 (SCCM 2012, Crit Care Med
 * 40:3251; M); a value in mmol/L is converted unrounded on purpose, LO takes the policy's grams. Rounded once, grams to
 * a tenth and mL to a whole one, each from the unrounded amount.
 */
export function dextroseFor(glucose: Glucose, { dextrose }: Pick<LowPolicy, 'dextrose'>): Amount {
  if (dextrose.kind === 'fixed') return intravenous(dextrose.grams, dextrose.percent, null)
  const grams = isNumeric(glucose) ? Math.max(0, (100 - inMgPerDl(glucose)) / 5) : dextrose.gramsWithoutNumber
  return intravenous(grams, dextrose.percent, null)
}

function rescueOf({ rescue }: LowPolicy): Amount {
  return intravenous(rescue.grams, rescue.percent, rescue.overMin)
}

/** `percent` is g in 100 mL. */
function intravenous(grams: number, percent: number, overMin: number | null): Amount {
  return {
    kind: 'intravenous',
    grams: Math.round(grams * 10) / 10,
    millilitres: Math.round((grams * 100) / percent),
    percent,
    overMin,
  }
}
