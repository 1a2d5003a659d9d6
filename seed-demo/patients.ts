/** The invented data of one patient of the demo. */
import type { LoadFileInput } from '../server/load/schema.ts'
import type { DemoOrder } from './orders.ts'

type LoadStayInput = NonNullable<LoadFileInput['stays']>[number]

/** How a patient's glucose varies: mg/dL around `mean`, most readings within `swing`, and `lowsAWeek` lows a week. */
export type GlucosePattern = { readonly mean: number; readonly swing: number; readonly lowsAWeek: number }

export type DemoPatient = {
  readonly ward: string
  readonly bed: string
  readonly familyName: string
  readonly givenName: string
  readonly bornOn: string
  readonly wristband: string
  /** Admitted this many days before the demo's morning, at this ward-local time. */
  readonly daysAgo: number
  readonly at: string
  readonly facts: LoadStayInput['facts']
  /** Nil by mouth from this many days before the demo's morning, at this time, with no end yet. */
  readonly nilByMouth: { readonly daysAgo: number; readonly at: string } | null
  readonly plan: LoadStayInput['plan']
  readonly orders: readonly DemoOrder[]
  /** Orders written this morning and not verified yet. */
  readonly unverified: readonly DemoOrder[]
  readonly glucosePattern: GlucosePattern
  /** Went home this many days before the demo's morning, at this time. Null: still on the ward. */
  readonly left: { readonly daysAgo: number; readonly at: string } | null
  /** A severe low with symptoms, found this many days before the demo's morning. The harm measure counts it. */
  readonly severeLow: { readonly daysAgo: number; readonly at: string } | null
}

export const WELL: LoadStayInput['facts'] = {
  diabetes: 'type-2',
  swallowsSafely: true,
  nilByMouth: null,
  feeding: 'oral',
  ivAccess: false,
  restrictedHands: [],
  isolation: 'none',
  renalImpairment: false,
  onSteroid: false,
  otherGlucoseLowering: [],
  weightKg: null,
}

type Given = Pick<
  DemoPatient,
  'bed' | 'familyName' | 'givenName' | 'bornOn' | 'wristband' | 'daysAgo' | 'at' | 'glucosePattern'
> & { readonly facts?: Partial<LoadStayInput['facts']> } & Partial<
    Pick<DemoPatient, 'nilByMouth' | 'plan' | 'orders' | 'unverified' | 'left' | 'severeLow'>
  >

/** A patient on meal and bedtime checks without an order, changed by what is given. */
export function patientOn(ward: string): (given: Given) => DemoPatient {
  return (given) => ({
    nilByMouth: null,
    plan: { kind: 'ac-and-hs' },
    orders: [],
    unverified: [],
    left: null,
    severeLow: null,
    ward,
    ...given,
    facts: { ...WELL, ...given.facts },
  })
}
