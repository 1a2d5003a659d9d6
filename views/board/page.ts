/** The board's page: its current parts, and what its script needs to update them. */
import { html, type Html } from '../html.ts'
import { caution } from '../parts.ts'
import { boardLinks } from './parts.ts'

export type BoardPageView = {
  readonly wardName: string
  readonly head: Html
  readonly needs: readonly Html[]
  readonly beds: readonly Html[]
  readonly pace: Html
  /** Identifies the content of the page, so that the stream sends only what differs. */
  readonly version: string
  readonly nowMs: number
  /** Ward-local, "07:41" */
  readonly asOf: string
  /** The viewer's role. Actions that the viewer may not take are not offered. */
  readonly viewer: 'charge' | 'nurse' | 'reader'
  /** Hashed name of the board's script. */
  readonly script: string
}

export function boardPage(view: BoardPageView): Html {
  return html`<div class="board ${view.viewer}" id="board" data-script="/assets/${view.script}" data-stream="/board/stream" data-version="${view.version}" data-ward-now="${view.nowMs}" data-at="${view.asOf}">
<div class="board-top"><h1>${view.wardName} board</h1>
<p class="board-link" id="board-link" role="status"><span aria-hidden="true">○</span> <span data-says>As of ${view.asOf}</span></p>
${boardLinks([{ path: 'board/wards', label: 'All wards', current: false }, ...(view.viewer === 'charge' ? [{ path: 'board/assign', label: 'Give out beds', current: false }] : []), ...(view.viewer === 'reader' ? [] : [{ path: 'ward', label: 'Take beds', current: false }]), ...(view.viewer === 'nurse' ? [] : [{ path: 'audit', label: 'Audit', current: false }])])}</div>
<div id="board-live">
${view.head}<div class="board-body">
<section class="board-needs" aria-labelledby="needs-heading"><h2 id="needs-heading">Needs a person</h2>
<ol class="needs" data-parts="needs">
${view.needs}</ol>
<p class="none">Nothing needs a person now.</p></section>
<section class="board-beds" aria-labelledby="beds-heading"><h2 id="beds-heading">Beds in walking order</h2>
<ol class="tiles">
${view.beds}</ol></section>
${view.pace}</div>
</div>
${caution()}
</div>`
}

export type WardsPageView = {
  readonly lines: readonly Html[]
  readonly nowMs: number
  /** Local time of the first ward, "07:41" */
  readonly asOf: string
  /** Hashed name of the board's script. */
  readonly script: string
}

/** All wards of the person, one line each, kept up to date by the board's script. */
export function wardsPage({ lines, nowMs, asOf, script }: WardsPageView): Html {
  return html`<div class="board" id="board" data-script="/assets/${script}" data-stream="/board/wards/stream" data-version="" data-ward-now="${nowMs}" data-at="${asOf}">
<div class="board-top"><h1>All wards</h1>
<p class="board-link" id="board-link" role="status"><span aria-hidden="true">○</span> <span data-says>As of ${asOf}</span></p>
${boardLinks([{ path: 'board', label: 'Ward board', current: false }])}</div>
<p>Your wards: ${lines.length}</p>
<div id="board-live">
<table class="table stacked wards"><thead><tr><th scope="col">Ward</th><th scope="col">Due now</th><th scope="col">Late</th><th scope="col">Lows open</th><th scope="col">Criticals not told</th><th scope="col">Last list done</th></tr></thead>
<tbody class="ward-lines">
${lines}</tbody></table>
</div>
${caution()}</div>`
}

export type WardLineView = {
  readonly part: string
  readonly name: string
  readonly round: string
  readonly due: number
  readonly late: number
  readonly lows: number
  readonly criticals: number
  readonly pace: string
  /** number of its beds without a nurse */
  readonly withNobody: number
}

/** One ward. */
export function wardLine(ward: WardLineView): Html {
  const count = (n: number, shape: string): Html =>
    n === 0 ? html`0` : html`<strong class="loud-number"><span aria-hidden="true">${shape}</span> ${n}</strong>`
  return html`<tr data-part="${ward.part}"><th scope="row">${ward.name} <span class="muted">${ward.round}</span></th>
<td><span class="cell-name">Due now</span> ${ward.due}</td><td><span class="cell-name">Late</span> ${count(ward.late, '▲')}</td><td><span class="cell-name">Lows open</span> ${count(ward.lows, '◆')}</td><td><span class="cell-name">Criticals not told</span> ${count(ward.criticals, '■')}</td>
<td><span class="cell-name">Last list done</span> ${ward.pace}${ward.withNobody === 0 ? null : html` <span class="nobody"><span aria-hidden="true">■</span> ${ward.withNobody} ${ward.withNobody === 1 ? 'bed' : 'beds'} without a nurse</span>`}</td></tr>
`
}
