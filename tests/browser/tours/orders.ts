/** The pages on which orders are entered. */
import { expect } from 'vitest'
import { ALDER, people } from '../../support/people.ts'
import { stays } from '../../support/wards.ts'
import { OrderEntryPage, rowFields } from '../pages/order-entry.ts'
import type { Tour } from './tour.ts'

const ROWS = rowFields([
  ['150', '199', 1],
  ['200', '249', 3],
  ['250', '299', 5],
  ['300', '349', 7],
  ['>350', '', 8, 'Call the prescriber'],
])

export const orderTours: readonly Tour[] = [
  {
    name: 'entering an order',
    person: people.nora,
    take: async ({ device, ctx, look }) => {
      const path = `/stays/${stays.tomas.stayId}/orders/new`
      await ctx('/stays/:stayId/orders/new', path, 'order-new')
      const form = await new OrderEntryPage(device).verifyOnPage()
      await form.fillAll({ ...ROWS, insulin: 'insulin lispro', atBreakfast: 'yes' })
      await look('/stays/:stayId/orders/new', 'order-new-refused-beside')
      await form.fillAll({
        ...ROWS,
        answered1From: '350',
        answered1Units: '8',
        insulin: 'insulin lispro',
        atBreakfast: 'yes',
        atBedtime: 'yes',
        bedtimeKind: 'half',
        mealKind: 'ratio',
        gramsPerUnit: '15',
        tryGlucose: '214',
        tryGrams: '68',
      })
      expect(await form.edges('correction')).toContainEqual(['350', '8 units'])
      await device.page.evaluate("for (const one of document.querySelectorAll('.try')) one.open = true")
      await look('/stays/:stayId/orders/new', 'order-new-drawn')
      await form.press('Write the order')
      await device.page.locator('[aria-invalid="true"]').first().waitFor()
      await look('/stays/:stayId/orders/new', 'order-new-refused')
      await ctx('/orders/:orderId/revise', `/orders/${stays.ruth.orderId}/revise`, 'order-revise')
    },
  },
  {
    name: 'writing a standard order',
    person: people.anna,
    take: async ({ device, ctx, look }) => {
      await ctx('/setup/standard-orders/new', '/setup/standard-orders/new', 'standard-order-new')
      const form = await new OrderEntryPage(device).verifyOnPage()
      await form.fillAll({
        ...rowFields([
          ['150', '199', 1],
          ['200', '', 'call'],
        ]),
        ward: ALDER,
        name: 'Low scale',
      })
      await look('/setup/standard-orders/new', 'standard-order-drawn')
    },
  },
]
