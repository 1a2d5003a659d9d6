/** The educator after the night: from the start page to one low, a period, a note, and the printed report. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { chartNight, NIGHT } from '../support/audited-night.ts'
import { ALDER, people } from '../support/people.ts'
import { SIZES, type Device } from './browser.ts'
import { openWorld, type OpenWorld } from './start.ts'
import { auditTours } from './tours/audit.ts'

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let device: Device
  beforeAll(async () => {
    open = await openWorld()
    chartNight(open.world)
    device = await open.signedIn(people.edda, size, { bypassCSP: true })
  })
  afterAll(async () => open.close())

  it('opens start, shift, low, period and note with one tap each, and puts no patient in a URL', async () => {
    const { page } = device
    const main = page.locator('main')
    await page.goto('/')
    await page.waitForURL('**/audit')
    await main.getByRole('link', { name: /Night.*Mon 9 Mar/ }).click()
    await page.waitForURL('**/audit/shift?*')
    const row = page.locator('.audit-summary tbody tr')
    await expect.poll(() => row.count()).toBe(1)
    expect(await row.innerText()).toContain('48 mg/dL')
    await row.getByRole('link').click()
    await page.waitForURL(`**/audit/lows/${NIGHT.lowId}`)
    const plot = page.locator('svg.plot.wide')
    expect(await plot.getAttribute('aria-label')).toContain('48 mg/dL at 02:50')
    // the plot is visible: every value and lane mark has its position inside it
    const places = await plot.locator('.mark').evaluateAll((marks) =>
      marks.map((mark) => {
        const box = mark.getBoundingClientRect()
        return box.width > 0 && box.height > 0
      }),
    )
    expect(places.length).toBeGreaterThan(6)
    expect(places.every((drawn) => drawn)).toBe(true)
    await main.getByLabel('From').fill(`${NIGHT.morning}T02:00`)
    // the summary is beside the plot, or below it on a phone; the tablet shows both without scrolling
    const [drawn, story] = await Promise.all([plot.boundingBox(), page.locator('.low-story').boundingBox()])
    if (drawn === null || story === null) throw new Error('no plot or no story')
    if (size.width > 600)
      expect([
        story.x >= drawn.x + drawn.width,
        story.y + story.height <= size.height,
        drawn.y + drawn.height <= size.height,
      ]).toEqual([true, true, true])
    else expect(story.y).toBeGreaterThanOrEqual(drawn.y + drawn.height)
    await main.getByLabel('Up to').fill(`${NIGHT.morning}T04:00`)
    await main.getByRole('button', { name: 'List everything charted' }).click()
    await page.waitForURL('**from=**')
    const listed = page.getByRole('table', {
      name: /^Everything charted from Tue 10 Mar 2026, 02:00 up to Tue 10 Mar 2026, 04:00/,
    })
    await listed.waitFor()
    expect(await page.getByRole('table', { name: /^Everything charted/ }).count()).toBe(1)
    const rows = await listed.locator('tbody tr').allInnerTexts()
    expect(rows.length).toBe(10)
    expect(rows.some((row) => row.includes('recovered'))).toBe(true)
    expect(rows[0]).toContain('48 mg/dL')
    expect(rows.at(-1)).toContain('toast and milk')
    await main.getByRole('link', { name: 'Add a note' }).click()
    await main.getByLabel('Finding').fill('Supper 54 min after the insulin, a quarter eaten')
    await main.getByLabel('Follow-up').fill('Kitchen and ward manager told')
    await main.getByRole('button', { name: 'Add the note' }).click()
    await page.waitForURL(`**/audit/lows/${NIGHT.lowId}?note=*`)
    await page.getByRole('status').getByText('Note saved').waitFor()
    const note = await page.getByText('Kitchen and ward manager told').boundingBox()
    expect((note?.y ?? Number.POSITIVE_INFINITY) + (note?.height ?? 0)).toBeLessThan(size.height)
    await main.getByRole('link', { name: 'Reading' }).first().click()
    await main.getByRole('link', { name: 'Back to the low in the audit' }).click()
    await page.waitForURL(`**/audit/lows/${NIGHT.lowId}`)
    expect(page.url()).not.toMatch(/Ashby|Ruth|W7301/)
    device.noFaults()
  })

  it('tour of the audit pages', async () => {
    for (const { take } of auditTours) {
      const look = async (_pattern: string, picture: string): Promise<void> => {
        await device.page.locator('h1').first().waitFor()
        await device.picture(picture)
        if (!picture.startsWith('print')) await device.fitsItsWidth()
        await device.accessible()
      }
      await take({
        open,
        device,
        look,
        ctx: async (pattern, path, picture) => {
          expect((await device.page.goto(path))?.status(), path).toBe(200)
          await look(pattern, picture)
        },
      })
    }
    device.noFaults()
  })

  if (size.width > 600) {
    /** The head of a table repeats on every sheet. */
    const sheets = (pdf: Buffer): number => [...pdf.toString('latin1').matchAll(/\/Type\s*\/Page[^s]/g)].length
    const styles = (selector: string, name: string): Promise<readonly string[]> =>
      device.page.evaluate<string[]>(
        `[...document.querySelectorAll('${selector}')].map((one) => getComputedStyle(one).${name})`,
      )

    it.each(['A4', 'Letter'])(
      'prints the report on %s: at most two sheets for a night with one low, each with its head',
      async (format) => {
        await device.page.goto(`/print/audit/shift?ward=${ALDER}&from=${NIGHT.evening}T19:00&to=${NIGHT.morning}T07:00`)
        const pdf = await device.page.pdf({ format })
        expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
        expect(sheets(pdf)).toBeLessThanOrEqual(2)
        await device.page.emulateMedia({ media: 'print' })
        expect(await styles('.sheet-running', 'display')).toEqual(['table-header-group', 'table-header-group'])
        expect(await styles('.sheet-frame', 'display')).toEqual(['table', 'table'])
        expect(await device.page.locator('.sheet-running').allInnerTexts()).toEqual([
          expect.stringContaining('Audit of lows: Alder'),
          expect.stringContaining('Bed 1: Ashby, Ruth'),
        ])
        expect(await device.page.locator('.caution').count()).toBeGreaterThan(1)
        await device.page.emulateMedia({ media: null })
      },
    )

    it('starts a new sheet for each low after the first', async () => {
      const { page } = device
      await page.goto(`/print/audit/shift?ward=${ALDER}&from=${NIGHT.evening}T19:00&to=${NIGHT.morning}T07:00`)
      const one = sheets(await page.pdf({ format: 'A4' }))
      // the same low again as a second one
      await page.evaluate(
        "(() => { const sheet = document.querySelector('.audit-sheet'); sheet.after(sheet.cloneNode(true)) })()",
      )
      const two = sheets(await page.pdf({ format: 'A4' }))
      expect([two - one >= 1, two - one <= 2]).toEqual([true, true])
      await page.emulateMedia({ media: 'print' })
      expect(await styles('.audit-sheet', 'breakBefore')).toEqual(['auto', 'page'])
      await page.emulateMedia({ media: null })
    })

    it('prints the low’s own page like the report: its head, who printed it, no form or button', async () => {
      const { page } = device
      await page.goto(`/audit/lows/${NIGHT.lowId}`)
      expect(sheets(await page.pdf({ format: 'A4' }))).toBeLessThanOrEqual(2)
      expect(await page.locator('.paper-only').isVisible()).toBe(false)
      await page.emulateMedia({ media: 'print' })
      expect(await styles('.sheet-running', 'display')).toEqual(['table-header-group'])
      expect(await styles('.audit-report', 'page')).toEqual(['audit'])
      expect(await page.locator('.paper-only').innerText()).toMatch(
        /^Printed Tue 10 Mar 2026, .* by Edda Sorel\. Patients are named/,
      )
      expect([await page.locator('form:visible').count(), await page.locator('main .button:visible').count()]).toEqual([
        0, 0,
      ])
      await page.emulateMedia({ media: null })
    })
  }
})
