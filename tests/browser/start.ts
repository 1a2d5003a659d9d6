/** The test world on a real port, with one Chromium for each test file. */
import type { AddressInfo } from 'node:net'
import type { Browser } from 'playwright-core'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'
import type { Person } from '../support/people.ts'
import { Device, startBrowser, type Size } from './browser.ts'
import { SignInPage, WardPage } from './pages/door.ts'

export type OpenWorld = {
  readonly world: World
  readonly browser: Browser
  readonly origin: string
  /** A device without a signed-in person. */
  readonly device: (size: Size, options?: Parameters<typeof Device.open>[3]) => Promise<Device>
  /** A device with this person signed in, for the whole ward. */
  readonly signedIn: (person: Person, size: Size, options?: Parameters<typeof Device.open>[3]) => Promise<Device>
  /** Closes the devices, the browser and the world. */
  readonly close: () => Promise<void>
}

export async function openWorld(options: WorldOptions = {}): Promise<OpenWorld> {
  const [world, browser] = await Promise.all([makeWorld(options), startBrowser()])
  await world.server.app.listen({ host: '127.0.0.1', port: 0 })
  const origin = `http://127.0.0.1:${(world.server.app.server.address() as AddressInfo).port}`
  const device: OpenWorld['device'] = (size, deviceOptions) => Device.open(browser, origin, size, deviceOptions)
  return {
    world,
    browser,
    origin,
    device,
    signedIn: async (person, size, deviceOptions) => {
      const opened = await device(size, deviceOptions)
      await (await new SignInPage(opened).open()).typed(person)
      // an administrator has no ward to choose, and an educator is not asked
      if (person.role === 'educator') {
        await opened.page.goto('/ward')
        await (await new WardPage(opened).verifyOnPage()).choose(person.wardIds[0] ?? '')
      } else if (person.role !== 'administrator') await (await new WardPage(opened).verifyOnPage()).takeBeds([])
      return opened
    },
    close: async () => {
      await browser.close()
      await world.close()
    },
  }
}
