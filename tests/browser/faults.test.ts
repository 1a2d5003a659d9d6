/** Network failures and user errors lose no typed value and chart nothing twice. */
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { SIZES, type Device } from './browser.ts'
import { CheckPage } from './pages/check.ts'
import { SignInPage, WardPage } from './pages/door.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'

const CHART = '**/checks/*'

describe.each(SIZES)('at $width × $height', (size) => {
  let open: OpenWorld
  let device: Device
  beforeAll(async () => {
    open = await openWorld()
  })
  afterAll(async () => open.close())
  beforeEach(async () => {
    device = await open.signedIn(people.nora, size)
  })
  afterEach(async () => device.close())

  const readingsOf = (stayId: string): number => {
    const scope = { staffId: people.nora.staffId, role: people.nora.role, wardIds: people.nora.wardIds }
    return open.world.store.stayFacts(scope, stayId, open.world.clock.now())?.readings.length ?? -1
  }
  /** An extra check, which can be taken at any time. */
  const extraCheck = async (stay: (typeof stays)[keyof typeof stays]): Promise<CheckPage> => {
    await device.page.goto(`/stays/${stay.stayId}/extra`)
    await device.page.locator('main input[name="wristband"]').fill(stay.wristband)
    await device.page.locator('main input[name="wristband"]').press('Enter')
    const check = await new CheckPage(device).verifyOnPage()
    await check.select('extraReason', 'symptoms')
    return check
  }
  const notice = (): Promise<string> => device.page.locator('#notice').innerText()

  it('returns a refused value (422) with the message beside the field and the focus in it', async () => {
    const check = await extraCheck(stays.tomas)
    await check.fill('glucose', '6.2')
    await check.field('glucose').press('Enter')
    await expect.poll(() => check.errorOf('glucose')).toMatch(/mmol/)
    expect(await check.valueOf('glucose')).toBe('6.2')
    await check.expectFocusOn('glucose')
    expect(readingsOf(stays.tomas.stayId)).toBe(0)
    device.noFaults()
  })

  it('keeps the typed form after a server error (500) and says that nothing was saved', async () => {
    const check = await extraCheck(stays.tomas)
    await check.fill('glucose', '118')
    await device.page.route(
      CHART,
      (route) => route.fulfill({ status: 500, contentType: 'text/html', body: '<h1>fault</h1>' }),
      { times: 1 },
    )
    await check.chart()
    await expect.poll(notice).toMatch(/Not saved/)
    expect(await check.valueOf('glucose')).toBe('118')
    expect(readingsOf(stays.tomas.stayId)).toBe(0)
    await check.chart()
    await device.page.waitForURL('**/readings/*')
    expect(readingsOf(stays.tomas.stayId)).toBe(1)
  })

  it('keeps the typed form after a lost connection, and charts once when sent again', async () => {
    const before = readingsOf(stays.leo.stayId)
    const check = await extraCheck(stays.leo)
    await check.fill('glucose', '121')
    await device.context.setOffline(true)
    await check.chart()
    await expect.poll(notice).toMatch(/Not saved/)
    expect(await check.valueOf('glucose')).toBe('121')
    await device.context.setOffline(false)
    await check.chart()
    await device.page.waitForURL('**/readings/*')
    expect(readingsOf(stays.leo.stayId)).toBe(before + 1)
  })

  it('charts once when the response is lost: the same form sent again opens the same reading', async () => {
    const before = readingsOf(stays.leo.stayId)
    const check = await extraCheck(stays.leo)
    await check.fill('glucose', '127')
    // the request is charted and its response never arrives
    await device.page.route(
      CHART,
      async (route) => {
        await route.fetch({ maxRedirects: 0 })
        await route.abort('connectionreset')
      },
      { times: 1 },
    )
    await check.chart()
    await expect.poll(notice).toMatch(/Not saved|What you typed is still here/)
    expect(readingsOf(stays.leo.stayId)).toBe(before + 1)
    await check.chart()
    await device.page.waitForURL('**/readings/*')
    expect(readingsOf(stays.leo.stayId)).toBe(before + 1)
  })

  it('shows the second nurse on one check what happened (409), with her value still readable', async () => {
    const key = `${stays.ines.stayId}.2026-03-10.before-breakfast`
    const other = await open.signedIn(people.cora, size)
    const pages: CheckPage[] = []
    for (const one of [device, other]) {
      await one.page.goto(`/checks/${key}`)
      await one.page.locator('main input[name="wristband"]').fill(stays.ines.wristband)
      await one.page.locator('main input[name="wristband"]').press('Enter')
      pages.push(await new CheckPage(one).verifyOnPage())
    }
    const [first, second] = pages as [CheckPage, CheckPage]
    const before = readingsOf(stays.ines.stayId)
    await first.key('131')
    await device.page.waitForURL('**/readings/*')
    expect(readingsOf(stays.ines.stayId)).toBe(before + 1)
    await second.fill('glucose', '141')
    const answer = other.page.waitForResponse((response) => response.request().method() === 'POST')
    await second.chart()
    expect((await answer).status()).toBe(409)
    await expect.poll(() => other.page.locator('main').innerText()).toMatch(/already/i)
    expect(await other.page.locator('main').innerText()).toContain('141')
    expect(readingsOf(stays.ines.stayId)).toBe(before + 1)
    await other.close()
  })

  it('keeps the typed value when the login ends in mid-form', async () => {
    const before = readingsOf(stays.tomas.stayId)
    const check = await extraCheck(stays.tomas)
    await check.fill('glucose', '133')
    open.world.clock.advance(11)
    await check.chart()
    const signIn = await new SignInPage(device).verifyOnPage()
    expect(readingsOf(stays.tomas.stayId)).toBe(before)
    await signIn.typed(people.nora)
    const again = await new CheckPage(device).verifyOnPage()
    expect(await again.valueOf('glucose')).toBe('133')
    await again.chart()
    await device.page.waitForURL('**/readings/*')
    expect(readingsOf(stays.tomas.stayId)).toBe(before + 1)
    device.noFaults()
  })

  it('hides a nurse’s typed value from another nurse who signs in on the tablet', async () => {
    const check = await extraCheck(stays.tomas)
    await check.fill('glucose', '139')
    open.world.clock.advance(11)
    await check.chart()
    await (await new SignInPage(device).verifyOnPage()).typed(people.omar)
    await device.page.waitForLoadState()
    expect(await device.page.content()).not.toContain('139')
  })

  it('refreshes the list without touching the scan box', async () => {
    await device.page.clock.install()
    const round = await new RoundPage(device).open()
    await round.expectFocusOn('wristband')
    await device.page.keyboard.type('W73')
    const refreshed = device.page.waitForResponse((response) => response.url().includes('/round/list'))
    await device.page.clock.fastForward(16_000)
    expect((await refreshed).status()).toBe(200)
    await device.page.keyboard.type('02')
    expect(await round.valueOf('wristband')).toBe('W7302')
    expect(await round.bedsInOrder()).toContain('2')
    device.noFaults()
  })

  it('works without JavaScript', async () => {
    const plain = await open.device(size, { javaScriptEnabled: false })
    const page = plain.page
    await page.goto('/sign-in')
    await page.getByLabel('Badge').fill(people.pia.badge)
    await page.getByLabel('PIN').fill(people.pia.pin)
    await page.getByRole('button', { name: 'Sign in' }).click()
    await page.locator('input[name="wardId"]').first().check()
    await page.getByRole('button', { name: 'Go to the round' }).click()
    await page.goto(`/stays/${stays.leo.stayId}/extra`)
    await page.locator('main input[name="wristband"]').fill(stays.leo.wristband)
    await page.locator('main input[name="wristband"]').press('Enter')
    await page.locator('input[name="glucose"]').fill('6.2')
    await page.getByRole('button', { name: 'Chart the value' }).click()
    expect(await page.locator('input[name="glucose"]').inputValue()).toBe('6.2')
    await page.locator('input[name="glucose"]').fill('136')
    await page.locator('select[name="extraReason"]').selectOption('symptoms')
    await page.getByRole('button', { name: 'Chart the value' }).click()
    await page.waitForURL('**/readings/*')
    expect(await page.locator('main').innerText()).toContain('136')
    await plain.close()
  })
})

describe('sign-in', () => {
  it.each(SIZES)('keeps the selected beds at $width', async (size) => {
    const open = await openWorld()
    const device = await open.device(size)
    await (await new SignInPage(device).open()).scanned(people.nora)
    await (await new WardPage(device).verifyOnPage()).takeBeds(['2', '4'])
    const round = await new RoundPage(device).verifyOnPage()
    expect(await round.bedsInOrder()).toEqual(['2', '4'])
    device.noFaults()
    await open.close()
  })
})
