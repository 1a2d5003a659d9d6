/** The settings of the low protocol. Amounts and what decides when one is given again touch a dose; the other clocks do not. */
import type { PolicyField } from './field.ts'
import { grams, minutes, OWN, PRACTICE, yesNo, type Part } from './parts-kit.ts'
import { RANGE } from './ranges.ts'

/** World J Diabetes 2021;12:2036 table 1 (R). */
const WORLD_JOURNAL = 'World Journal of Diabetes 2021;12:2036, table 1 (read)'
const UK = 'UK formularies restating the Joint British Diabetes Societies (read)'
const SCCM = 'Society of Critical Care Medicine 2012 (from memory)'
const PRINTED_AMOUNTS = 'printed amounts (read): 50 mL of 50 % hold 25 g'

const percent = (name: string, label: string, source: string): PolicyField => ({
  name,
  label,
  kind: { kind: 'number', unit: '%', range: RANGE.percent, step: 0.1, none: null },
  source,
  touchesDose: true,
})

export const LOW_PART: Part = {
  id: 'low',
  title: 'Low protocol',
  about:
    'Steps, clocks and amounts for a low. An amount into a vein or of glucagon is shown only under a signed standing order; without one the page says “call”.',
  fields: [
    minutes('low.treatWithinMin', 'Treat within', OWN, false),
    minutes('low.recheckMin', 'Recheck after a treatment', WORLD_JOURNAL, true, { range: RANGE.minutesNotZero }),
    minutes('low.recheckNotBeforeMin', 'A recheck says little before', WORLD_JOURNAL, true),
    {
      name: 'low.maxCycles',
      label: 'Treatments before escalating',
      kind: { kind: 'number', unit: 'times', range: RANGE.times, step: 1, none: null },
      source: WORLD_JOURNAL,
      touchesDose: true,
    },
    minutes(
      'low.escalateAfterMin',
      'Escalate without recovery after',
      `${UK}: 45 min; by cycles alone unless the ward sets it`,
      true,
      { range: RANGE.minutesNotZero, none: 'by cycles alone' },
    ),
    minutes('low.followUpMin', 'Follow-up recheck after recovery', PRACTICE, true, { range: RANGE.minutesNotZero }),
    minutes('low.answersValidMin', 'What was seen at the bedside holds for', OWN, true, {
      range: RANGE.minutesNotZero,
    }),
    minutes('low.insulinQuestionMin', 'Ask about meal and long-acting insulin within', OWN, false),
    minutes('low.tellWithinMin', 'Tell the prescriber within', OWN, false),
    minutes('low.closeWithinMin', 'Close the event within', OWN, false),
    grams('low.fastGrams', 'Fast carbohydrate, level 1', `${WORLD_JOURNAL}: 15 to 20 g`),
    grams('low.fastGramsLevel2', 'Fast carbohydrate, level 2', 'the upper end of the same 15 to 20 g'),
    {
      name: 'low.dextrose.kind',
      label: 'Dextrose into a vein',
      kind: {
        kind: 'one-of',
        options: [
          { value: 'fixed', label: 'the same amount for every low', stored: 'fixed' },
          { value: 'formula', label: 'by the value: (100 − mg/dL) × 0.2 g', stored: 'formula' },
        ],
      },
      source: `${PRINTED_AMOUNTS}; the formula: ${SCCM}`,
      touchesDose: true,
    },
    {
      ...grams('low.dextrose.grams', 'Dextrose, the same for every low', PRINTED_AMOUNTS),
      only: { name: 'low.dextrose.kind', is: 'fixed' },
    },
    {
      ...grams('low.dextrose.gramsWithoutNumber', 'Dextrose by the value: for LO, which is no number', OWN),
      only: { name: 'low.dextrose.kind', is: 'formula' },
    },
    percent('low.dextrose.percent', 'Strength of the dextrose', PRINTED_AMOUNTS),
    {
      name: 'low.glucagonMg',
      label: 'Glucagon into the muscle',
      kind: { kind: 'number', unit: 'mg', range: RANGE.glucagonMg, step: 0.1, none: null },
      source: WORLD_JOURNAL,
      touchesDose: true,
    },
    grams('low.rescue.grams', 'After the last cycle: glucose into a vein', `${WORLD_JOURNAL}: 200 mL of 10 %`),
    percent('low.rescue.percent', 'After the last cycle: strength', WORLD_JOURNAL),
    minutes('low.rescue.overMin', 'After the last cycle: given over', WORLD_JOURNAL, true),
    yesNo(
      'low.standingOrders.dextrose',
      'Standing order signed for dextrose into a vein',
      'none is assumed to be signed',
    ),
    yesNo('low.standingOrders.glucagon', 'Standing order signed for glucagon', 'none is assumed to be signed'),
    grams('low.tube.grams', 'By feeding tube', PRACTICE),
    {
      name: 'low.tube.how',
      label: 'By feeding tube: how',
      kind: { kind: 'text', most: 80 },
      source: PRACTICE,
      touchesDose: true,
    },
    grams('low.lasting.grams', 'Longer-acting carbohydrate after recovery', UK),
    grams('low.lasting.gramsAfterGlucagon', 'Longer-acting carbohydrate after glucagon', UK),
    minutes('low.lasting.mealWithinMin', 'Not needed with a meal within', PRACTICE, true),
    minutes('low.lasting.giveWithinMin', 'Give it within', OWN, false),
  ],
}
