/**
 * The second nurse on her own device. The check waits there. Until she answers, no page, fragment or cached page in
 * her browser contains the value or the dose.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { SIZES, type Device } from './browser.ts'
import { CheckPage } from './pages/check.ts'
import { DosePage, GivePage, ProductPage, ProposePage, SecondCheckPage, WaitingPage } from './pages/dose.ts'
import { ResultPage } from './pages/reading.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'

/** Digits that occur nowhere else in this test: in no bed, wristband, date, limit or scale. 367 gives 10 units. */
const VALUE = '367'
const DOSE = /\b10 units\b/

describe.each(SIZES)('at $width × $height', { sequential: true }, (size) => {
  let open: OpenWorld
  let first: Device
  let second: Device
  let doseId = ''
  let readingId = ''
  beforeAll(async () => {
    open = await openWorld()
    first = await open.signedIn(people.nora, size)
    second = await open.signedIn(people.omar, size)
  })
  afterAll(async () => open.close())

  it('the planted digits occur nowhere before', async () => {
    await second.page.goto(`/stays/${stays.ruth.stayId}`)
    expect(await second.page.content()).not.toContain(VALUE)
  })

  it('the first nurse’s dose waits on the second nurse’s device', async () => {
    await (await new RoundPage(first).open()).scanWristband(stays.ruth.wristband)
    await (await new CheckPage(first).verifyOnPage()).key(VALUE)
    const result = await new ResultPage(first).verifyOnPage()
    readingId = /\/readings\/(\w+)/.exec(first.page.url())?.[1] ?? ''
    expect(await result.bigNumber()).toBe(`${VALUE} mg/dL`)
    await result.follow('Work out the dose')
    await (await new ProposePage(first).verifyOnPage()).answer({ willEat: 'yes', tray: 'expected', elsewhere: 'none' })
    const dose = await new DosePage(first).verifyOnPage()
    doseId = /\/doses\/(\w+)/.exec(first.page.url())?.[1] ?? ''
    // the first nurse sees both, so the search below could find them
    expect(await dose.text()).toContain(VALUE)
    expect(await dose.text()).toMatch(DOSE)

    const waiting = await new WaitingPage(second).open()
    await waiting.says('Bed 1')
    await second.picture('second-checks-waiting')
  })

  it('her device contains neither the value nor the dose', async () => {
    const seen: string[] = []
    // the order's table names every dose of the scale; a page may show it, but not beside the value
    const mayShowTheScale = [`/stays/${stays.ruth.stayId}`, `/doses/${doseId}/second-check`, '/print/round']
    for (const path of [
      '/round',
      '/round?beds=all',
      '/round/list?beds=all',
      '/second-checks',
      '/print/round',
      '/print/kit',
      `/stays/${stays.ruth.stayId}`,
      `/readings/${readingId}`,
      `/readings/${readingId}/dose`,
      `/readings/${readingId}/direction`,
      `/readings/${readingId}/correct`,
      `/checks/${stays.ruth.stayId}.2026-03-10.before-breakfast`,
      `/stays/${stays.ruth.stayId}/tray`,
      `/stays/${stays.ruth.stayId}/outside-dose`,
      `/doses/${doseId}`,
      `/doses/${doseId}/second-check`,
      `/doses/${doseId}/product`,
      `/doses/${doseId}/give`,
      `/doses/${doseId}/not-given`,
      `/doses/${doseId}/start-again`,
    ]) {
      const answer = await second.page.goto(path)
      const text = (await answer?.text()) ?? ''
      seen.push(`${path} ${answer?.status() ?? 0}`)
      expect(answer?.status(), path).toBeLessThan(500)
      expect(text, path).not.toContain(VALUE)
      if (!mayShowTheScale.includes(path))
        expect(text.replace(/<[^>]+>/g, ' ').replace(/\s+/g, ' '), path).not.toMatch(DOSE)
      expect(answer?.headers()['cache-control'], path).toBe('no-store')
    }
    expect(seen.filter((one) => one.endsWith(' 200')).length, seen.join(', ')).toBeGreaterThan(8)
    // the browser's own storage
    const kept = await second.page.evaluate<string>('JSON.stringify({ ...localStorage, ...sessionStorage })')
    expect(kept).not.toContain(VALUE)
    expect(await second.page.evaluate<number>('caches.keys().then((keys) => keys.length)').catch(() => 0)).toBe(0)
  })

  it('she answers alone in her own session', async () => {
    const waiting = await new WaitingPage(second).open()
    await waiting.follow('Do the second check')
    const check = await new SecondCheckPage(second).verifyOnPage()
    expect(await check.field('badge').count()).toBe(0)
    await second.picture('second-check-own-device')
    await check.answer({ glucose: VALUE, units: '10', person: people.omar })
    await expect.poll(() => second.page.locator('main').innerText()).toMatch(/agree/i)
    second.noFaults()
  })

  it('and reads the product there; the first nurse gives on hers', async () => {
    await second.page.goto(`/doses/${doseId}/product`)
    await (
      await new ProductPage(second).verifyOnPage()
    ).sign({
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2026-09-30',
      units: '10',
      wristband: stays.ruth.wristband,
      person: people.omar,
    })
    await expect.poll(() => second.page.locator('main').innerText()).toMatch(/verified|ready to give|give/i)
    await first.page.goto(`/doses/${doseId}/give`)
    await (
      await new GivePage(first).verifyOnPage()
    ).give({ wristband: stays.ruth.wristband, food: 'tray-here', willEat: 'yes' })
    const dose = await new DosePage(first).verifyOnPage()
    await dose.says(/given/i)
    // nothing is masked any more
    await second.page.goto(`/readings/${readingId}`)
    expect(await second.page.content()).toContain(VALUE)
    first.noFaults()
    second.noFaults()
  })
})
