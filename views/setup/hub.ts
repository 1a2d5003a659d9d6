/** Setup's own page: what waits for this person, and links to everything that can be set up. */
import { html, type Html } from '../html.ts'
import { stateMark } from '../parts.ts'

/** `path` is a path of this service without its leading slash. */
export type LinkView = { readonly path: string; readonly label: string; readonly about: string }
export type GroupView = { readonly title: string; readonly links: readonly LinkView[] }
export type WaitingView = { readonly path: string; readonly text: string }
export type FirstStepView = { readonly done: boolean; readonly path: string; readonly text: string }

export type HubView = {
  readonly firstSteps: readonly FirstStepView[]
  readonly waiting: readonly WaitingView[]
  readonly groups: readonly GroupView[]
}

export function hubPage({ firstSteps, waiting, groups }: HubView): Html {
  return html`<h1>Setup</h1>
${
  firstSteps.length === 0
    ? null
    : html`<section class="card" aria-labelledby="first-steps"><h2 id="first-steps">What to do next</h2>
<ol class="steps-list">${firstSteps.map(({ done, path, text }) => html`<li>${done ? html`${stateMark({ shape: '●', word: 'Done', tone: 'done' })} ${text}` : html`<a class="quiet" href="/${path}">${text}</a>`}</li>`)}</ol></section>`
}
${
  waiting.length === 0
    ? null
    : html`<section class="warning" aria-labelledby="waiting"><h2 id="waiting">Waiting for you: ${waiting.length}</h2>
<ul>${waiting.map(({ path, text }) => html`<li><a class="quiet" href="/${path}">${text}</a></li>`)}</ul></section>`
}
<div class="hub">
${groups.map(
  ({ title, links }) => html`<section class="card"><h2>${title}</h2>
<ul class="plain">${links.map(({ path, label, about }) => html`<li><a class="quiet" href="/${path}">${label}</a> <span class="muted">${about}</span></li>`)}</ul></section>`,
)}
</div>`
}
