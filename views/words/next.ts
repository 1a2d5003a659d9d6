/** What must happen next, said in one plain sentence each, with what it was worked out from. */
import { parseCheckKey } from '../../shared/check/plan.ts'
import { formatGlucose, type Glucose } from '../../shared/glucose/value.ts'
import type { Confirmation } from '../../shared/critical/confirm.ts'
import type { NextStep } from '../../shared/reading/next.ts'
import type { DoseState } from '../../shared/dose/dose.ts'
import { formatMinutes, formatTime, OCCASION_NAME } from '../format.ts'
import { LOW_LEVEL } from './low.ts'
import { METER_DOUBT } from './reading.ts'

/** loud: at once. warning: needs doing. plain: to know. `path`: where it is done, without the leading slash. */
export type Said = {
  readonly weight: 'loud' | 'warning' | 'plain'
  readonly says: string
  readonly working: string
  readonly action: { readonly path: string; readonly label: string; readonly main: boolean } | null
}

export type SaidFor = {
  readonly stayId: string
  readonly readingId: string
  readonly glucose: Glucose
  readonly zone: string
  readonly nowMs: number
}

export const DOSE_STATE: Readonly<Record<DoseState, string>> = {
  zero: '0 units, charted: nothing to give',
  'awaiting-second-check': 'waiting for the second check',
  differed: 'the second check differed: start again from the meter',
  agreed: 'agreed: draw it up, then the product is read off',
  'to-draw-up': 'needs no second check: draw it up, then the product is read off',
  verified: 'checked and signed: give it',
  lapsed: 'not valid any more',
  given: 'given',
  withheld: 'withheld',
  'taken-back': 'charted in error, taken back',
  refused: 'refused by the patient',
  void: 'void',
}

const LOW_REPEAT: Readonly<Record<Confirmation, string>> = {
  'awaiting-repeat': 'Repeat on a clean, different finger, without delaying the treatment.',
  confirmed: 'The repeat confirms the critical low.',
  'not-confirmed': 'The repeat does not agree: a third stick or a laboratory sample. Go on treating the low.',
  outside: 'No repeat in time: a third stick or a laboratory sample. Go on treating the low.',
}

const HIGH_REPEAT: Readonly<Record<Confirmation, string>> = {
  'awaiting-repeat': 'Repeat on a clean, different finger. No insulin until the repeat confirms it.',
  confirmed: 'The repeat confirms the critical high: insulin follows from the repeat’s value.',
  'not-confirmed': 'The repeat does not agree: a third stick or a laboratory sample. No insulin until then.',
  outside: 'No repeat in time: measure again or send a laboratory sample. No insulin until then.',
}

/** The sentence of one step. */
export function sayStep(step: NextStep, at: SaidFor): Said {
  const time = (ms: number): string => formatTime(ms, at.zone)
  const extra = { path: `stays/${at.stayId}/extra`, label: 'Measure again', main: false }
  const direction = {
    path: `readings/${at.readingId}/direction`,
    label: 'Chart the prescriber’s direction',
    main: false,
  }
  switch (step.kind) {
    case 'not-current':
      return step.correctedBy === null
        ? plain('Entered in error: this reading counts for nothing.', '')
        : {
            ...plain('Corrected: a newer reading counts in its place.', ''),
            action: { path: `readings/${step.correctedBy}`, label: 'Open the reading that counts', main: true },
          }
    case 'treat-low':
      return {
        weight: 'loud',
        says: `${capital(LOW_LEVEL[step.level])}: treat now by the ward’s low protocol. Ask first: awake and swallowing safely? No correction insulin.`,
        working: `${formatGlucose(step.glucose)} is below ${formatGlucose(step.limit)}. Recheck by ${time(step.recheckDueMs)}.`,
        action: step.lowId === null ? null : { path: `lows/${step.lowId}`, label: 'Treat the low', main: true },
      }
    case 'ask-about-insulin': {
      const insulins = step.insulins.length === 0 ? '' : ` Ordered besides a correction: ${step.insulins.join(', ')}.`
      const asks = step.insulins.length > 0
      const why =
        step.low === 'open'
          ? 'The low is not recovered yet.'
          : 'The low has recovered, and its follow-up recheck is not done yet.'
      return {
        weight: asks ? (step.type1 ? 'loud' : 'warning') : 'plain',
        says: asks
          ? `Ask the prescriber about meal and long-acting insulin by ${time(step.askByMs)}: do not drop it, do not give it unasked.${step.type1 ? ' Type 1 diabetes: without insulin ketoacidosis follows.' : ''}`
          : 'No correction insulin until the low has recovered and its follow-up is satisfactory.',
        working: `${why}${insulins}`,
        action: !asks
          ? null
          : step.lowId === null
            ? direction
            : { path: `lows/${step.lowId}/insulin-question`, label: 'Chart the prescriber’s answer', main: false },
      }
    }
    case 'recheck-due':
      return {
        weight: 'warning',
        says:
          step.phase === 'open'
            ? `Recheck again at ${time(step.dueMs)}: the low has not recovered.`
            : `Recovered: one more recheck at ${time(step.dueMs)}.`,
        working: `Recovered means ${formatGlucose(step.recovered)} or more; this value is ${formatGlucose(at.glucose)}.`,
        action:
          step.dueMs <= at.nowMs
            ? { path: `checks/${step.recheckKey}`, label: `Recheck, due ${time(step.dueMs)}`, main: true }
            : { path: `lows/${lowIdOf(step.recheckKey)}`, label: 'Go on with the low', main: true },
      }
    case 'critical-repeat': {
      const beyond = step.which === 'low' ? 'below' : 'above'
      return {
        weight: step.confirmation === 'confirmed' ? 'plain' : 'warning',
        says: `Critical ${step.which}. ${(step.which === 'low' ? LOW_REPEAT : HIGH_REPEAT)[step.confirmation]}`,
        working: `${formatGlucose(step.glucose)} is ${beyond} ${formatGlucose(step.limit)}. Repeat within ${formatMinutes(step.withinMin)}, by ${time(step.byMs)}.`,
        action:
          step.confirmation === 'confirmed' ? null : { ...extra, label: 'Repeat now', main: step.which === 'high' },
      }
    }
    case 'critical-in-doubt':
      return {
        weight: 'warning',
        says: 'A critical high shortly before this one is not confirmed: a third stick or a laboratory sample. No insulin until then.',
        working: 'A value counts once it agrees with another within 20 % and 10 min.',
        action: { ...extra, main: true },
      }
    case 'critical-call':
      if (step.told) return plain('The prescriber was told of this critical result.', '')
      return {
        weight: 'warning',
        says: step.afterRepeat
          ? `Tell the prescriber as soon as the repeat confirms it, by ${time(step.byMs)} at the latest.`
          : `Tell the prescriber by ${time(step.byMs)}, and have the value read back.`,
        working: `Critical ${step.which}: ${formatGlucose(at.glucose)}.`,
        action: { path: `readings/${at.readingId}/critical-call`, label: 'Chart the call', main: !step.afterRepeat },
      }
    case 'out-of-range-high':
      return {
        weight: 'loud',
        says: 'HI is no number, so no dose follows from it: send a laboratory sample, and look for ketones and signs of ketoacidosis as policy says.',
        working: 'HI: above the meter’s range.',
        action: direction,
      }
    case 'laboratory':
      return step.readingId === null
        ? {
            weight: 'warning',
            says: `${step.which} is no number: send a laboratory sample and chart its value by ${time(step.byMs)}.`,
            working: '',
            action: { path: `stays/${at.stayId}/lab-value`, label: 'Chart the laboratory value', main: false },
          }
        : {
            ...plain('The laboratory’s value is charted.', ''),
            action: { path: `readings/${step.readingId}`, label: 'Open the laboratory value', main: true },
          }
    case 'meter-in-doubt':
      return {
        weight: 'warning',
        says: 'No insulin from this reading. Measure again with a meter that is fit for the round.',
        working: `${capital(step.doubts.map((doubt) => METER_DOUBT[doubt]).join(', and '))}.`,
        action: { ...extra, main: true },
      }
    case 'meter-failed':
      return {
        weight: 'warning',
        says: 'No insulin from this reading. Measure again with a meter that is fit for the round.',
        working: `Its meter failed a control at ${time(step.atMs)}, after this reading was taken.`,
        action: { ...extra, main: true },
      }
    case 'newer-reading':
      return {
        ...plain('A newer reading counts for insulin.', ''),
        action: { path: `readings/${step.readingId}`, label: 'Open the newer reading', main: true },
      }
    case 'too-old':
      return {
        weight: 'warning',
        says: 'Too old for a dose. Measure again.',
        working: `Taken ${formatMinutes(step.minutes)} ago; the limit is ${formatMinutes(step.limitMin)}.`,
        action: { ...extra, main: true },
      }
    case 'dose-exists':
      return {
        ...plain(`Dose: ${DOSE_STATE[step.state]}.`, ''),
        action: { path: `doses/${step.doseId}`, label: 'Open the dose', main: true },
      }
    case 'scale-says-call':
      return {
        weight: 'warning',
        says: 'No dose by the order: call the prescriber.',
        working: `The order’s step from ${formatGlucose(step.atLeast)} says “no dose, call”.${step.also === null ? '' : ` Printed with it: ${step.also}.`}`,
        action: { ...direction, main: true },
      }
    case 'order-not-verified':
      return {
        weight: 'warning',
        says: `The order of ${step.insulin} is not verified by a second person: no dose until it is.`,
        working: `Order version ${String(step.version)}.`,
        action: null,
      }
    case 'propose-dose':
      return {
        weight: 'plain',
        says: `The order of ${step.insulin} answers this value.`,
        working: `Order version ${String(step.version)}, ${formatGlucose(at.glucose)}.`,
        action: { path: `readings/${at.readingId}/dose`, label: 'Work out the dose', main: true },
      }
    case 'not-this-occasion':
      return plain(
        `Nothing is ordered at this time: ${step.insulins.join(', ')} is not for ${OCCASION_NAME[step.occasion].toLowerCase()}.`,
        '',
      )
    case 'no-order':
      return step.above === null
        ? plain('No active insulin order.', '')
        : {
            weight: 'warning',
            says: 'No active insulin order. Ask the prescriber whether one is wanted.',
            working: `${formatGlucose(at.glucose)} is above ${formatGlucose(step.above)}.`,
            action: null,
          }
    case 'done':
      return plain('Nothing else to do here.', '')
  }
}

/** A recheck's key names its low event. */
function lowIdOf(recheckKey: string): string {
  const parsed = parseCheckKey(recheckKey)
  if (parsed?.kind !== 'recheck') throw new Error('a recheck without its low event')
  return parsed.lowId
}

function plain(says: string, working: string): Said {
  return { weight: 'plain', says, working, action: null }
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}
