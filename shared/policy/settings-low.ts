/**
 * The settings of the low protocol. Amounts, and what decides when one is given again, touch a dose; the other clocks
 * do not. How to add one: settings.ts.
 */
import {
  grams,
  minutes,
  minutesOrNone,
  number,
  oneOf,
  OWN,
  percent,
  PRACTICE,
  text,
  times,
  yesNo,
  type Variants,
} from './entry.ts'
import { RANGE } from './ranges.ts'

/** Dextrose into a vein: the same amount for every low, or grams = (100 - mg/dL) x 0.2 of the value. */
export type DextroseRule =
  | { readonly kind: 'fixed'; readonly grams: number; readonly percent: number }
  | {
      readonly kind: 'formula'
      readonly percent: number
      /** for LO, which is no number */ readonly gramsWithoutNumber: number
    }

/**
 * Table 1 (R): 15 g of fast carbohydrate (15 to 20 g), recheck after 15 min and not before 10, 3 cycles, then 200 mL of
 * 10 % glucose into a vein over 15 min (20 g) or glucagon 1 mg into the muscle.
 */
const WORLD_JOURNAL = 'World Journal of Diabetes 2021;12:2036, table 1 (read)'
/** NHS formularies (R): 20 g of longer-acting carbohydrate, 40 g after glucagon, and escalation after 45 min. */
const UK = 'UK formularies restating the Joint British Diabetes Societies (read)'
/** Critical Care Medicine 40:3251 (M). */
const SCCM = 'Society of Critical Care Medicine 2012 (from memory)'
const PRINTED_AMOUNTS = 'printed amounts (read): 50 mL of 50 % hold 25 g'
/** No standing order is assumed to be signed. Without it the service shows "call" in place of an amount. */
const NOT_SIGNED = 'none is assumed to be signed'

const part = 'low'

/** 25 g as 50 mL of 50 %. A rule has the settings of its own kind only. */
const DEXTROSE: Variants<DextroseRule> = {
  kind: oneOf<DextroseRule['kind']>({
    part,
    label: 'Dextrose into a vein',
    default: 'fixed',
    options: [
      { value: 'fixed', label: 'the same amount for every low', stored: 'fixed' },
      { value: 'formula', label: 'by the value: (100 − mg/dL) × 0.2 g', stored: 'formula' },
    ],
    source: `${PRINTED_AMOUNTS}; the formula: ${SCCM}`,
    touchesDose: true,
  }),
  grams: grams({
    part,
    label: 'Dextrose, the same for every low',
    default: 25,
    source: PRINTED_AMOUNTS,
    only: { name: 'low.dextrose.kind', is: 'fixed' },
  }),
  gramsWithoutNumber: grams({
    part,
    label: 'Dextrose by the value: for LO, which is no number',
    default: undefined,
    source: OWN,
    only: { name: 'low.dextrose.kind', is: 'formula' },
  }),
  percent: percent({ part, label: 'Strength of the dextrose', default: 50, source: PRINTED_AMOUNTS }),
}

export const LOW_SETTINGS = {
  treatWithinMin: minutes({ part, label: 'Treat within', default: 5, source: OWN, touchesDose: false }),
  recheckMin: minutes({
    part,
    label: 'Recheck after a treatment',
    default: 15,
    range: RANGE.minutesNotZero,
    source: WORLD_JOURNAL,
    touchesDose: true,
  }),
  /** A value sooner after a treatment than this says little: it asks for no further treatment unless the level is worse. */
  recheckNotBeforeMin: minutes({
    part,
    label: 'A recheck says little before',
    default: 10,
    source: WORLD_JOURNAL,
    touchesDose: true,
  }),
  maxCycles: times({
    part,
    label: 'Treatments before escalating',
    default: 3,
    source: WORLD_JOURNAL,
    touchesDose: true,
  }),
  /** Escalate when this many minutes have passed without recovery, besides the cycles; null: by cycles alone. */
  escalateAfterMin: minutesOrNone({
    part,
    label: 'Escalate without recovery after',
    default: null,
    none: 'by cycles alone',
    source: `${UK}: 45 min; by cycles alone unless the ward sets it`,
    touchesDose: true,
  }),
  followUpMin: minutes({
    part,
    label: 'Follow-up recheck after recovery',
    default: 60,
    range: RANGE.minutesNotZero,
    source: PRACTICE,
    touchesDose: true,
  }),
  /** What was seen at the bedside holds for one treatment within these minutes; then it is asked again. */
  answersValidMin: minutes({
    part,
    label: 'What was seen at the bedside holds for',
    default: 10,
    range: RANGE.minutesNotZero,
    source: OWN,
    touchesDose: true,
  }),
  insulinQuestionMin: minutes({
    part,
    label: 'Ask about meal and long-acting insulin within',
    default: 15,
    source: OWN,
    touchesDose: false,
  }),
  insulinQuestionStaleMin: minutes({
    part: 'low',
    label: 'An unanswered question about insulin is the charge nurse’s after a further',
    default: 15,
    source: OWN,
    touchesDose: false,
  }),
  tellWithinMin: minutes({ part, label: 'Tell the prescriber within', default: 30, source: OWN, touchesDose: false }),
  /** A low after its follow-up is overdue by more than this is a new event. */
  newEventAfterMin: minutes({
    part,
    label: 'A low is a new event when the follow-up is overdue by',
    default: 60,
    source: OWN,
    touchesDose: false,
  }),
  /** A low that comes back is told again when the last call is older than this, and always below level 2. */
  callAgainMin: minutes({
    part,
    label: 'Call again for a low that comes back after',
    default: 60,
    source: OWN,
    touchesDose: false,
  }),
  treatmentsWithinMin: minutes({
    part,
    label: 'Escalate when the protocol’s treatments fall within',
    default: 60,
    source: OWN,
    touchesDose: false,
  }),
  closeWithinMin: minutes({ part, label: 'Close the event within', default: 60, source: OWN, touchesDose: false }),
  fastGrams: grams({
    part,
    label: 'Fast carbohydrate, level 1',
    default: 15,
    source: `${WORLD_JOURNAL}: 15 to 20 g`,
  }),
  fastGramsLevel2: grams({
    part,
    label: 'Fast carbohydrate, level 2',
    default: 20,
    source: 'the upper end of the same 15 to 20 g',
  }),
  dextrose: DEXTROSE,
  glucagonMg: number({
    part,
    label: 'Glucagon into the muscle',
    default: 1,
    unit: 'mg',
    range: RANGE.glucagonMg,
    step: 0.1,
    source: WORLD_JOURNAL,
    touchesDose: true,
  }),
  /** After `maxCycles` by mouth or tube without recovery. */
  rescue: {
    grams: grams({
      part,
      label: 'After the last cycle: glucose into a vein',
      default: 20,
      source: `${WORLD_JOURNAL}: 200 mL of 10 %`,
    }),
    percent: percent({ part, label: 'After the last cycle: strength', default: 10, source: WORLD_JOURNAL }),
    overMin: minutes({
      part,
      label: 'After the last cycle: given over',
      default: 15,
      source: WORLD_JOURNAL,
      touchesDose: true,
    }),
  },
  /** Signed by the ward's prescriber. */
  standingOrders: {
    dextrose: yesNo({
      part,
      label: 'Standing order signed for dextrose into a vein',
      default: false,
      source: NOT_SIGNED,
      touchesDose: true,
    }),
    glucagon: yesNo({
      part,
      label: 'Standing order signed for glucagon',
      default: false,
      source: NOT_SIGNED,
      touchesDose: true,
    }),
  },
  tube: {
    grams: grams({ part, label: 'By feeding tube', default: 15, source: PRACTICE }),
    how: text({
      part,
      label: 'By feeding tube: how',
      default: 'glucose gel or solution by tube, then flush',
      most: 80,
      source: PRACTICE,
      touchesDose: true,
    }),
  },
  /** Longer-acting carbohydrate when the next meal is more than `mealWithinMin` after recovery. */
  lasting: {
    grams: grams({ part, label: 'Longer-acting carbohydrate after recovery', default: 20, source: UK }),
    gramsAfterGlucagon: grams({ part, label: 'Longer-acting carbohydrate after glucagon', default: 40, source: UK }),
    mealWithinMin: minutes({
      part,
      label: 'Not needed with a meal within',
      default: 60,
      source: PRACTICE,
      touchesDose: true,
    }),
    giveWithinMin: minutes({ part, label: 'Give it within', default: 15, source: OWN, touchesDose: false }),
  },
}
