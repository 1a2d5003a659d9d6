/**
 * The line plot of a period of a stay. Glucose marks are joined by a line and drawn over the ward's limits. Below is
 * one lane for each kind: second check, each insulin, lows, meals. It is readable in black and white: kinds differ by
 * shape, limits by dash.
 */
import { html, type Html } from '../html.ts'
import { axes, type AxesView } from './axes.ts'
import { legend, mark, type MarkShape } from './marks.ts'

/** A mark of a lane with its text. tick: an upright stroke, for insulin that was given. */
export type LaneMark = {
  readonly x: number
  readonly y: number
  readonly shape: MarkShape | 'tick'
  readonly text: string | null
  readonly textX: number
  readonly textEnd: boolean
}
/** A span of time with its text. `open`: it has not ended. */
export type LaneSpan = {
  readonly x1: number
  readonly x2: number
  readonly y: number
  readonly open: boolean
  readonly text: string | null
  readonly textX: number
  readonly textEnd: boolean
}
export type Lane = {
  readonly name: string
  readonly top: number
  readonly bottom: number
  readonly marks: readonly LaneMark[]
  readonly spans: readonly LaneSpan[]
}

/** Positions in the plot's own units. server/stay/course-plot.ts calculates them. */
export type CoursePlotView = {
  readonly width: number
  readonly height: number
  /** Larger letters, for a plot that is shown small. */
  readonly large: boolean
  /** What the plot shows, in words. `describedBy` is the id of the text that says where the numbers are listed. */
  readonly label: string
  readonly describedBy: string
  readonly axes: AxesView
  /** The lower end of the glucose area. */
  readonly floor: number
  readonly boundaries: readonly number[]
  readonly days: readonly { readonly x: number; readonly y: number; readonly text: string }[]
  readonly limits: readonly {
    readonly y: number
    readonly text: string
    readonly textY: number
    readonly dash: string
  }[]
  /** Each run as "M…L…". */
  readonly lines: readonly string[]
  readonly values: readonly {
    readonly x: number
    readonly y: number
    readonly shape: MarkShape
    readonly text: string | null
    readonly textY: number
  }[]
  /** Readings that this viewer must not see yet: only their time. */
  readonly places: readonly number[]
  readonly lanes: readonly Lane[]
  /** The meaning of the shapes used. Empty: explained elsewhere on the page. */
  readonly key: readonly { readonly shape: MarkShape; readonly says: string }[]
}

export function coursePlot(view: CoursePlotView): Html {
  const { area } = view.axes
  return html`<svg class="${view.large ? 'plot course-plot large' : 'plot course-plot'}" viewBox="0 0 ${view.width} ${view.height}" role="img" aria-label="${view.label}" aria-describedby="${view.describedBy}">
${view.boundaries.map((x) => html`<line class="day" x1="${x}" x2="${x}" y1="${area.top}" y2="${area.bottom}"/>`)}
${axes(view.axes)}
${view.days.map(({ x, y, text }) => html`<text class="middle name" x="${x}" y="${y}">${text}</text>`)}
${view.limits.map(({ y, text, textY, dash }) => html`<line class="limit" x1="${area.left}" x2="${area.right}" y1="${y}" y2="${y}" stroke-dasharray="${dash}"/><text x="${area.right + 6}" y="${textY + 5}">${text}</text>`)}
${view.lanes.map((lane) => laneOf(lane, area))}
${view.places.map((x) => html`<line class="place" x1="${x}" x2="${x}" y1="${area.top}" y2="${view.floor}"/>`)}
${view.lines.map((path) => html`<path class="course-line" d="${path}"/>`)}
${view.values.map(({ x, y, shape, text, textY }) => html`${mark({ x, y, shape })}${text === null ? null : html`<text class="middle said" x="${x}" y="${textY}">${text}</text>`}`)}
</svg>`
}

function laneOf({ name, top, marks, spans }: Lane, area: AxesView['area']): Html {
  return html`<g class="lane"><line class="grid" x1="${area.left}" x2="${area.right}" y1="${top}" y2="${top}"/><text class="end" x="${area.left - 8}" y="${top + 16}">${name}</text>
${spans.map(({ x1, x2, y, open, text, textX, textEnd }) => html`<path class="span" d="M${x1} ${y - 6} L${x1} ${y + 6} M${x1} ${y} L${x2} ${y} ${open ? '' : `M${String(x2)} ${String(y - 6)} L${String(x2)} ${String(y + 6)}`}"/>${said(text, textX, y, textEnd)}`)}
${marks.map(({ x, y, shape, text, textX, textEnd }) => html`${shape === 'tick' ? html`<line class="tick-up" x1="${x}" x2="${x}" y1="${y - 9}" y2="${y + 9}"/>` : mark({ x, y, shape })}${said(text, textX, y, textEnd)}`)}</g>`
}

function said(text: string | null, x: number, y: number, toTheLeft: boolean): Html | null {
  return text === null
    ? null
    : html`<text class="${toTheLeft ? 'said end' : 'said'}" x="${x}" y="${y + 5}">${text}</text>`
}

/** One line of the table: everything that the plot shows at one instant. */
export type CourseRowView = {
  readonly when: string
  readonly what: string
  readonly value: string
  readonly path: string | null
}

export type CourseView = {
  readonly plot: CoursePlotView
  /** "Glucose in mg/dL from … to …" */
  readonly caption: string
  /** By time, oldest first. */
  readonly rows: readonly CourseRowView[]
}

/** The plot with its legend, and the table that repeats it in words. On a narrow screen the plot scrolls sideways. */
export function courseFigure({ plot, caption, rows }: CourseView): Html {
  return html`<figure class="course"><div class="scroll" role="region" tabindex="0" aria-label="Plot of the last 72 h">${coursePlot(plot)}</div>
<figcaption>${legend(plot.key)}
<p class="hint" id="${plot.describedBy}">${caption} Every number stands in the table under the plot.</p></figcaption></figure>
<details class="course-table"><summary>The plot as a table</summary>
${
  rows.length === 0
    ? html`<p>Nothing charted.</p>`
    : html`<table class="table stacked"><caption class="visually-hidden">Readings, insulin, lows and meals of the last 72 h, oldest first</caption>
<thead><tr><th scope="col">When</th><th scope="col">What</th><th scope="col">Value</th></tr></thead>
<tbody>${rows.map(({ when, what, value, path }) => html`<tr><td>${when}</td><td>${path === null ? what : html`<a class="quiet" href="/${path}">${what}</a>`}</td><td><strong>${value}</strong></td></tr>`)}</tbody></table>`
}
</details>`
}
