/** What the short forms about a reading share: fields, loading and drawing. */
import { z } from 'zod'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { formatWhen } from '../../views/format.ts'
import type { ShortFormView } from '../../views/reading/change.ts'
import { bannerOf } from '../bedside/banner.ts'
import { readingContext, type ReadingContext } from '../bedside/reading-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { ReadingRequest } from '../http/parameters.ts'
import type { FormState, PageView } from '../http/request-context.ts'

const REASON_MISSING = 'Say in a few words what was wrong.'
export const REASON = z
  .string({ error: REASON_MISSING })
  .trim()
  .min(1, { error: REASON_MISSING })
  .max(500, { error: 'A reason has at most 500 characters.' })
/** A tick box: "yes" or not sent. */
export const TICK = z
  .literal('yes', { error: 'Tick it or leave it.' })
  .optional()
  .transform((value) => value === 'yes')

export type GoneRefusal = 'reading-gone'
export const GONE = { 'reading-gone': (): string => 'This reading is not on a ward of yours any more.' } as const

/** The parts that every short form about a reading shows alike. */
export function shortForm(
  ctx: ReadingRequest,
  { reading, facts, zone, masked }: ReadingContext,
  state: FormState,
): ShortFormView {
  const value = masked ? 'awaiting second check' : formatGlucose(reading.glucose)
  return {
    patient: bannerOf(facts, ctx.nowMs, false),
    ...state,
    about: `Reading of ${formatWhen(reading.takenAtMs, ctx.nowMs, zone)} by ${nameOf(ctx, reading.byId)}: ${value}.`,
  }
}

/** Renders a form of the reading and records that its page was read. Undefined: the reading is not there. */
export function drawFor(
  ctx: ReadingRequest,
  title: string,
  body: (context: ReadingContext) => PageView['body'],
): PageView | undefined {
  const context = readingContext(ctx)
  if (context === undefined) return undefined
  recordPatientRead(ctx, context.facts.stay.stayId)
  return { title, body: body(context) }
}
