/** Signing in, and choosing ward and beds. */
import type { Person } from '../../support/people.ts'
import { Screen } from './screen.ts'

export class SignInPage extends Screen {
  readonly heading = 'Sign in'

  async open(): Promise<this> {
    await this.page.goto('/sign-in')
    return this.verifyOnPage()
  }

  /** The badge is scanned, ending in Enter; the PIN field then has the focus. No click. */
  async scanned(person: Person): Promise<void> {
    await this.expectFocusOn('badge')
    await this.device.scan(person.badge)
    await this.expectFocusOn('pin')
    await this.device.scan(person.pin)
    await this.page.waitForURL((url) => url.pathname !== '/sign-in')
  }

  async typed(person: Person): Promise<void> {
    await this.fill('badge', person.badge)
    await this.fill('pin', person.pin)
    await this.press('Sign in')
    await this.page.waitForURL((url) => url.pathname !== '/sign-in')
  }
}

export class WardPage extends Screen {
  readonly heading = 'Ward and beds'

  /** No bed means the whole ward. */
  async takeBeds(beds: readonly string[]): Promise<void> {
    for (const bed of beds) await this.main.getByText(`Bed ${bed}`, { exact: true }).click()
    await this.press('Go to the round')
    await this.page.waitForURL('**/round')
  }

  /** The ward, for people without beds. */
  async choose(wardId: string): Promise<void> {
    await this.main.locator(`input[name="wardId"][value="${wardId}"]`).check()
    await this.press('Go to the round')
    await this.page.waitForURL('**/audit')
  }
}
