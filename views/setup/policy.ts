/** A ward's policy: every setting with its default and source, waiting changes, and every version. */
import { html, type Html } from '../html.ts'
import { caution, stateMark } from '../parts.ts'
import { waitingChanges, type WaitingChangeView } from './policy-change.ts'

export type SettingView = {
  readonly label: string
  readonly value: string
  /** null: the value is the default */
  readonly default: string | null
  readonly source: string
  readonly touchesDose: boolean
}
export type PartView = {
  readonly id: string
  readonly title: string
  readonly about: string
  readonly settings: readonly SettingView[]
  readonly mayChange: boolean
}
export type VersionView = {
  readonly version: number
  readonly from: string
  readonly by: string
  readonly note: string
  readonly state: 'in-force' | 'to-come' | 'past' | 'never'
}

export type PolicyView = {
  readonly wardId: string
  readonly wardName: string
  readonly shown: VersionView
  readonly parts: readonly PartView[]
  readonly versions: readonly VersionView[]
  readonly waiting: readonly WaitingChangeView[]
  readonly mayAnswer: boolean
}

const VERSION_STATE = {
  'in-force': { shape: '●', word: 'In force', tone: 'done' },
  'to-come': { shape: '○', word: 'Counts later', tone: 'due' },
  past: { shape: '–', word: 'Replaced', tone: 'calm' },
  never: { shape: '✕', word: 'Never counted', tone: 'calm' },
} as const

export function policyPage(view: PolicyView): Html {
  const { wardId, shown } = view
  return html`<h1>Policy of ${view.wardName}</h1>
<p>${stateMark(VERSION_STATE[shown.state])} Version ${shown.version}, from ${shown.from}, set by ${shown.by}.</p>
${shown.state === 'in-force' ? null : html`<p class="warning"><span aria-hidden="true">▲</span> This is not the version that counts now. <a class="quiet" href="/setup/wards/${wardId}/policy">The one in force</a></p>`}
${waitingChanges(view.waiting, view.mayAnswer)}
<nav aria-label="Parts of the policy"><ul class="part-list">${view.parts.map(({ id, title }) => html`<li><a class="quiet" href="#part-${id}">${title}</a></li>`)}<li><a class="quiet" href="#versions">Versions</a></li></ul></nav>
<p class="hint part-marks">◆ touches a dose: a change of it takes two administrators. In brackets stands how a source was read; common practice and the ward’s own settings are no published figures.</p>
${view.parts.map((part) => partSection(view, part))}
${versionsSection(view)}
${caution()}
<p>${view.mayAnswer ? html`<a class="quiet" href="/setup/wards">Wards</a> ` : null}<a class="quiet" href="/setup">Setup</a></p>`
}

function partSection({ wardId }: PolicyView, part: PartView): Html {
  return html`<section class="card"><h2 id="part-${part.id}">${part.title}</h2>
<p>${part.about}</p>
<table class="table stacked policy"><caption class="visually-hidden">${part.title}</caption>
<thead><tr><th scope="col">Setting</th><th scope="col">Value</th><th scope="col">Default</th><th scope="col">Source</th></tr></thead>
<tbody>${part.settings.map(
    (
      setting,
    ) => html`<tr><th scope="row">${setting.touchesDose ? html`<span class="touches" role="img" aria-label="touches a dose:">◆</span> ` : null}${setting.label}</th>
<td><strong>${setting.value}</strong></td>
<td>${setting.default === null ? 'the default' : html`default: ${setting.default}`}</td>
<td class="muted"><span class="cell-name">Source: </span>${setting.source}</td></tr>`,
  )}</tbody></table>
${part.mayChange ? html`<p class="actions"><a class="button" href="/setup/wards/${wardId}/policy/${part.id}">Change ${part.title.toLowerCase()}</a></p>` : null}</section>`
}

function versionsSection({ wardId, versions, shown }: PolicyView): Html {
  return html`<section class="card"><h2 id="versions">Versions</h2>
<table class="table stacked"><caption class="visually-hidden">Versions, newest first</caption>
<thead><tr><th scope="col">Version</th><th scope="col">State</th><th scope="col">From</th><th scope="col">Set by</th><th scope="col">Why</th></tr></thead>
<tbody>${versions.map(
    (
      one,
    ) => html`<tr><th scope="row">${one.version === shown.version ? html`Version ${one.version}, shown here` : html`<a class="quiet" href="/setup/wards/${wardId}/policy?version=${one.version}">Version ${one.version}</a>`}</th>
<td>${stateMark(VERSION_STATE[one.state])}</td><td>${one.from}</td><td><span class="cell-name">Set by </span>${one.by}</td><td>${one.note === '' ? '–' : one.note}</td></tr>`,
  )}</tbody></table></section>`
}
