/**
 * The supplemental scale of the RABBIT 2 trial, usual column (Umpierrez et al., Diabetes Care 2007;30:2181; R/S), as
 * printed rows and as a table to look a dose up in. Written apart from the rules of the service and importing none of
 * them, so that it can contradict them.
 *
 * mmol/L rows are in tenths. Each printed upper bound is divided by 18.0156 and written to one decimal, as the ADA
 * prints 140 = 7.8, 180 = 10.0, 350 = 19.4 and 400 = 22.2; 220, 260 and 300 are 12.2, 14.4 and 16.7 (worked out here,
 * mark D). A row begins one tenth above the row before.
 */
export type PrintedRow = { readonly from: string; readonly to: string; readonly units: number }

export const USUAL_MG_PER_DL: readonly PrintedRow[] = [
  { from: '', to: '140', units: 0 },
  { from: '141', to: '180', units: 4 },
  { from: '181', to: '220', units: 6 },
  { from: '221', to: '260', units: 8 },
  { from: '261', to: '300', units: 10 },
  { from: '301', to: '350', units: 12 },
  { from: '351', to: '400', units: 14 },
  { from: '401', to: '', units: 16 },
]

export const USUAL_MMOL_PER_L: readonly PrintedRow[] = [
  { from: '', to: '7.8', units: 0 },
  { from: '7.9', to: '10.0', units: 4 },
  { from: '10.1', to: '12.2', units: 6 },
  { from: '12.3', to: '14.4', units: 8 },
  { from: '14.5', to: '16.7', units: 10 },
  { from: '16.8', to: '19.4', units: 12 },
  { from: '19.5', to: '22.2', units: 14 },
  { from: '22.3', to: '', units: 16 },
]

/** Units for a typed value (digits with or without a decimal), found by walking the rows from the top. */
export function lookUp(rows: readonly PrintedRow[], typed: string): number {
  const value = Math.round(Number(typed) * 10)
  for (const row of rows) {
    const from = row.from === '' ? -Infinity : Math.round(Number(row.from) * 10)
    const to = row.to === '' ? Infinity : Math.round(Number(row.to) * 10)
    if (value >= from && value <= to) return row.units
  }
  throw new Error(`no row for ${typed}`)
}
