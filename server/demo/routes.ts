/** The demo's ward clock can be moved on. In a real ward there is no demo clock and so no such route. */
import { z } from 'zod'
import { parseFields, readFields } from '../http/fields.ts'
import { redirect, sentenceResponse } from '../http/page.ts'
import { openRoute, safeNext, type Server } from '../http/route.ts'

const STEPS = { '5': 5, '15': 15, '60': 60 } as const
const CLOCK_FORM = z.strictObject({
  minutes: z.enum(['5', '15', '60'], { error: 'The demo clock moves on by 5, 15 or 60 minutes.' }),
  back: z.string().max(500).default('/'),
})

export function registerDemo(server: Server): void {
  const { demoClock } = server.services
  if (demoClock === null) return
  openRoute(server, { method: 'POST', url: '/demo/clock' }, (ctx) => {
    const parsed = parseFields(CLOCK_FORM, readFields(ctx.request.body))
    if (!parsed.ok) return sentenceResponse(ctx, 422, 'Demo clock', parsed.errors['minutes'] ?? parsed.problem)
    demoClock.advanceMinutes(STEPS[parsed.value.minutes])
    return redirect(ctx, safeNext(parsed.value.back))
  })
}
