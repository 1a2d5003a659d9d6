/** The pages about wards and policy: a nurse's view, a change by one administrator, the other's answer. */
import { PARTS, isChangeable } from '../../../shared/policy/parts.ts'
import { ALDER, people } from '../../support/people.ts'
import type { Tour } from './tour.ts'

const POLICY = `/setup/wards/${ALDER}/policy`

export const policyTours: readonly Tour[] = [
  {
    name: 'a nurse reads the policy',
    person: people.nora,
    take: async ({ ctx }) => {
      await ctx('/setup/wards/:wardId/policy', POLICY, 'policy-read')
    },
  },
  {
    name: 'an administrator sets up wards and writes a change of policy',
    person: people.anna,
    take: async ({ device, ctx, look }) => {
      await ctx('/setup/wards/new', '/setup/wards/new', 'ward-new')
      await ctx('/setup/wards/:wardId/beds', `/setup/wards/${ALDER}/beds`, 'ward-beds')
      for (const { id } of PARTS.filter(isChangeable))
        await ctx('/setup/wards/:wardId/policy/:part', `${POLICY}/${id}`, `policy-part-${id}`)
      await device.page.goto(`${POLICY}/dose`)
      await device.page.locator('input[name="dose-singleDoseLimit"]').fill('0')
      await device.page.getByRole('button', { name: 'Save the change' }).click()
      await device.page.locator('#dose-singleDoseLimit-error').waitFor()
      await look('/setup/wards/:wardId/policy/:part', 'policy-part-refused')
      await device.page.locator('input[name="dose-singleDoseLimit"]').fill('15')
      await device.page.locator('input[name="note"]').fill('Pharmacy committee of 3 March')
      await device.page.getByRole('button', { name: 'Save the change' }).click()
      await device.page.waitForURL('**/setup/policy-changes/*')
      await look('/setup/policy-changes/:changeId', 'policy-change-own')
      await ctx('/setup/wards', '/setup/wards', 'wards')
      await ctx('/setup/wards/:wardId/policy', POLICY, 'policy-waiting')
    },
  },
  {
    name: 'another administrator answers the change',
    person: people.abel,
    take: async ({ device, look }) => {
      await device.page.goto('/setup/wards')
      await device.page.getByRole('link', { name: 'Look at it' }).first().click()
      await device.page.waitForURL('**/setup/policy-changes/*')
      await look('/setup/policy-changes/:changeId', 'policy-change')
      // refused, so that the wards stay as the other tours expect them
      await device.page.locator('label:has(input[name="answer"][value="refuse"])').click()
      await device.page.locator('input[name="reason"]').fill('Twenty was agreed')
      await device.page.getByRole('button', { name: 'Chart the answer' }).click()
      await device.page.getByText('By Abel Lorne').waitFor()
      await look('/setup/policy-changes/:changeId', 'policy-change-settled')
    },
  },
]
