/** A check that is already accounted for: what happened, and what to do with a second value. */
import { html, type Html } from '../html.ts'
import { problem } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type ChartedView = {
  readonly what: string
  readonly patient: BannerView
  readonly stayId: string
  readonly problem: string | null
  /** "Charted at 07:31 by Kallas, Mari: 112 mg/dL." */
  readonly happened: string
  readonly readingId: string | null
  /** The value that was typed and not charted. Null: none was typed. */
  readonly notCharted: string | null
}

export function alreadyCharted(view: ChartedView): Html {
  return html`<h1>${view.what}: already accounted for</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p><strong>${view.happened}</strong></p>
${view.notCharted === null ? null : html`<p class="warning">Your value “${view.notCharted}” was not charted. If it was measured too, chart it as an extra check.</p>`}
<p class="actions">${view.readingId === null ? null : html`<a class="button" href="/readings/${view.readingId}">Open the reading</a>`}
<a class="button" href="/stays/${view.stayId}/extra">Extra check</a> <a class="quiet" href="/round">Back to the round</a></p></div>`
}
