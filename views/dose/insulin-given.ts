/** Insulin given before, from whatever door: the last dose of each class on one line, the rest one tap away. */
import { html, type Html } from '../html.ts'

export type InsulinGivenView = { readonly last: readonly string[]; readonly rest: readonly string[] }

export function insulinGiven({ last, rest }: InsulinGivenView): Html {
  return html`<p class="working">Insulin given before: ${last.length === 0 ? 'none charted in 72 h' : last.join('; ')}.</p>
${rest.length === 0 ? null : html`<details><summary>All insulin of the last 72 h</summary><ul>${rest.map((line) => html`<li>${line}</li>`)}</ul></details>`}`
}
