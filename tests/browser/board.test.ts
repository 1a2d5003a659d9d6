/**
 * The live board in Chromium: an entry of one nurse appears on another's board. The board reports a lost connection
 * and reconnects by itself.
 */
import { spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { createServer, connect, type AddressInfo, type Server as Net, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { packageRoot } from '../../server/paths.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { alderFacts } from '../support/facts.ts'
import { ALDER, people } from '../support/people.ts'
import { ALDER_ZONE, stays } from '../support/wards.ts'
import { Device, SIZES, startBrowser } from './browser.ts'
import { BoardPage } from './pages/board.ts'
import { CheckPage } from './pages/check.ts'
import { SignInPage, WardPage } from './pages/door.ts'
import { ResultPage } from './pages/reading.ts'
import { RoundPage } from './pages/round.ts'
import { openWorld, type OpenWorld } from './start.ts'

const cleanUp: (() => unknown)[] = []
afterEach(async () => {
  for (const one of cleanUp.splice(0).reverse()) await one()
})

describe('two browsers', () => {
  it('show a nurse’s entry on the open board within two seconds, without a reload', async () => {
    const open = await openWorld()
    cleanUp.push(() => open.close())
    const [charge, nurse] = [await open.signedIn(people.cora, SIZES[0]), await open.signedIn(people.nora, SIZES[1])]
    const board = await new BoardPage(charge).open()
    await expect.poll(() => board.link()).toBe('Live, 07:20')
    expect(await board.tileText(1)).toContain('Open')
    await (await new RoundPage(nurse).open()).scanWristband(stays.tomas.wristband)
    await (await new CheckPage(nurse).verifyOnPage()).key('58')
    await new ResultPage(nurse).verifyOnPage()
    await expect.poll(() => board.tileText(1), { timeout: 2000, interval: 50 }).toContain('Low: treat')
    expect(await board.tileText(1)).toContain('58 mg/dL')
    expect((await board.needs().first().innerText()).replace(/\s+/g, ' ')).toContain(
      'Bed 2, Brandt ◆ Low, no treatment charted',
    )
    // its clock counts, and keyboard focus stays in place
    const act = board
      .needs()
      .first()
      .getByRole('link', { name: /^Treat/ })
    await act.focus()
    const [clock] = await board.clocks()
    await expect.poll(async () => (await board.clocks())[0], { timeout: 5000 }).not.toBe(clock)
    await (await new RoundPage(nurse).open()).scanWristband(stays.ines.wristband)
    await (await new CheckPage(nurse).verifyOnPage()).key('61')
    await expect.poll(() => board.tileText(2), { timeout: 2000, interval: 50 }).toContain('Low: treat')
    expect(await charge.page.evaluate<string>('document.activeElement.textContent')).toMatch(/^Treat: Bed 2/)
    charge.noFaults()
    nurse.noFaults()
  })

  it('update the ward’s line on the page of all wards within two seconds too', async () => {
    const open = await openWorld()
    cleanUp.push(() => open.close())
    const [supervisor, nurse] = [await open.signedIn(people.edda, SIZES[0]), await open.signedIn(people.nora, SIZES[1])]
    await supervisor.page.goto('/board/wards')
    const line = supervisor.page.getByRole('row', { name: /^Alder/ })
    await expect.poll(() => supervisor.page.locator('#board-link').innerText()).toContain('Live')
    expect((await line.innerText()).replace(/\s+/g, ' ')).not.toContain('◆')
    await (await new RoundPage(nurse).open()).scanWristband(stays.tomas.wristband)
    await (await new CheckPage(nurse).verifyOnPage()).key('58')
    await new ResultPage(nurse).verifyOnPage()
    await expect
      .poll(async () => (await line.innerText()).replace(/\s+/g, ' '), { timeout: 2000, interval: 50 })
      .toContain('◆ 1')
    supervisor.noFaults()
  })

  it('sign out, which closes the board and removes the ward from the screen', async () => {
    const open = await openWorld()
    cleanUp.push(() => open.close())
    const charge = await open.signedIn(people.cora, SIZES[0])
    const board = await new BoardPage(charge).open()
    await expect.poll(() => board.link()).toContain('Live')
    const other = await charge.context.newPage()
    await other.goto('/round')
    await other.getByRole('button', { name: 'Sign out' }).click()
    await expect.poll(() => board.link(), { timeout: 10_000 }).toContain('Your login has ended')
    expect(await charge.page.locator('body').innerText()).not.toContain('Ashby')
    await charge.page.getByRole('link', { name: 'Sign in' }).click()
    await new SignInPage(charge).verifyOnPage()
  })
})

describe('a killed service', () => {
  const SERVICE = join(packageRoot, 'dist/tests/faults/low-service.js')
  /** A port that stays the same while its service is killed and restarted. */
  const doorTo = async (target: () => number): Promise<{ readonly origin: string; readonly server: Net }> => {
    const held = new Set<Socket>()
    const server = createServer((from) => {
      const to = connect(target(), '127.0.0.1')
      held.add(from)
      for (const [one, other] of [
        [from, to],
        [to, from],
      ] as const)
        one.on('error', () => other.destroy()).on('close', () => other.destroy())
      from.pipe(to)
      to.pipe(from)
    })
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
    cleanUp.push(() => {
      for (const socket of held) socket.destroy()
      server.close()
    })
    return { origin: `http://127.0.0.1:${String((server.address() as AddressInfo).port)}`, server }
  }

  it('is reported on the board within ten seconds and stops its clocks; after a restart the board reconnects', async () => {
    expect(existsSync(SERVICE), 'npm run build comes first').toBe(true)
    const folder = mkdtempSync(join(tmpdir(), 'ward-board-'))
    cleanUp.push(() => {
      rmSync(folder, { recursive: true })
    })
    let service: ChildProcess | null = null
    let port = 0
    const start = async (at: string): Promise<void> => {
      const child = spawn(process.execPath, [SERVICE, join(folder, 'ward.sqlite'), at], {
        stdio: ['ignore', 'pipe', 'inherit'],
      })
      service = child
      let said = ''
      for await (const chunk of child.stdout) {
        said += String(chunk)
        if (said.includes('\n')) break
      }
      port = Number(said.trim())
    }
    cleanUp.push(() => {
      service?.kill('SIGKILL')
    })
    await start('2026-03-10T07:41')
    const { origin } = await doorTo(() => port)
    const browser = await startBrowser()
    cleanUp.push(() => browser.close())
    const device = await Device.open(browser, origin, SIZES[0])
    await (await new SignInPage(device).open()).typed(people.cora)
    await (await new WardPage(device).verifyOnPage()).takeBeds([])
    const board = await new BoardPage(device).open()
    await expect.poll(() => board.link()).toBe('Live, 07:41')
    await device.page.evaluate('window.sameDocument = true')

    const killed = service as ChildProcess | null
    if (killed === null) throw new Error('no service')
    const gone = once(killed, 'exit')
    killed.kill('SIGKILL')
    await gone
    await expect.poll(() => board.link(), { timeout: 10_000 }).toBe('No connection since 07:41: what is shown is old')
    expect(await board.isStale()).toBe(true)
    await device.picture('board-stale')
    const stopped = await board.clocks()
    await device.page.waitForTimeout(2500)
    expect(await board.clocks()).toEqual(stopped)

    await start('2026-03-10T07:44')
    await expect.poll(() => board.link(), { timeout: 30_000 }).toBe('Live, 07:44')
    expect(await board.isStale()).toBe(false)
    expect(await device.page.evaluate<boolean>('window.sameDocument === true')).toBe(true)
    await expect.poll(async () => (await board.clocks())[0] === stopped[0], { timeout: 5000 }).toBe(false)
  })
})

describe('forty beds', () => {
  const beds = Array.from({ length: 40 }, (_, index) => String(index + 1))
  /** A ward of 40 occupied beds, five nurses' assignments and a usual list of needs. */
  const fill = ({ world }: OpenWorld): void => {
    const nowMs = world.clock.now()
    const event = (
      type: LedgerEvent['type'],
      stayId: string | null,
      body: unknown,
      actorId: string = people.cora.staffId,
    ): LedgerEvent =>
      ({ type, wardId: ALDER, stayId, actorId, happenedAtMs: nowMs, chartedAtMs: nowMs, body }) as LedgerEvent
    const names = ['Ashby', 'Brandt', 'Calder', 'Dunne', 'Ekström', 'Featherstonehaugh', 'Galt', 'Hollis']
    world.store.transact(() => {
      storeEvents(world.store, [
        event('ward-beds-set', null, { beds }),
        event('policy-set', null, { version: 2, policy: defaultPolicy('mg/dL', ALDER_ZONE) }),
        ...beds.slice(6).flatMap((bed) => {
          const stayId = `staymany${bed.padStart(8, '0')}`
          return [
            event('stay-admitted', stayId, {
              bed,
              wristband: `WM${bed}`,
              familyName: names[Number(bed) % names.length] ?? '',
              givenName: 'Ada',
              bornOn: '1950-01-01',
              facts: alderFacts(),
            }),
            event('plan-set', stayId, { version: 1, plan: { kind: 'ac-and-hs' }, untilMs: null }),
          ]
        }),
        // yesterday is accounted for
        ...Object.values(stays)
          .filter(({ wardId }) => wardId === ALDER)
          .flatMap(({ stayId }) =>
            [
              'before-breakfast',
              'before-lunch',
              'before-supper',
              'bedtime',
              't0600',
              't1200',
              't1800',
              't0000',
            ].flatMap((slot) =>
              [`${stayId}.2026-03-09.${slot}`, ...(slot === 't0000' ? [`${stayId}.2026-03-10.t0000`] : [])].map(
                (checkKey) => event('check-excused', stayId, { checkKey, reason: 'workload', note: '' }),
              ),
            ),
          ),
        event('beds-taken', null, { staffId: people.nora.staffId, beds: beds.slice(0, 14) }),
        event('beds-taken', null, { staffId: people.omar.staffId, beds: beds.slice(14, 28) }),
        event('beds-taken', null, { staffId: people.pia.staffId, beds: beds.slice(28) }),
      ])
      return null
    })
  }

  it.each([
    { width: 1024, height: 768 },
    { width: 1440, height: 900 },
    { width: 390, height: 844 },
  ])('at $width × $height', async ({ width, height }) => {
    const open = await openWorld()
    cleanUp.push(() => open.close())
    fill(open)
    const charge = await Device.open(
      open.browser,
      open.origin,
      { name: `40-${String(width)}`, width, height } as never,
      { bypassCSP: true },
    )
    await (await new SignInPage(charge).open()).typed(people.cora)
    const nurse = await open.signedIn(people.nora, SIZES[1])
    await (await new RoundPage(nurse).open()).scanWristband(stays.tomas.wristband)
    await (await new CheckPage(nurse).verifyOnPage()).key('58')
    await new ResultPage(nurse).verifyOnPage()
    const board = await new BoardPage(charge).open()
    await expect.poll(() => board.link()).toContain('Live')
    await charge.picture('board')
    const sizes = await charge.page.evaluate<{
      scroll: number
      tiles: { top: number; bottom: number; width: number; height: number }[]
      small: number
      hidden: number
    }>(`({
      scroll: document.documentElement.scrollHeight,
      tiles: [...document.querySelectorAll('.tile')].map((tile) => tile.getBoundingClientRect()).map(({ top, bottom, width, height }) => ({ top, bottom, width, height })),
      hidden: (([needs]) => needs.scrollHeight - needs.clientHeight)(document.querySelectorAll('.board-needs')),
      small: [...document.querySelectorAll('.board a')].filter((link) => link.getBoundingClientRect().height < 24).length,
    })`)
    expect(sizes.tiles).toHaveLength(40)
    expect(sizes.small).toBe(0)
    const tilesHeight =
      Math.max(...sizes.tiles.map(({ bottom }) => bottom)) - Math.min(...sizes.tiles.map(({ top }) => top))
    if (width >= 1024) expect(tilesHeight, 'every bed on one screen').toBeLessThanOrEqual(height)
    if (width >= 1440) expect(sizes.scroll, 'the whole page without scrolling').toBeLessThanOrEqual(height)
    expect(sizes.hidden, 'nor is a usual list cut').toBeLessThanOrEqual(0)
    await charge.fitsItsWidth()
    await charge.accessible()
  })

  it('fits the charge nurse’s menu on one line of a phone, board first', async () => {
    const open = await openWorld()
    cleanUp.push(() => open.close())
    const charge = await open.signedIn(people.cora, SIZES[1])
    const ways = charge.page.locator('.menu a:visible, .menu button')
    expect(await ways.first().innerText()).toBe('Board')
    expect(
      new Set(await ways.evaluateAll((all) => all.map((way) => Math.round(way.getBoundingClientRect().top)))).size,
    ).toBe(1)
  })
})
