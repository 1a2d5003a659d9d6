/** Two administrators change the single-dose limit in Chromium; a floor nurse reads it before and after. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ALDER, people } from '../support/people.ts'
import { SIZES, type Device } from './browser.ts'
import { PolicyChangePage, PolicyPage, PolicyPartPage, WardsPage } from './pages/policy.ts'
import { openWorld, type OpenWorld } from './start.ts'

const POLICY = `/setup/wards/${ALDER}/policy`

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let anna: Device
  let abel: Device
  let nora: Device
  beforeAll(async () => {
    open = await openWorld()
    anna = await open.signedIn(people.anna, size, { bypassCSP: true })
    abel = await open.signedIn(people.abel, size)
    nora = await open.signedIn(people.nora, size)
  })
  afterAll(async () => open.close())

  const limitRead = async (device: Device): Promise<string> => {
    await device.page.goto(POLICY)
    return (await new PolicyPage(device).verifyOnPage()).valueOfSetting('Single-dose limit, any insulin')
  }

  it('one administrator saves it after a refusal beside the field that keeps what was typed', async () => {
    expect(await limitRead(nora)).toBe('100 units')
    await anna.page.goto(POLICY)
    await (await new PolicyPage(anna).verifyOnPage()).follow('Change insulin doses')
    const form = await new PolicyPartPage(anna).verifyOnPage()
    await form.fill('dose-singleDoseLimit', '250')
    await form.fill('note', 'Pharmacy committee of 3 March')
    await form.press('Save the change')
    await expect.poll(() => form.errorOf('dose-singleDoseLimit')).toContain('between 0.5 and 200 units')
    expect([await form.valueOf('dose-singleDoseLimit'), await form.valueOf('note')]).toEqual([
      '250',
      'Pharmacy committee of 3 March',
    ])
    await anna.accessible()
    await form.fill('dose-singleDoseLimit', '15')
    await form.press('Save the change')
    const change = await new PolicyChangePage(anna).verifyOnPage()
    await change.says(/Single-dose limit.*100 units.*15 units/)
    await change.says('You wrote this change: another administrator approves it')
    expect(await anna.page.locator('input[name="answer"][value="approve"]').count()).toBe(0)
    await anna.accessible()
  })

  it('the old limit counts while it waits, and the nurse sees the waiting change', async () => {
    expect(await limitRead(nora)).toBe('100 units')
    await new PolicyPage(nora).says('Single-dose limit, any insulin: 100 units → 15 units')
    expect(await nora.page.getByRole('link', { name: 'Look at it' }).count()).toBe(0)
  })

  it('the other administrator approves it by keyboard only; the nurse reads the new limit', async () => {
    await abel.page.goto('/setup/wards')
    await (await new WardsPage(abel).verifyOnPage()).follow('Look at it')
    await new PolicyChangePage(abel).verifyOnPage()
    await abel.page.locator('input[name="answer"][value="approve"]').focus()
    await abel.page.keyboard.press('Space')
    await abel.page.keyboard.press('Tab')
    await abel.page.keyboard.press('Tab')
    await abel.page.keyboard.press('Enter')
    const policy = await new PolicyPage(abel).verifyOnPage()
    expect(await policy.valueOfSetting('Single-dose limit, any insulin')).toBe('15 units')
    await policy.says(/set by Anna Quill, approved by Abel Lorne/)
    expect(await limitRead(nora)).toBe('15 units')
    for (const device of [anna, abel, nora]) device.noFaults()
  })
})
