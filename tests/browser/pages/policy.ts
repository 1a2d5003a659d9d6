/** A ward's policy, one part's form, and a change that waits. */
import { Screen } from './screen.ts'

export class PolicyPage extends Screen {
  readonly heading = /^Policy of /

  /** "15 units": the value of the setting with this label. */
  async valueOfSetting(label: string): Promise<string> {
    return (await this.main.getByRole('row').filter({ hasText: label }).locator('td').first().innerText()).trim()
  }
}

export class PolicyPartPage extends Screen {
  readonly heading = /^Change (?!of policy)/
}

export class PolicyChangePage extends Screen {
  readonly heading = 'Change of policy'

  async answer(answer: 'approve' | 'refuse', reason = ''): Promise<void> {
    await this.pick('answer', answer)
    await this.fill('reason', reason)
    await this.press('Chart the answer')
  }
}

export class WardsPage extends Screen {
  readonly heading = 'Wards'
}
