/** Low events as figures: level, resolution, recurrence; and the minutes between reading, insulin and tray. */
import { describe, expect, it } from 'vitest'
import { insulinMinutes } from '../../shared/audit/rates-minutes.ts'
import { lowFigure } from '../../shared/audit/rates-lows.ts'
import { NOTHING_CHARTED, type LowEvent } from '../../shared/low/low.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { aDose, aReading, HOUR, mgPerDl, MINUTE, NOW, someInputs, STAY, TODAY, WARD, ZONE } from '../support/makers.ts'

const POLICY = defaultPolicy('mg/dL', ZONE)
const low = (over: Partial<LowEvent> = {}): LowEvent => ({
  lowId: 'low',
  stayId: STAY,
  wardId: WARD,
  openedByReadingId: 'r0',
  openedAtMs: NOW,
  treatments: [],
  charted: NOTHING_CHARTED,
  closedAtMs: null,
  previousLowId: null,
  previousClosedAtMs: null,
  ...over,
})
const readings = (
  ...values: readonly (readonly [minutes: number, value: number | 'LO' | 'HI'])[]
): readonly Reading[] =>
  values.map(([minutes, value], at) =>
    aReading({ readingId: `r${String(at)}`, glucose: mgPerDl(value), takenAtMs: NOW + minutes * MINUTE }),
  )
const figure = (values: readonly Reading[], ofStay: readonly LowEvent[] = [low()], event = low()) =>
  lowFigure({ low: event, readings: values, ofStay, policy: POLICY })

describe('level and resolution', () => {
  it.each([
    ['level 1, back at 70 exactly', readings([0, 65], [18, 69], [33, 70]), { level: 1, toResolutionMs: 33 * MINUTE }],
    ['level 2 by its lowest value', readings([0, 65], [15, 53], [30, 90]), { level: 2, toResolutionMs: 30 * MINUTE }],
    [
      'LO is level 2; HI ends no low',
      readings([0, 'LO'], [15, 'HI'], [40, 88]),
      { level: 2, toResolutionMs: 40 * MINUTE },
    ],
    ['not back yet', readings([0, 65], [20, 60]), { level: 1, toResolutionMs: null }],
  ])('%s', (_name, values, expected) => {
    expect(figure(values)).toMatchObject(expected)
  })
  it('a value corrected to one that is not low leaves no level', () => {
    expect(
      figure([{ ...(readings([0, 65])[0] as Reading), voided: { reason: 'wrong patient', byId: 'n', atMs: NOW } }]),
    ).toMatchObject({ level: null })
  })
  it('counts a level 3 finding besides the number', () => {
    const found = low({
      charted: {
        ...NOTHING_CHARTED,
        findings: [{ finding: 'confused-needs-help', atMs: NOW, chartedAtMs: NOW, byId: 'n' }],
      },
    })
    expect(figure(readings([0, 65]), [found], found)).toMatchObject({ level: 1, levelThree: true })
  })
})

describe('recurrence (10 min to 24 h; M)', () => {
  const earlier = (before: number): LowEvent => low({ lowId: 'before', openedAtMs: NOW - before })
  it.each([
    ['the first of the stay', [low()], { withinDay: false, againInStay: false }],
    [
      '9 min after another: the same low looked at again',
      [earlier(9 * MINUTE), low()],
      { withinDay: false, againInStay: true },
    ],
    ['10 min after', [earlier(10 * MINUTE), low()], { withinDay: true, againInStay: true }],
    ['24 h after', [earlier(24 * HOUR), low()], { withinDay: true, againInStay: true }],
    ['a moment past 24 h', [earlier(24 * HOUR + 1), low()], { withinDay: false, againInStay: true }],
    [
      'one that comes later does not count',
      [low(), low({ lowId: 'later', openedAtMs: NOW + HOUR })],
      { withinDay: false, againInStay: false },
    ],
  ])('%s', (_name, ofStay, expected) => {
    expect(figure(readings([0, 65]), ofStay)).toMatchObject(expected)
  })
})

describe('minutes of given doses', () => {
  const given = (minutes: number, over: Parameters<typeof aDose>[0] = {}) =>
    aDose({
      outcome: {
        kind: 'given',
        byId: 'n',
        atMs: NOW + minutes * MINUTE,
        site: { area: 'abdomen', side: 'left' },
        food: 'tray-coming',
      },
      ...over,
    })
  const tray = (minutes: number) => ({
    stayId: STAY,
    date: TODAY,
    meal: 'breakfast' as const,
    servedAtMs: NOW + minutes * MINUTE,
    shareEatenPercent: null,
  })

  it('run from the reading to the insulin, and on to the tray', () => {
    expect(insulinMinutes([given(12)], [tray(20)], ZONE)).toEqual({
      given: 1,
      readingToInsulin: [12],
      insulinToTray: [8],
    })
  })
  it('are negative for a tray before insulin, absent without tray or reading, and skip doses not given', () => {
    expect(insulinMinutes([given(12)], [tray(5)], ZONE).insulinToTray).toEqual([-7])
    expect(
      insulinMinutes([given(12, { inputs: someInputs({ readingTakenAtMs: null, occasion: null }) })], [tray(5)], ZONE),
    ).toEqual({ given: 1, readingToInsulin: [], insulinToTray: [] })
    expect(insulinMinutes([aDose()], [tray(5)], ZONE).given).toBe(0)
  })
})
