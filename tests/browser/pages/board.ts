/** The ward board as a user reads it. */
import type { Locator } from 'playwright-core'
import { Screen } from './screen.ts'

export class BoardPage extends Screen {
  readonly heading = / board$/

  async open(): Promise<this> {
    await this.page.goto('/board')
    return this.verifyOnPage()
  }

  /** "Live, 07:20" */
  link(): Promise<string> {
    return this.page.locator('#board-link [data-says]').innerText()
  }

  tile(index: number): Locator {
    return this.page.locator(`[data-part="bed.${String(index)}"]`)
  }

  async tileText(index: number): Promise<string> {
    return (await this.tile(index).innerText()).replace(/\s+/g, ' ')
  }

  needs(): Locator {
    return this.page.locator('.need')
  }

  clocks(): Promise<readonly string[]> {
    return this.page.locator('.board-clock').allInnerTexts()
  }

  isStale(): Promise<boolean> {
    return this.page
      .locator('#board.stale')
      .count()
      .then((found) => found === 1)
  }
}
