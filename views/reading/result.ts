/** The result: the value, its meaning, what must happen next, and the link to the next bed. */
import { attribute, html, type Html } from '../html.ts'
import { caution } from '../parts.ts'
import { scanBox } from '../round/page.ts'
import { banner, type BannerView } from '../stay/banner.ts'
import type { Said } from '../words/next.ts'

export type ResultView = {
  readonly readingId: string
  readonly stayId: string
  readonly patient: BannerView
  /** "Before breakfast", "Extra check", "Paper" */
  readonly what: string
  /** Null: this person may have to check it, so it is hidden. */
  readonly shown: {
    readonly digits: string
    /** Null for LO and HI. */
    readonly unit: string | null
    /** Struck through: corrected or entered in error. */
    readonly struck: boolean
    readonly steps: readonly Said[]
  } | null
  /** "Taken 07:31 by Nora Lind, left ring finger, meter M-4401, strips L5520" */
  readonly how: string
  readonly notes: readonly string[]
  readonly mayChange: boolean
  /** The next bed of the round. Null: nothing is due. */
  readonly next: { readonly bed: string; readonly path: string } | null
  /** The audit page from which it was opened. Null: opened from the round. */
  readonly back: { readonly path: string; readonly label: string } | null
}

export function resultPage(view: ResultView): Html {
  const { shown } = view
  return html`<h1>${view.what}: result</h1>
<div class="card">${banner(view.patient)}
${
  shown === null
    ? html`<p class="big-number">–</p><p class="warning"><strong>Awaiting second check.</strong> You may be asked to check a dose from this reading, so it is not shown to you yet.</p>`
    : html`<p class="big-number">${shown.struck ? html`<s>${shown.digits}${shown.unit === null ? null : html` <span class="unit">${shown.unit}</span>`}</s>` : html`${shown.digits}${shown.unit === null ? null : html` <span class="unit">${shown.unit}</span>`}`}</p>`
}
<p class="muted">${view.how}</p>
${view.notes.map((note) => html`<p class="muted">${note}</p>`)}
${shown === null ? null : html`<ol class="next-steps">${shown.steps.map(stepItem)}</ol>${caution()}`}
${shown === null || !view.mayChange ? null : html`<p><a class="quiet" href="/readings/${view.readingId}/correct">Wrong value? Correct it</a> <a class="quiet" href="/readings/${view.readingId}/void">Wrong patient? Mark it entered in error</a></p>`}
<p>${view.back === null ? null : html`<a class="button" href="/${view.back.path}">${view.back.label}</a> `}<a class="quiet" href="/stays/${view.stayId}">Patient page</a></p></div>
${view.back === null ? nextPatient(view.next) : null}`
}

/** The link to the next bed, for a nurse on the round. */
function nextPatient(next: ResultView['next']): Html {
  return html`<section class="card" aria-label="Next patient">${next === null ? html`<p>No other check is waiting in this round.</p>` : html`<p>Next: <strong><a href="/${next.path}">bed ${next.bed}</a></strong></p>`}
${scanBox({ value: '', error: null })}
<p><a class="quiet" href="/round">Back to the round</a></p></section>`
}

function stepItem(step: Said): Html {
  return html`<li${attribute('class', step.weight === 'plain' ? null : step.weight)}><p><strong>${step.says}</strong></p>
${step.working === '' ? null : html`<p class="working">${step.working}</p>`}
${step.action === null ? null : html`<p class="actions"><a class="button${step.action.main ? ' main' : ''}" href="/${step.action.path}">${step.action.label}</a></p>`}</li>`
}
