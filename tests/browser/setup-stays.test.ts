/** A stay from admission to return, in Chromium on a tablet and a phone, on the demo's clock. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ADMISSION } from '../support/admission.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { SIZES, type Device } from './browser.ts'
import { SignInPage, WardPage } from './pages/door.ts'
import { AdmissionPage, BedsPage, StayFormPage, StayPage } from './pages/stay.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'

const {
  wristband = '',
  admittedAt: _now,
  nilFrom: _from,
  nilUntil: _until,
  times: _times,
  onceAt: _once,
  ...TYPED
} = ADMISSION

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let device: Device
  const on = async <S extends { verifyOnPage: () => Promise<S> }>(Page: new (device: Device) => S): Promise<S> =>
    new Page(device).verifyOnPage()

  beforeAll(async () => {
    open = await openWorld({ demo: true, alderPolicy: { idleLockMin: 2000 }, birchPolicy: { idleLockMin: 2000 } })
    device = await open.device(size, { bypassCSP: true })
    await (await new SignInPage(device).open()).typed(people.pia)
    await goTo(ALDER)
  })
  afterAll(async () => open.close())

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
  /** A person of two wards chooses one. */
  const goTo = async (wardId: string): Promise<void> => {
    await device.page.goto('/ward')
    const ward = await on(WardPage)
    await ward.pick('wardId', wardId)
    await ward.takeBeds([])
  }
  let stayPath = ''

  it('admits to an empty bed: refuses a used wristband, keeps what was typed, then lists the patient', async () => {
    const beds = await new BedsPage(device).open()
    expect(await beds.lineOf('8')).toMatch(/Empty/)
    await beds.follow('Admit to bed 8')
    const form = await on(AdmissionPage)
    // the wedge scanner types into the focused field
    await form.expectFocusOn('wristband')
    await device.page.keyboard.type('W7302')
    await form.enter(TYPED)
    await form.press('Admit the patient')
    await expect.poll(() => form.errorOf('wristband')).toMatch(/in use in bed 2/)
    expect(await form.valueOf('familyName')).toBe('Harrow')
    await looked('setup-admit-worn')
    await form.fill('wristband', wristband)
    await form.press('Admit the patient')
    const stay = await on(StayPage)
    await stay.says(/Harrow, Judith/)
    stayPath = new URL(device.page.url()).pathname
    await looked('setup-admitted')
    const round = await new RoundPage(device).open()
    expect(await round.lineOf('8')).toMatch(/Harrow.*Before breakfast/)
  })

  it('nil by mouth from now: the Round shows every 6 h; eating again restores the own plan', async () => {
    await device.page.goto(stayPath)
    await (await on(StayPage)).follow('Facts, nil by mouth')
    const facts = await on(StayFormPage)
    await facts.pick('nil', 'yes')
    await facts.press('Chart the facts')
    await (await on(StayPage)).says(/Every 6 h while nil by mouth/)
    await pass(60, 60, 60, 60)
    const round = await new RoundPage(device).open()
    expect(await round.lineOf('8')).toMatch(/Nil by mouth/)
    expect(await round.lineOf('8')).toMatch(/due 12:00/)
    await looked('setup-nil-round')
    await device.page.goto(`${stayPath}/facts`)
    const again = await on(StayFormPage)
    await again.pick('nil', 'no')
    await again.press('Chart the facts')
    await (await on(StayPage)).says(/Check plan Before meals and at bedtime/)
    await new RoundPage(device).open()
    expect(await round.lineOf('8')).toMatch(/due 11:45/)
  })

  it('trays 45 min late: the form previews what moves, and the Round shows it', async () => {
    const round = await new RoundPage(device).open()
    await round.follow('Trays late')
    const form = await on(StayFormPage)
    await form.pick('meal', '2026-03-10.lunch')
    await form.fill('minutes', '45')
    await form.says(/Due 11:45 12:30/)
    await looked('setup-trays-late')
    await form.press('Move the windows')
    await round.verifyOnPage()
    await round.says(/Trays come 45 min late/)
    expect(await round.lineOf('8')).toMatch(/due 12:30/)
    await looked('setup-trays-late-round')
  })

  it('sets a plan for later by keyboard only', async () => {
    await device.page.goto(`${stayPath}/plan`)
    const form = await on(StayFormPage)
    await form.main.locator('select[name="kind"]').focus()
    await device.page.keyboard.press('e')
    await expect.poll(() => form.main.locator('select[name="kind"]').inputValue()).toBe('every-4-h')
    await form.fill('from', '2026-03-10T20:00')
    await form.field('until').focus()
    await form.main.getByRole('button', { name: 'Set the plan' }).focus()
    await device.page.keyboard.press('Enter')
    await form.says(/Set for later Every 4 h, from 20:00/)
    await looked('setup-plan-later')
  })

  it('moves to another bed, then to the other ward, and says what happens to the orders', async () => {
    await device.page.goto(`${stayPath}/move`)
    await (await on(StayFormPage)).pick('to', `${ALDER}.7`)
    await (await on(StayFormPage)).press('Move the patient now')
    expect(await (await on(StayPage)).main.locator('h1').innerText()).toBe('Patient in bed 7')
    await (await on(StayPage)).follow('Move')
    const form = await on(StayFormPage)
    await form.main.locator('label').filter({ hasText: 'Bed D' }).click()
    await form.press('Move the patient now')
    await expect.poll(async () => (await on(StayPage)).main.locator('h1').innerText()).toBe('Patient in bed D')
    await (await on(StayPage)).follow('History')
    await device.page.getByRole('heading', { name: 'History of the stay' }).waitFor()
    expect((await device.page.locator('main').innerText()).replace(/\s+/g, ' ')).toMatch(
      /Alder, bed 8.*Alder, bed 7.*Birch, bed D/,
    )
    await looked('setup-moved')
  })

  it('discharges, and returns into a new stay that names the earlier one', async () => {
    await device.page.goto(`${stayPath}/discharge`)
    await (await on(StayFormPage)).press('Discharge the patient')
    await on(BedsPage)
    // the patient left Birch: the ward of the login changes too
    await goTo(BIRCH)
    await device.page.goto('/setup/discharged')
    await (await on(StayFormPage)).follow('Readmit Harrow, Judith')
    const form = await on(AdmissionPage)
    expect(await form.valueOf('others')).toBe('metformin, linagliptin')
    await form.enter({ wristband: 'W8855', bed: 'C', swallows: 'no', nil: 'no', kind: 'every-6-h' })
    await form.press('Readmit the patient')
    await (await on(StayPage)).says(/Does not swallow safely/)
    expect(new URL(device.page.url()).pathname).not.toBe(stayPath)
    await (await on(StayPage)).follow('History')
    await device.page.locator('main').getByRole('link', { name: 'open it' }).click()
    await expect.poll(() => new URL(device.page.url()).pathname).toBe(stayPath)
    device.noFaults()
  })
})
