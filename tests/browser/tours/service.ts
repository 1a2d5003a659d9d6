/** The service page, with its warnings first. */
import type { BackupStatus } from '../../../server/backup/schedule.ts'
import { people } from '../../support/people.ts'
import type { Tour } from './tour.ts'

export const serviceTours: readonly Tour[] = [
  {
    name: 'the service, by an administrator',
    person: people.anna,
    take: async ({ ctx, open }) => {
      await ctx('/setup/service', '/setup/service', 'service')
      const { services } = open.world
      const status = (): BackupStatus => ({
        state: 'failing',
        newest: { atMs: services.now() - 7_500_000, ageMs: 7_500_000 },
        kept: 48,
        failure: {
          atMs: services.now() - 300_000,
          sentence:
            'There is no room for /srv/copies/ward-backup-0f3a91c2-20260310T121500000Z.sqlite. Make room on its disk.',
        },
        sameDisk: true,
      })
      Object.assign(services, { backups: { status }, config: { ...services.config, backupFolder: '/srv/copies' } })
      await ctx('/setup/service', '/setup/service', 'service-failing')
    },
  },
]
