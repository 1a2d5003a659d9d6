/** A real Chromium for the browser tests, at the two widths used on a ward: a cart's tablet and a phone. */
import { mkdirSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core'
import { expect } from 'vitest'

export const SIZES = [
  { name: '1024', width: 1024, height: 768 },
  { name: '390', width: 390, height: 844 },
] as const
export type Size = (typeof SIZES)[number]

const SCREENSHOTS = join(process.cwd(), 'screenshots')
const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js')

/** Starts Chromium; the caller closes it. */
export async function startBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: process.env['CHROMIUM_PATH'] ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--disable-dev-shm-usage',
    ],
  })
}

/**
 * One person's browser: its own cookies and storage. Every error on a page (a blocked script, a failed load, an
 * exception) is kept in `faults`, and `noFaults` fails the test that caused it.
 */
export class Device {
  readonly context: BrowserContext
  readonly page: Page
  readonly size: Size
  readonly origin: string
  readonly faults: string[] = []

  private constructor(context: BrowserContext, page: Page, size: Size, origin: string) {
    this.context = context
    this.page = page
    this.size = size
    this.origin = origin
  }

  static async open(
    browser: Browser,
    origin: string,
    size: Size,
    options: { readonly bypassCSP?: boolean; readonly javaScriptEnabled?: boolean } = {},
  ): Promise<Device> {
    const context = await browser.newContext({
      viewport: { width: size.width, height: size.height },
      baseURL: origin,
      // axe is injected as an inline script, which the service's policy refuses
      bypassCSP: options.bypassCSP ?? false,
      javaScriptEnabled: options.javaScriptEnabled ?? true,
      hasTouch: size.width < 600,
      reducedMotion: 'reduce',
    })
    context.setDefaultTimeout(30_000)
    const page = await context.newPage()
    const device = new Device(context, page, size, origin)
    page.on('pageerror', (error) => device.faults.push(`exception: ${error.message}`))
    page.on('console', (message) => {
      // the browser reports a refused form (409, 422) as a failed load; the test expects that response
      if (message.type() === 'error' && !/Failed to load resource/.test(message.text()))
        device.faults.push(`console: ${message.text()}`)
    })
    page.on('response', (response) => {
      if (response.status() >= 500 || (response.status() === 404 && response.url().includes('/assets/')))
        device.faults.push(`${response.status()} ${response.url()}`)
    })
    return device
  }

  noFaults(): void {
    expect(this.faults).toEqual([])
  }

  /** A picture of the whole page in ./screenshots, named page-width. */
  async picture(name: string): Promise<void> {
    mkdirSync(SCREENSHOTS, { recursive: true })
    await this.page.screenshot({ path: join(SCREENSHOTS, `${name}-${this.size.name}.png`), fullPage: true })
  }

  /** The page fits its width and does not scroll sideways. */
  async fitsItsWidth(): Promise<void> {
    const over = await this.page.evaluate<number>(
      'document.documentElement.scrollWidth - document.documentElement.clientWidth',
    )
    expect(over, `${this.page.url()} is wider than ${this.size.width} px`).toBeLessThanOrEqual(0)
  }

  /** The page has no axe-core violation of WCAG 2.2 A and AA or its best practices. Needs bypassCSP. */
  async accessible(): Promise<void> {
    await this.page.addScriptTag({ path: AXE })
    const violations = await this.page.evaluate<
      string[]
    >(`axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
      .then(({ violations }) => violations.map(({ id, nodes }) => id + ': ' + nodes.map(({ html, failureSummary }) => html.slice(0, 200) + ' ' + (failureSummary ?? '')).join(' | ')))`)
    expect(violations, this.page.url()).toEqual([])
  }

  /** A keyboard-wedge scanner: types fast into the focused field, then Enter. */
  async scan(text: string): Promise<void> {
    await this.page.keyboard.type(text, { delay: 2 })
    await this.page.keyboard.press('Enter')
  }

  async close(): Promise<void> {
    await this.context.close()
  }
}
