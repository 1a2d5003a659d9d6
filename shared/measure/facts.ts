/**
 * Facts for the two public US hospital-harm measures (CMS816 severe hypoglycemia, CMS871 severe hyperglycemia; version
 * 1.0.000 for 2026). They are one patient's encounters, glucose results, glucose-lowering drugs, diagnoses and comfort
 * care. Instants are absolute. Only the measurement period and age use calendar days.
 */

export type Encounter = {
  readonly encounterId: string
  readonly kind: 'inpatient' | 'emergency' | 'observation' | 'other'
  readonly finished: boolean
  readonly startMs: number
  /** Null: not ended. */
  readonly endMs: number | null
  /** Local calendar dates, YYYY-MM-DD. Age is taken at the start; the end must lie in the measurement period. */
  readonly startDate: string
  readonly endDate: string | null
  /** True when the encounter itself refers to a diabetes diagnosis. */
  readonly diabetesDiagnosis: boolean
  /** Discharged to hospice care, at home or in a facility. */
  readonly toHospice: boolean
}

/**
 * One glucose result of the value set (blood, serum, plasma, interstitial fluid). `mgPerDl` is unrounded; null: no
 * number. `outOfRange` is a meter's own LO or HI.
 */
export type GlucoseResult = {
  readonly resultId: string
  /** Start of the effective period. Null: only a date is known, so the result matches no window. */
  readonly atMs: number | null
  readonly mgPerDl: number | null
  readonly outOfRange: 'LO' | 'HI' | null
  /** Status final, amended or corrected. */
  readonly accepted: boolean
}

export type DrugGiven = {
  readonly startMs: number
  readonly endMs: number | null
  readonly status: 'completed' | 'in-progress' | 'other'
  /** In the drug set of CMS816 (insulins, sulfonylureas, glinides and their combinations, dulaglutide). */
  readonly canCauseSevereLow: boolean
  /** In the drug set of CMS871 (every glucose-lowering drug). */
  readonly lowersGlucose: boolean
}

/** A diagnosis of diabetes on the problem list. `credible`: not refuted and not entered in error. */
export type DiabetesListed = { readonly credible: boolean; readonly fromMs: number | null }

/** Comfort care: a procedure done, or an order active or completed. */
export type ComfortCare = { readonly atMs: number; readonly counts: boolean }

export type MeasureFacts = {
  /** Calendar date of birth, YYYY-MM-DD. */
  readonly bornOn: string
  readonly encounters: readonly Encounter[]
  readonly results: readonly GlucoseResult[]
  readonly drugs: readonly DrugGiven[]
  readonly listed: readonly DiabetesListed[]
  readonly comfort: readonly ComfortCare[]
}

/** Local calendar dates, both included. */
export type MeasurePeriod = { readonly from: string; readonly to: string }

/**
 * How a result without a number counts. published: it matches no comparison, as in the published logic. classed: a
 * meter's LO is below every limit here and its HI above every one. A meter measures 20 to 600 mg/dL (METER_RANGE in
 * shared/glucose/value.ts).
 */
export type OutOfRangeRule = 'published' | 'classed'

/** The number to compare a result by. Null matches nothing. */
export function comparable(result: GlucoseResult, rule: OutOfRangeRule): number | null {
  if (result.mgPerDl !== null || rule === 'published') return result.mgPerDl
  switch (result.outOfRange) {
    case 'LO':
      return Number.NEGATIVE_INFINITY
    case 'HI':
      return Number.POSITIVE_INFINITY
    case null:
      return null
  }
}
