/** The name of a member of staff as pages show it. */
import type { RequestContext } from '../http/request-context.ts'

/** The name of a member of staff for a sentence. An unknown id is shown as a dash. */
export function nameOf(ctx: RequestContext, staffId: string): string {
  return ctx.store.staffById(staffId)?.name ?? '–'
}
