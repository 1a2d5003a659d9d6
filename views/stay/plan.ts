/** When a patient is checked: the current plan, its checks, and the form to change it. */
import type { CheckPlan } from '../../shared/check/check.ts'
import { html, type Html } from '../html.ts'
import { choice, field, form, problem, stateMark } from '../parts.ts'
import { banner, type BannerView } from './banner.ts'
import { filled, planFields, type Filled } from './fields.ts'

export type PlanLineView = { readonly text: string }

export type PlanFormView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  /** The patient's own plan in force. Null: none. */
  readonly base: PlanLineView | null
  /** Plans set for later. */
  readonly later: readonly string[]
  /** The overlay plan for nil by mouth, now or later. Null: none. */
  readonly overlay: string | null
  readonly additions: readonly { readonly version: number; readonly text: string }[]
  /** Checks of the last hours and the next day, by time. */
  readonly checks: readonly {
    readonly when: string
    readonly what: string
    readonly mark: Parameters<typeof stateMark>[0]
  }[]
}

const KINDS: readonly CheckPlan['kind'][] = [
  'ac-and-hs',
  'before-meals',
  'every-4-h',
  'every-6-h',
  'listed-times',
  'once',
  'overnight',
]

export function planForm(view: PlanFormView): Html {
  const { value, error } = filled(view)
  return html`<h1>Check plan</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${planNow(view)}
<details><summary>Checks from the last hours to the coming day</summary>
${
  view.checks.length === 0
    ? html`<p>None.</p>`
    : html`<table class="table"><caption class="visually-hidden">Checks as they are planned now</caption>
<thead><tr><th scope="col">Due</th><th scope="col">Round</th><th scope="col">State</th></tr></thead>
<tbody>${view.checks.map(({ when, what, mark }) => html`<tr><td>${when}</td><td>${what}</td><td>${stateMark(mark)}</td></tr>`)}</tbody></table>`
}
</details></div>
<section class="card"><h2>Change it</h2>
<p class="working">Checks due from the start of the new plan on follow it, also one that is open now and not done. What was due before, and what is done or excused, stays as it is. A change that was set for later is replaced. “Once” and “overnight” come besides the plan and replace nothing.</p>
${form({
  action: `stays/${view.stayId}/plan`,
  key: value('key'),
  submit: 'Set the plan',
  body: html`${planFields({ ...view, kinds: KINDS })}
<div class="pair">${field({ name: 'from', label: 'From', type: 'datetime-local', value: value('from'), error: error('from'), hint: 'Empty: from now.' })}
${field({ name: 'until', label: 'Until', type: 'datetime-local', value: value('until'), error: error('until'), hint: 'Empty: until it is changed. After an end there is no plan.' })}</div>
${
  view.overlay === null
    ? null
    : choice({
        name: 'whileNil',
        label: 'The patient is nil by mouth. When does this plan count?',
        options: [
          { value: 'after', label: 'Once the patient may eat' },
          { value: 'now', label: 'At once, also while nil by mouth' },
        ],
        value: value('whileNil'),
        error: error('whileNil'),
      })
}`,
})}</section>
<p><a class="quiet" href="/stays/${view.stayId}/facts">Nil by mouth</a> <a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

function planNow(view: PlanFormView): Html {
  return html`<dl class="facts"><dt>Own plan</dt><dd>${view.base === null ? 'none' : view.base.text}</dd>
${view.later.length === 0 ? null : html`<dt>Set for later</dt><dd>${view.later.join('; ')}</dd>`}
${view.overlay === null ? null : html`<dt>Instead of it, nil by mouth</dt><dd>${view.overlay}</dd>`}
${view.additions.map(({ version, text }) => html`<dt>Besides</dt><dd>${text} <a href="/stays/${view.stayId}/plan/${version}/end">End it</a></dd>`)}</dl>`
}

export function endAdditionForm(
  view: Filled & {
    readonly stayId: string
    readonly patient: BannerView
    readonly problem: string | null
    readonly version: number
    readonly text: string
  },
): Html {
  return html`<h1>End a check</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p><strong>${view.text}</strong></p>
<p class="working">From now on it brings no check. What it brought stays. The patient’s plan goes on.</p>
${form({ action: `stays/${view.stayId}/plan/${String(view.version)}/end`, key: view.values['key'] ?? '', submit: 'End it now', body: html`<input type="hidden" name="end" value="yes">` })}</div>
<p><a class="quiet" href="/stays/${view.stayId}/plan">Check plan</a></p>`
}
