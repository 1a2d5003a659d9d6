/** Orders: every version of a patient's, one of them, and verifying it from the original. */
import { Screen } from './screen.ts'

export class OrderListPage extends Screen {
  readonly heading = /^Insulin orders/
}

export class OrderPage extends Screen {
  readonly heading = /^Insulin order/
}

export class VerifyPage extends Screen {
  readonly heading = 'Verify an order from the original'

  /** The questions in order. */
  async questions(): Promise<readonly string[]> {
    return this.main.locator('fieldset > legend').allInnerTexts()
  }

  /** Answers every question from the paper; "call" is ticked. */
  async answer(insulin: string, answers: readonly string[]): Promise<void> {
    for (const name of ['identifiers', 'signature', 'rest']) await this.tick(name)
    await this.select('insulin', insulin)
    for (const [index, answer] of answers.entries()) {
      if (answer === 'call') await this.tick(`tick${String(index + 1)}`)
      else await this.fill(`answer${String(index + 1)}`, answer)
    }
    await this.press('Compare with the transcription')
  }

  private async tick(name: string): Promise<void> {
    await this.main.locator(`label:has(input[name="${name}"])`).click()
  }
}

export class StopOrderPage extends Screen {
  readonly heading = 'Stop an insulin order'
}

export class CopyStandardPage extends Screen {
  readonly heading = 'From a standard order'
}
