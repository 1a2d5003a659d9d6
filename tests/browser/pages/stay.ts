/** The pages about a stay: beds, admission, facts, plan, move, discharge, return, and late trays. */
import { Screen } from './screen.ts'

export class BedsPage extends Screen {
  readonly heading = /^Beds of /

  async open(): Promise<this> {
    await this.page.goto('/setup/beds')
    return this.verifyOnPage()
  }

  async lineOf(bed: string): Promise<string> {
    const line = this.main
      .locator('li.row')
      .filter({ has: this.page.locator('.bed strong', { hasText: new RegExp(`^${bed}$`) }) })
    return (await line.innerText()).replace(/\s+/g, ' ')
  }
}

export class AdmissionPage extends Screen {
  readonly heading = /^(Admit to bed .|Readmit a patient)$/

  /** Fills in the form's fields by name: typed, selected or ticked. */
  async enter(fields: Readonly<Record<string, string>>): Promise<void> {
    for (const [name, value] of Object.entries(fields)) {
      const isChosen = async (selector: string): Promise<boolean> =>
        (await this.main.locator(`${selector}[name="${name}"]`).count()) > 0
      if (await isChosen('select')) await this.select(name, value)
      else if ((await isChosen('input[value="yes"]')) || (await isChosen('input[type="radio"]')))
        await this.pick(name, value)
      else await this.fill(name, value)
    }
  }
}

export class StayFormPage extends Screen {
  readonly heading =
    /^(Facts at the bedside|Check plan|Move to another bed|Discharge|Trays late|Name and identifiers|Feed|Discharged patients)$/
}

export class StayPage extends Screen {
  readonly heading = /^Patient in bed /
}
