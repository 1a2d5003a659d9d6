/** The ward board, all wards, and the forms on the board. */
import { people } from '../../support/people.ts'
import type { Tour } from './tour.ts'

export const boardTours: readonly Tour[] = [
  {
    name: 'the board, as the charge nurse',
    person: people.cora,
    take: async ({ device, ctx, look }) => {
      await ctx('/board', '/board', 'board')
      await ctx('/board/wards', '/board/wards', 'board-wards')
      await ctx('/board/assign', '/board/assign', 'board-assign')
      await device.page.goto('/board')
      await device.page
        .getByRole('link', { name: /^Hand over/ })
        .first()
        .click()
      await device.page.waitForURL('**/board/hand**')
      await look('/board/hand', 'board-hand')
      const toOmar = device.page.getByRole('button', { name: people.omar.name })
      await toOmar.click()
      await device.page.waitForURL('**/board')
      // a second time: the page says who has it already
      await device.page
        .getByRole('link', { name: /^Hand over/ })
        .first()
        .click()
      await toOmar.click()
      await device.page.locator('.error, .problem').first().waitFor()
      await look('/board/hand', 'board-hand-refused')
    },
  },
  {
    name: 'the board, as an educator',
    person: people.edda,
    take: async ({ ctx }) => {
      await ctx('/board', '/board', 'board-educator')
    },
  },
]
