/** A ward's standard orders: the list, one of them with its approval, and copying one into a patient's order. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, stateMark, tick } from '../parts.ts'
import type { MarkView } from '../round/row.ts'
import { banner, type BannerView } from '../stay/banner.ts'
import { cellName } from './list.ts'

export type StandardRowView = {
  readonly path: string
  readonly name: string
  readonly version: string
  readonly mark: MarkView
  readonly written: string
  readonly approved: string
}
export type StandardListView = {
  readonly wards: readonly { readonly name: string; readonly rows: readonly StandardRowView[] }[]
}

export function standardList(view: StandardListView): Html {
  return html`<h1>Standard orders</h1>
<div class="card"><p>A standard order is copied into an order for one patient, which a prescriber signs and a second nurse verifies all the same. Whoever writes it never approves it: another person, an administrator, does.</p>
<p class="actions"><a class="button main" href="/setup/standard-orders/new">Write a standard order</a></p>
${caution()}</div>
${view.wards.map(
  ({ name, rows }) => html`<section class="card"><h2>${name}</h2>
${
  rows.length === 0
    ? html`<p>No standard order.</p>`
    : html`<table class="table stacked"><caption class="visually-hidden">Standard orders of ${name}</caption>
<thead><tr><th scope="col">Name</th><th scope="col">Version</th><th scope="col">State</th><th scope="col">Written</th><th scope="col">Approved</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><th scope="row"><a class="button quiet" href="/${row.path}">${row.name}</a></th><td>${cellName('Version')}${row.version}</td><td>${stateMark(row.mark)}</td><td>${cellName('Written')}${row.written}</td><td>${cellName('Approved')}${row.approved}</td></tr>`)}</tbody></table>`
}</section>`,
)}
<p><a class="quiet" href="/setup">Setup</a></p>`
}

export type StandardVersionView = {
  readonly title: string
  readonly mark: MarkView
  readonly facts: readonly { readonly name: string; readonly value: string }[]
  readonly table: Html
}

export type StandardPageView = {
  readonly standardOrderId: string
  readonly name: string
  readonly wardName: string
  /** Newest first. */
  readonly versions: readonly StandardVersionView[]
  /**
   * Null: this person may not approve, or there is nothing to approve. `sentence`: why they may not approve it
   * themselves.
   */
  readonly approve: { readonly key: string; readonly version: string } | { readonly sentence: string } | null
  readonly withdraw: { readonly key: string; readonly reason: string; readonly error: string | null } | null
  readonly problem: string | null
}

export function standardPage(view: StandardPageView): Html {
  const base = `setup/standard-orders/${view.standardOrderId}`
  return html`<h1>Standard order: ${view.name}</h1>
${problem(view.problem)}
<p class="muted">${view.wardName}. Every dose worked out from a copy follows the patient’s own signed and verified order.</p>
${view.versions.map(
  ({ title, mark, facts, table }) => html`<section class="card"><h2>${title}</h2>
<p>${stateMark(mark)}</p>
<dl class="facts">${facts.map(({ name, value }) => html`<dt>${name}</dt><dd>${value}</dd>`)}</dl>
${table}
${caution()}</section>`,
)}
${
  view.approve === null
    ? null
    : html`<section class="card"><h2>Approve</h2>
${
  'sentence' in view.approve
    ? html`<p>${view.approve.sentence}</p>`
    : html`<p>Compare every line of version ${view.approve.version} with the ward’s signed protocol. Approved, nurses can copy it at once.</p>
${form({ action: `${base}/approve`, key: view.approve.key, submit: `Approve version ${view.approve.version}`, body: html`<input type="hidden" name="version" value="${view.approve.version}">` })}`
}</section>`
}
${
  view.withdraw === null
    ? null
    : html`<section class="card"><h2>Withdraw</h2>
<p>No nurse can copy it any more. Orders that were copied from it stay as they are.</p>
${form({ action: `${base}/withdraw`, key: view.withdraw.key, submit: 'Withdraw', body: field({ name: 'reason', label: 'Why', value: view.withdraw.reason, error: view.withdraw.error, maxlength: 200 }) })}</section>`
}
<p><a class="quiet" href="/setup/standard-orders">All standard orders</a></p>`
}

export type CopyFormView = {
  readonly stayId: string
  readonly patient: BannerView
  /** `value`: the standard order and version. */
  readonly standards: readonly { readonly value: string; readonly label: string; readonly table: Html }[]
  /** Orders of the patient that are already running. */
  readonly running: readonly string[]
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function copyForm(view: CopyFormView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>From a standard order</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${view.running.length === 0 ? null : html`<p class="warning"><span aria-hidden="true">▲</span> This patient has: ${view.running.join('; ')}. Ask the prescriber whether it goes on: two orders that answer the same readings cannot stand side by side.</p>`}
${
  view.standards.length === 0
    ? html`<p>This ward has no approved standard order.</p>`
    : form({
        action: `stays/${view.stayId}/orders/standard`,
        key: value('key'),
        submit: 'Copy into this patient’s order',
        body: html`<p class="working">The prescriber’s signed order for this patient says which. The copy gives no dose before a second nurse has verified it from the original.</p>
${choice({ name: 'standard', label: 'Standard order', options: view.standards, value: value('standard'), error: error('standard') })}
${field({ name: 'prescriber', label: 'Prescriber', value: value('prescriber'), error: error('prescriber'), maxlength: 100 })}
${choice({
  name: 'received',
  label: 'How it came',
  options: [
    { value: 'written', label: 'Written and signed' },
    { value: 'telephone', label: 'By telephone' },
  ],
  value: value('received'),
  error: error('received'),
})}
${tick({ name: 'readBack', label: 'By telephone: read back to the prescriber', ticked: value('readBack') === 'yes', error: error('readBack') })}
${field({ name: 'startsAt', label: 'Starts', value: value('startsAt'), error: error('startsAt'), type: 'datetime-local', hint: 'Ward time.' })}
${field({ name: 'stopsAt', label: 'Stops', value: value('stopsAt'), error: error('stopsAt'), type: 'datetime-local', hint: 'Empty: until further notice.' })}`,
      })
}
${caution()}</div>
${view.standards.map(({ label, table }) => html`<section class="card"><h2>${label}</h2>${table}${caution()}</section>`)}
<p><a class="quiet" href="/stays/${view.stayId}/orders">All orders of this patient</a></p>`
}
