/** A dose from its questions to giving. */
import type { Person } from '../../support/people.ts'
import { Screen } from './screen.ts'

/** The questions that the order needs. */
export class ProposePage extends Screen {
  readonly heading = /dose/i

  /** Answers each question on the page. */
  async answer(answers: Readonly<Record<string, string>>): Promise<void> {
    for (const [name, value] of Object.entries(answers)) {
      if ((await this.main.locator(`input[type="radio"][name="${name}"]`).count()) > 0) await this.pick(name, value)
      else if ((await this.field(name).count()) > 0) await this.fill(name, value)
    }
    await this.press('Work out the dose')
  }
}

export class DosePage extends Screen {
  readonly heading = /^(Dose|The answers differ)$/

  /** "2 units" */
  async bigNumber(): Promise<string> {
    return (await this.main.locator('.big-number').innerText()).replace(/\s+/g, ' ').trim()
  }

  /** The state's word without its symbol. */
  async state(): Promise<string> {
    return (await this.main.locator('.state').first().innerText()).replace(/^\S+\s/, '')
  }
}

/** First part: the second nurse's own answer, before the dose is drawn up. */
export class SecondCheckPage extends Screen {
  readonly heading = 'Second check'

  async answer(answer: { readonly glucose: string; readonly units: string; readonly person: Person }): Promise<void> {
    await this.fill('glucose', answer.glucose)
    await this.fill('units', answer.units)
    if ((await this.field('badge').count()) > 0) await this.fill('badge', answer.person.badge)
    await this.fill('pin', answer.person.pin)
    await this.press('Answer')
  }
}

export class StartAgainPage extends Screen {
  readonly heading = 'Start again'
}

/** Second part: label and syringe, read by the second nurse. */
export class ProductPage extends Screen {
  readonly heading = 'Read the product'

  async sign(read: {
    readonly insulin: string
    readonly concentration: string
    readonly expiresOn: string
    readonly units: string
    readonly wristband: string
    readonly person: Person
  }): Promise<void> {
    await this.select('insulin', read.insulin)
    await this.pick('concentration', read.concentration)
    await this.fill('expiresOn', read.expiresOn)
    await this.fill('units', read.units)
    await this.fill('wristband', read.wristband)
    if ((await this.field('badge').count()) > 0) await this.fill('badge', read.person.badge)
    await this.fill('pin', read.person.pin)
    await this.press('Sign')
  }
}

export class GivePage extends Screen {
  readonly heading = 'Give'

  async give(given: {
    readonly wristband: string
    readonly food: string
    readonly willEat: string
    readonly trayInMin?: string
  }): Promise<void> {
    await this.expectFocusOn('wristband')
    await this.fill('wristband', given.wristband)
    if ((await this.main.locator('input[name="food"]').count()) > 0) await this.pick('food', given.food)
    if (given.trayInMin !== undefined) await this.fill('trayInMin', given.trayInMin)
    if ((await this.main.locator('input[name="willEat"]').count()) > 0) await this.pick('willEat', given.willEat)
    await this.press('Given')
  }

  async suggestedSite(): Promise<string> {
    return this.main.locator('select[name="site"]').inputValue()
  }
}

export class NotGivenPage extends Screen {
  readonly heading = 'Not given'

  async chart(kind: 'withheld' | 'refused', reason: string): Promise<void> {
    await this.pick('kind', kind)
    await this.fill('reason', reason)
    await this.press('Chart as not given')
  }
}

/** "Second checks waiting", on the second nurse's own device. */
export class WaitingPage extends Screen {
  readonly heading = 'Second checks waiting'

  async open(): Promise<this> {
    await this.page.goto('/second-checks')
    return this.verifyOnPage()
  }
}
