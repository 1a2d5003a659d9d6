/** A charted reading: its result and its corrections. */
import { Screen } from './screen.ts'

export class ResultPage extends Screen {
  readonly heading = /: result$/

  /** "112 mg/dL" */
  async bigNumber(): Promise<string> {
    return (await this.main.locator('.big-number').first().innerText()).replace(/\s+/g, ' ').trim()
  }

  /** Opens the next patient from this page's scan box. */
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
  readonly heading = /^Patient in bed/

  /** Opens the reading whose line has this value. */
  async openReading(value: string): Promise<void> {
    await this.main.getByRole('row').filter({ hasText: value }).locator('a[href^="/readings/"]').first().click()
  }
}
