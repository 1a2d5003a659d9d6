/**
 * The treatment page of a low, made for a shaking hand at 3 a.m. The next step comes first in large type, then the
 * rest.
 */
import { html, type Child, type Html } from '../html.ts'
import { caution, choice, form, problem } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type ClockView = {
  readonly dueMs: number
  /** ward-local, "03:19" */
  readonly due: string
  readonly past: boolean
}

/** The next step. `key`: the one-time key of its form. */
export type NowView =
  | { readonly kind: 'emergency'; readonly key: string }
  | { readonly kind: 'ask'; readonly again: boolean; readonly form: QuestionsView }
  | {
      readonly kind: 'give'
      readonly key: string
      readonly shown: string
      readonly arm: string
      readonly digits: string
      readonly unit: string
      readonly also: string | null
      readonly how: string
      readonly working: string
    }
  | { readonly kind: 'call'; readonly says: string }
  | { readonly kind: 'look-again'; readonly flagPath: string | null }
  | {
      readonly kind: 'recheck'
      readonly what: string
      readonly path: string
      /** true when it is due */
      readonly come: boolean
      readonly clock: ClockView
    }
  | { readonly kind: 'close'; readonly path: string }
  | { readonly kind: 'tell'; readonly path: string; readonly clock: ClockView }

export type QuestionsView = {
  readonly key: string
  readonly asksTube: boolean
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
}

export type FoodView =
  | { readonly kind: 'give'; readonly key: string; readonly grams: number; readonly clock: ClockView }
  | { readonly kind: 'note'; readonly text: string }

export type StepView = {
  /** identifies it on the page */
  readonly kind: string
  readonly text: string
  readonly clock: ClockView
  readonly path: string | null
}
export type LineRowView = {
  readonly when: string
  readonly after: string
  readonly what: string
  readonly detail: string
  readonly late: string | null
  readonly by: string
  readonly path: string | null
}

export type LowPageView = {
  readonly lowId: string
  readonly stayId: string
  readonly patient: BannerView
  /** Ward time of this response. Its timers start from it. */
  readonly nowMs: number
  /** "Level 2: below 54 mg/dL" */
  readonly level: string
  /** "52 mg/dL" */
  readonly lowest: string | null
  readonly closed: string | null
  /** Null: the event is closed. */
  readonly now: NowView | null
  readonly food: FoodView | null
  readonly steps: readonly StepView[]
  readonly missing: readonly string[]
  /**
   * Insulin that waits because of the low, the open question, and the prescriber's "give as ordered" with its current
   * effect.
   */
  readonly insulin: {
    readonly says: string
    readonly ask: {
      readonly clock: ClockView
      readonly path: string
      readonly insulins: string
      readonly type1: boolean
    } | null
    readonly answered: { readonly says: string; readonly releases: boolean; readonly dosePath: string | null } | null
  }
  readonly line: readonly LineRowView[]
  readonly earlier: readonly { readonly text: string; readonly path: string }[]
  /** False for a person who may only read, and for a closed event. */
  readonly mayChart: boolean
  /** What a refresh compares with. Null: nothing more can change. */
  readonly seen: string | null
  /** Ward-local, "03:05" */
  readonly asOf: string
}

/** The page's body. A refresh replaces only `lowLive`, so that typed values and the focus survive. */
export function lowPage(view: LowPageView): Html {
  return html`<div class="low">
<h1>Low in bed ${view.patient.bed}</h1>
<p id="low-held" class="warning" role="status" hidden><span aria-hidden="true">▲</span> Somebody else has charted in this low since this page was opened. What you have chosen here is as you left it. <a id="low-show" href="/lows/${view.lowId}">Show what changed</a></p>
${lowLive(view)}
${caution()}
<p class="actions"><a class="quiet" href="/round">Back to the round</a> <a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>
</div>`
}

/** Everything that others may change, for the page and its refresh. A closed event does not refresh. */
export function lowLive(view: LowPageView): Html {
  const { now } = view
  const body = html`<div class="low-who">${banner(view.patient)}
<p><strong>${view.level}</strong>${view.lowest === null ? null : html`, lowest <strong>${view.lowest}</strong>`}</p></div>
${view.closed === null ? null : html`<p class="warning">${view.closed}</p>`}
${now === null || !view.mayChart ? null : html`<section class="card low-now" aria-labelledby="now-heading">${nowBlock(view.lowId, now)}</section>`}
${view.food === null || !view.mayChart ? null : foodBlock(view.lowId, view.food)}
${view.steps.length === 0 ? null : html`<section class="card" aria-labelledby="owed-heading"><h2 id="owed-heading">Owed now</h2><ul class="rows">${view.steps.map(stepRow)}</ul></section>`}
${insulinBlock(view.insulin)}
${view.missing.length === 0 ? null : html`<p>Closing still needs: ${view.missing.join(', ')}.</p>`}
${view.mayChart ? html`<p class="actions"><a class="button" id="low-findings" href="/lows/${view.lowId}/findings">Unresponsive, seizing or confused?</a> <a class="button" id="low-told" href="/lows/${view.lowId}/prescriber-calls">Prescriber told</a> <a class="button" id="low-close" href="/lows/${view.lowId}/close">Close the event</a></p>` : null}
<section class="card" aria-labelledby="line-heading"><h2 id="line-heading">What happened</h2>${lineTable(view.line)}
${view.earlier.map(({ text, path }) => html`<p><a href="/${path}">${text}</a></p>`)}</section>`
  if (view.seen === null) return html`<div id="low-live" data-now="${view.nowMs}">${body}</div>`
  return html`<div id="low-live" data-now="${view.nowMs}" data-hold="low-held" hx-get="/lows/${view.lowId}/now?seen=${view.seen}" hx-trigger="every 5s" hx-target="this" hx-swap="outerHTML">${body}
<p class="muted">As of ${view.asOf}, ward time. Refreshes by itself.</p></div>`
}

function insulinBlock({ says, ask, answered }: LowPageView['insulin']): Html {
  return html`<section class="card" aria-labelledby="insulin-heading"><h2 id="insulin-heading">Insulin</h2><p>${says}</p>
${answered === null ? null : html`<p class="${answered.releases ? 'working' : 'warning'}">${answered.says}</p>${answered.dosePath === null ? null : html`<p class="actions"><a class="button" id="low-dose" href="/${answered.dosePath}">Work out the meal dose</a></p>`}${caution()}`}
${
  ask === null
    ? null
    : html`<p class="warning"><strong>Ask the prescriber about ${ask.insulins}.</strong> It is not dropped, and not given unasked.${ask.type1 ? ' Type 1 diabetes: without insulin ketoacidosis follows.' : ''} ${clock(ask.clock)}</p>
<p class="actions"><a class="button" id="low-ask" href="/${ask.path}">Chart the prescriber’s answer</a></p>`
}</section>`
}

/** A timer in words. The script counts its minutes and seconds. */
export function clock(view: ClockView): Html {
  return html`<span class="clock-line">${view.past ? 'was due' : 'due'} ${view.due} <span class="counting" role="timer" data-due="${view.dueMs}"></span></span>`
}

function nowBlock(lowId: string, now: NowView): Html {
  switch (now.kind) {
    case 'emergency':
      return html`<h2 id="now-heading">Now</h2><p class="loud"><span aria-hidden="true">■</span> Emergency call first, at once. Then glucose.</p>
${form({ action: `lows/${lowId}/emergency-calls`, key: now.key, submit: null, body: html`<input type="hidden" name="called" value="yes"><p class="actions"><button type="submit" id="low-main" class="main huge">The emergency call is made</button></p>` })}`
    case 'ask':
      return html`<h2 id="now-heading">${now.again ? 'Look again before the next treatment' : 'Look before you treat'}</h2>${questions(lowId, now.form)}`
    case 'give':
      return html`<h2 id="now-heading">Give now</h2>
<p class="dose-number"><span class="digits">${now.digits}</span> <span class="unit">${now.unit}</span></p>
${now.also === null ? null : html`<p class="dose-also">${now.also}</p>`}
<p class="dose-also">${now.how}</p>
<p class="working">${now.working}</p>
${form({ action: `lows/${lowId}/treatments`, key: now.key, submit: null, body: html`<input type="hidden" name="shown" value="${now.shown}"><input type="hidden" name="arm" value="${now.arm}"><p class="actions"><button type="submit" id="low-main" class="main huge">Given now</button></p>` })}
<p class="actions"><a class="button" id="low-other" href="/lows/${lowId}/treatments">Given earlier, or something else was given</a> <a class="button" id="low-look" href="/lows/${lowId}/answers">Look again at the patient</a></p>
${caution()}`
    case 'call':
      return html`<h2 id="now-heading">Now</h2><p class="loud"><span aria-hidden="true">■</span> ${now.says}</p>
<p class="actions"><a class="button main huge" id="low-main" href="/lows/${lowId}/treatments">Chart what was directed and given</a></p>
<p class="actions"><a class="button" id="low-look" href="/lows/${lowId}/answers">Look again at the patient</a></p>${caution()}`
    case 'look-again':
      return html`<h2 id="now-heading">Now</h2><p class="warning">The value that opened this event was corrected or entered in error, and no other value of it is low. Decide what becomes of it.</p>
${now.flagPath === null ? null : html`<p class="actions"><a class="button main" href="/${now.flagPath}">Decide</a></p>`}`
    case 'recheck':
      return html`<h2 id="now-heading">${now.what}</h2>
<p class="big-clock">${clock(now.clock)}</p>
<p class="actions"><a class="button${now.come ? ' main huge' : ' main'}" id="low-main" href="/${now.path}">${now.what}</a></p>
<p class="actions"><a class="button" id="low-other" href="/lows/${lowId}/treatments">More was given: chart it</a></p>`
    case 'tell':
      return html`<h2 id="now-heading">Tell the prescriber</h2><p class="big-clock">${clock(now.clock)}</p>
<p class="actions"><a class="button main huge" id="low-main" href="/${now.path}">Chart the call</a></p>`
    case 'close':
      return html`<h2 id="now-heading">Recovered, followed up, told</h2><p class="actions"><a class="button main huge" id="low-main" href="/${now.path}">Close the event</a></p>`
  }
}

/** The questions at the bedside. None is prefilled from the record. */
export function questions(lowId: string, view: QuestionsView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return form({
    action: `lows/${lowId}/answers`,
    key: view.key,
    submit: null,
    body: html`<div class="bedside">${choice({
      name: 'swallowing',
      label: 'Awake and swallowing now?',
      value: value('swallowing'),
      error: error('swallowing'),
      options: [
        { value: 'safely', label: 'Yes, swallows safely' },
        { value: 'not-safely', label: 'No: drowsy, or cannot swallow' },
        { value: 'unresponsive', label: 'Unresponsive or seizing' },
      ],
    })}
${choice({
  name: 'iv',
  label: 'IV working now?',
  value: value('iv'),
  error: error('iv'),
  options: [
    { value: 'working', label: 'Yes' },
    { value: 'none', label: 'No, or no IV' },
  ],
})}
${
  view.asksTube
    ? choice({
        name: 'tube',
        label: 'Feeding tube in place, working and allowed to be used now?',
        value: value('tube'),
        error: error('tube'),
        options: [
          { value: 'usable', label: 'Yes' },
          { value: 'not-usable', label: 'No' },
        ],
      })
    : null
}</div>
<p class="actions"><button type="submit" id="low-main" class="main huge">What to give</button></p>`,
  })
}

/** The questions on their own page: asked again, or sent with an error. */
export function questionsPage(view: {
  readonly lowId: string
  readonly patient: BannerView
  readonly problem: string | null
  readonly form: QuestionsView
}): Html {
  return html`<div class="low"><h1>Look at the patient</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}${questions(view.lowId, view.form)}</div>
<p><a class="quiet" href="/lows/${view.lowId}">Back to the low</a></p></div>`
}

function foodBlock(lowId: string, food: FoodView): Html {
  if (food.kind === 'note') return html`<p class="warning">${food.text}</p>`
  return html`<section class="card" aria-labelledby="food-heading"><h2 id="food-heading">Recovered: longer-acting carbohydrate</h2>
<p class="dose-number"><span class="digits">${food.grams}</span> <span class="unit">g</span></p><p>bread, biscuits, milk or the like; the next meal is more than an hour off. ${clock(food.clock)}</p>
${form({ action: `lows/${lowId}/food`, key: food.key, submit: null, body: html`<input type="hidden" name="grams" value="${food.grams}"><p class="actions"><button type="submit" id="low-food" class="main">Given now</button> <a class="quiet" id="low-food-other" href="/lows/${lowId}/food">Given earlier, or another amount</a></p>` })}
${caution()}</section>`
}

export function stepRow(step: StepView): Html {
  return html`<li class="row"><strong>${step.path === null ? step.text : html`<a class="quiet" id="step-${step.kind}" href="/${step.path}">${step.text}</a>`}</strong> ${clock(step.clock)}</li>`
}

function lineTable(rows: readonly LineRowView[]): Child {
  return html`<table class="table stacked"><caption class="visually-hidden">Everything charted in this low event, oldest first</caption>
<thead><tr><th scope="col">When</th><th scope="col">What</th><th scope="col">Detail</th><th scope="col">By</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><td>${row.when} <span class="muted">${row.after}</span></td><td>${row.path === null ? html`<strong>${row.what}</strong>` : html`<a id="line-${row.path.slice(row.path.lastIndexOf('/') + 1)}" href="/${row.path}"><strong>${row.what}</strong></a>`}</td><td>${row.detail}${row.late === null ? null : html` <span class="state due"><span class="shape" aria-hidden="true">◷</span> ${row.late}</span>`}</td><td>${row.by}</td></tr>`)}</tbody></table>`
}
