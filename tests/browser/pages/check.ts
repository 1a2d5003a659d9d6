/** From the wristband to the charted value. */
import { Screen } from './screen.ts'

/** The wristband step. */
export class ConfirmPage extends Screen {
  readonly heading = /: who is it\?$/

  async scanWristband(wristband: string): Promise<void> {
    await this.expectFocusOn('wristband')
    await this.device.scan(wristband)
  }
}

/** The value, with the other fields prefilled. */
export class CheckPage extends Screen {
  readonly heading =
    /^(Before breakfast|Before lunch|Before supper|Bedtime|Overnight|Recheck after a low|Extra check|Every \d h.*)$/

  override async verifyOnPage(): Promise<this> {
    await super.verifyOnPage()
    await this.field('glucose').waitFor()
    return this
  }

  /** Types digits and Enter into the focused field. */
  async key(digits: string): Promise<void> {
    await this.expectFocusOn('glucose')
    await this.page.keyboard.type(digits)
    await this.page.keyboard.press('Enter')
  }

  async suggestedFinger(): Promise<string> {
    return this.main.locator('input[name="finger"]:checked').inputValue()
  }

  async chart(): Promise<void> {
    await this.press('Chart the value')
  }
}

export class ExcusePage extends Screen {
  readonly heading = /why is it not done\?|why was it missed\?/

  async chart(reason: string, note: string): Promise<void> {
    await this.pick('reason', reason)
    await this.fill('note', note)
    await this.press('Chart the reason')
  }
}
