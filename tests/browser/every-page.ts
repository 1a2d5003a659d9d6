/** Every page of the service: no axe-core violation, fits its width, obeys its own content security policy. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { routeTable } from '../../server/http/route.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import type { Device, Size } from './browser.ts'
import { CheckPage } from './pages/check.ts'
import { DosePage, ProductPage, ProposePage, SecondCheckPage } from './pages/dose.ts'
import { ReadingFormPage, ResultPage } from './pages/reading.ts'
import { RoundPage } from './pages/round.ts'
import { SignInPage } from './pages/door.ts'
import { openWorld, type OpenWorld } from './start.ts'
import { TOURS } from './tours/index.ts'

/** The walk past every page at one size: a file for each size calls it, so that two workers share the work. */
export function everyPageAt(size: Size): void {
  describe(`at ${String(size.width)} × ${String(size.height)}`, { sequential: true }, () => {
    let open: OpenWorld
    let device: Device
    /** Patterns of the pages looked at, so that none is forgotten. */
    const looked = new Set<string>()
    beforeAll(async () => {
      open = await openWorld({ demo: true })
      device = await open.signedIn(people.nora, size, { bypassCSP: true })
    })
    afterAll(async () => open.close())

    /** Looks at the page as it stands. `pattern` is its route; a page may be looked at in several states. */
    const lookAt = async (on: Device, pattern: string, picture: string): Promise<void> => {
      looked.add(pattern)
      await on.page.locator('h1').first().waitFor()
      await on.picture(picture)
      // paper is as wide as paper
      if (!pattern.startsWith('/print/')) await on.fitsItsWidth()
      await on.accessible()
    }
    const visitOn = async (on: Device, pattern: string, path: string, picture: string): Promise<void> => {
      const answer = await on.page.goto(path)
      expect(answer?.status(), path).toBe(200)
      await lookAt(on, pattern, picture)
    }
    const look = (pattern: string, picture: string): Promise<void> => lookAt(device, pattern, picture)
    const ctx = (pattern: string, path: string, picture: string): Promise<void> =>
      visitOn(device, pattern, path, picture)
    const idInUrl = (): string => /\/(?:doses|readings)\/(\w+)/.exec(device.page.url())?.[1] ?? ''
    /** A reading by the scan box of the Round, up to its result. */
    const record = async (stay: (typeof stays)[keyof typeof stays], digits: string): Promise<string> => {
      await (await new RoundPage(device).open()).scanWristband(stay.wristband)
      await (await new CheckPage(device).verifyOnPage()).key(digits)
      await new ResultPage(device).verifyOnPage()
      return idInUrl()
    }

    it('the door', async () => {
      const stranger = await open.device(size, { bypassCSP: true })
      for (const [path, picture] of [
        ['/sign-in', 'sign-in'],
        ['/first-administrator', 'first-administrator'],
      ] as const) {
        const answer = await stranger.page.goto(path)
        expect(answer?.status()).toBeLessThan(500)
        await stranger.fitsItsWidth()
        await stranger.accessible()
        looked.add(path)
        await stranger.picture(picture)
      }
      await new SignInPage(stranger).open()
      await stranger.page.getByLabel('Badge').fill('nobody')
      await stranger.page.getByLabel('PIN').fill('000000')
      await stranger.page.getByRole('button', { name: 'Sign in' }).click()
      await stranger.page.getByRole('alert').filter({ hasText: /\S/ }).first().waitFor()
      await stranger.accessible()
      await stranger.close()
      await ctx('/ward', '/ward', 'ward-and-beds')
    })

    it('start, for who does not walk the round', async () => {
      const educator = await open.device(size, { bypassCSP: true })
      await (await new SignInPage(educator).open()).typed(people.edda)
      await educator.page.goto('/')
      looked.add('/')
      await educator.accessible()
      await educator.fitsItsWidth()
      await educator.picture('start')
      await educator.close()
    })

    it('the Round and its sheets', async () => {
      await ctx('/round', '/round', 'round')
      await ctx('/print/round', '/print/round', 'print-round')
      await ctx('/print/kit', '/print/kit', 'print-kit')
      await device.page.goto('/round')
      await device.page.locator('main input[name="wristband"]').fill('W0000')
      await device.page.locator('main input[name="wristband"]').press('Enter')
      await device.page.locator('.loud').first().waitFor()
      await look('/scan', 'unknown-wristband')
    })

    it('the check', async () => {
      const key = `${stays.tomas.stayId}.2026-03-10.before-breakfast`
      await ctx('/checks/:key', `/checks/${key}`, 'wristband-step')
      await ctx('/checks/:key/excuse', `/checks/${key}/excuse`, 'excuse')
      await (await new RoundPage(device).open()).scanWristband(stays.tomas.wristband)
      const check = await new CheckPage(device).verifyOnPage()
      await look('/checks/:key/patient', 'check')
      await check.key('6.2')
      await device.page.locator('[aria-invalid="true"]').first().waitFor()
      await look('/checks/:key', 'check-refused')
      await ctx('/stays/:stayId/extra', `/stays/${stays.tomas.stayId}/extra`, 'extra-check')
    })

    it('the result, its corrections and the patient', async () => {
      const reading = await record(stays.tomas, '112')
      await look('/readings/:id', 'result-normal')
      await ctx('/readings/:id/correct', `/readings/${reading}/correct`, 'correct')
      await ctx('/readings/:id/void', `/readings/${reading}/void`, 'void')
      await ctx('/stays/:stayId', `/stays/${stays.tomas.stayId}`, 'patient')
      await ctx('/stays/:stayId/tray', `/stays/${stays.tomas.stayId}/tray`, 'tray')
      await ctx('/stays/:stayId/paper-reading', `/stays/${stays.tomas.stayId}/paper-reading`, 'paper-reading')
      await ctx('/stays/:stayId/outside-dose', `/stays/${stays.tomas.stayId}/outside-dose`, 'outside-dose')
      await device.page.goto(`/checks/${stays.tomas.stayId}.2026-03-10.before-breakfast`)
      await look('/checks/:key', 'already-charted')
    })

    it('a low, a critical value and what hangs on them', async () => {
      const low = await record(stays.ines, '45')
      await look('/readings/:id', 'result-low')
      await ctx('/readings/:id/critical-call', `/readings/${low}/critical-call`, 'critical-call')
      await ctx('/round', '/round', 'round-with-low')
      await device.page.goto(`/readings/${low}`)
      const lowPath = (await device.page.locator('a[href^="/lows/"]').first().getAttribute('href')) ?? ''
      const lowId = /^\/lows\/(\w+)/.exec(lowPath)?.[1] ?? ''
      for (const step of [
        '',
        '/answers',
        '/treatments',
        '/findings',
        '/emergency-calls',
        '/prescriber-calls',
        '/food',
        '/insulin-question',
        '/close',
      ]) {
        await ctx(`/lows/:lowId${step}`, `/lows/${lowId}${step}`, `low${step.replace('/', '-')}`)
      }
      for (const form of ['symptoms', 'lab-value'])
        await ctx(`/stays/:stayId/${form}`, `/stays/${stays.ines.stayId}/${form}`, form)
      await device.page.goto(`/readings/${low}/void`)
      const form = await new ReadingFormPage(device).verifyOnPage()
      await form.fill('reason', 'Taken from the patient in bed 5')
      await form.press('Mark it entered in error')
      await device.page.waitForURL((url) => !url.pathname.endsWith('/void'))
      await device.page.goto(`/stays/${stays.ines.stayId}`)
      await device.page.locator('a[href^="/flags/"]').first().click()
      await device.page.waitForURL('**/flags/*')
      await look('/flags/:itemId', 'flag')
      await record(stays.yusuf, 'HI')
      await look('/readings/:id', 'result-hi')
    })

    it('the dose, from its questions to the giving', async () => {
      const reading = await record(stays.ruth, '215')
      await look('/readings/:id', 'result-dose')
      await ctx('/readings/:id/direction', `/readings/${reading}/direction`, 'direction')
      await ctx('/readings/:id/dose', `/readings/${reading}/dose`, 'dose-questions')
      await new ProposePage(device).answer({ willEat: 'yes', tray: 'expected', elsewhere: 'none' })
      await new DosePage(device).verifyOnPage()
      const dose = idInUrl()
      await look('/doses/:id', 'dose')
      await ctx('/second-checks', '/second-checks', 'second-checks')
      await ctx('/doses/:id/take-back', `/doses/${dose}/take-back`, 'take-back')
      await ctx('/doses/:id/not-given', `/doses/${dose}/not-given`, 'not-given')
      await ctx('/doses/:id/second-check', `/doses/${dose}/second-check`, 'second-check')
      await new SecondCheckPage(device).answer({ glucose: '215', units: '6', person: people.omar })
      await device.page.waitForURL(`**/doses/${dose}`)
      await look('/doses/:id', 'answers-differ')
      await ctx('/doses/:id/start-again', `/doses/${dose}/start-again`, 'start-again')
      await device.page.locator('main input[name="glucose"]').fill('215')
      await device.page.getByRole('button', { name: 'I have started again' }).click()
      await device.page.waitForURL(`**/doses/${dose}`)
      await device.page.goto(`/doses/${dose}/second-check`)
      await new SecondCheckPage(device).answer({ glucose: '215', units: '4', person: people.omar })
      await device.page.waitForURL((url) => !url.pathname.endsWith('/second-check'))
      await ctx('/doses/:id', `/doses/${dose}`, 'agreed')
      await ctx('/doses/:id/product', `/doses/${dose}/product`, 'product')
      await new ProductPage(device).sign({
        insulin: 'insulin lispro',
        concentration: 'U-100',
        expiresOn: '2026-09-30',
        units: '4',
        wristband: stays.ruth.wristband,
        person: people.omar,
      })
      await device.page.waitForURL((url) => !url.pathname.endsWith('/product'))
      await ctx('/doses/:id/give', `/doses/${dose}/give`, 'give')
      await ctx('/stays/:stayId/scheduled/:slot', `/stays/${stays.leo.stayId}/scheduled/2026-03-10.2100`, 'scheduled')
    })

    it.each(TOURS)('$name', async ({ person, take }) => {
      const own = await open.signedIn(person, size, { bypassCSP: true })
      await take({
        open,
        device: own,
        ctx: (pattern, path, picture) => visitOn(own, pattern, path, picture),
        look: (pattern, picture) => lookAt(own, pattern, picture),
      })
      await own.close()
    })

    it('a page that is not there', async () => {
      const answer = await device.page.goto('/readings/abcdefghijklmnop')
      expect(answer?.status()).toBe(404)
      await device.accessible()
      await device.picture('not-there')
      device.noFaults()
    })

    it('no page was forgotten', () => {
      // parts of a page, and what answers no HTML
      const noPage = new Set([
        '/assets/:file',
        '/healthz',
        '/setup/access/file',
        '/round/list',
        '/lows/:lowId/now',
        '/round/trays-late/moves',
        '/board/stream',
        '/board/wards/stream',
        '/audit/export/columns',
      ])
      const pages = routeTable(open.world.server)
        .filter(({ method, url }) => method === 'GET' && !noPage.has(url))
        .map(({ url }) => url)
      expect(pages.filter((url) => !looked.has(url))).toEqual([])
    })
  })
}
