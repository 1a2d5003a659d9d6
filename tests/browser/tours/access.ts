/**
 * The access report: the form, a refusal beside a field, and reports by patient, person and ward with every kind of
 * row.
 */
import { expect } from 'vitest'
import { ALDER, people } from '../../support/people.ts'
import { stays } from '../../support/wards.ts'
import type { OpenWorld } from '../start.ts'
import type { Tour } from './tour.ts'

/** Reads by several people, one who left, one of another ward, one denied, and more than one page. */
function looked({ world }: OpenWorld): void {
  const { store, clock } = world
  const atMs = clock.now()
  const look = {
    stayId: stays.ruth.stayId,
    wardId: ALDER,
    page: '/stays/:stayId',
    role: 'floor-nurse',
    ownWardIds: [ALDER],
  } as const
  store.logAccess([
    ...Array.from({ length: 120 }, (_, index) => ({
      ...look,
      atMs: atMs - index * 7_300,
      staffId: index % 3 === 0 ? people.omar.staffId : people.nora.staffId,
      requestId: `answer${String(index).padStart(10, '0')}`,
    })),
    {
      ...look,
      atMs,
      staffId: people.edda.staffId,
      role: 'educator',
      ownWardIds: [],
      page: '/audit/lows/:lowId',
      requestId: 'answerelsewhere0',
    },
    {
      ...look,
      atMs,
      staffId: people.bea.staffId,
      stayId: null,
      ownWardIds: [],
      kind: 'refused',
      askedFor: { id: stays.ruth.stayId, byRole: false },
      page: '/readings/:id',
      requestId: 'answerrefused000',
    },
    { atMs, staffId: people.nora.staffId, stayId: null, wardId: ALDER, page: '/round', requestId: 'answerround00000' },
  ])
}

export const accessTours: readonly Tour[] = [
  {
    name: 'who looked at a patient',
    person: people.anna,
    take: async ({ open, device: { page }, ctx, look }) => {
      looked(open)
      await ctx('/setup/access', '/setup/access', 'access-question')
      await page.getByRole('button', { name: 'Make the report' }).click()
      await page.locator('[aria-invalid="true"]').first().waitFor()
      await look('/setup/access', 'access-question-refused')
      await page.getByLabel('Wristband number, or id of a stay').fill(stays.ruth.wristband)
      await page.getByRole('button', { name: 'Make the report' }).click()
      await page.waitForURL('**/setup/access/report?**')
      expect(page.url()).not.toContain(stays.ruth.wristband)
      await page.getByText('Asked for, not shown').first().waitFor()
      await page.getByText('Not of this ward').first().waitFor()
      await look('/setup/access/report', 'access-by-patient')
      const [file] = await Promise.all([
        page.waitForEvent('download'),
        page.getByRole('link', { name: 'Take it as a file (CSV)' }).click(),
      ])
      expect(file.suggestedFilename()).toMatch(/^access-by-patient-.*\.csv$/)
      await page.getByRole('link', { name: 'Older' }).click()
      await page.getByRole('heading', { name: 'Earlier looks, newest first' }).waitFor()
      await look('/setup/access/report', 'access-by-patient-older')
      await page.goto('/setup/access')
      await page.getByLabel('One ward: who looked at its patients').check()
      await page.locator('main select[name="ward"]').selectOption(ALDER)
      await page.getByRole('button', { name: 'Make the report' }).click()
      await page.waitForURL('**/setup/access/report?by=ward**')
      await look('/setup/access/report', 'access-by-ward')
    },
  },
]
