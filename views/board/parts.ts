/** The parts of the board. Each is rendered once for every viewer and sent alone when it changes. */
import { attribute, html, type Html } from '../html.ts'
import { stateMark } from '../parts.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }
/**
 * `path` is a path of this service without its leading slash. `by`: the role that sees the link; null: everybody who
 * charts.
 */
export type NeedLinkView = { readonly path: string; readonly label: string; readonly by: 'charge' | null }

export type NeedView = {
  readonly part: string
  readonly mark: Mark
  /** "Bed 3, Calder"; "Meter M-4402" */
  readonly where: string
  readonly stayPath: string | null
  /** "since 07:20", "due 06:00, late since 06:30" */
  readonly since: string
  readonly sinceMs: number
  /** "by 07:50". Null: it was due from the start. */
  readonly due: string | null
  /** Who is responsible. Null: unassigned. */
  readonly whose: { readonly name: string; readonly handed: boolean } | null
  readonly links: readonly NeedLinkView[]
  readonly handPath: string
}

/** One need: what, where, how long, who, and its two buttons. */
export function needRow(view: NeedView): Html {
  return html`<li class="need ${view.mark.tone}" data-part="${view.part}">
<p class="need-what"><strong>${view.stayPath === null ? view.where : html`<a href="/${view.stayPath}">${view.where}</a>`}</strong> ${stateMark(view.mark)}</p>
<p class="need-when">${view.since} <span class="board-clock" data-from="${view.sinceMs}"></span>${view.due === null ? null : html` <span class="need-due">${view.due}</span>`}</p>
<p class="need-whose">${view.whose === null ? html`<strong class="nobody"><span aria-hidden="true">■</span> Nobody has this</strong>` : html`${view.whose.name}${view.whose.handed ? ' (handed over)' : ''}`}</p>
<p class="need-ways charting">${view.links.map(({ path, label, by }) => html`<a class="button${by === null ? '' : ' charge-only'}" href="/${path}">${label}<span class="visually-hidden">: ${view.where}, ${view.mark.word}</span></a> `)}<a class="button quiet" href="/${view.handPath}">Hand over<span class="visually-hidden">: ${view.where}, ${view.mark.word}</span></a></p>
</li>
`
}

export type TileView = {
  readonly part: string
  readonly bed: string
  /** Family name. Null: the bed is empty. */
  readonly name: string | null
  readonly path: string | null
  readonly mark: Mark
  /** "07:30", "due 06:00, late since 06:30". Empty: the state has no time. */
  readonly when: string
  /** "112 mg/dL, 07:10", "07:10: awaiting second check". Null: no reading. */
  readonly reading: string | null
  /** "low 03:10". Null: none recently, or one that is still open. */
  readonly low: string | null
  /** "2 waiting". Null: none. */
  readonly waiting: string | null
  readonly nurse: string | null
  /** Who had it in an earlier shift, if it is unassigned now. */
  readonly earlier: string | null
}

/** One bed in walking order. */
export function bedTile(view: TileView): Html {
  if (view.name === null || view.path === null)
    return html`<li class="tile empty" data-part="${view.part}"><p class="tile-bed"><strong>${view.bed}</strong> <span>${view.mark.word}</span></p></li>
`
  return html`<li class="tile ${view.mark.tone}" data-part="${view.part}"><a href="/${view.path}">
<span class="tile-bed"><span class="visually-hidden">Bed </span><strong>${view.bed}</strong> <span class="tile-name">${view.name}</span></span>
<span class="tile-state"><span class="shape" aria-hidden="true">${view.mark.shape}</span> ${view.mark.word}<span class="tile-when"> ${view.when}</span></span>
<span class="tile-reading">${view.reading ?? 'No reading'}${view.low === null ? null : html` <b class="tile-low"><span aria-hidden="true">◇</span> ${view.low}</b>`}</span>
<span class="tile-nurse${view.nurse === null ? ' nobody' : ''}">${view.nurse ?? html`<span aria-hidden="true">■</span> No nurse${view.earlier === null ? '' : `, earlier ${view.earlier}`}`}${view.waiting === null ? null : html` <b>${view.waiting}</b>`}</span>
</a></li>
`
}

export type PaceView = {
  readonly part: string
  readonly rows: readonly {
    readonly name: string
    readonly beds: string
    readonly done: string
    readonly finish: string
    readonly mark: Mark | null
  }[]
  readonly suggestions: readonly string[]
  /** "12 checks to do on beds that nobody has". Null: none. */
  readonly withNobody: string | null
  /** "Trays 08:00". Null: a round without trays. */
  readonly tray: string | null
  readonly assumption: string
}

/** When each nurse's list will be done, compared with the trays. */
export function paceTable(view: PaceView): Html {
  return html`<div class="board-pace" data-part="${view.part}">
<h2>Pace${view.tray === null ? null : html` <span class="muted">${view.tray}</span>`}</h2>
${
  view.rows.length === 0
    ? html`<p>No beds are given out in this shift, so there is no list to tell a pace of.</p>`
    : html`<table class="table"><thead><tr><th scope="col">Nurse</th><th scope="col">Done</th><th scope="col">List done by</th></tr></thead>
<tbody>${view.rows.map(({ name, beds, done, finish, mark }) => html`<tr><th scope="row">${name} <span class="muted">${beds}</span></th><td>${done}</td><td>${finish}${mark === null ? null : html` ${stateMark(mark)}`}</td></tr>`)}</tbody></table>`
}
${view.withNobody === null ? null : html`<p class="nobody"><span aria-hidden="true">■</span> ${view.withNobody}</p>`}
${
  view.suggestions.length === 0
    ? null
    : html`<p><strong>Would be in time:</strong></p>
<ul>${view.suggestions.map((text) => html`<li>${text}</li>`)}</ul>`
}
<p class="hint">${view.assumption}</p>
</div>
`
}

/** The name of the round and its progress. */
export function boardHead(view: {
  readonly part: string
  readonly round: string
  readonly progress: string
  readonly shift: string
  readonly needs: number
}): Html {
  return html`<p class="board-head" data-part="${view.part}"><strong>${view.needs === 0 ? 'Nothing needs a person' : view.needs === 1 ? '1 thing needs a person' : `${String(view.needs)} things need a person`}</strong> · ${view.round} · ${view.progress} · ${view.shift}</p>
`
}

/** The links between the pages of the board. */
export function boardLinks(
  links: readonly { readonly path: string; readonly label: string; readonly current: boolean }[],
): Html {
  return html`<nav class="board-ways" aria-label="Board"><ul>${links.map(({ path, label, current }) => html`<li><a href="/${path}"${attribute('aria-current', current ? 'page' : null)}>${label}</a></li>`)}</ul></nav>`
}
