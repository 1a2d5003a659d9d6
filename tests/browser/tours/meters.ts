/** The pages about meters. */
import { expect } from 'vitest'
import { people } from '../../support/people.ts'
import { lots, meters } from '../../support/wards.ts'
import { ComparisonPage, ControlPage, MeterPage, StripLotPage } from '../pages/meters.ts'
import type { Tour } from './tour.ts'

const OTHER = meters.alderNoControl.meterId

export const meterTours: readonly Tour[] = [
  {
    name: 'meters, strips and a control, as a nurse',
    person: people.nora,
    take: async ({ device, ctx, look }) => {
      await ctx('/setup/meters', '/setup/meters', 'meters')
      await ctx('/setup/strips', '/setup/strips', 'strips')
      await device.page.getByRole('link', { name: 'Enter the ranges' }).first().click()
      const lot = await new StripLotPage(device).verifyOnPage()
      expect(await lot.valueOf('lot')).toBe(lots.good)
      for (const [name, value] of [
        ['level1From', '36'],
        ['level1To', '54'],
        ['level2From', '50'],
        ['level2To', '140'],
      ] as const)
        await lot.fill(name, value)
      await lot.press('Enter the lot')
      await lot.page.locator('[aria-invalid="true"]').first().waitFor()
      await look('/setup/strips/new', 'strip-lot-refused')
      await lot.fill('level2From', '100')
      await lot.press('Enter the lot')
      await device.page.waitForURL('**/setup/strips')
      await ctx('/setup/strips/new', '/setup/strips/new', 'strip-lot')
      await ctx('/setup/meters/:meterId/controls', `/setup/meters/${OTHER}/controls`, 'meter-control')
      await new ControlPage(device).chart('36', '155')
      await new MeterPage(device).verifyOnPage()
      await look('/setup/meters/:meterId', 'meter-failed')
    },
  },
  {
    name: 'meters, a comparison and a recall, as the charge nurse',
    person: people.cora,
    take: async ({ device, ctx, look }) => {
      await ctx('/setup/meters/new', '/setup/meters/new', 'meter-new')
      await ctx('/setup/meters/:meterId', `/setup/meters/${OTHER}`, 'meter-failed-charge')
      await ctx('/setup/meters/:meterId/move', `/setup/meters/${OTHER}/move`, 'meter-move')
      await ctx('/setup/meters/:meterId/retire', `/setup/meters/${OTHER}/retire`, 'meter-retire')
      await ctx('/setup/meters/:meterId/comparisons', `/setup/meters/${OTHER}/comparisons`, 'comparison-empty')
      for (const [minute, meterValue, laboratoryValue] of [
        ['10', '62', '70'],
        ['11', '101', '88'],
        ['12', '146', '130'],
        ['13', '208', '199'],
        ['14', '300', '251'],
        ['15', '118', '120'],
      ] as const) {
        await (
          await new ComparisonPage(device).verifyOnPage()
        ).chart({ meterValue, meterAt: `06:${minute}`, laboratoryValue, laboratoryAt: `06:${minute}` })
        await device.page
          .getByRole('cell', { name: `${meterValue} mg/dL` })
          .first()
          .waitFor()
      }
      await look('/setup/meters/:meterId/comparisons', 'comparison')
      await ctx('/recall', '/recall', 'recall')
      await ctx(
        '/recall',
        `/recall?meter=&lot=${lots.good}&from=2026-03-09T00:00&to=2026-03-11T00:00`,
        'recall-answered',
      )
      expect(await device.page.locator('table.recall tbody tr').count()).toBeGreaterThan(1)
    },
  },
]
