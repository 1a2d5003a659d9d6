/** The Round: a scan box, and a line for each check of the ward. */
import type { Locator } from 'playwright-core'
import { Screen } from './screen.ts'

export class RoundPage extends Screen {
  readonly heading = /before breakfast|before lunch|before supper|bedtime|overnight/i

  async open(): Promise<this> {
    await this.page.goto('/round')
    return this.verifyOnPage()
  }

  /** Scans a wristband into the box, which has the focus. */
  async scanWristband(wristband: string): Promise<void> {
    await this.expectFocusOn('wristband')
    await this.device.scan(wristband)
  }

  lines(): Locator {
    return this.main.locator('#round-rows > li')
  }

  /** The beds from top to bottom. */
  async bedsInOrder(): Promise<readonly string[]> {
    return this.lines().locator('.bed strong').allInnerTexts()
  }

  async lineOf(bed: string): Promise<string> {
    const line = this.main
      .locator('li.row')
      .filter({ has: this.page.locator('.bed', { hasText: new RegExp(`^Bed ${bed}$`) }) })
      .first()
    return (await line.innerText()).replace(/\s+/g, ' ')
  }

  progress(): Promise<string> {
    return this.main.locator('.round-progress strong').innerText()
  }
}
