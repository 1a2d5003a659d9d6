/** The base of every page object: its device, and a check that the browser is on the expected page. */
import type { Locator, Page } from 'playwright-core'
import { expect } from 'vitest'
import type { Device } from '../browser.ts'

export abstract class Screen {
  readonly device: Device
  /** The page's h1 or its beginning. */
  abstract readonly heading: string | RegExp

  constructor(device: Device) {
    this.device = device
  }

  get page(): Page {
    return this.device.page
  }

  get main(): Locator {
    return this.page.locator('main')
  }

  /** Fails with the heading found instead. */
  async verifyOnPage(): Promise<this> {
    const h1 = this.page.getByRole('heading', { level: 1, name: this.heading })
    try {
      await h1.first().waitFor()
    } catch {
      throw new Error(
        `expected the page "${String(this.heading)}"; at ${this.page.url()} stands: ${(await this.main.innerText()).slice(0, 600)}`,
      )
    }
    return this
  }

  async press(label: string | RegExp): Promise<void> {
    await this.main.getByRole('button', { name: label }).click()
  }

  async follow(label: string | RegExp): Promise<void> {
    await this.main.getByRole('link', { name: label }).first().click()
  }

  /** Types into the named field, replacing its value. */
  async fill(name: string, text: string): Promise<void> {
    await this.field(name).fill(text)
  }

  /** Picks a radio button by its value, by its label as a finger does. */
  async pick(name: string, value: string): Promise<void> {
    await this.main.locator(`label:has(input[name="${name}"][value="${value}"])`).click()
  }

  /** Picks an option by its value. */
  async select(name: string, value: string): Promise<void> {
    await this.main.locator(`select[name="${name}"]`).selectOption(value)
  }

  field(name: string): Locator {
    return this.main.locator(`input[name="${name}"]:not([type="hidden"]), textarea[name="${name}"]`)
  }

  async valueOf(name: string): Promise<string> {
    return this.field(name).inputValue()
  }

  /** A scanner types into the focused field, so the focus is part of the page. */
  async expectFocusOn(name: string): Promise<void> {
    await expect
      .poll(() => this.page.evaluate<string | null>("document.activeElement?.getAttribute('name') ?? null"), {
        timeout: 20_000,
        message: 'where the cursor stands',
      })
      .toBe(name)
  }

  /** The message beside a field. */
  async errorOf(name: string): Promise<string> {
    return this.main.locator(`[id="${name}-error"]`).innerText()
  }

  async text(): Promise<string> {
    return (await this.main.innerText()).replace(/\s+/g, ' ')
  }

  /** Waits until the page contains the text. */
  async says(what: string | RegExp): Promise<void> {
    await expect
      .poll(() => this.text(), { timeout: 20_000 })
      .toMatch(typeof what === 'string' ? new RegExp(what.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')) : what)
  }
}
