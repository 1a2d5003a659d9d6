/** The parts of a ward policy: which settings are shown, changed and checked together, and what differs between two policies. */
import type { PartId, PolicyField } from './entry.ts'
import { sameSetting } from './field.ts'
import { FIELDS } from './settings.ts'
import { settingOf, type WardPolicy } from './ward-policy.ts'

/** Settings that are shown, changed and checked together. */
export type Part = {
  readonly id: PartId
  readonly title: string
  readonly about: string
  readonly fields: readonly PolicyField[]
}

const WORDS: Readonly<Record<PartId, Pick<Part, 'title' | 'about'>>> = {
  unit: {
    title: 'Unit and time zone',
    about:
      'Set when the ward was opened. Neither changes afterwards: every order, limit and check of the ward is in them.',
  },
  limits: {
    title: 'Limits',
    about:
      'Below the low limit the low protocol starts and no insulin is given. A value below the critical low or above the critical high is repeated, and told.',
  },
  meals: {
    title: 'Meal times and rounds',
    about: 'When trays come, and from when each round runs. A round runs until the next one starts.',
  },
  windows: {
    title: 'Check windows and reasons',
    about: 'When a check opens, is due, is late and closes, and when a reason is asked for.',
  },
  low: {
    title: 'Low protocol',
    about:
      'Steps, clocks and amounts for a low. An amount into a vein or of glucagon is shown only under a signed standing order; without one the page says “call”.',
  },
  critical: {
    title: 'Critical values',
    about: 'When a repeat confirms, and within what time the prescriber is told.',
  },
  dose: {
    title: 'Insulin doses',
    about: 'What holds or stops a dose. The order’s own single-dose limit counts besides the ward’s.',
  },
  'second-check': {
    title: 'Second check',
    about: 'Never by the same person. After as many differing answers as said here, the charge nurse does it.',
  },
  fingers: {
    title: 'Fingers',
    about: 'The fingers that the rotation uses, on their sides; never the one used last, never a restricted hand.',
  },
  'ward-day': {
    title: 'Nil by mouth, shifts, lock',
    about: 'The plan while a patient is nil by mouth, the ward’s shifts, and when an idle device locks.',
  },
}

/** All parts, in the order in which they are shown. */
export const PARTS: readonly Part[] = (Object.keys(WORDS) as readonly PartId[]).map((id) => ({
  id,
  ...WORDS[id],
  fields: FIELDS.filter(({ part }) => part === id),
}))

export function partById(id: string): Part | undefined {
  return PARTS.find((part) => part.id === id)
}

/** True when somebody may change something in the part. */
export function isChangeable(part: Part): boolean {
  return part.fields.some(({ kind }) => kind.kind !== 'fixed')
}

export type SettingChange = { readonly part: Part; readonly field: PolicyField }

/** What differs between two policies, setting by setting, in the order of the parts. */
export function changedSettings(before: WardPolicy, after: WardPolicy): readonly SettingChange[] {
  return PARTS.flatMap((part) =>
    part.fields
      .filter(({ name }) => !sameSetting(settingOf(before, name), settingOf(after, name)))
      .map((field) => ({ part, field })),
  )
}

/** True when the change takes two administrators. */
export function touchesDose(changes: readonly SettingChange[]): boolean {
  return changes.some(({ field }) => field.touchesDose)
}
