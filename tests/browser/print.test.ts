/** Paper: the downtime round sheet, the kit list and the handover sheet on A4 and Letter. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { threeDays } from '../support/course.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { SIZES, type Device } from './browser.ts'
import { openWorld, type OpenWorld } from './start.ts'
import { storeEvents } from '../../server/store/store-events.ts'

describe('print', () => {
  let open: OpenWorld
  let device: Device
  beforeAll(async () => {
    open = await openWorld()
    device = await open.signedIn(people.nora, SIZES[0])
  })
  afterAll(async () => open.close())

  /** The sheets' boxes in a PDF, in points of 1/72 inch. */
  const boxes = (pdf: Buffer): readonly (readonly number[])[] =>
    [...pdf.toString('latin1').matchAll(/\/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)/g)].map(([, width, height]) => [
      Number(width),
      Number(height),
    ])

  it.each([
    ['/print/round', 'A4', 595, 842],
    ['/print/round', 'Letter', 612, 792],
    ['/print/kit', 'A4', 595, 842],
    ['/print/kit', 'Letter', 612, 792],
    ['/print/handover', 'A4', 595, 842],
    ['/print/handover', 'Letter', 612, 792],
  ] as const)('%s on %s', async (path, format, width, height) => {
    expect((await device.page.goto(path))?.status()).toBe(200)
    const pdf = await device.page.pdf({ format })
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
    expect(boxes(pdf).length).toBeGreaterThan(0)
    for (const [wide = 0, high = 0] of boxes(pdf))
      expect([Math.abs(wide - width) < 2, Math.abs(high - height) < 2], `${wide} × ${high}`).toEqual([true, true])
    device.noFaults()
  })

  it.each([
    ['/print/round', 'A4', 595],
    ['/print/round', 'Letter', 612],
    ['/print/handover', 'A4', 595],
    ['/print/handover', 'Letter', 612],
  ] as const)('fits %s on %s', async (path, _format, points) => {
    await device.page.goto(path)
    await device.page.emulateMedia({ media: 'print' })
    // CSS pixels are 1/96 inch; any ward printer can print 10 mm margins on both sides
    const width = Math.floor((points / 72 - 20 / 25.4) * 96)
    await device.page.setViewportSize({ width, height: 1000 })
    await device.fitsItsWidth()
    await device.page.emulateMedia({ media: null })
  })

  it('prints two signature columns, both identifiers, the whole order and blank lines for each patient', async () => {
    await device.page.goto('/print/round')
    const sheets = device.page.locator('.sheet-patient')
    expect(await sheets.count()).toBe(6)
    for (const table of await device.page.locator('table.sheet-lines').all()) {
      expect(await table.getByRole('columnheader', { name: /signs$/ }).allInnerTexts()).toEqual([
        'First nurse signs',
        'Second nurse signs',
      ])
      expect(await table.locator('tbody tr').count()).toBeGreaterThanOrEqual(2)
      expect((await table.locator('tbody td').allInnerTexts()).join('').trim()).toBe('')
    }
    const first = await sheets.first().innerText()
    expect(first).toContain(stays.ruth.wristband)
    expect(first).toContain('17 Feb 1948')
    for (const units of ['2 units', '4 units', '6 units', '8 units', '10 units']) expect(first).toContain(units)
    expect(await device.page.locator('.caution').count()).toBeGreaterThan(0)
    expect(await device.page.locator('nav, button').count()).toBe(0)
  })

  it('keeps each bed of the handover sheet on one page', async () => {
    const { store, clock } = open.world
    store.transact(() => {
      storeEvents(store, threeDays(clock.now()))
      return null
    })
    await device.page.goto('/print/handover')
    await device.page.emulateMedia({ media: 'print' })
    // Letter is the shorter page; the sheet sets 12 mm margins
    await device.page.setViewportSize({ width: Math.floor((612 / 72 - 24 / 25.4) * 96), height: 1000 })
    const beds = await device.page.locator('.handover-bed').all()
    expect(beds.length).toBe(7)
    // the needs, and seven beds, one of them as full as possible
    for (const format of ['A4', 'Letter'])
      expect(boxes(await device.page.pdf({ format })).length, format).toBeLessThanOrEqual(3)
    const kept = await device.page.evaluate<string[]>(
      "[...document.querySelectorAll('.handover-bed')].map((bed) => getComputedStyle(bed).breakInside)",
    )
    expect(new Set(kept)).toEqual(new Set(['avoid']))
    for (const bed of beds) {
      expect((await bed.boundingBox())?.height).toBeLessThan((792 / 72 - 24 / 25.4) * 96)
    }
    await device.page.emulateMedia({ media: null })
  })
})
