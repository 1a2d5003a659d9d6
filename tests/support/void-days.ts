/**
 * Days made up at random on two wards, as events: every kind of event that voids a dose, and every step of a dose,
 * whether the day leaves it open or not. A command is turned into events when its turn comes, from what was charted so far.
 */
import fc from 'fast-check'
import type { Dose, DoseKind } from '../../shared/dose/dose.ts'
import { isBelow } from '../../shared/glucose/value.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import {
  aDose,
  anAdmission,
  anEvent,
  anOrder,
  anOrderInForce,
  aPersonAdded,
  aReading,
  aWardOpened,
  HOUR,
  idOf,
  mgPerDl,
  MINUTE,
  NOW,
  NURSE,
  OTHER_WARD,
  SECOND_NURSE,
  someInputs,
  someWorking,
  WARD,
  ZONE,
} from './makers.ts'

const WARDS = [WARD, OTHER_WARD] as const
const METERS = [idOf('meter'), idOf('othermeter'), null] as const
const STAYS = [idOf('staya'), idOf('stayb'), idOf('stayc')] as const
const INSULINS: readonly InsulinName[] = ['insulin lispro', 'regular insulin', 'NPH insulin', 'insulin glargine']
const VALUES = [38, 55, 66, 74, 110, 182, 263, 345, 431, 'LO', 'HI'] as const
const KINDS: readonly DoseKind[] = ['from-reading', 'after-meal', 'by-direction', 'scheduled']
const AGES = [0, 0, 0, 5, 25, 90] as const
const HOURS_AGO = [0, 1, 23, 24, 30] as const

/** How often each act comes: what voids all doses at once comes seldom, or none would get far. */
const WEIGHTS = {
  measure: 6,
  correct: 2,
  'void-reading': 2,
  propose: 16,
  answer: 14,
  again: 3,
  product: 14,
  give: 12,
  'not-given': 2,
  outside: 3,
  write: 1,
  verify: 2,
  stop: 1,
  policy: 1,
  move: 1,
  discharge: 1,
  control: 5,
  'close-low': 3,
  'answer-question': 1,
} as const
type Act = keyof typeof WEIGHTS
const ACTS = Object.entries(WEIGHTS).flatMap(([act, weight]) => Array<Act>(weight).fill(act as Act))

export type Command = {
  readonly act: Act
  readonly who: number
  readonly pick: number
  readonly other: number
  readonly yes: boolean
  readonly minutes: number
}

/** A day of 60 to 120 commands. */
export const aDay: fc.Arbitrary<readonly Command[]> = fc.array(
  fc.record({
    act: fc.constantFrom(...ACTS),
    who: fc.nat(STAYS.length - 1),
    pick: fc.nat(1000),
    other: fc.nat(1000),
    yes: fc.boolean(),
    minutes: fc.constantFrom(0, 1, 2, 5, 12),
  }),
  { minLength: 60, maxLength: 120, size: 'max' },
)

/** What both wards begin with. */
export function dayBefore(): readonly LedgerEvent[] {
  const past = { stayId: null, happenedAtMs: NOW - 24 * HOUR }
  return [
    ...WARDS.flatMap((wardId) => aWardOpened(wardId)),
    aPersonAdded(),
    aPersonAdded(SECOND_NURSE),
    ...METERS.flatMap((meterId, index) =>
      meterId === null
        ? []
        : [
            anEvent(
              'meter-added',
              { meterId, serial: `M-${String(index)}`, unit: 'mg/dL' },
              { ...past, wardId: WARDS[index] ?? WARD },
            ),
          ],
    ),
    ...STAYS.map((stayId, index) =>
      anAdmission({ stayId, wardId: WARDS[index === 2 ? 1 : 0] ?? WARD, bed: String(index + 1) }),
    ),
    ...STAYS.flatMap((stayId) =>
      anOrderInForce(anOrder(), `${stayId.slice(0, 5)}order1`.padEnd(16, '0')).map((event) => ({ ...event, stayId })),
    ),
  ]
}

type Lying = { wardId: string; bed: number; left: boolean }

/** Turns commands into events. `accepted` tells it that the events of the last command were stored. */
export class VoidDay {
  #nowMs = NOW
  #number = 0
  readonly #readings: Reading[] = []
  readonly #doses: Dose[] = []
  readonly #orders = new Map<string, { stayId: string; versions: number }>()
  readonly #versions = new Map<string, number>(WARDS.map((wardId) => [wardId, 1]))
  readonly #policies = new Map<string, WardPolicy>(WARDS.map((wardId) => [wardId, defaultPolicy('mg/dL', ZONE)]))
  readonly #lows = new Map<string, string>()
  readonly #lying = new Map<string, Lying>(
    STAYS.map((stayId, index) => [stayId, { wardId: WARDS[index === 2 ? 1 : 0] ?? WARD, bed: index + 1, left: false }]),
  )
  #onAccepted: () => void = () => undefined

  constructor() {
    for (const stayId of STAYS) this.#orders.set(`${stayId.slice(0, 5)}order1`.padEnd(16, '0'), { stayId, versions: 1 })
  }

  accepted(): void {
    this.#onAccepted()
  }

  /** The command's events; none where there is nothing that it could be about. */
  eventsOf({ act, who, pick, other, yes, minutes }: Command): readonly LedgerEvent[] {
    this.#nowMs += minutes * MINUTE
    this.#onAccepted = () => undefined
    const stayId = STAYS[who] ?? STAYS[0]
    const lying = this.#lying.get(stayId) as Lying
    const at = { happenedAtMs: this.#nowMs, wardId: lying.wardId, stayId }
    const dose = one(this.#doses, pick)
    const agreed = other % 5 !== 0
    switch (act) {
      case 'measure':
        return this.#measure(stayId, lying, { pick, other, supersedes: null })
      case 'correct':
      case 'void-reading': {
        const reading = one(
          this.#readings.filter((each) => each.stayId === stayId),
          pick,
        )
        if (reading === undefined) return []
        if (act === 'correct') return this.#measure(stayId, lying, { pick: other, other: 0, supersedes: reading })
        return [anEvent('reading-voided', { readingId: reading.readingId, reason: 'x' }, at)]
      }
      case 'propose':
        return this.#propose(stayId, lying, { pick, other, yes })
      case 'answer':
        return dose === undefined
          ? []
          : [
              anEvent(
                'second-check-answered',
                {
                  doseId: dose.doseId,
                  answer: {
                    byId: SECOND_NURSE,
                    atMs: this.#nowMs,
                    glucose: null,
                    units: agreed ? dose.units : dose.units + 1,
                    agreed,
                  },
                },
                { ...this.#headOf(dose), actorId: SECOND_NURSE },
              ),
            ]
      case 'again':
        return dose === undefined ? [] : [anEvent('dose-started-again', { doseId: dose.doseId }, this.#headOf(dose))]
      case 'product':
        return dose === undefined
          ? []
          : [
              anEvent(
                'dose-verified',
                {
                  doseId: dose.doseId,
                  byId: SECOND_NURSE,
                  insulin: dose.insulin,
                  concentration: 'U-100',
                  expiresOn: '2027-01-31',
                  units: dose.units,
                },
                this.#headOf(dose),
              ),
            ]
      case 'give':
        return dose === undefined
          ? []
          : [
              anEvent(
                'dose-given',
                { doseId: dose.doseId, site: { area: 'thigh', side: 'left' }, food: yes ? 'tray-coming' : 'tray-here' },
                {
                  ...this.#headOf(dose),
                  happenedAtMs: this.#nowMs - (AGES[other % AGES.length] ?? 0) * MINUTE,
                  chartedAtMs: this.#nowMs,
                },
              ),
            ]
      case 'not-given':
        return dose === undefined
          ? []
          : [
              anEvent(
                'dose-not-given',
                { doseId: dose.doseId, kind: yes ? 'withheld' : 'refused', reason: 'x' },
                this.#headOf(dose),
              ),
            ]
      case 'outside': {
        const givenAtMs = this.#nowMs - (HOURS_AGO[pick % HOURS_AGO.length] ?? 0) * HOUR
        return [
          anEvent(
            'outside-dose-recorded',
            {
              outsideDose: {
                outsideDoseId: this.#id('outside'),
                stayId,
                insulin: INSULINS[other % INSULINS.length] ?? 'insulin lispro',
                units: 2,
                givenAtMs,
                chartedAtMs: this.#nowMs,
                source: 'elsewhere',
                givenBy: 'x',
                checkedBy: null,
                byId: NURSE,
              },
            },
            { ...at, happenedAtMs: givenAtMs, chartedAtMs: this.#nowMs },
          ),
        ]
      }
      case 'write': {
        const known = one(this.#ordersOf(stayId), pick)
        const orderId = yes || known === undefined ? this.#id('order') : known
        const version = (this.#orders.get(orderId)?.versions ?? 0) + 1
        this.#onAccepted = () => this.#orders.set(orderId, { stayId, versions: version })
        const scheduled = other % 2 === 0 ? [] : [{ time: '21:00', units: 8, holdBelow: null }]
        return [anEvent('order-written', { orderId, version, order: anOrder({ scheduled }) }, at)]
      }
      case 'verify': {
        const orderId = one(this.#ordersOf(stayId), pick)
        const version = orderId === undefined ? undefined : this.#orders.get(orderId)?.versions
        return orderId === undefined || version === undefined
          ? []
          : [anEvent('order-verified', { orderId, version }, { ...at, actorId: SECOND_NURSE })]
      }
      case 'stop': {
        const orderId = one(this.#ordersOf(stayId), pick)
        return orderId === undefined ? [] : [anEvent('order-stopped', { orderId, reason: 'x' }, at)]
      }
      case 'policy':
        return this.#policy(WARDS[pick % 2] ?? WARD, other, yes)
      case 'move': {
        const toWardId = yes ? lying.wardId : (WARDS.find((wardId) => wardId !== lying.wardId) ?? WARD)
        const bed = 1 + (pick % 8)
        this.#onAccepted = () => {
          lying.wardId = toWardId
          lying.bed = bed
        }
        return lying.left ? [] : [anEvent('stay-moved', { fromWardId: lying.wardId, toWardId, bed: String(bed) }, at)]
      }
      case 'discharge':
        if (lying.left) return []
        this.#onAccepted = () => {
          lying.left = true
        }
        return [anEvent('stay-discharged', {}, at)]
      case 'control': {
        const meterId = METERS[pick % 2] ?? idOf('meter')
        const happenedAtMs = this.#nowMs - (AGES[other % AGES.length] ?? 0) * MINUTE
        return [
          anEvent(
            'meter-controlled',
            { meterId, passed: yes },
            { stayId: null, happenedAtMs, chartedAtMs: this.#nowMs },
          ),
        ]
      }
      case 'close-low':
      case 'answer-question': {
        const lowId = this.#lows.get(stayId)
        if (lowId === undefined) return []
        if (act === 'answer-question')
          return [
            anEvent(
              'insulin-question-answered',
              { lowId, told: 'x', readBack: true, decision: 'hold', ordered: '' },
              at,
            ),
          ]
        this.#onAccepted = () => this.#lows.delete(stayId)
        return [anEvent('low-event-closed', { lowId, cause: 'other', note: 'x' }, at)]
      }
    }
  }

  #measure(
    stayId: string,
    lying: Lying,
    of: { readonly pick: number; readonly other: number; readonly supersedes: Reading | null },
  ): readonly LedgerEvent[] {
    const takenAtMs = of.supersedes?.takenAtMs ?? this.#nowMs - (AGES[of.other % AGES.length] ?? 0) * MINUTE
    const reading = aReading({
      readingId: this.#id('reading'),
      stayId,
      wardId: lying.wardId,
      glucose: mgPerDl(VALUES[of.pick % VALUES.length] ?? 182),
      takenAtMs,
      chartedAtMs: this.#nowMs,
      meterId: METERS[Math.floor(of.pick / VALUES.length) % METERS.length] ?? null,
      supersedes: of.supersedes === null ? null : { readingId: of.supersedes.readingId, reason: 'x' },
    })
    const head = { stayId, wardId: lying.wardId, happenedAtMs: takenAtMs, chartedAtMs: this.#nowMs }
    const lowId = this.#id('low')
    const low = (this.#policies.get(lying.wardId) ?? defaultPolicy('mg/dL', ZONE)).limits.low
    const opens = isBelow(reading.glucose, low) && !this.#lows.has(stayId)
    this.#onAccepted = () => {
      this.#readings.push(reading)
      if (opens) this.#lows.set(stayId, lowId)
    }
    return [
      anEvent('reading-recorded', { reading }, head),
      ...(opens
        ? [anEvent('low-event-opened', { lowId, readingId: reading.readingId, previousLowId: null }, head)]
        : []),
    ]
  }

  #propose(
    stayId: string,
    lying: Lying,
    { pick, other, yes }: { readonly pick: number; readonly other: number; readonly yes: boolean },
  ): readonly LedgerEvent[] {
    const kind = KINDS[pick % KINDS.length] ?? 'scheduled'
    const readings = this.#readings.filter((reading) => reading.stayId === stayId)
    // mostly the newest reading, as a nurse does
    const reading = other % 4 === 0 ? one(readings, pick) : readings.at(-1)
    const isScheduled = kind === 'scheduled'
    if (!isScheduled && reading === undefined) return []
    const holds = isScheduled && other % 3 === 0 && reading !== undefined
    const directionId = this.#id('direction')
    const needsCheck = other % 5 !== 0
    const units = other % 7 === 0 ? 0 : 2
    const dose = aDose({
      doseId: this.#id('dose'),
      stayId,
      wardId: lying.wardId,
      kind,
      readingId: isScheduled ? null : (reading?.readingId ?? null),
      slotKey: isScheduled || (kind === 'by-direction' && yes) ? `${stayId}.slot${String(other % 2)}` : null,
      insulin: INSULINS[Math.floor(other / 2) % INSULINS.length] ?? 'insulin lispro',
      units,
      working: someWorking({
        orderId: one(this.#ordersOf(stayId), other) ?? directionId,
        policyVersion: this.#versions.get(lying.wardId) ?? 1,
        readingId: isScheduled && !holds ? null : (reading?.readingId ?? null),
        units,
        guards: holds ? [{ guard: 'scheduled-hold', outcome: 'passed', details: { limit: 100, found: 182 } }] : [],
      }),
      inputs: someInputs({
        nowMs: this.#nowMs,
        readingTakenAtMs: reading?.takenAtMs ?? null,
        low: yes && this.#lows.has(stayId) ? 'recovered-awaiting-follow-up' : 'none',
      }),
      proposedAtMs: this.#nowMs,
      secondCheckRequired: needsCheck,
      outcome: needsCheck || units > 0 ? null : { kind: 'zero-charted', byId: NURSE, atMs: this.#nowMs },
    })
    this.#onAccepted = () => this.#doses.push(dose)
    const proposed = anEvent('dose-proposed', { dose }, this.#headOf(dose))
    if (kind !== 'by-direction') return [proposed]
    const direction = {
      directionId,
      stayId,
      readingId: dose.readingId,
      prescriber: 'x',
      readBack: true,
      why: 'x',
      units,
      insulin: dose.insulin,
      byId: NURSE,
      atMs: this.#nowMs,
    } as const
    return [anEvent('direction-recorded', { direction }, this.#headOf(dose)), proposed]
  }

  #policy(wardId: string, other: number, yes: boolean): readonly LedgerEvent[] {
    const version = (this.#versions.get(wardId) ?? 1) + 1
    const before = defaultPolicy('mg/dL', ZONE)
    const low = other % 3 === 0 ? 80 : 70
    const policy = { ...before, limits: { ...before.limits, low, criticalHigh: other % 2 === 0 ? 300 : 400 } }
    const head = { wardId, stayId: null, happenedAtMs: this.#nowMs }
    const fromMs = this.#nowMs + ([0, -5, 30][other % 3] ?? 0) * MINUTE
    this.#onAccepted = () => {
      this.#versions.set(wardId, version)
      if (yes || fromMs <= this.#nowMs) this.#policies.set(wardId, policy)
    }
    return yes
      ? [anEvent('policy-set', { version, policy }, head)]
      : [anEvent('policy-set-from', { version, policy, fromMs, changeId: null }, head)]
  }

  #ordersOf(stayId: string): readonly string[] {
    return [...this.#orders].flatMap(([orderId, order]) => (order.stayId === stayId ? [orderId] : []))
  }

  #headOf({ stayId, wardId }: Dose): { stayId: string; wardId: string; happenedAtMs: number } {
    return { stayId, wardId: this.#lying.get(stayId)?.wardId ?? wardId, happenedAtMs: this.#nowMs }
  }

  #id(name: string): string {
    this.#number += 1
    return `${name}${String(this.#number)}x`.padEnd(16, '0')
  }
}

function one<T>(list: readonly T[], pick: number): T | undefined {
  // the newest are the ones that still have something to come
  return list[list.length - 1 - (pick % Math.max(1, Math.min(list.length, 3)))]
}
