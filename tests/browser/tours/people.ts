/** The pages about people: the Setup page of each role, the list, one person, each form, and PINs. */
import { people } from '../../support/people.ts'
import type { Tour } from './tour.ts'

const NORA = `/setup/people/${people.nora.staffId}`

export const peopleTours: readonly Tour[] = [
  {
    name: 'people, by an administrator',
    person: people.anna,
    take: async ({ device, ctx, look }) => {
      const { page } = device
      await ctx('/setup', '/setup', 'setup-administrator')
      await ctx('/setup/people/new', '/setup/people/new', 'person-new')
      await page.getByLabel('Name').fill('Ida Marsh')
      await page.locator('main').getByRole('button', { name: 'Add' }).click()
      await page.locator('[aria-invalid="true"]').first().waitFor()
      await look('/setup/people/new', 'person-new-refused')
      for (const form of ['role', 'badge', 'training', 'pin-code', 'lock', 'leave'])
        await ctx(`/setup/people/:staffId/${form}`, `${NORA}/${form}`, `person-${form}`)
      await page.goto(`${NORA}/pin-code`)
      await page.getByRole('button', { name: 'Make a code' }).click()
      await page.locator('#pin-code').waitFor()
      await look('/setup/people/:staffId/pin-code', 'person-pin-code-shown')
      await page.goto(`/setup/people/${people.pia.staffId}/training`)
      await page.locator('input[name="until"]').fill('2026-03-25')
      await page.locator('main').getByRole('button', { name: 'Change' }).click()
      await page.waitForURL(`**/setup/people/${people.pia.staffId}`)
      // bo is of the other ward: nobody else's tour signs in as him
      const bo = `/setup/people/${people.bo.staffId}`
      await page.goto(`${bo}/lock`)
      await page.locator('input[name="reason"]').fill('Badge lost')
      await page.locator('main').getByRole('button', { name: 'Lock' }).click()
      await page.waitForURL(`**${bo}`)
      await look('/setup/people/:staffId', 'person-locked')
      await ctx('/setup/people', '/setup/people', 'people')
      await ctx('/setup/people/:staffId/unlock', `${bo}/unlock`, 'person-unlock')
      await page.locator('main').getByRole('button', { name: 'Unlock' }).click()
      await page.waitForURL(`**${bo}`)
      await ctx('/setup/people/:staffId', NORA, 'person')
    },
  },
  {
    name: 'people, read by a charge nurse; her own PIN',
    person: people.cora,
    take: async ({ open, device, ctx, look }) => {
      await ctx('/setup', '/setup', 'setup-charge-nurse')
      await ctx('/setup/people', '/setup/people', 'people-of-a-ward')
      await ctx('/my-pin', '/my-pin', 'own-pin')
      const stranger = await open.device(device.size, { bypassCSP: true })
      await stranger.page.goto('/set-pin')
      await stranger.page.locator('h1').waitFor()
      await stranger.fitsItsWidth()
      await stranger.accessible()
      await stranger.picture('set-pin')
      await stranger.close()
      await ctx('/set-pin', '/set-pin', 'set-pin')
      await device.page.goto('/my-pin')
      await device.page.getByRole('button', { name: 'Change my PIN' }).click()
      await device.page.locator('[aria-invalid="true"]').first().waitFor()
      await look('/my-pin', 'own-pin-refused')
    },
  },
]
