/** The educator after the night: from the start to one low in one look, a window of time, a note, and the report on paper. */
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

  it('start, shift, low, window, note: each a tap away, and nothing of the patient in an address', async () => {
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
    // the plot is drawn: every value and every mark of a lane has its place inside it
    const places = await plot.locator('.mark').evaluateAll((marks) => marks.map((mark) => { const box = mark.getBoundingClientRect(); return box.width > 0 && box.height > 0 }))
    expect(places.length).toBeGreaterThan(6)
    expect(places.every((drawn) => drawn)).toBe(true)
    await main.getByLabel('From').fill(`${NIGHT.morning}T02:00`)
    await main.getByLabel('Until before').fill(`${NIGHT.morning}T04:00`)
    await main.getByRole('button', { name: 'List everything charted' }).click()
    const listed = page.getByRole('table', { name: /^Everything charted from/ })
    await listed.waitFor()
    const rows = await listed.locator('tbody tr').allInnerTexts()
    expect(rows.length).toBe(11)
    expect(rows[0]).toContain('48 mg/dL')
    expect(rows.at(-1)).toContain('toast and milk')
    await main.getByRole('link', { name: 'Add a note' }).click()
    await main.getByLabel('Finding').fill('Supper 54 min after the insulin, a quarter eaten')
    await main.getByLabel('Follow-up').fill('Kitchen and ward manager told')
    await main.getByRole('button', { name: 'Add the note' }).click()
    await page.waitForURL(`**/audit/lows/${NIGHT.lowId}`)
    await page.getByText('Kitchen and ward manager told').waitFor()
    expect(page.url()).not.toMatch(/Ashby|Ruth|W7301/)
    device.noFaults()
  })

  it('the tour of its pages', async () => {
    for (const { take } of auditTours) {
      const look = async (_pattern: string, picture: string): Promise<void> => {
        await device.page.locator('h1').first().waitFor()
        await device.picture(picture)
        if (!picture.startsWith('print')) await device.fitsItsWidth()
        await device.accessible()
      }
      await take({ open, device, look, visit: async (pattern, path, picture) => {
        expect((await device.page.goto(path))?.status(), path).toBe(200)
        await look(pattern, picture)
      } })
    }
    device.noFaults()
  })

  if (size.width > 600) {
    it.each(['A4', 'Letter'])('the report on %s: the low on a page of its own', async (format) => {
      await device.page.goto(`/print/audit/shift?ward=${ALDER}&from=${NIGHT.evening}T19:00&to=${NIGHT.morning}T07:00`)
      const pdf = await device.page.pdf({ format })
      expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
      const pages = [...pdf.toString('latin1').matchAll(/\/Type\s*\/Page[^s]/g)].length
      expect(pages).toBeGreaterThanOrEqual(3)
      await device.page.emulateMedia({ media: 'print' })
      const breaks = await device.page.evaluate<string[]>(`[...document.querySelectorAll('.audit-low')].map((section) => getComputedStyle(section).breakBefore)`)
      expect(breaks).toEqual(['page'])
      expect(await device.page.locator('.caution').count()).toBeGreaterThan(1)
      await device.page.emulateMedia({ media: null })
    })
  }
})
