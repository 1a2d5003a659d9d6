/** The pages where people are set up and where a person sets a PIN. */
import { expect } from 'vitest'
import { Screen } from './screen.ts'

export class SetupPage extends Screen {
  readonly heading = 'Setup'
}

export class PeoplePage extends Screen {
  readonly heading = 'People'
}

export class NewPersonPage extends Screen {
  readonly heading = 'Add a person'

  /** Fills in everything but the badge, which the scanner then sends with its Enter. */
  async fillAllButBadge({
    name,
    role,
    wardId,
  }: {
    readonly name: string
    readonly role: string
    readonly wardId: string
  }): Promise<void> {
    await this.expectFocusOn('name')
    await this.page.keyboard.type(name)
    await this.pick('role', role)
    await this.main.locator(`label:has(input[name="ward.${wardId}"])`).click()
    await this.field('badge').focus()
  }
}

export class PersonPage extends Screen {
  readonly heading: string
  constructor(device: Screen['device'], name: string) {
    super(device)
    this.heading = name
  }

  /** The code for a PIN, from the only page that shows it. */
  async makeCode(): Promise<string> {
    await this.follow('Make a code for a PIN')
    await this.main.getByRole('button', { name: 'Make a code' }).click()
    const code = await this.page.locator('#pin-code').innerText()
    expect(code).toMatch(/^[A-Z0-9]{4} [A-Z0-9]{4}$/)
    return code
  }
}

export class SetPinPage extends Screen {
  readonly heading = 'Set your PIN'

  /** Badge by scanner, whose Enter sends the form; the code field then has the focus. No click. */
  async scanned({
    badge,
    code,
    pin,
  }: {
    readonly badge: string
    readonly code: string
    readonly pin: string
  }): Promise<void> {
    await this.expectFocusOn('badge')
    await this.device.scan(badge)
    await this.expectFocusOn('code')
    for (const text of [code, pin, pin]) {
      await this.page.keyboard.type(text)
      await this.page.keyboard.press('Tab')
    }
    await this.page.keyboard.press('Enter')
  }
}
