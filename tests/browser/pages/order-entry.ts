/** The order form, filled in as somebody types it, and its preview. */
import { Screen } from './screen.ts'

/** A row as printed: "over 350" and open ends unchanged; units, or "call". */
export type PaperRow = readonly [from: string, to: string, answer: number | 'call', also?: string]

export class OrderEntryPage extends Screen {
  readonly heading = /^New (insulin order|version of an order|standard order of a ward)/

  /** Sets the whole form at once: the named fields, and the rest as in a new form. */
  async fillAll(values: Readonly<Record<string, string>>): Promise<void> {
    // a real input event at the end, because the preview follows typing and not script changes
    await this.page.evaluate(`(() => {
      const values = ${JSON.stringify(values)}
      const form = document.getElementById('order-form')
      for (const input of form.elements) {
        if (!input.name || input.type === 'hidden' || input.type === 'submit') continue
        const wanted = values[input.name]
        if (input.type === 'checkbox') input.checked = wanted === 'yes'
        else if (input.type === 'radio') input.checked = wanted === undefined ? input.defaultChecked : input.value === wanted
        else input.value = wanted ?? (input.options ? [...input.options].find((option) => option.defaultSelected)?.value : input.defaultValue) ?? ''
      }
    })()`)
    await this.page.evaluate(`new Promise((resolve) => {
      const drawn = (event) => {
        if (event.detail.target.id !== 'order-preview') return
        document.removeEventListener('htmx:afterSettle', drawn)
        resolve(null)
      }
      document.addEventListener('htmx:afterSettle', drawn)
      document.getElementById('order-form').elements.concentration.dispatchEvent(new Event('input', { bubbles: true }))
    })`)
  }

  /** The table of edges of one part: every value on it with its answer, in order. */
  async edges(part: 'correction' | 'bedtime' | 'notEating'): Promise<readonly (readonly [string, string])[]> {
    const cells = await this.main.locator(`table.edges[data-part="${part}"] tbody tr:not(.also) td`).allInnerTexts()
    return cells.map((cell) => {
      const [, value = '', answer = ''] = /^(\S+)\s+([\s\S]+)$/.exec(cell.replace(/\s+/g, ' ').trim()) ?? []
      return [value, answer]
    })
  }

  /** What the preview refuses and the field it names. Null: nothing. */
  async refused(): Promise<{ readonly sentence: string; readonly where: string } | null> {
    const fault = this.main.locator('#order-preview .order-fault')
    if ((await fault.count()) === 0) return null
    const [, sentence = '', where = ''] = (await fault.first().locator('p').allInnerTexts()).map((text) =>
      text.replace(/\s+/g, ' ').trim(),
    )
    return { sentence, where }
  }

  /** The tried value's answer. */
  async tried(): Promise<string> {
    return this.main.locator('.tried-answer').innerText()
  }

  async triedLines(): Promise<readonly string[]> {
    return this.main.locator('.tried .working li').allInnerTexts()
  }
}

/** The fields of rows, for the correction (`''`), "bedtime" or "notEating". */
export function rowFields(
  rows: readonly PaperRow[],
  scale: '' | 'bedtime' | 'notEating' = '',
): Readonly<Record<string, string>> {
  const name = (place: string): string =>
    scale === '' ? place : `${scale}${place.charAt(0).toUpperCase()}${place.slice(1)}`
  return Object.fromEntries(
    rows.flatMap(([from, to, answer, also], index) => {
      const row = `row${String(index + 1)}`
      return [
        [name(`${row}From`), from],
        [name(`${row}To`), to],
        answer === 'call' ? [name(`${row}Call`), 'yes'] : [name(`${row}Units`), String(answer)],
        ...(also === undefined ? [] : [[name(`${row}Also`), also]]),
      ] as [string, string][]
    }),
  )
}
