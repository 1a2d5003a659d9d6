/** A page with one message: not found, wrong role, an error. */
import { html, type Html } from './html.ts'

export type MessageView = {
  readonly title: string
  readonly text: string
  /** The number to report to whoever runs the service. */
  readonly requestId: string | null
  readonly wayOn: { readonly path: string; readonly label: string } | null
}

export function messagePage(view: MessageView): Html {
  return html`<section class="card message">
<h1>${view.title}</h1>
<p>${view.text}</p>
${view.requestId === null ? null : html`<p class="muted">Number of this answer: ${view.requestId}</p>`}
${view.wayOn === null ? null : html`<p class="actions"><a class="button" href="/${view.wayOn.path}">${view.wayOn.label}</a></p>`}
</section>`
}
