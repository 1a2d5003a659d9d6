/** Reading to insulin and insulin to tray, in whole minutes. */
import { expect, it } from 'vitest'
import { doseMinutes } from '../../shared/dose/minutes.ts'
import type { Dose, TrayFact } from '../../shared/dose/dose.ts'

const MINUTE = 60_000
const GIVEN_AT = 100 * MINUTE
const given = {
  kind: 'given',
  byId: 'n',
  atMs: GIVEN_AT,
  site: { area: 'abdomen', side: 'left' },
  food: 'tray-here',
} as const
const dose = (
  over: { outcome?: Dose['outcome']; takenAtMs?: number | null; occasion?: 'before-lunch' | 'bedtime' } = {},
) => ({
  stayId: 'a',
  outcome: over.outcome === undefined ? given : over.outcome,
  inputs: {
    occasion: over.occasion ?? 'before-lunch',
    readingTakenAtMs: over.takenAtMs === undefined ? GIVEN_AT - 21 * MINUTE : over.takenAtMs,
  } as Dose['inputs'],
})
const tray = (atMs: number | null, over: Partial<TrayFact> = {}): TrayFact => ({
  stayId: 'a',
  date: '2026-03-10',
  meal: 'lunch',
  servedAtMs: atMs,
  shareEatenPercent: null,
  ...over,
})

it.each([
  ['tray after', dose(), [tray(GIVEN_AT + 12 * MINUTE)], 21, 12],
  ['tray before', dose(), [tray(GIVEN_AT - 5 * MINUTE)], 21, -5],
  [
    'part of a minute is cut off',
    dose({ takenAtMs: GIVEN_AT - 21 * MINUTE - 59_999 }),
    [tray(GIVEN_AT + 59_999)],
    21,
    0,
  ],
  ['no tray charted', dose(), [], 21, null],
  ['another day’s tray', dose(), [tray(GIVEN_AT, { date: '2026-03-09' })], 21, null],
  ['another meal’s tray', dose(), [tray(GIVEN_AT, { meal: 'supper' })], 21, null],
  ['another patient’s tray', dose(), [tray(GIVEN_AT, { stayId: 'b' })], 21, null],
  ['bedtime has no tray', dose({ occasion: 'bedtime' }), [tray(GIVEN_AT)], 21, null],
  ['no reading', dose({ takenAtMs: null }), [], null, null],
  ['not given', dose({ outcome: null }), [tray(GIVEN_AT)], null, null],
] as const)('%s', (_name, of, trays, readingToInsulin, insulinToTray) => {
  expect(doseMinutes(of, trays, '2026-03-10')).toEqual({ readingToInsulin, insulinToTray })
})
