/** A reading that was charted on the downtime sheet, entered later. */
import { html, type Html } from '../html.ts'
import { field, form, problem, select } from '../parts.ts'
import { banner, type BannerView } from './banner.ts'

export type PaperReadingView = {
  readonly stayId: string
  readonly patient: BannerView
  readonly unit: string
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  readonly meters: readonly { readonly value: string; readonly label: string }[]
}

export function paperReading(view: PaperReadingView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>Reading from paper</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="working">Enter what stands on the sheet, as it stands there. It is marked as charted late; it can open a low event.</p>
${form({
  action: `stays/${view.stayId}/paper-reading`,
  key: value('key'),
  submit: 'Chart the reading',
  body: html`${field({ name: 'wristband', label: 'Wristband number on the sheet', value: value('wristband'), error: error('wristband'), maxlength: 40, autofocus: true })}
${field({ name: 'glucose', label: 'Value', value: value('glucose'), error: error('glucose'), inputmode: 'decimal', big: true, unit: view.unit, maxlength: 10, hint: 'Digits, LO or HI.' })}
${field({ name: 'takenAt', label: 'Time taken', value: value('takenAt'), error: error('takenAt'), maxlength: 30, hint: 'As in 07:05, or with its date: 2026-11-24 07:05.' })}
${field({ name: 'takenBy', label: 'Badge of who took it', value: value('takenBy'), error: error('takenBy'), maxlength: 40, hint: 'Empty: you.' })}
${select({ name: 'meterId', label: 'Meter', options: [{ value: '', label: 'Not on the sheet' }, ...view.meters], value: value('meterId'), error: error('meterId') })}`,
})}
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p></div>`
}
