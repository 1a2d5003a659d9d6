/**
 * Published scales as a person types them into the order form, and the answers of their own rows. README.md beside
 * this file explains the labels 2a to 2e and the marks. The expected edges come from the printed rows, never from the
 * rules.
 */
import type { PaperRow } from '../browser/pages/order-entry.ts'

type Row = PaperRow

const BOUNDS_A = [
  ['', '140'],
  ['141', '180'],
  ['181', '220'],
  ['221', '260'],
  ['261', '300'],
  ['301', '350'],
  ['351', '400'],
  ['>400', ''],
] as const
const column = (bounds: readonly (readonly [string, string])[], units: readonly number[]): readonly Row[] =>
  bounds.map(([from, to], index): Row => [from, to, units[index] ?? 0])

const BOUNDS_B = [
  ['150', '199'],
  ['200', '249'],
  ['250', '299'],
  ['300', '349'],
  ['>350', ''],
] as const

export type PublishedScale = {
  readonly name: string
  readonly rows: readonly Row[]
  /** The value missing from the paper: refused naming it, then answered with these units. */
  readonly hole: { readonly value: string; readonly units: number } | null
  /** Each edge and the answers beside it, from the printed rows. */
  readonly edges: readonly (readonly [value: number, answer: number | 'call'])[]
}

/** Both sides of each printed bound and one further, from the printed rows only. */
function printedEdges(
  firsts: readonly (readonly [at: number, answer: number | 'call'])[],
  below: number,
): PublishedScale['edges'] {
  return firsts.flatMap(([at]) =>
    [at - 1, at, at + 1].map((value): [number, number | 'call'] => [
      value,
      firsts.findLast(([first]) => first <= value)?.[1] ?? below,
    ]),
  )
}

/** 2a: RABBIT 2 trial, Diabetes Care 2007;30:2181 (usual column R/S, the others D). */
const A = (name: string, units: readonly number[]): PublishedScale => ({
  name: `2a ${name}`,
  rows: column(BOUNDS_A, units),
  hole: null,
  edges: printedEdges(
    [141, 181, 221, 261, 301, 351, 401].map((at, index) => [at, units[index + 1] ?? 0] as const),
    units[0] ?? 0,
  ),
})

/**
 * 2b: emergency-medicine and family-practice handbooks (R); 350 is in no row, and is answered like the row above it.
 */
const B = (name: string, units: readonly number[]): PublishedScale => ({
  name: `2b ${name}`,
  rows: column(BOUNDS_B, units),
  hole: { value: '350', units: units[4] ?? 0 },
  edges: printedEdges(
    [150, 200, 250, 300, 350, 351].map((at, index) => [at, units[Math.min(index, 4)] ?? 0] as const),
    0,
  ),
})

export const PUBLISHED: readonly PublishedScale[] = [
  A('sensitive', [0, 2, 4, 6, 8, 10, 12, 14]),
  A('usual', [0, 4, 6, 8, 10, 12, 14, 16]),
  A('resistant', [0, 6, 8, 10, 12, 14, 16, 18]),
  // 2f: one copy prints 15 where the rule gives 14: accepted as ordered
  A('a copy that prints 15', [0, 4, 6, 8, 10, 12, 15, 16]),
  B('low', [1, 2, 3, 4, 5]),
  B('medium', [1, 3, 5, 7, 8]),
  B('high', [2, 4, 7, 10, 12]),
  // 2c: ADA Standards of Care, Older Adults (S): 250 → 0, 251 → 2, 350 → 2, 351 → 4
  {
    name: '2c before a meal',
    rows: [
      ['>250', '350', 2],
      ['>350', '', 4],
    ],
    hole: null,
    edges: [
      [250, 0],
      [251, 2],
      [252, 2],
      [350, 2],
      [351, 4],
      [352, 4],
    ],
  },
  // 2d: pregnancy clinic scale of a US medical school (R); 301 is in no row
  {
    name: '2d meal',
    rows: [
      ['100', '140', 2],
      ['141', '160', 3],
      ['161', '180', 4],
      ['181', '200', 5],
      ['201', '250', 6],
      ['251', '300', 8],
      ['>301', '', 10],
    ],
    hole: { value: '301', units: 8 },
    edges: [
      [99, 0],
      [100, 2],
      [101, 2],
      [140, 2],
      [141, 3],
      [142, 3],
      [160, 3],
      [161, 4],
      [162, 4],
      [180, 4],
      [181, 5],
      [182, 5],
      [200, 5],
      [201, 6],
      [202, 6],
      [250, 6],
      [251, 8],
      [252, 8],
      [300, 8],
      [301, 8],
      [302, 10],
      [301, 8],
      [302, 10],
      [303, 10],
    ],
  },
  // 2e: teaching scales (R)
  {
    name: '2e nursing exam review',
    hole: null,
    rows: [
      ['', '<70', 0],
      ['70', '130', 0],
      ['131', '180', 2],
      ['181', '240', 4],
      ['241', '300', 6],
      ['301', '350', 8],
      ['351', '400', 10],
      ['>400', '', 12, 'Call the prescriber'],
    ],
    edges: [
      [69, 0],
      [70, 0],
      [71, 0],
      [130, 0],
      [131, 2],
      [132, 2],
      [180, 2],
      [181, 4],
      [182, 4],
      [240, 4],
      [241, 6],
      [242, 6],
      [300, 6],
      [301, 8],
      [302, 8],
      [350, 8],
      [351, 10],
      [352, 10],
      [400, 10],
      [401, 12],
      [402, 12],
    ],
  },
  {
    name: '2e textbook',
    hole: null,
    rows: [
      ['0', '180', 0],
      ['181', '240', 2],
      ['241', '300', 4],
      ['301', '400', 6],
      ['>400', '', 8, 'Repeat in 2 h'],
    ],
    edges: [
      [180, 0],
      [181, 2],
      [182, 2],
      [240, 2],
      [241, 4],
      [242, 4],
      [300, 4],
      [301, 6],
      [302, 6],
      [400, 6],
      [401, 8],
      [402, 8],
    ],
  },
  {
    name: '2e college packet',
    hole: null,
    rows: [
      ['0', '150', 0],
      ['151', '200', 2],
      ['201', '240', 4],
      ['241', '280', 6],
      ['281', '330', 8],
      ['>330', '', 'call'],
    ],
    edges: [
      [150, 0],
      [151, 2],
      [152, 2],
      [200, 2],
      [201, 4],
      [202, 4],
      [240, 4],
      [241, 6],
      [242, 6],
      [280, 6],
      [281, 8],
      [282, 8],
      [330, 8],
      [331, 'call'],
      [332, 'call'],
    ],
  },
  {
    name: '2e workbook',
    hole: null,
    rows: [
      ['0', '150', 0],
      ['151', '200', 2],
      ['201', '300', 4],
      ['301', '400', 6],
      ['>400', '', 8, 'At once; notify; repeat in 2 h'],
    ],
    edges: [
      [150, 0],
      [151, 2],
      [152, 2],
      [200, 2],
      [201, 4],
      [202, 4],
      [300, 4],
      [301, 6],
      [302, 6],
      [400, 6],
      [401, 8],
      [402, 8],
    ],
  },
]

/** 2d at bedtime, printed beside its meal scale (R). */
export const BEDTIME_D: readonly Row[] = [
  ['100', '160', 1],
  ['161', '200', 2],
  ['201', '250', 3],
  ['251', '300', 4],
  ['>301', '', 5],
]
export const BEDTIME_D_EDGES: readonly (readonly [number, number])[] = [
  [99, 0],
  [100, 1],
  [101, 1],
  [160, 1],
  [161, 2],
  [162, 2],
  [200, 2],
  [201, 3],
  [202, 3],
  [250, 3],
  [251, 4],
  [252, 4],
  [300, 4],
  [301, 4],
  [302, 5],
  [301, 4],
  [302, 5],
  [303, 5],
]

export type Malformed = {
  readonly name: string
  readonly unit: 'mg/dL' | 'mmol/L'
  readonly rows: readonly Row[]
  readonly names: string
  readonly where: string
}

/** 2f: printed scales that are invalid. Each is refused naming the value, in its row. */
export const MALFORMED: readonly Malformed[] = [
  {
    name: 'hole at 350 ("300–349", "over 350")',
    unit: 'mg/dL',
    rows: [
      ['150', '299', 2],
      ['300', '349', 4],
      ['over 350', '', 6],
    ],
    names: '350 mg/dL is in no row',
    where: 'Row 3, from',
  },
  {
    name: 'hole at 301 ("251–300", "over 301")',
    unit: 'mg/dL',
    rows: [
      ['201', '250', 4],
      ['251', '300', 6],
      ['over 301', '', 8],
    ],
    names: '301 mg/dL is in no row',
    where: 'Row 3, from',
  },
  {
    name: 'overlap at 180',
    unit: 'mg/dL',
    rows: [
      ['150', '180', 1],
      ['180', '200', 2],
      ['201', '', 3],
    ],
    names: '180 mg/dL is in two rows',
    where: 'Row 2, from',
  },
  {
    name: 'overlap at 200',
    unit: 'mg/dL',
    rows: [
      ['180', '200', 1],
      ['200', '220', 2],
      ['220', '240', 3],
    ],
    names: '200 mg/dL is in two rows',
    where: 'Row 2, from',
  },
  {
    name: 'overlap at 220',
    unit: 'mg/dL',
    rows: [
      ['180', '199', 1],
      ['200', '220', 2],
      ['220', '240', 3],
    ],
    names: '220 mg/dL is in two rows',
    where: 'Row 3, from',
  },
  {
    name: 'overlap at 240',
    unit: 'mg/dL',
    rows: [
      ['200', '219', 1],
      ['220', '240', 2],
      ['240', '', 3],
    ],
    names: '240 mg/dL is in two rows',
    where: 'Row 3, from',
  },
  {
    name: 'jump with no row between 150 and 201',
    unit: 'mg/dL',
    rows: [
      ['0', '150', 0],
      ['201', '250', 4],
      ['251', '', 6],
    ],
    names: '151 mg/dL is in no row: the rows go from 150 to 201',
    where: 'Row 2, from',
  },
  {
    name: 'mmol/L overlap at 8.0 ("6–8, 8–10, 10–12")',
    unit: 'mmol/L',
    rows: [
      ['6.0', '8.0', 1],
      ['8.0', '10.0', 2],
      ['10.0', '12.0', 3],
    ],
    names: '8.0 mmol/L is in two rows',
    where: 'Row 2, from',
  },
  {
    name: 'mmol/L overlap at 10.0',
    unit: 'mmol/L',
    rows: [
      ['6.0', '7.9', 1],
      ['8.0', '10.0', 2],
      ['10.0', '12.0', 3],
    ],
    names: '10.0 mmol/L is in two rows',
    where: 'Row 3, from',
  },
  {
    name: 'mmol/L overlap at 12.0',
    unit: 'mmol/L',
    rows: [
      ['8.0', '9.9', 1],
      ['10.0', '12.0', 2],
      ['12.0', '14.0', 3],
    ],
    names: '12.0 mmol/L is in two rows',
    where: 'Row 3, from',
  },
]

export type WorkedDose = {
  readonly name: string
  readonly unit: 'mg/dL' | 'mmol/L'
  readonly fields: Readonly<Record<string, string>>
  readonly rows?: readonly Row[]
  readonly glucose: string
  readonly grams?: string
  readonly answer: string
  readonly says?: string
}

const factor = (target: string, perUnit: string): Readonly<Record<string, string>> => ({
  correctionKind: 'factor',
  target,
  perUnit,
})
const ratio = (gramsPerUnit: string): Readonly<Record<string, string>> => ({ mealKind: 'ratio', gramsPerUnit })

/** The worked doses by factor and by carbohydrate. Each name has its number and mark. */
export const WORKED: readonly WorkedDose[] = [
  {
    name: '8 (R)',
    unit: 'mg/dL',
    rows: [
      ['80', '150', 0],
      ['151', '189', 1],
      ['190', '220', 2],
    ],
    fields: { ...ratio('15'), aboveCall: 'yes' },
    glucose: '178',
    grams: '45',
    answer: '4 units',
  },
  {
    name: '9 (D)',
    unit: 'mg/dL',
    rows: [
      ['150', '199', 2],
      ['200', '249', 4],
    ],
    fields: { ...ratio('12'), aboveCall: 'yes' },
    glucose: '214',
    grams: '60',
    answer: '9 units',
  },
  {
    name: '10 (D)',
    unit: 'mg/dL',
    rows: [
      ['200', '299', 1],
      ['300', '399', 2],
      ['≥400', '', 3],
    ],
    fields: ratio('15'),
    glucose: '275',
    grams: '75',
    answer: '6 units',
  },
  // TDD 90: 500 rule 5.56 g and 1800 rule 20 mg/dL; the published 19 truncates the ratio to 5 (R), unrounded it is 17.6 (D)
  {
    name: '13 with the ratio truncated (R)',
    unit: 'mg/dL',
    fields: { ...factor('120', '20'), ...ratio('5') },
    glucose: '220',
    grams: '70',
    answer: '19 units',
  },
  {
    name: '13 with the ratio as it is (D)',
    unit: 'mg/dL',
    fields: { ...factor('120', '20'), ...ratio('5.56') },
    glucose: '220',
    grams: '70',
    answer: '18 units',
    says: 'about 17.59 units',
  },
  {
    name: '15 (R)',
    unit: 'mg/dL',
    fields: factor('140', '30'),
    glucose: '300',
    answer: '5 units',
    says: 'about 5.333 units',
  },
  { name: '16 (R)', unit: 'mmol/L', fields: factor('8.0', '2.0'), glucose: '14.0', answer: '3 units' },
  { name: '17 (R)', unit: 'mg/dL', fields: factor('130', '50'), glucose: '230', answer: '2 units' },
  {
    name: '18 (S/M)',
    unit: 'mg/dL',
    fields: { ...factor('120', '50'), ...ratio('10') },
    glucose: '220',
    grams: '60',
    answer: '8 units',
  },
  {
    name: '19 to half units (R)',
    unit: 'mg/dL',
    fields: { ...factor('120', '30'), ...ratio('15'), roundTo: '0.5' },
    glucose: '214',
    grams: '68',
    answer: '7.5 units',
  },
  {
    name: '19 to whole units (D)',
    unit: 'mg/dL',
    fields: { ...factor('120', '30'), ...ratio('15') },
    glucose: '214',
    grams: '68',
    answer: '8 units',
  },
  {
    name: '20 (D)',
    unit: 'mg/dL',
    fields: { ...factor('120', '10'), ...ratio('10') },
    glucose: '140',
    grams: '21',
    answer: '4 units',
    says: '4.1 units',
  },
]
