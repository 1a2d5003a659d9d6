/** Meters and strips: the ward's list, one meter, its forms, and the recall. */
import { Screen } from './screen.ts'

export class MetersPage extends Screen {
  readonly heading = 'Meters'

  async open(): Promise<this> {
    await this.page.goto('/setup/meters')
    return this.verifyOnPage()
  }
}

export class MeterPage extends Screen {
  readonly heading = /^Meter M-\d+$/

  /** "Usable", "Not usable: today’s control failed" */
  async state(): Promise<string> {
    return (await this.main.locator('.state').first().innerText()).replace(/^\S+\s/, '')
  }
}

export class ControlPage extends Screen {
  readonly heading = 'Control'

  /** With the keyboard only: level 1 has the focus. */
  async chart(level1: string, level2: string): Promise<void> {
    await this.expectFocusOn('level1')
    await this.page.keyboard.type(level1)
    await this.page.keyboard.press('Tab')
    await this.page.keyboard.type(level2)
    await this.page.keyboard.press('Enter')
  }
}

export class StripLotPage extends Screen {
  readonly heading = 'Strip lot'
}

export class ComparisonPage extends Screen {
  readonly heading = /and the laboratory$/

  async chart(pair: Readonly<Record<string, string>>): Promise<void> {
    for (const [name, value] of Object.entries(pair)) await this.fill(name, value)
    await this.press('Chart the pair')
  }
}

export class RecallPage extends Screen {
  readonly heading = 'Results from a meter or lot'
}
