/**
 * In Chromium: a meter fails its control and gives no dose, then passes and gives one; a pair and its plot; a printed
 * recall.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { people } from '../support/people.ts'
import { lots, meters, stays } from '../support/wards.ts'
import { SIZES, type Device } from './browser.ts'
import { CheckPage } from './pages/check.ts'
import { DosePage, ProposePage } from './pages/dose.ts'
import { ComparisonPage, ControlPage, MeterPage, MetersPage, RecallPage, StripLotPage } from './pages/meters.ts'
import { ResultPage } from './pages/reading.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let nurse: Device
  let charge: Device
  const on = async <S extends { verifyOnPage: () => Promise<S> }>(
    device: Device,
    Page: new (device: Device) => S,
  ): Promise<S> => new Page(device).verifyOnPage()

  beforeAll(async () => {
    open = await openWorld({ alderPolicy: { idleLockMin: 100_000 } })
    nurse = await open.signedIn(people.nora, size)
    charge = await open.signedIn(people.cora, size)
  })
  afterAll(async () => open.close())

  it('1. enters the ranges from the label', async () => {
    await nurse.page.goto(`/setup/strips/new?lot=${lots.good}`)
    const lot = await on(nurse, StripLotPage)
    expect(await lot.valueOf('expiresOn')).toBe('2099-12-31')
    for (const [name, value] of [
      ['level1From', '36'],
      ['level1To', '54'],
      ['level2From', '100'],
      ['level2To', '140'],
    ] as const)
      await lot.fill(name, value)
    await lot.press('Enter the lot')
    await nurse.page.waitForURL('**/setup/strips')
    nurse.noFaults()
  })

  it('2. charts a reading after a failed control and offers no dose', async () => {
    const list = await new MetersPage(nurse).open()
    await list.follow('M-4401')
    await (await on(nurse, MeterPage)).follow('Chart a control')
    await (await on(nurse, ControlPage)).chart('45', '141')
    const meter = await on(nurse, MeterPage)
    await expect.poll(() => meter.state()).toBe('Not usable: today’s control failed')
    await (await new RoundPage(nurse).open()).scanWristband(stays.ruth.wristband)
    const check = await on(nurse, CheckPage)
    await check.select('meterId', meters.alder.meterId)
    await check.key('243')
    const result = await on(nurse, ResultPage)
    expect(await result.bigNumber()).toBe('243 mg/dL')
    await result.says('No insulin from this reading')
    expect(await result.main.locator('a[href$="/dose"]').count()).toBe(0)
    nurse.noFaults()
  })

  it('3. gives a dose from a new reading once both levels pass', async () => {
    open.world.clock.advance(5)
    await nurse.page.goto(`/setup/meters/${meters.alder.meterId}/controls`)
    await (await on(nurse, ControlPage)).chart('45', '120')
    await expect.poll(async () => (await on(nurse, MeterPage)).state()).toBe('Usable')
    open.world.clock.advance(1)
    await nurse.page.goto(`/stays/${stays.ruth.stayId}/extra`)
    await nurse.page.locator('main input[name="wristband"]').fill(stays.ruth.wristband)
    await nurse.page.keyboard.press('Enter')
    const check = await on(nurse, CheckPage)
    await check.select('meterId', meters.alder.meterId)
    await check.main.locator('[name="extraReason"]').first().waitFor()
    if ((await check.main.locator('select[name="extraReason"]').count()) > 0) await check.select('extraReason', 'other')
    else await check.pick('extraReason', 'other')
    await check.fill('glucose', '243')
    await check.chart()
    const result = await on(nurse, ResultPage)
    await result.main.locator('a[href$="/dose"]').first().click()
    await (await on(nurse, ProposePage)).answer({ willEat: 'yes', tray: 'expected', elsewhere: 'none' })
    expect(await (await on(nurse, DosePage)).bigNumber()).toBe('4 units')
    nurse.noFaults()
  })

  it('4. refuses a laboratory pair too far apart, keeps what was typed, then judges and plots it', async () => {
    await charge.page.goto(`/setup/meters/${meters.alder.meterId}/comparisons`)
    const page = await on(charge, ComparisonPage)
    await page.chart({ meterValue: '113', meterAt: '06:40', laboratoryValue: '100', laboratoryAt: '06:56' })
    await expect.poll(() => page.errorOf('laboratoryAt')).toContain('16 min apart')
    expect(await page.valueOf('meterValue')).toBe('113')
    await page.chart({ laboratoryAt: '06:55' })
    await page.says(/Too few pairs: 1/)
    await page.says(/\+13 mg\/dL, \+13 %/)
    expect(await page.main.locator('figure svg[role="img"]').getAttribute('aria-label')).toMatch(/^1 pairs?:/)
    await charge.picture('comparison-one')
    await charge.fitsItsWidth()
    charge.noFaults()
  })

  it('5. lists both results in the recall, and prints it without its form', async () => {
    await charge.page.goto('/recall')
    const page = await on(charge, RecallPage)
    await page.select('meter', meters.alder.meterId)
    await page.fill('to', '2026-03-10T08:00')
    await page.press('Look for the results')
    await page.says('2 results of 1 patient')
    await page.says('Charted in doubt: the meter has no passed control of that day')
    expect(new URL(charge.page.url()).search).not.toMatch(/W7301|Ashby/)
    await charge.page.emulateMedia({ media: 'print' })
    expect(await page.main.locator('form').isVisible()).toBe(false)
    expect(await page.main.locator('table.recall').isVisible()).toBe(true)
    await charge.picture('recall-print')
    await charge.page.emulateMedia({ media: 'screen' })
    charge.noFaults()
  })
})
