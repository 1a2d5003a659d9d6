/**
 * The service's disk fills up in the middle of a round. The typed form stays with a message that says what to do,
 * pages still open, and the form charts once when there is room again.
 */
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { saidOf, smallDisk, type Disk } from '../faults/disk.ts'
import { SIZES, type Device } from './browser.ts'
import { CheckPage } from './pages/check.ts'
import { openWorld, type OpenWorld } from './start.ts'

let open: OpenWorld
let disk: Disk
beforeAll(async () => {
  disk = smallDisk(6144)
  open = await openWorld({ file: join(disk.folder, 'ward.sqlite'), headFile: join(disk.folder, 'head.json') })
})
afterAll(async () => {
  disk.free()
  await open.close()
  disk.close()
})

const scope = { staffId: people.nora.staffId, role: people.nora.role, wardIds: people.nora.wardIds }
const readingsOf = (stayId: string): number =>
  open.world.store.stayFacts(scope, stayId, open.world.clock.now())?.readings.length ?? -1
const sentence = (): RegExp =>
  new RegExp(
    `Not saved\\. The service’s ${saidOf(disk)}\\. Write it on paper and tell the charge nurse\\. What you typed is still here`,
  )

async function filled(device: Device, stay: (typeof stays)[keyof typeof stays], value: string): Promise<CheckPage> {
  await device.page.goto(`/stays/${stay.stayId}/extra`)
  await device.page.locator('main input[name="wristband"]').fill(stay.wristband)
  await device.page.locator('main input[name="wristband"]').press('Enter')
  const check = await new CheckPage(device).verifyOnPage()
  await check.fill('glucose', value)
  await check.select('extraReason', 'symptoms')
  return check
}

/** Full until `work` has ended. */
async function whileFull(work: () => Promise<void>): Promise<void> {
  disk.fill()
  try {
    await work()
  } finally {
    disk.free()
  }
}

describe.each(SIZES)('at $width × $height', (size) => {
  it.each([
    ["with the page's script", true],
    ['without JavaScript', false],
  ])('%s', async (_name, javaScriptEnabled) => {
    const device = await open.device(size, { javaScriptEnabled, bypassCSP: javaScriptEnabled })
    const { page } = device
    await page.goto('/sign-in')
    await page.getByLabel('Badge').fill(people.nora.badge)
    await page.getByLabel('PIN').fill(people.nora.pin)
    await page.getByRole('button', { name: 'Sign in' }).click()
    await page.getByRole('button', { name: 'Go to the round' }).click()
    const stay = javaScriptEnabled ? stays.tomas : stays.leo
    const before = readingsOf(stay.stayId)
    const check = await filled(device, stay, '143')
    await whileFull(async () => {
      const answer = page.waitForResponse((response) => response.request().method() === 'POST')
      await check.chart()
      expect((await answer).status()).toBe(503)
      await expect.poll(() => page.locator('main').innerText()).toMatch(sentence())
      expect([await check.valueOf('glucose'), await page.locator('select[name="extraReason"]').inputValue()]).toEqual([
        '143',
        'symptoms',
      ])
      expect(readingsOf(stay.stayId)).toBe(before)
      if (javaScriptEnabled) {
        expect(await page.locator('#notice').isHidden()).toBe(true)
        await device.fitsItsWidth()
        await device.accessible()
        await device.picture('disk-full')
      }
      // the round still opens, in another tab
      const other = await device.context.newPage()
      expect((await other.goto('/round'))?.status()).toBe(200)
      await other.close()
      // still full: the form comes back again
      const second = page.waitForResponse((response) => response.request().method() === 'POST')
      await check.chart()
      expect((await second).status()).toBe(503)
      await expect.poll(() => page.locator('main').innerText()).toMatch(sentence())
      expect(await check.valueOf('glucose')).toBe('143')
    })
    await check.chart()
    await page.waitForURL('**/readings/*')
    expect(await page.locator('main').innerText()).toContain('143')
    expect(readingsOf(stay.stayId)).toBe(before + 1)
    await device.close()
  })

  it('says that sign-in is not possible, and keeps the badge', async () => {
    const device = await open.device(size)
    const { page } = device
    await page.goto('/sign-in')
    await page.getByLabel('Badge').fill(people.omar.badge)
    await page.getByLabel('PIN').fill(people.omar.pin)
    await whileFull(async () => {
      await page.getByRole('button', { name: 'Sign in' }).click()
      await expect
        .poll(() => page.locator('main').innerText())
        .toContain(`Not signed in. The service’s ${saidOf(disk)}, so nobody can sign in.`)
      expect([await page.getByLabel('Badge').inputValue(), await page.getByLabel('PIN').inputValue()]).toEqual([
        people.omar.badge,
        '',
      ])
      await device.picture('disk-full-sign-in')
    })
    await page.getByLabel('PIN').fill(people.omar.pin)
    await page.getByRole('button', { name: 'Sign in' }).click()
    await page.waitForURL('**/ward')
    await device.close()
  })
})
