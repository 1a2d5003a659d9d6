/** The form for a feed that stops, and runs again. */
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, stateMark } from '../parts.ts'
import { banner, type BannerView } from './banner.ts'
import { filled, type Filled } from './fields.ts'

export type FeedFormView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  /** "By tube" */
  readonly fed: string
  readonly byMouth: boolean
  /** Null: the feed runs. */
  readonly stopped: { readonly since: string; readonly reason: string } | null
  /** The newest insulin given, which continues to act. */
  readonly insulin: readonly string[]
  readonly past: readonly { readonly span: string; readonly reason: string; readonly by: string }[]
}

export function feedForm(view: FeedFormView): Html {
  return html`<h1>Feed</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p>Fed: <strong>${view.fed.toLowerCase()}</strong>. ${view.stopped === null ? (view.byMouth ? null : stateMark({ shape: '✓', word: 'Running', tone: 'done' })) : stateMark({ shape: '■', word: `Stopped since ${view.stopped.since}`, tone: 'urgent' })}</p>
${view.stopped === null ? null : html`<p>${view.stopped.reason}</p>`}
${view.byMouth && view.stopped === null ? html`<p class="warning"><span aria-hidden="true">▲</span> This patient is charted as fed by mouth. A feed that stops is charted once the patient is fed by tube or by vein: <a href="/stays/${view.stayId}/facts">change the facts</a>.</p>` : entry(view)}
${
  view.insulin.length === 0 || view.byMouth
    ? null
    : html`<div class="warning"><p><strong>Insulin goes on acting while the feed stands still.</strong> Measure more often, and ask the prescriber what replaces the feed and what becomes of the insulin.</p>
<ul>${view.insulin.map((one) => html`<li>${one}</li>`)}</ul></div>`
}
${caution()}</div>
${
  view.past.length === 0
    ? null
    : html`<section class="card"><h2>Interruptions of this stay</h2>
<ul>${view.past.map(({ span, reason, by }) => html`<li>${span}: ${reason}, by ${by}</li>`)}</ul></section>`
}
<p><a class="quiet" href="/stays/${view.stayId}/extra">Measure now</a> <a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

function entry(view: FeedFormView): Html {
  const { value, error } = filled(view)
  const isStopped = view.stopped !== null
  return form({
    action: `stays/${view.stayId}/feed`,
    key: value('key'),
    submit: isStopped ? 'The feed runs again' : 'The feed was stopped',
    body: html`<input type="hidden" name="what" value="${isStopped ? 'running' : 'stopped'}">
${isStopped ? null : field({ name: 'reason', label: 'Why', value: value('reason'), error: error('reason'), maxlength: 200, autofocus: true, hint: 'As in: tube blocked, taken to X-ray.' })}
${field({ name: 'at', label: isStopped ? 'Running again since' : 'Stopped at', value: value('at'), error: error('at'), maxlength: 30, autofocus: isStopped, hint: 'Empty: now. Earlier: as in 14:05.' })}`,
  })
}
