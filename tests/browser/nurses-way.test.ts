/** The nurse's workflow from sign-in to the printed sheet, each step in Chromium on a tablet and a phone. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { SIZES, type Device } from './browser.ts'
import { CheckPage, ConfirmPage, ExcusePage } from './pages/check.ts'
import { SignInPage, WardPage } from './pages/door.ts'
import {
  DosePage,
  GivePage,
  NotGivenPage,
  ProductPage,
  ProposePage,
  SecondCheckPage,
  StartAgainPage,
} from './pages/dose.ts'
import { FlagPage, PatientPage, ReadingFormPage, ResultPage } from './pages/reading.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'

const LISPRO = { insulin: 'insulin lispro', concentration: 'U-100', expiresOn: '2026-09-30' } as const

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let device: Device
  const on = async <S extends { verifyOnPage: () => Promise<S> }>(Page: new (device: Device) => S): Promise<S> =>
    new Page(device).verifyOnPage()

  beforeAll(async () => {
    open = await openWorld({ demo: true })
    device = await open.device(size)
  })
  afterAll(async () => open.close())

  it('1. signs in by scanned badge and PIN without a pointer, and chooses ward and beds', async () => {
    const door = await new SignInPage(device).open()
    await device.picture('sign-in')
    await door.scanned(people.nora)
    const ward = await on(WardPage)
    await device.picture('ward-and-beds')
    await ward.takeBeds(['1', '2', '3', '4', '5', '6'])
    await on(RoundPage)
    device.noFaults()
  })

  it('2. lists each check on the Round with bed, identifiers, window, facts and progress', async () => {
    const round = await on(RoundPage)
    // bed 5 is late since 06:30; all others are open at 07:20, in walking order
    expect(await round.bedsInOrder()).toEqual(['5', '1', '2', '3', '4', '6'])
    const line = await round.lineOf('1')
    for (const part of ['Ashby', 'Ruth', stays.ruth.wristband, '17 Feb 1948', 'Before breakfast', 'Open'])
      expect(line).toContain(part)
    expect(await round.lineOf('4')).toMatch(/left hand/i)
    expect(await round.lineOf('5')).toMatch(/Late.*nil by mouth/i)
    expect(await round.progress()).toMatch(/^0 of \d+ done, tray in 40 min$/)
    await round.page.getByText('Kit for what is left').click()
    await round.says(/Lancets/i)
    await round.says(/Strips/i)
    await device.fitsItsWidth()
    await device.picture('round')
    device.noFaults()
  })

  it('3. stops at the wrong wristband and names only its bed', async () => {
    await device.page.goto(`/checks/${stays.yusuf.stayId}.2026-03-10.before-breakfast`)
    const confirm = await on(ConfirmPage)
    await confirm.scanWristband(stays.ruth.wristband)
    const alarm = device.page.getByRole('alert').filter({ hasText: /wristband/i })
    await alarm.first().waitFor()
    const loud = await alarm.first().innerText()
    expect(loud).toMatch(/bed 1\b/i)
    expect(await device.page.content()).not.toMatch(/Ashby|Ruth|W7301/)
    await device.picture('wrong-wristband')
    // the next scan needs no click
    await (await on(ConfirmPage)).scanWristband(stays.yusuf.wristband)
    const check = await on(CheckPage)
    // the left hand is restricted
    expect(await check.suggestedFinger()).toMatch(/^right-/)
    await device.picture('check')
    await check.key('6.2')
    await expect.poll(() => check.errorOf('glucose')).toMatch(/mmol\/L/)
    await check.fill('glucose', '119')
    await check.pick('finger', 'right-index')
    await check.page.getByText('Taken earlier?').click()
    await check.fill('takenAt', '07:01')
    await check.chart()
    await expect.poll(() => check.errorOf('lateReason')).toMatch(/\S/)
    await check.select('lateReason', 'busy-with-emergency')
    await check.chart()
    const result = await on(ResultPage)
    await result.says('Taken 07:01')
    await result.says('right index finger')
    device.noFaults()
  })

  it('3. excuses a check with its reason', async () => {
    await device.page.goto(`/checks/${stays.leo.stayId}.2026-03-10.before-breakfast`)
    await (await on(ConfirmPage)).follow(/Not done/)
    await (await on(ExcusePage)).chart('off-the-ward', 'In theatre')
    const round = await on(RoundPage)
    expect(await round.progress()).toMatch(/^2 of \d+ done/)
    device.noFaults()
  })

  it('4. charts a normal check with one scan, three digits and Enter, and offers the next bed', async () => {
    const round = await new RoundPage(device).open()
    await round.scanWristband(stays.tomas.wristband)
    await (await on(CheckPage)).key('112')
    const result = await on(ResultPage)
    expect(await result.bigNumber()).toBe('112 mg/dL')
    await result.says(/no active insulin order|nothing more/i)
    await result.says(/Next: bed \d/)
    // the scan box has the focus for the next patient
    await result.expectFocusOn('wristband')
    await device.picture('result-normal')
    device.noFaults()
  })

  it('4. stops insulin for a low, opens an event, and lists its due recheck first on the Round', async () => {
    const low = await on(ResultPage)
    await low.scanWristband(stays.ines.wristband)
    await (await on(CheckPage)).key('62')
    const result = await on(ResultPage)
    await result.says(/treat/i)
    expect(await result.text()).not.toContain('Work out the dose')
    await device.picture('result-low')
    const round = await new RoundPage(device).open()
    expect((await round.bedsInOrder())[0]).toBe('3')
    await device.picture('round-with-low')
    device.noFaults()
  })

  it('5. opens a dose with its working for a value in the order’s range', async () => {
    const round = await new RoundPage(device).open()
    await round.scanWristband(stays.ruth.wristband)
    await (await on(CheckPage)).key('215')
    const result = await on(ResultPage)
    await device.picture('result-dose')
    await result.follow('Work out the dose')
    const propose = await on(ProposePage)
    await device.picture('dose-questions')
    await propose.answer({ willEat: 'yes', tray: 'expected', elsewhere: 'none' })
    const dose = await on(DosePage)
    expect(await dose.bigNumber()).toBe('4 units')
    await dose.says('201–250')
    await dose.says(/version 1/)
    await dose.says(/second check/i)
    await dose.says(/Follow the signed order/)
    await device.fitsItsWidth()
    await device.picture('dose')
    device.noFaults()
  })

  it('6. checks blind on the same device: a difference confirms no number, agreement continues', async () => {
    await (await on(DosePage)).follow('Hand over for the second check')
    const check = await on(SecondCheckPage)
    const page = await device.page.content()
    expect(page).not.toMatch(/\b215\b/)
    expect(await check.text()).not.toContain('Nora')
    await device.picture('second-check')
    await check.answer({ glucose: '215', units: '6', person: people.omar })
    const differ = await on(DosePage)
    expect(await differ.text()).toMatch(/answers differ/i)
    expect(await differ.text()).not.toMatch(/\b4 units\b|\b6 units\b|\b215\b/)
    await device.picture('answers-differ')
    await differ.follow('Start again')
    const again = await on(StartAgainPage)
    await again.fill('glucose', '215')
    await again.press('I have started again')
    await (await on(DosePage)).follow('Hand over for the second check')
    await (await on(SecondCheckPage)).answer({ glucose: '215', units: '4', person: people.omar })
    const agreed = await on(DosePage)
    await agreed.says(/draw up/i)
    await device.picture('agreed')
    device.noFaults()
  })

  it('6. refuses the first nurse as her own second checker', async () => {
    const id = /\/doses\/(\w+)/.exec(device.page.url())?.[1]
    expect(id).toBeTruthy()
    await (await on(DosePage)).follow('Second nurse reads the product')
    const product = await on(ProductPage)
    await product.sign({ ...LISPRO, units: '4', wristband: stays.ruth.wristband, person: people.nora })
    await product.says(/same|first nurse|second nurse/i)
    expect(new URL(device.page.url()).pathname).toBe(`/doses/${id}/product`)
  })

  it('7. reads the product, confirms the wristband, asks about food, suggests a site, and gives', async () => {
    const product = await on(ProductPage)
    await product.fill('units', '5')
    await product.sign({ ...LISPRO, units: '5', wristband: stays.ruth.wristband, person: people.omar })
    await product.says(/4 units|syringe/i)
    expect(new URL(device.page.url()).pathname).toMatch(/\/product$/)
    await product.sign({ ...LISPRO, units: '4', wristband: stays.ruth.wristband, person: people.omar })
    await (await on(DosePage)).follow('Give')
    open.world.clock.advance(3)
    const give = await on(GivePage)
    expect(await give.suggestedSite()).toMatch(/\./)
    await device.picture('give')
    await give.give({ wristband: stays.ruth.wristband, food: 'tray-coming', willEat: 'yes', trayInMin: '10' })
    const given = await on(DosePage)
    await given.says(/given/i)
    await device.picture('given')
    await given.follow('Chart the tray')
    await expect.poll(() => device.page.url()).toMatch(/\/tray$/)
    await device.picture('tray')
    device.noFaults()
  })

  it('7. withholds a dose with a reason', async () => {
    await device.page.goto(`/stays/${stays.maud.stayId}/extra`)
    await (await on(ConfirmPage)).scanWristband(stays.maud.wristband)
    const check = await on(CheckPage)
    await check.select('extraReason', 'prescriber-asked')
    await check.key('262')
    const result = await on(ResultPage)
    await result.follow('Work out the dose')
    await (await on(ProposePage)).answer({ willEat: 'no', tray: 'expected', elsewhere: 'none' })
    const dose = await on(DosePage)
    await dose.follow('Not given')
    await (await on(NotGivenPage)).chart('withheld', 'The prescriber asked to wait')
    await (await on(DosePage)).says('The prescriber asked to wait')
    device.noFaults()
  })

  it('8. corrects one reading, voids another, and asks a person to review their doses', async () => {
    await device.page.goto(`/stays/${stays.tomas.stayId}`)
    const patient = await on(PatientPage)
    await device.picture('patient')
    await patient.openReading('112 mg/dL')
    await (await on(ResultPage)).follow(/Correct it/)
    const form = await on(ReadingFormPage)
    await device.picture('correct')
    await form.fill('wristband', stays.tomas.wristband)
    await form.fill('glucose', '121')
    await form.fill('reason', 'Digits swapped')
    await form.press('Chart the correction')
    expect(await (await on(ResultPage)).bigNumber()).toBe('121 mg/dL')

    await device.page.goto(`/stays/${stays.ines.stayId}`)
    await (await on(PatientPage)).openReading('62 mg/dL')
    await (await on(ResultPage)).follow(/entered in error/)
    const voiding = await on(ReadingFormPage)
    await voiding.fill('reason', 'Taken from the patient in bed 5')
    await voiding.press('Mark it entered in error')
    await device.page.goto(`/stays/${stays.ines.stayId}`)
    const after = await on(PatientPage)
    // nothing is deleted: the value stays readable, struck through
    expect(await after.main.locator('s').allInnerTexts()).toEqual(
      expect.arrayContaining([expect.stringContaining('62')]),
    )
    await after.main.locator('a[href^="/flags/"]').first().click()
    const flag = await on(FlagPage)
    await device.picture('flag')
    await flag.page.getByText('There was no low').click()
    await flag.fill('note', 'Told Dr Weir, no treatment was given')
    await flag.press('Resolved')
    await expect.poll(() => device.page.url()).not.toMatch(/\/flags\//)
    device.noFaults()
  })

  it('9. prints the downtime sheet and the kit list, and takes paper entries afterwards', async () => {
    const round = await new RoundPage(device).open()
    await round.follow(/Print the round sheet/)
    await expect.poll(() => device.page.url()).toMatch(/\/print\/round$/)
    await device.picture('print-round')
    await device.page.goto('/print/kit')
    await device.picture('print-kit')

    await device.page.goto(`/stays/${stays.leo.stayId}/paper-reading`)
    await device.picture('paper-reading')
    expect(await device.page.locator('main form').count()).toBe(1)
    await device.page.goto(`/stays/${stays.leo.stayId}/outside-dose`)
    await device.picture('outside-dose')
    expect(await device.page.locator('main form').count()).toBe(1)
    device.noFaults()
  })

  it('moves the demo’s clock from its banner', async () => {
    const round = await new RoundPage(device).open()
    const before = open.world.clock.now()
    await device.page.getByRole('button', { name: '+5 min' }).click()
    await expect.poll(() => open.world.clock.now() - before).toBe(5 * 60_000)
    await round.verifyOnPage()
    device.noFaults()
  })
})
