/** The ward's meters, and one meter with its log of controls. */
import { html, type Html } from '../html.ts'
import { caution, stateMark } from '../parts.ts'

type Mark = Parameters<typeof stateMark>[0]

export type MeterRowView = {
  readonly meterId: string
  readonly serial: string
  readonly unit: string
  readonly mark: Mark
  readonly lastControl: string
}
export type WardMetersView = {
  readonly wardId: string
  readonly name: string
  readonly meters: readonly MeterRowView[]
  readonly retired: readonly { readonly meterId: string; readonly serial: string; readonly why: string }[]
}
export type MetersPageView = {
  readonly wards: readonly WardMetersView[]
  readonly mayKeep: boolean
  readonly mayRecall: boolean
}

/** Every meter of the person's wards, and whether it may be used today. */
export function metersPage(view: MetersPageView): Html {
  return html`<h1>Meters</h1>
<p class="actions no-print">${view.mayKeep ? html`<a class="button main" href="/setup/meters/new">Add a meter</a> ` : null}<a class="button" href="/setup/strips">Strips</a>${view.mayRecall ? html` <a class="button" href="/recall">Results from a meter or lot</a>` : null}</p>
<p class="working">A meter goes along once today’s controls, two levels, are passed. What another one measures can be charted and a low is acted on; it never leads to insulin.</p>
${view.wards.length === 0 ? html`<p>No ward is set up.</p>` : view.wards.map((ward) => wardMeters(ward))}
${caution()}`
}

function wardMeters(ward: WardMetersView): Html {
  return html`<section class="card"><h2>${ward.name}</h2>
${
  ward.meters.length === 0
    ? html`<p>No meter.</p>`
    : html`<table class="table stacked"><caption class="visually-hidden">Meters of ${ward.name}</caption>
<thead><tr><th scope="col">Serial number</th><th scope="col">Today</th><th scope="col">Unit</th><th scope="col">Last control</th></tr></thead>
<tbody>${ward.meters.map((meter) => html`<tr><th scope="row"><a class="quiet" href="/setup/meters/${meter.meterId}">${meter.serial}</a></th><td>${stateMark(meter.mark)}</td><td>${meter.unit}</td><td><span class="stacked-only">Last control: </span>${meter.lastControl}</td></tr>`)}</tbody></table>`
}
${
  ward.retired.length === 0
    ? null
    : html`<details><summary>Retired: ${ward.retired.length}</summary>
<ul>${ward.retired.map((meter) => html`<li><a class="quiet" href="/setup/meters/${meter.meterId}">${meter.serial}</a> ${meter.why}</li>`)}</ul></details>`
}</section>`
}

export type ControlRowView = {
  readonly when: string
  readonly by: string
  readonly lot: string
  readonly levels: readonly { readonly value: string; readonly range: string; readonly mark: Mark | null }[]
  readonly verdict: Mark
}

export type MeterPageView = {
  readonly meterId: string
  readonly serial: string
  readonly mark: Mark
  readonly facts: readonly { readonly name: string; readonly value: string }[]
  readonly log: readonly ControlRowView[]
  /** The start of the log shown: "Sun 8 Feb". */
  readonly logSince: string
  /** After a failed control: what was measured since the last passed one. */
  readonly failed: { readonly says: string; readonly recallPath: string | null } | null
  readonly actions: { readonly control: boolean; readonly keep: boolean; readonly compare: boolean }
}

/** One meter: usable or not, why, and its controls. */
export function meterPage(view: MeterPageView): Html {
  const path = `setup/meters/${view.meterId}`
  return html`<h1>Meter ${view.serial}</h1>
<section class="card"><p class="meter-state">${stateMark(view.mark)}</p>
<dl class="facts">${view.facts.map(({ name, value }) => html`<dt>${name}</dt><dd>${value}</dd>`)}</dl>
${view.failed === null ? null : html`<div class="warning"><p>${view.failed.says}</p>${view.failed.recallPath === null ? null : html`<p><a href="/${view.failed.recallPath}">Results from this meter since then</a></p>`}</div>`}
<p class="actions">${view.actions.control ? html`<a class="button main" href="/${path}/controls">Chart a control</a> ` : null}${view.actions.compare ? html`<a class="button" href="/${path}/comparisons">Compare with the laboratory</a> ` : null}${view.actions.keep ? html`<a class="button" href="/${path}/move">Move</a> <a class="button" href="/${path}/retire">Retire</a>` : null}</p>
${caution()}</section>
<section class="card"><h2>Controls since ${view.logSince}</h2>
${view.log.length === 0 ? html`<p>None charted.</p>` : controlLog(view.log)}</section>
<p><a class="quiet" href="/setup/meters">All meters</a></p>`
}

function controlLog(rows: readonly ControlRowView[]): Html {
  return html`<table class="table stacked"><caption class="visually-hidden">Controls, newest first</caption>
<thead><tr><th scope="col">When, by whom</th><th scope="col">Level 1</th><th scope="col">Level 2</th><th scope="col">Both</th><th scope="col">Strips</th></tr></thead>
<tbody>${rows.map(
    (row) => html`<tr><th scope="row">${row.when}<br><span class="muted">${row.by}</span></th>
${row.levels.map((level, index) => html`<td><span class="stacked-only">Level ${index + 1}: </span><strong>${level.value}</strong> ${level.mark === null ? null : stateMark(level.mark)}<br><span class="muted">${level.range}</span></td>`)}
<td>${stateMark(row.verdict)}</td><td><span class="stacked-only">Strips: </span>${row.lot}</td></tr>`,
  )}</tbody></table>`
}
