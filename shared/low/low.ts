/** Low events: types. A low event runs from the first reading below the low limit until it is closed. */

/** Label derived from the number; level 3 is a clinical finding. ADA Standards of Care (reference-values section 1). */
export type LowLevel = 1 | 2

export type LowTreatment = { readonly lowId: string; readonly atMs: number; readonly chartedAtMs: number; readonly byId: string; readonly what: string }

export type LowEvent = {
  readonly lowId: string
  readonly stayId: string
  readonly wardId: string
  readonly openedByReadingId: string
  readonly openedAtMs: number
  readonly treatments: readonly LowTreatment[]
  readonly closedAtMs: number | null
  /** The closed event before this one in the stay, when this low followed a closing. */
  readonly previousLowId: string | null
}
