/** The content security policy, as a browser obeys it. */
import { describe, expect, it } from 'vitest'
import { people } from '../support/people.ts'
import { SIZES } from './browser.ts'
import { openWorld } from './start.ts'

describe('the content security policy', () => {
  it('is on: an inline script, an inline style and another host are refused, and the pages need none of them', async () => {
    const open = await openWorld()
    const device = await open.signedIn(people.nora, SIZES[0])
    const answer = await device.page.goto('/round')
    const policy = answer?.headers()['content-security-policy'] ?? ''
    expect(policy).toContain("default-src 'none'")
    expect(policy).not.toContain('unsafe')
    device.noFaults()
    // the policy of the page stops what a hole in it would let in
    const ran = await device.page.evaluate<boolean>(`(() => {
      const script = document.createElement('script')
      script.textContent = 'window.ran = true'
      document.body.append(script)
      return window.ran === true
    })()`)
    expect(ran).toBe(false)
    expect(device.faults.join(' ')).toMatch(/Content Security Policy/)
    await open.close()
  })
})
