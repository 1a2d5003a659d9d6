/** The shift audit: choosing a shift, its lows, one low and a period of it, a note, the printed report. */
import { chartNight, NIGHT } from '../../support/audited-night.ts'
import { ALDER, people } from '../../support/people.ts'
import type { Tour } from './tour.ts'

const NIGHT_SHIFT = `ward=${ALDER}&from=${NIGHT.evening}T19:00&to=${NIGHT.morning}T07:00`

const shift: Tour = {
  name: 'audit: a night’s lows',
  person: people.edda,
  take: async ({ ctx, look, open, device: { page } }) => {
    if (
      open.world.store.auditedLow({ staffId: people.edda.staffId, role: 'educator', wardIds: [ALDER] }, NIGHT.lowId) ===
      undefined
    )
      chartNight(open.world)
    await ctx('/audit', '/audit', 'audit')
    await ctx('/audit/shift', `/audit/shift?${NIGHT_SHIFT}`, 'audit-shift')
    await page
      .locator('main details')
      .first()
      .evaluate((element) => {
        element.setAttribute('open', '')
      })
    await look('/audit/shift', 'audit-shift-open')
    await page.goto('/audit')
    await page.locator('main input[name="to"]').fill('2026-03-01T07:00')
    await page.getByRole('button', { name: 'Audit this period' }).click()
    await page.locator('[aria-invalid="true"]').first().waitFor()
    await look('/audit/shift', 'audit-period-refused')
    await ctx('/audit/lows/:lowId', `/audit/lows/${NIGHT.lowId}`, 'audit-low')
    await ctx(
      '/audit/lows/:lowId',
      `/audit/lows/${NIGHT.lowId}?from=${NIGHT.morning}T02:00&to=${NIGHT.morning}T04:00`,
      'audit-low-window',
    )
    await ctx('/audit/lows/:lowId/notes', `/audit/lows/${NIGHT.lowId}/notes`, 'audit-note')
    await page.getByRole('button', { name: 'Add the note' }).click()
    await page.locator('[aria-invalid="true"]').first().waitFor()
    await look('/audit/lows/:lowId/notes', 'audit-note-refused')
    await page.goto(`/audit/lows/${NIGHT.lowId}/notes`)
    await page.getByLabel('Finding').fill('Supper came 54 min after the insulin')
    await page.getByRole('button', { name: 'Add the note' }).click()
    await page.getByText('Note saved').waitFor()
    await look('/audit/lows/:lowId', 'audit-note-saved')
    await ctx('/audit/shift', `/audit/shift?${NIGHT_SHIFT}`, 'audit-shift-reviewed')
    await ctx('/readings/:id', `/readings/readnight0000004?low=${NIGHT.lowId}`, 'audit-reading')
    await ctx('/print/audit/shift', `/print/audit/shift?${NIGHT_SHIFT}`, 'print-audit-shift')
    await ctx('/print/audit/shift', `/print/audit/shift?${NIGHT_SHIFT}&before=all`, 'print-audit-shift-whole')
  },
}

export const auditTours: readonly Tour[] = [shift]
