/** The service page: what is not well stands at its top. */
import { people } from '../../support/people.ts'
import type { Tour } from './tour.ts'

export const serviceTours: readonly Tour[] = [
  {
    name: 'the service, by an administrator',
    person: people.anna,
    take: async ({ visit }) => {
      await visit('/setup/service', '/setup/service', 'service')
    },
  },
]
