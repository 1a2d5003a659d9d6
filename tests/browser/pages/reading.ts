/** A reading that is charted: its result, and what can be put right about it. */
import { Screen } from './screen.ts'

export class ResultPage extends Screen {
  readonly heading = /: result$/

  /** "112 mg/dL" */
  async bigNumber(): Promise<string> {
    return (await this.main.locator('.big-number').first().innerText()).replace(/\s+/g, ' ').trim()
  }

  /** The next patient, from the box that stands here too. */
  async scanWristband(wristband: string): Promise<void> {
    await this.expectFocusOn('wristband')
    await this.device.scan(wristband)
  }
}

/** The short forms behind a reading: correct, entered in error, call. */
export class ReadingFormPage extends Screen {
  readonly heading = /^(Correct a reading|Mark a reading entered in error|Critical result: tell the prescriber)$/
}

export class FlagPage extends Screen {
  readonly heading = /^Look again/
}

export class PatientPage extends Screen {
  readonly heading = /./

  override async verifyOnPage(): Promise<this> {
    await this.page.waitForURL(/\/stays\/\w+$/)
    return super.verifyOnPage()
  }

  /** Opens the reading with this value. */
  async openReading(digits: string): Promise<void> {
    await this.main.getByRole('link', { name: new RegExp(`\\b${digits}\\b`) }).first().click()
  }
}
