/** The form fields of the prescriber's word about each insulin, for the low's question and for a later word. */
import { z } from 'zod'
import type { NextSlot, SaidOfInsulin } from '../../shared/care/insulin-words.ts'
import { isSlotSettled, slotsAhead, slotAddress } from '../../shared/check/scheduled.ts'
import { isInForce, type InsulinName } from '../../shared/order/order.ts'
import { unitsOf } from '../../shared/order/entry-scale.ts'
import { refuse, type Outcome, accept } from '../../shared/outcome.ts'
import { HOUR_MS } from '../../shared/time/span.ts'
import { addWardDays, localToUtc, parseLocalDateTime, wardDate, wardTime } from '../../shared/time/zone.ts'
import type { WordRow } from '../../views/stay/insulin-words.ts'
import type { StayFacts } from '../store/contract.ts'
import { settledSlotsOf } from './tasks.ts'

/** At most this many insulins are asked about: a patient with more is one for the telephone. */
const MOST = 4
const NUMBERS = Array.from({ length: MOST }, (_, index) => String(index + 1))
/** How far ahead other units can count for. */
const AHEAD_MS = 36 * HOUR_MS

const text = z.string().trim().max(30, { error: 'At most 30 characters.' }).default('')

const word = z.enum(['', 'as-ordered', 'hold', 'units'], { error: 'Choose what the prescriber said.' }).default('')

/** One of each for an insulin. */
export const WORD_FIELDS = {
  insulin1: text,
  insulin2: text,
  insulin3: text,
  insulin4: text,
  word1: word,
  word2: word,
  word3: word,
  word4: word,
  until1: text,
  until2: text,
  until3: text,
  until4: text,
  units1: text,
  units2: text,
  units3: text,
  units4: text,
}

type Fields = Readonly<Record<string, unknown>>
const textOf = (fields: Fields, name: string): string => {
  const value = fields[name]
  return typeof value === 'string' ? value : ''
}

export type SaidRefusal = 'word-missing' | 'word-until-not-read' | 'word-units-not-typed'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'word-missing': { insulin?: string }
    'word-until-not-read': { insulin: string }
    'word-units-not-typed': { insulin: string }
  }
}

/** A time of a hold's end; null when empty: until asked again. "07:30" is the next 07:30; undefined: no time. */
export function untilOf(typed: string, zone: string, nowMs: number): number | null | undefined {
  if (typed === '') return null
  if (/^([01]\d|2[0-3]):[0-5]\d$/.test(typed)) {
    const today = wardDate(nowMs, zone)
    const atMs = localToUtc(today, typed, zone)
    return atMs > nowMs ? atMs : localToUtc(addWardDays(today, 1, zone), typed, zone)
  }
  return parseLocalDateTime(typed, zone, nowMs) ?? undefined
}

/** What was said about each of these insulins. Every one needs its word. */
export function saidFrom(
  fields: Fields,
  insulins: readonly InsulinName[],
  zone: string,
  nowMs: number,
): Outcome<readonly SaidOfInsulin[], SaidRefusal> {
  const said: SaidOfInsulin[] = []
  for (const insulin of insulins) {
    const number = NUMBERS.find((one) => textOf(fields, `insulin${one}`) === insulin)
    const chosen = number === undefined ? '' : textOf(fields, `word${number}`)
    if (number === undefined || (chosen !== 'as-ordered' && chosen !== 'hold' && chosen !== 'units'))
      return refuse('word-missing', { insulin, field: `word${number ?? '1'}` })
    const untilMs = untilOf(textOf(fields, `until${number}`), zone, nowMs)
    if (chosen === 'hold' && untilMs === undefined)
      return refuse('word-until-not-read', { insulin, field: `until${number}` })
    const units = chosen === 'units' ? unitsOf(textOf(fields, `units${number}`)) : null
    if (chosen === 'units' && units === null)
      return refuse('word-units-not-typed', { insulin, field: `units${number}` })
    said.push({ insulin, word: chosen, untilMs: untilMs ?? null, units })
  }
  return accept(said)
}

/** The next unsettled scheduled dose of each insulin, soonest first. */
export function nextSlotsOf(facts: StayFacts, nowMs: number): readonly (NextSlot & { readonly dueMs: number })[] {
  const { zone } = facts.policy.policy
  const settled = settledSlotsOf(facts)
  // a dose may still be given an hour after its time
  const span = { fromMs: nowMs - HOUR_MS, toMs: nowMs + AHEAD_MS }
  return facts.orders
    .filter((version) => isInForce(version, nowMs))
    .flatMap((version) =>
      slotsAhead(version, { zone, settled }, span).map(({ dueMs }) => {
        const address = slotAddress(wardDate(dueMs, zone), wardTime(dueMs, zone), version.orderId)
        return { insulin: version.order.insulin, slotKey: `${version.stayId}.${address}`, dueMs }
      }),
    )
    .filter(({ slotKey }) => !isSlotSettled(settled, slotKey))
    .sort((a, b) => a.dueMs - b.dueMs)
}

/** A row of the form for each insulin. `when`: the time of a slot in words. */
export function wordRows(
  facts: StayFacts,
  insulins: readonly InsulinName[],
  nowMs: number,
  when: (ms: number) => string,
): readonly WordRow[] {
  const slots = nextSlotsOf(facts, nowMs)
  return insulins.slice(0, MOST).map((insulin, index) => {
    const slot = slots.find((one) => one.insulin === insulin)
    return { number: String(index + 1), insulin, slot: slot === undefined ? null : when(slot.dueMs) }
  })
}
