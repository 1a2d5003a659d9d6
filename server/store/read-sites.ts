/** Where a patient was pricked and injected during the whole stay. */
import type { InjectionSite } from '../../shared/dose/dose.ts'
import type { FingerSite } from '../../shared/reading/reading.ts'
import type { Connection } from './connection.ts'
import type { Scope, SitesUsed, Store } from './contract.ts'
import { maySee } from './scope.ts'

type Reads = Pick<Store, 'sitesUsed'>
type Row = { readonly site: string }

const NONE: SitesUsed = { fingers: [], injections: [] }

export function siteReadsOf({ raw }: Connection): Reads {
  const stayWard = raw.prepare<[string], { ward_id: string }>('SELECT ward_id FROM stay WHERE stay_id = ?')
  // a correction names the finger of the reading it supersedes, and nobody was pricked again
  const fingers = raw.prepare<[string], Row>(
    `SELECT json_extract(fact, '$.site') AS site FROM reading
     WHERE stay_id = ? AND json_extract(fact, '$.site') IS NOT NULL AND json_extract(fact, '$.supersedes') IS NULL
     GROUP BY site ORDER BY max(taken_at_ms) DESC, max(rowid) DESC`,
  )
  const injections = raw.prepare<[string], Row>(
    `SELECT json_extract(fact, '$.outcome.site') AS site FROM dose
     WHERE stay_id = ? AND given_at_ms IS NOT NULL
     GROUP BY site ORDER BY max(given_at_ms) DESC, max(rowid) DESC`,
  )
  return {
    sitesUsed: (scope: Scope, stayId) => {
      const wardId = stayWard.get(stayId)?.ward_id
      if (wardId === undefined || !maySee(scope, wardId)) return NONE
      return {
        fingers: fingers.all(stayId).map(({ site }) => JSON.parse(site) as FingerSite),
        injections: injections.all(stayId).map(({ site }) => JSON.parse(site) as InjectionSite),
      }
    },
  }
}
