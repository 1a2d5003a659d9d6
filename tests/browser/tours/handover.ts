/** A patient's last 72 h as a plot, and the handover sheet on screen and on paper. */
import { people } from '../../support/people.ts'
import { threeDays, VERA } from '../../support/course.ts'
import type { OpenWorld } from '../start.ts'
import type { Tour } from './tour.ts'
import { storeEvents } from '../../../server/store/store-events.ts'

/** Once for each service. */
function chartThreeDays({ world }: OpenWorld): void {
  const { store, clock } = world
  if (store.stayByWristband(VERA.wristband) !== undefined) return
  store.transact(() => {
    storeEvents(store, threeDays(clock.now()))
    return null
  })
}

export const handoverTours: readonly Tour[] = [
  {
    name: 'handover: the patient page and the sheet',
    person: people.omar,
    take: async ({ open, device: { page }, ctx, look }) => {
      chartThreeDays(open)
      await ctx('/stays/:stayId', `/stays/${VERA.stayId}`, 'patient-72h')
      await page.locator('.course-table summary').click()
      await look('/stays/:stayId', 'patient-72h-table')
      await ctx('/handover', '/handover', 'handover')
      await ctx('/print/handover', '/print/handover', 'print-handover')
    },
  },
]
