/** An administrator adds a nurse. The nurse sets her PIN, signs in and opens the Round; then her badge is lost. */
import { afterEach, describe, expect, it } from 'vitest'
import { ALDER, people } from '../support/people.ts'
import { SIZES } from './browser.ts'
import { SignInPage, WardPage } from './pages/door.ts'
import { NewPersonPage, PeoplePage, PersonPage, SetPinPage, SetupPage } from './pages/people.ts'
import { openWorld, type OpenWorld } from './start.ts'

let open: OpenWorld
afterEach(() => open.close())

describe.each(SIZES)('at $width × $height', { timeout: 120_000 }, (size) => {
  it('a new nurse signs in and reaches the Round, and a locked nurse is signed out', async () => {
    open = await openWorld()
    const ida = {
      staffId: '',
      name: 'Ida Marsh',
      badge: 'N5005',
      pin: '839201',
      role: 'floor-nurse',
      wardIds: [ALDER],
    } as const
    const office = await open.signedIn(people.anna, size)
    const hub = await new SetupPage(office).verifyOnPage()
    await hub.follow('People')
    await (await new PeoplePage(office).verifyOnPage()).follow('Add a person')
    await (await new NewPersonPage(office).verifyOnPage()).fillAllButBadge({ ...ida, wardId: ALDER })
    await office.scan(ida.badge)
    const person = await new PersonPage(office, ida.name).verifyOnPage()
    await person.says('No PIN yet')
    const code = await person.makeCode()
    expect(office.page.url()).not.toContain(code.replace(' ', ''))
    // going back and forward does not show it again
    await office.page.reload()
    await office.page.getByRole('button', { name: 'Make a code' }).waitFor()
    expect(await office.page.locator('main').innerText()).not.toContain(code)

    const tablet = await open.device(size)
    await (await new SignInPage(tablet).open()).follow('Set a PIN with a code')
    await (await new SetPinPage(tablet).verifyOnPage()).scanned({ ...ida, code })
    const door = await new SignInPage(tablet).verifyOnPage()
    await door.says('Your PIN is set')
    await door.scanned(ida)
    await (await new WardPage(tablet).verifyOnPage()).takeBeds(['1', '2'])
    expect(await tablet.page.locator('.who').innerText()).toBe(ida.name)
    // the menu fits on one line, with Setup in it and sign-out last
    const tops = await tablet.page
      .locator('.menu a, .menu button')
      .evaluateAll((ways) => ways.map((way) => Math.round(way.getBoundingClientRect().top)))
    expect(tops.length).toBe(5)
    expect(new Set(tops).size).toBe(1)

    await office.page.goto(`/setup/people`)
    await new PeoplePage(office).follow(ida.name)
    await (await new PersonPage(office, ida.name).verifyOnPage()).follow('Lock')
    await office.page.locator('input[name="reason"]').waitFor()
    await office.page.keyboard.type('Badge lost')
    await office.page.keyboard.press('Enter')
    await (await new PersonPage(office, ida.name).verifyOnPage()).says('Locked')
    await tablet.page.getByRole('link', { name: 'Beds', exact: true }).click()
    await new SignInPage(tablet).verifyOnPage()
    await new SignInPage(tablet).fill('badge', ida.badge)
    await new SignInPage(tablet).fill('pin', ida.pin)
    await new SignInPage(tablet).press('Sign in')
    await new SignInPage(tablet).says('This badge is locked. Ask the charge nurse')
    for (const device of [office, tablet]) device.noFaults()
  })
})
