/** GET and POST /stays/:stayId/feed: charts that a tube or parenteral feed stops, and that it runs again. */
import { z } from 'zod'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { interruptFeed, openInterruption, resumeFeed, type FeedRefusal } from '../../shared/stay/feed.ts'
import type { FeedInterruption } from '../../shared/stay/stay.ts'
import { formatInsulin, formatWhen } from '../../views/format.ts'
import { feedForm } from '../../views/stay/feed.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { FEEDING } from '../../views/words/stay.ts'
import { FEED_SENTENCES, STAY_GONE } from '../../views/words/stay-refusals.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { PAST } from './fields.ts'
import { decideStay, drawStay, zoneOfStay } from './load.ts'

const FEED_FORM = z.strictObject({
  what: z.enum(['stopped', 'running'], { error: 'Choose what happened.' }),
  reason: z.string().trim().max(200, { error: 'At most 200 characters.' }).default(''),
  at: PAST,
})

export const feedSpec: FormSpec<z.output<typeof FEED_FORM>, FeedRefusal | TakenAtRefusal | 'stay-gone', StayRequest> = {
  name: 'feed',
  schema: FEED_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(
      ctx,
      'Feed',
      state,
      (
        view,
        {
          stay,
          insulinGiven,
          policy: {
            policy: { zone },
          },
        },
      ) => {
        const interruptions = interruptionsOf(ctx, stay.stayId)
        const open = openInterruption(interruptions)
        return feedForm({
          ...view,
          fed: FEEDING[stay.facts.feeding],
          byMouth: stay.facts.feeding === 'oral',
          stopped: open === null ? null : { since: formatWhen(open.fromMs, ctx.nowMs, zone), reason: open.reason },
          insulin: insulinGiven
            .slice(0, 3)
            .map(
              ({ units, insulin, givenAtMs }) =>
                `${formatInsulin(units, insulin)}, ${formatWhen(givenAtMs, ctx.nowMs, zone)}`,
            ),
          past: interruptions.map((one) => ({
            span: spanText(one, ctx.nowMs, zone),
            reason: one.reason,
            by: nameOf(ctx, one.byId),
          })),
        })
      },
    ),
  decide: (fields, ctx) =>
    decideStay<FeedRefusal | TakenAtRefusal>(
      ctx,
      ({
        stay,
        policy: {
          policy: { zone },
        },
      }) => {
        const at = parseTakenAt(fields.at, zone, ctx.nowMs)
        if (!at.ok) return at
        const facts = { stay, interruptions: interruptionsOf(ctx, stay.stayId), nowMs: ctx.nowMs }
        const by = { atMs: at.value, byId: ctx.actor.staffId }
        return fields.what === 'stopped'
          ? interruptFeed({ ...by, interruptionId: ctx.services.newId(), reason: fields.reason }, facts)
          : resumeFeed(by, facts)
      },
    ),
  emptyIsNow: { field: 'at', zone: zoneOfStay },
  sentences: { ...FEED_SENTENCES, ...STAY_GONE, 'time-not-read': READING_SENTENCES['time-not-read'] },
  fieldOf: {
    'feed-in-future': 'at',
    'feed-before-admission': 'at',
    'feed-before-last': 'at',
    'time-not-read': 'at',
    'feed-reason-missing': 'reason',
  },
  statusOf: {
    'feed-stay-discharged': 409,
    'feed-by-mouth': 409,
    'feed-already-interrupted': 409,
    'feed-not-interrupted': 409,
    'stay-gone': 404,
  },
}

function interruptionsOf(ctx: StayRequest, stayId: string): readonly FeedInterruption[] {
  return ctx.store.stayHistory(ctx.scope, stayId)?.interruptions ?? []
}

/** "Tue 24 Nov, 22:10 to 06:30", or only its beginning while it continues. */
export function spanText(
  { fromMs, untilMs }: Pick<FeedInterruption, 'fromMs' | 'untilMs'>,
  nowMs: number,
  zone: string,
): string {
  return untilMs === null
    ? `since ${formatWhen(fromMs, nowMs, zone)}`
    : `${formatWhen(fromMs, nowMs, zone)} to ${formatWhen(untilMs, nowMs, zone)}`
}
