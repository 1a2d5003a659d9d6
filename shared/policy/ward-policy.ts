/**
 * Ward policy: every number a rule uses. Versioned; a version is never edited.
 * Glucose limits are counted in the ward's unit: mg/dL, or tenths of a mmol/L.
 * The settings and their defaults are in settings.ts; their types and values here follow from it.
 */
import type { GlucoseUnit } from '../glucose/value.ts'
import type { PolicyField, PolicyOf, Setting } from './entry.ts'
import { FIELDS, type SETTINGS } from './settings.ts'

export type { DextroseRule } from './settings-low.ts'
export type { NursingRole } from './settings.ts'

export type WardPolicy = PolicyOf<typeof SETTINGS>

/** Minutes relative to the anchor: the tray for a before-meal check, the planned time for a timed one. */
export type WindowMinutes = WardPolicy['windows']['beforeMeal']

/** The ward's low protocol. Minutes, grams of carbohydrate or dextrose, mg of glucagon; percent is g in 100 mL. */
export type LowPolicy = WardPolicy['low']

type Some<T> = T extends readonly unknown[] ? T : T extends object ? { readonly [K in keyof T]?: Some<T[K]> } : T

/** Some of the settings of a policy. */
export type SomeSettings = Some<WardPolicy>

/** A policy as an older ledger holds it: a setting that came later is missing. */
export type StoredPolicy = SomeSettings & Pick<WardPolicy, 'unit' | 'zone'>

/** Settings that differ from a policy. Unit and time zone never do. A dextrose rule is named whole. */
export type PolicyChanges = Omit<Some<WardPolicy>, 'unit' | 'zone' | 'low'> & {
  readonly low?: Omit<Some<LowPolicy>, 'dextrose'> & Partial<Pick<LowPolicy, 'dextrose'>>
}

/** The setting at the path; undefined where the policy has none (another kind of dextrose rule, or an older policy). */
export function settingOf(policy: SomeSettings, name: string): Setting | undefined {
  return at(policy, name.split('.'))
}

function at(policy: Setting, steps: readonly string[]): Setting | undefined {
  let found: Setting | undefined = policy
  for (const step of steps) {
    if (found === null || typeof found !== 'object' || Array.isArray(found)) return undefined
    found = (found as { readonly [name: string]: Setting })[step]
  }
  return found
}

/** The policy with one setting replaced, or left out where it is undefined. */
export function withSetting<P extends SomeSettings>(policy: P, name: string, setting: Setting | undefined): P {
  return put(policy, name.split('.'), setting) as P
}

function put(at: Setting, [step = '', ...rest]: readonly string[], setting: Setting | undefined): Setting {
  const { [step]: before, ...others } = at as { readonly [name: string]: Setting }
  const after = rest.length === 0 ? setting : put(before ?? {}, rest, setting)
  return after === undefined ? others : { ...others, [step]: after }
}

/** True when the setting exists in this policy: a dextrose rule has the parts of its own kind only. */
export function exists(field: PolicyField, policy: SomeSettings): boolean {
  return field.only === undefined || settingOf(policy, field.only.name) === field.only.is
}

/** Every setting at its default, in the unit asked for. */
export function defaultPolicy(unit: GlucoseUnit, zone: string): WardPolicy {
  return completePolicy({ unit, zone })
}

/** Split once: a policy is completed each time it is read from its table. */
const STEPS = FIELDS.map((field) => ({ field, steps: field.name.split('.') }))

/** The policy with a default for each setting that came after it was set. */
export function completePolicy(stored: StoredPolicy): WardPolicy {
  let policy = stored
  for (const { field, steps } of STEPS) {
    if (at(policy, steps) === undefined && exists(field, policy))
      policy = withSetting(policy, field.name, field.byDefault(stored.unit))
  }
  return policy as WardPolicy
}

/** The policy with the changes. A setting of another kind of dextrose rule than the named one is left out. */
export function changePolicy(policy: WardPolicy, changes: PolicyChanges): WardPolicy {
  return FIELDS.reduce<WardPolicy>((made, field) => {
    if (!exists(field, made)) return withSetting(made, field.name, undefined)
    const change = settingOf(changes, field.name)
    return change === undefined ? made : withSetting(made, field.name, change)
  }, policy)
}
