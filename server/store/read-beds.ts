/** Reads for putting a patient into a bed: which beds there are on any ward, and who a patient was charted to be. */
import type { Connection } from './connection.ts'
import type { Store } from './contract.ts'
import { policyAtOf } from './policy-at.ts'
import { maySee } from './scope.ts'
import type { Identity } from '../../shared/stay/identity.ts'

type Reads = Pick<Store, 'wardBeds' | 'identityHistory'>
type IdentityRow = {
  readonly type: string
  readonly body: string
  readonly actor_id: string
  readonly happened_at_ms: number
}

export function bedReadsOf(connection: Connection): Reads {
  const { raw } = connection
  const policyAt = policyAtOf(connection)
  const wards = raw.prepare<[], { ward_id: string; name: string; beds: string }>(
    'SELECT ward_id, name, beds FROM ward ORDER BY name',
  )
  const taken = raw.prepare<[string], { bed: string }>(
    'SELECT bed FROM stay WHERE ward_id = ? AND discharged_at_ms IS NULL',
  )
  const wardOfStay = raw.prepare<[string], { ward_id: string }>('SELECT ward_id FROM stay WHERE stay_id = ?')
  const identities = raw.prepare<[string], IdentityRow>(
    "SELECT type, body, actor_id, happened_at_ms FROM ledger WHERE stay_id = ? AND type IN ('stay-admitted', 'stay-identified') ORDER BY seq",
  )

  return {
    wardBeds: (nowMs) =>
      wards.all().flatMap((row) => {
        const policy = policyAt(row.ward_id, nowMs)
        if (policy === undefined) return []
        return [
          {
            wardId: row.ward_id,
            name: row.name,
            beds: JSON.parse(row.beds) as string[],
            taken: taken.all(row.ward_id).map(({ bed }) => bed),
            unit: policy.policy.unit,
          },
        ]
      }),
    identityHistory: (scope, stayId) => {
      const wardId = wardOfStay.get(stayId)?.ward_id
      if (wardId === undefined || !maySee(scope, wardId)) return []
      return identities.all(stayId).map(({ body, actor_id, happened_at_ms }) => {
        const { wristband, familyName, givenName, bornOn, reason } = JSON.parse(body) as Identity & {
          readonly reason?: string
        }
        return {
          wristband,
          familyName,
          givenName,
          bornOn,
          reason: reason ?? null,
          byId: actor_id,
          atMs: happened_at_ms,
        }
      })
    },
  }
}
