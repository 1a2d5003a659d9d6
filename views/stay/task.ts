/** The form that settles a task: who was told and what was ordered, or what was done about it. */
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, tick } from '../parts.ts'
import { banner, type BannerView } from './banner.ts'

export type TaskFormView = {
  readonly stayId: string
  readonly patient: BannerView
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  readonly taskKey: string
  readonly title: string
  readonly about: string
  readonly detail: string | null
  readonly since: string
  readonly due: string | null
  readonly asks: 'told' | 'note'
}

export function taskForm(view: TaskFormView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  const clock = `Since ${view.since}${view.due === null ? '' : `, by ${view.due}`}.`
  return html`<h1>${view.title}</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p>${view.about}</p>
${view.detail === null ? null : html`<p><strong>${view.detail}</strong></p>`}<p class="muted">${clock}</p>
${form({
  action: `stays/${view.stayId}/tasks/${view.taskKey}`,
  key: value('key'),
  submit: view.asks === 'told' ? 'Chart the call' : 'Chart what was done',
  body:
    view.asks === 'told'
      ? html`${field({ name: 'told', label: 'Prescriber told', value: value('told'), error: error('told'), maxlength: 200, autofocus: true })}
${tick({ name: 'readBack', label: 'The order was read back', ticked: value('readBack') === 'yes', error: error('readBack') })}
${field({ name: 'ordered', label: 'What the prescriber ordered', value: value('ordered'), error: error('ordered'), maxlength: 200, hint: 'A dose is charted as a direction of its own.' })}`
      : field({
          name: 'note',
          label: 'What was done about it',
          value: value('note'),
          error: error('note'),
          maxlength: 500,
          autofocus: true,
        }),
})}
${caution()}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
