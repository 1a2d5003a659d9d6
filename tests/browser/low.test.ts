/** A low from its first value to closing, in Chromium on a tablet and a phone, on the demo's clock. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { SIZES, type Device } from './browser.ts'
import { CheckPage, ConfirmPage } from './pages/check.ts'
import { LowFormPage, LowPage } from './pages/low.ts'
import { ResultPage } from './pages/reading.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'

const who = stays.ines

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let device: Device
  const on = async <S extends { verifyOnPage: () => Promise<S> }>(Page: new (device: Device) => S): Promise<S> =>
    new Page(device).verifyOnPage()

  beforeAll(async () => {
    // the test moves both clocks, so fifteen minutes would also lock the login
    open = await openWorld({ demo: true, at: '2026-03-10T03:00', alderPolicy: { idleLockMin: 600 } })
    device = await open.signedIn(people.nora, size, { bypassCSP: true })
  })
  afterAll(async () => open.close())

  /** The demo's banner moves the ward's clock; returns with the page at that time. */
  const pass = async (...minutes: readonly (5 | 15 | 60)[]): Promise<void> => {
    for (const step of minutes) {
      const before = await device.page.locator('.demo p').first().innerText()
      await device.page.getByRole('button', { name: `+${step} min` }).click()
      await expect.poll(() => device.page.locator('.demo p').first().innerText()).not.toBe(before)
    }
  }
  const looked = async (picture: string): Promise<void> => {
    await device.picture(picture)
    await device.fitsItsWidth()
    await device.accessible()
    device.noFaults()
  }
  /** From the treatment page to the recheck's value. */
  const recheck = async (digits: string): Promise<void> => {
    await (await on(LowPage)).follow(/^(Recheck|Follow-up recheck)$/)
    await (await on(ConfirmPage)).scanWristband(who.wristband)
    await (await on(CheckPage)).key(digits)
    await on(ResultPage)
  }

  it('shows 52 from an extra check prominently and links to the treatment page', async () => {
    await device.page.goto(`/stays/${who.stayId}/extra`)
    await (await on(ConfirmPage)).scanWristband(who.wristband)
    const check = await on(CheckPage)
    await check.select('extraReason', 'symptoms')
    await check.fill('glucose', '52')
    await check.chart()
    const result = await on(ResultPage)
    await result.says(/level 2: treat now/i)
    await looked('low-result')
    await result.follow('Treat the low')
    const low = await on(LowPage)
    expect(await low.now()).toBe('Look before you treat')
    expect(await low.main.locator('input[type="radio"]:checked').count()).toBe(0)
    await looked('low-questions')
  })

  it('lists it first on the Round, with a clock that counts without a reload', async () => {
    const round = await new RoundPage(device).open()
    expect((await round.bedsInOrder())[0]).toBe(who.bed)
    const counting = round.lines().first().locator('.round-what .counting')
    await expect.poll(() => counting.innerText()).toMatch(/^1[45]:\d\d left$/)
    const first = await counting.innerText()
    await expect.poll(() => counting.innerText(), { timeout: 10_000 }).not.toBe(first)
    await looked('low-round')
    await round
      .lines()
      .first()
      .getByRole('link', { name: /^Treat: bed/ })
      .click()
    await on(LowPage)
  })

  it('charts 20 g in very large type with one tap after a safe swallow, and starts the recheck clock', async () => {
    const low = await on(LowPage)
    await low.look({ swallowing: 'safely', iv: 'none' })
    expect(await low.amount()).toBe('20 g')
    await looked('low-give')
    await low.press('Given now')
    await low.says(/Treated: 20 g/)
    expect(await low.now()).toBe('Recheck')
    await expect.poll(() => low.counting()).toMatch(/^1[45]:\d\d left$/)
    await looked('low-waiting')
  })

  it('shows another nurse’s entry by itself and keeps the focus', async () => {
    const other = await open.signedIn(people.omar, size)
    const mine = await on(LowPage)
    await mine.main.locator('#low-told').focus()
    await other.page.goto(new URL(device.page.url()).pathname)
    const his = await new LowPage(other).verifyOnPage()
    await his.follow('More was given: chart it')
    const form = await new LowFormPage(other).verifyOnPage()
    await form.select('arm', 'by-mouth')
    await form.fill('what', 'Half a banana')
    await form.press('Chart the treatment')
    await new LowPage(other).verifyOnPage()
    await expect
      .poll(async () => (await mine.line()).some((row) => row.includes('Half a banana')), { timeout: 20_000 })
      .toBe(true)
    expect(await device.page.evaluate<string>('document.activeElement.id')).toBe('low-told')
    expect(await mine.main.locator('#low-held').isVisible()).toBe(false)
    await other.close()
    device.noFaults()
  })

  it('is due 15 min later, and at 63 asks to look and treat again', async () => {
    await pass(15)
    const low = await on(LowPage)
    await expect.poll(() => low.counting()).toMatch(/^0:\d\d (left|past)$/)
    await looked('low-recheck-due')
    await recheck('63')
    await (await on(ResultPage)).follow('Treat the low')
    const again = await on(LowPage)
    expect(await again.now()).toBe('Look again before the next treatment')
    await again.look({ swallowing: 'safely', iv: 'none' })
    expect(await again.amount()).toBe('15 g')
    await again.press('Given now')
    await again.says(/Treated: 15 g/)
  })

  it('recovers at 96 after the second cycle, and asks for 20 g of longer-acting carbohydrate', async () => {
    await pass(15)
    await recheck('96')
    await (await on(ResultPage)).follow('Go on with the low')
    const low = await on(LowPage)
    await low.says(/Recovered: longer-acting carbohydrate/)
    expect((await low.main.locator('.dose-number').first().innerText()).replace(/\s+/g, ' ')).toBe('20 g')
    await looked('low-recovered')
    await low.press('Given now')
    await low.says(/Longer-acting carbohydrate, 20 g/)
  })

  it('asks the prescriber about insulin, with a clock, for type 1 with a meal order', async () => {
    const low = await on(LowPage)
    await low.says(/Ask the prescriber about insulin lispro/)
    await low.follow('Chart the prescriber’s answer')
    const form = await on(LowFormPage)
    await looked('low-insulin-question')
    await form.pick('decision', 'as-ordered')
    await form.fill('told', 'Dr. Vera Kim')
    await form.press('Chart the answer')
    await expect.poll(() => form.errorOf('readBack')).toMatch(/read back/)
    await form.pick('readBack', 'yes')
    await form.press('Chart the answer')
    await (await on(LowPage)).says(/Insulin: give it as ordered/)
  })

  it('refuses to close before the follow-up and the call', async () => {
    await (await on(LowPage)).follow('Close the event')
    const form = await on(LowFormPage)
    await form.says(/Closing still needs: the follow-up recheck, the prescriber told/)
    await form.pick('cause', 'missed-or-delayed-meal')
    await form.press('Close the event')
    await device.page
      .getByRole('alert')
      .filter({ hasText: /follow-up recheck is still to come/ })
      .waitFor()
    await looked('low-close-refused')
    await form.follow('Back to the low')
    await on(LowPage)
  })

  it('charts the call and the follow-up of 104 after 60 min, and closes the event', async () => {
    await (await on(LowPage)).follow('Prescriber told')
    const call = await on(LowFormPage)
    await looked('low-call')
    await call.fill('told', 'Dr. Vera Kim')
    await call.pick('readBack', 'yes')
    await call.fill('ordered', 'Review the supper dose')
    await call.press('Chart the call')
    await (await on(LowPage)).says(/Told: Dr. Vera Kim/)
    await pass(60)
    await recheck('104')
    await device.page.goto('/round')
    const round = await on(RoundPage)
    await round.follow('Low followed up: close the event')
    const low = await on(LowPage)
    expect(await low.now()).toBe('Recovered, followed up, told')
    await looked('low-to-close')
    await low.follow('Close the event')
    const form = await on(LowFormPage)
    await form.pick('cause', 'missed-or-delayed-meal')
    await form.fill('note', 'Supper refused')
    await form.press('Close the event')
    const closed = await on(LowPage)
    await closed.says(/Closed .* by Nora Lind: Meal missed or delayed, Supper refused/)
    const line = await closed.line()
    expect(
      line.map(
        (row) =>
          /(52 mg\/dL|Looked at the patient|Treated: \d+ g|Half a banana|63 mg\/dL|96 mg\/dL|Longer-acting carbohydrate|Insulin: |Told: |104 mg\/dL|Closed)/.exec(
            row,
          )?.[0],
      ),
    ).toEqual([
      '52 mg/dL',
      'Looked at the patient',
      'Treated: 20 g',
      'Half a banana',
      '63 mg/dL',
      'Looked at the patient',
      'Treated: 15 g',
      '96 mg/dL',
      'Longer-acting carbohydrate',
      'Told: ',
      'Insulin: ',
      '104 mg/dL',
      'Closed',
    ])
    expect(line.filter((row) => row.includes('charted late'))).toEqual([])
    await looked('low-closed')
  })

  it('keeps half-answered questions when somebody else charts, and offers the change', async () => {
    await device.page.goto(`/stays/${stays.ruth.stayId}/extra`)
    await (await on(ConfirmPage)).scanWristband(stays.ruth.wristband)
    const check = await on(CheckPage)
    await check.select('extraReason', 'symptoms')
    await check.fill('glucose', '58')
    await check.chart()
    await (await on(ResultPage)).follow('Treat the low')
    const low = await on(LowPage)
    await low.pick('swallowing', 'safely')
    const other = await open.signedIn(people.omar, size)
    await other.page.goto(`${new URL(device.page.url()).pathname}/treatments`)
    const form = await new LowFormPage(other).verifyOnPage()
    await form.select('arm', 'by-mouth')
    await form.fill('what', 'A glass of juice')
    await form.press('Chart the treatment')
    await new LowPage(other).verifyOnPage()
    await low.main.locator('#low-held').waitFor({ timeout: 20_000 })
    expect(await low.main.locator('input[value="safely"]').isChecked()).toBe(true)
    expect(await low.now()).toBe('Look before you treat')
    await looked('low-held')
    await low.main.locator('#low-show').click()
    await low.says(/A glass of juice/)
    expect(await low.now()).toBe('Recheck')
    await other.close()
  })
})
