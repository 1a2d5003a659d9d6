/** The beds of a ward with their patients, and the patients who left. */
import { attribute, html, type Html } from '../html.ts'

export type BedView = {
  readonly bed: string
  /** The bed as a path segment. */
  readonly path: string
  /** True when the ward no longer has this bed. */
  readonly gone: boolean
  readonly patient: {
    readonly stayId: string
    readonly name: string
    readonly born: string
    readonly know: readonly string[]
  } | null
}

export function bedsPage(view: { readonly wardName: string; readonly beds: readonly BedView[] }): Html {
  const taken = view.beds.filter(({ patient }) => patient !== null).length
  return html`<h1>Beds of ${view.wardName}</h1>
<p>${taken} of ${view.beds.length} beds are taken. <a class="quiet" href="/setup/discharged">Readmit a discharged patient</a></p>
<ul class="rows">${view.beds.map(
    (
      one,
    ) => html`<li class="row bed-row"><p class="bed">Bed <strong>${one.bed}</strong>${one.gone ? ' (no longer a bed of this ward)' : null}</p>
${
  one.patient === null
    ? html`<p class="who-lies muted">Empty</p><p class="actions"><a class="button" href="/setup/beds/${one.path}/admit"${attribute('aria-label', `Admit to bed ${one.bed}`)}>Admit</a></p>`
    : html`<div class="who-lies"><p><a class="quiet" href="/stays/${one.patient.stayId}"><strong>${one.patient.name}</strong></a> <span class="muted">born ${one.patient.born}</span></p>
${one.patient.know.length === 0 ? null : html`<ul class="know">${one.patient.know.map((text) => html`<li><span aria-hidden="true">▲</span> ${text}</li>`)}</ul>`}</div>
<p class="actions"><a class="button quiet" href="/stays/${one.patient.stayId}/facts"${attribute('aria-label', `Facts, bed ${one.bed}`)}>Facts</a> <a class="button quiet" href="/stays/${one.patient.stayId}/plan"${attribute('aria-label', `Plan, bed ${one.bed}`)}>Plan</a> <a class="button quiet" href="/stays/${one.patient.stayId}/move"${attribute('aria-label', `Move, bed ${one.bed}`)}>Move</a> <a class="button quiet" href="/stays/${one.patient.stayId}/discharge"${attribute('aria-label', `Discharge, bed ${one.bed}`)}>Discharge</a></p>`
}</li>`,
  )}</ul>
<p class="actions"><a class="button" href="/round">Round</a> <a class="button" href="/round/trays-late">Trays late</a></p>`
}

export function dischargedPage(view: {
  readonly wardName: string
  readonly days: number
  readonly stays: readonly {
    readonly stayId: string
    readonly name: string
    readonly born: string
    readonly bed: string
    readonly left: string
  }[]
}): Html {
  return html`<h1>Discharged patients</h1>
<p>Left ${view.wardName} in the last ${view.days} days. A patient who comes back starts a new stay, filled in from the earlier one.</p>
${
  view.stays.length === 0
    ? html`<p class="card">None.</p>`
    : html`<ul class="rows">${view.stays.map(
        (
          stay,
        ) => html`<li class="row"><p><a class="quiet" href="/stays/${stay.stayId}"><strong>${stay.name}</strong></a> <span class="muted">born ${stay.born}</span></p><p>Bed ${stay.bed}, left ${stay.left}</p>
<p class="actions"><a class="button" href="/setup/discharged/${stay.stayId}/readmit"${attribute('aria-label', `Readmit ${stay.name}`)}>Readmit</a></p></li>`,
      )}</ul>`
}
<p><a class="quiet" href="/setup/beds">Beds</a></p>`
}
