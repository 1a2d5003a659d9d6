/** A policy change that waits for a second administrator, and its page. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, stateMark } from '../parts.ts'

/** One setting with its old and new value. */
export type ChangeLineView = {
  readonly part: string
  readonly label: string
  readonly from: string
  readonly to: string
  readonly touchesDose: boolean
}

export type WaitingChangeView = {
  readonly changeId: string
  readonly wardName: string
  readonly lines: readonly ChangeLineView[]
  readonly writer: string
  /** Ward-local day and time. */
  readonly writtenAt: string
  /** "from Tue 24 Nov 2026, 07:20", or "from its approval". */
  readonly from: string
  readonly note: string
  /** Another version was set since it was written, so it can only be refused. */
  readonly isOutdated: boolean
  readonly isOwn: boolean
}

const WAITS = { shape: '◐', word: 'Waits for a second administrator', tone: 'due' } as const
const OUTDATED = { shape: '▲', word: 'Written over an older version', tone: 'urgent' } as const

/** The waiting changes. `mayAnswer` links each to its page. */
export function waitingChanges(changes: readonly WaitingChangeView[], mayAnswer: boolean): Html | null {
  if (changes.length === 0) return null
  return html`<section><h2>Waiting for a second administrator</h2>
<p>Until one is approved, the policy in force counts.</p>
<ul class="rows">${changes.map(
    (
      change,
    ) => html`<li class="row"><div><p>${stateMark(change.isOutdated ? OUTDATED : WAITS)} <strong>${change.wardName}</strong></p>
<ul>${change.lines.map(changeLine)}</ul>
<p class="muted">${change.writer}, ${change.writtenAt}: ${change.note}. Counts ${change.from}.</p></div>
${mayAnswer ? html`<p class="actions"><a class="button" href="/setup/policy-changes/${change.changeId}">Look at it</a></p>` : null}</li>`,
  )}</ul></section>`
}

function changeLine({ label, from, to }: ChangeLineView): Html {
  return html`<li>${label}: ${from} → <strong>${to}</strong></li>`
}

export type ChangePageView = {
  readonly change: WaitingChangeView
  readonly wardId: string
  /** The outcome: a word, and by whom, when and why. Null: it still waits. */
  readonly settled: { readonly word: string; readonly by: string } | null
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function changePage(view: ChangePageView): Html {
  const { change, settled } = view
  return html`<h1>Change of policy</h1>
${problem(view.problem)}
<p>${change.wardName}. ${settled === null ? stateMark(change.isOutdated ? OUTDATED : WAITS) : html`${stateMark({ shape: '●', word: settled.word, tone: 'done' })} ${settled.by}.`}</p>
<div class="card">
<table class="table stacked"><caption>What changes</caption>
<thead><tr><th scope="col">Setting</th><th scope="col">From</th><th scope="col">To</th></tr></thead>
<tbody>${change.lines.map(
    (
      line,
    ) => html`<tr><th scope="row">${line.label}<br><span class="muted">${line.part}${line.touchesDose ? ', touches a dose' : ''}</span></th>
<td><span class="cell-name">from </span>${line.from}</td><td><span class="cell-name">to </span><strong>${line.to}</strong></td></tr>`,
  )}</tbody></table>
<dl class="facts"><dt>Written by</dt><dd>${change.writer}, ${change.writtenAt}</dd><dt>Counts</dt><dd>${change.from}</dd><dt>Why</dt><dd>${change.note}</dd></dl>
</div>
${settled === null ? answerForm(view) : null}
${caution()}
<p><a class="quiet" href="/setup/wards/${view.wardId}/policy">Policy of ${change.wardName}</a> <a class="quiet" href="/setup/wards">Wards</a></p>`
}

function answerForm({ change, values, errors }: ChangePageView): Html {
  const approve = { value: 'approve', label: 'Approve' }
  const refuse = { value: 'refuse', label: change.isOwn ? 'Take it back' : 'Refuse' }
  return html`<section class="card"><h2>Your answer</h2>
${change.isOwn ? html`<p>You wrote this change: another administrator approves it.</p>` : html`<p>Compare every line with what the ward decided. When approved, doses worked out by the policy before no longer count from then on.</p>`}
${form({
  action: `setup/policy-changes/${change.changeId}`,
  key: values['key'] ?? '',
  submit: 'Chart the answer',
  body: [
    choice({
      name: 'answer',
      label: 'Answer',
      options: change.isOwn || change.isOutdated ? [refuse] : [approve, refuse],
      value: values['answer'] ?? '',
      error: errors['answer'] ?? null,
    }),
    field({
      name: 'reason',
      label: 'Why, when refused or taken back',
      value: values['reason'] ?? '',
      error: errors['reason'] ?? null,
      maxlength: 200,
    }),
  ],
})}</section>`
}
